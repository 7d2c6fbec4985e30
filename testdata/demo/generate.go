//go:build ignore

// Command generate writes the demo book beside it: go run generate*.go. The
// workshop, its makers, models, suppliers, prices and riders are invented; the
// service intervals and quantities are common practice, no source.
package main

import (
	"fmt"
	"log"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"time"

	"circlip/inventory"
)

var (
	start = inventory.NewDate(2024, time.December, 16) // a Monday: the opening count
	end   = inventory.NewDate(2026, time.June, 15)     // a Monday: today
	rnd   = rand.New(rand.NewPCG(1507, 26))
)

func main() {
	log.SetFlags(0)
	w := newWorkshop()
	w.live()
	w.book()
	w.lateFinds()
	w.benched()
	w.write()
}

type unit struct {
	code, model, family, holder, group string
	weekly                             float64
	meter                              float64
	since                              map[string]float64 // hours at which each service was last done
	doneOn                             map[string]inventory.Date
	pending                            bool
	readings                           [][2]string
}

type job struct {
	code         string
	unit         *unit
	service      string
	bookedOn, on inventory.Date
	state        string
	doneOn       inventory.Date
	doneBy       string
	known        bool // the unit stands in the book
	model        string
}

type order struct {
	code, item, supplier string
	packs                int
	placed, due, came    inventory.Date
}

type shop struct {
	items    []item
	byCode   map[string]item
	units    []*unit
	jobs     []*job
	uses     [][]string
	orders   []*order
	counts   [][]string
	parts    [][]string // of counts
	lost     float64    // crush washers
	stock    map[string]float64
	opening  [][]string
	demand   map[string][]float64 // by item: use by week
	readings [][]string
	nextJob  int
	nextPO   int
}

func newWorkshop() *shop {
	w := &shop{items: items(), byCode: map[string]item{}, stock: map[string]float64{}, demand: map[string][]float64{}, nextJob: 1001, nextPO: 301}
	for _, i := range w.items {
		w.byCode[i.code] = i
	}
	w.fleet("rental", "fleet", 30, []string{"fell-150", "fell-180", "fell-180"}, []string{"ember-air", "ember-long", "ember-coil"}, []string{"hoist-170", "hoist-200", "hoist-200"}, 5.2)
	w.fleet("race", "customer", 8, []string{"scarp-160", "fell-180"}, []string{"tallow-air", "tallow-coil"}, []string{"pillar-180"}, 6.5)
	w.fleet("local", "customer", 12, []string{"fell-150", "scarp-160", "scarp-160"}, []string{"tallow-air", "ember-air"}, []string{"pillar-180", "hoist-170"}, 2.6)
	return w
}

// fleet adds bikes of three units each.
func (w *shop) fleet(group, holder string, bikes int, forks, shocks, posts []string, weekly float64) {
	for b := range bikes {
		hours := weekly * (0.7 + .6*rnd.Float64())
		for kind, list := range [][]string{forks, shocks, posts} {
			m := list[b%len(list)]
			u := &unit{code: fmt.Sprintf("%s-%02d-%s", group, b+1, []string{"fork", "shock", "post"}[kind]), model: m, holder: holder, group: group, weekly: math.Round(hours*10) / 10, since: map[string]float64{}, doneOn: map[string]inventory.Date{}}
			u.family = models[slices.IndexFunc(models, func(x model) bool { return x.code == m })].family
			u.meter = math.Round(rnd.Float64()*300*10) / 10
			for _, s := range services {
				if s.family == u.family {
					u.since[s.code] = max(0, u.meter-rnd.Float64()*float64(s.hours)*.9)
					u.doneOn[s.code] = start - inventory.Date(rnd.IntN(100))
				}
			}
			w.units = append(w.units, u)
		}
	}
}

func (w *shop) live() {
	w.openShelf()
	for d := start + 1; d <= end; d++ {
		w.receive(d)
		w.ride(d)
		if d < end {
			w.bench(d)
		}
		if d.Weekday() == time.Monday {
			w.reorder(d)
		}
		if d.Weekday() == time.Friday && (d-start)/7%4 == 3 {
			w.weigh(d)
			if d > end-26*7 {
				w.countParts(d)
			}
		} else if d.Weekday() == time.Friday && d >= weekly && d < end {
			w.weighBottles(d)
		}
	}
}

// openShelf stocks about five weeks of use.
func (w *shop) openShelf() {
	for _, i := range w.items {
		n := math.Ceil(w.rate(i.code) * 5)
		if i.supplier != "" {
			n = math.Ceil(n/i.pack) * i.pack
		} else {
			n = 2
		}
		if i.unit != "ea" {
			n = max(n, i.pack*.6)
		}
		w.stock[i.code] = n
		cost := ""
		if i.supplier != "" {
			cost = trim(i.price/i.pack, 4)
		}
		cure := ""
		if i.unit == "ea" && i.material != "" && i.material != "PTFE" {
			cure = []string{"1Q24", "2Q24", "3Q24", "4Q23"}[rnd.IntN(4)]
		}
		if n > 0 {
			w.opening = append(w.opening, []string{i.code, "opening", num(n), start.String(), cure, "", cost})
		}
	}
}

// rate is a rough weekly use, from intervals and hours alone.
func (w *shop) rate(code string) float64 {
	sum := 0.0
	for _, u := range w.units {
		for _, s := range services {
			if s.family != u.family {
				continue
			}
			for _, l := range bom(s, u.model) {
				if l.item == code {
					sum += l.qty * l.need * u.weekly / float64(s.hours) * .7
				}
			}
		}
	}
	return sum
}

func (w *shop) ride(d inventory.Date) {
	share := factor(d.Week().Number) / 7
	reading := d.Weekday() == time.Sunday
	for i, u := range w.units {
		u.meter += gamma(u.weekly*share/4) * 4
		every := map[string]int{"rental": 2, "race": 4, "local": 8}[u.group]
		if reading && (int(d-start)/7+i)%every == 0 {
			w.readings = append(w.readings, []string{u.code, d.String(), trim(u.meter, 1), ""})
		}
		if !u.pending && d < end {
			w.comeIn(u, d)
		}
	}
}

// comeIn books a unit when a service is due; customers come late or not at all.
func (w *shop) comeIn(u *unit, d inventory.Date) {
	for k := len(services) - 1; k >= 0; k-- {
		s := services[k]
		if s.family != u.family || u.meter-u.since[s.code] < float64(s.hours)*w.fold(u, s) {
			continue
		}
		if u.holder == "customer" && rnd.Float64() > .6 {
			w.restart(u, s.code, d) // done elsewhere
			return
		}
		wait := 3 + rnd.IntN(8)
		if u.holder == "customer" {
			wait += rnd.IntN(28)
		}
		u.pending = true
		on := d + inventory.Date(wait)
		for on.Weekday() == time.Saturday || on.Weekday() == time.Sunday {
			on++
		}
		booked := max(d, on-inventory.Date(3+rnd.IntN(15)))
		w.jobs = append(w.jobs, &job{code: fmt.Sprintf("J%d", w.nextJob), unit: u, service: s.code, bookedOn: booked, on: on, state: "booked", known: true, model: u.model})
		w.nextJob++
		return
	}
}

// fold takes the wider service when it is due within a quarter of the smaller
// one's interval.
func (w *shop) fold(u *unit, s service) float64 {
	for _, small := range services {
		if strings.Contains(s.covers, small.code) && u.meter-u.since[small.code] >= float64(small.hours) {
			return 1 - .25*float64(small.hours)/float64(s.hours)
		}
	}
	return 1
}

func (w *shop) restart(u *unit, code string, d inventory.Date) {
	for c := code; c != ""; {
		u.since[c], u.doneOn[c] = u.meter, d
		c = services[slices.IndexFunc(services, func(s service) bool { return s.code == c })].covers
	}
}

func (w *shop) bench(d inventory.Date) {
	w.walkIns(d)
	for _, j := range w.jobs {
		if j.state != "booked" || j.on != d {
			continue
		}
		if r := rnd.Float64(); r < .03 {
			j.state = "no-show"
		} else if r < .05 {
			j.state = "cancelled"
		} else if int(end-d) < 6 && rnd.Float64() < .2 {
			continue // left open: shows as overdue
		} else {
			j.state, j.doneOn = "done", d
			w.use(j)
		}
		if j.unit != nil {
			j.unit.pending = false
			if j.state == "done" {
				w.restart(j.unit, j.service, d)
			}
		}
	}
}

// walkIns are visitors' units that the book does not know.
func (w *shop) walkIns(d inventory.Date) {
	if d.Weekday() == time.Saturday || d.Weekday() == time.Sunday || rnd.Float64() > .18*factor(d.Week().Number) {
		return
	}
	s := services[[]int{0, 0, 0, 3, 3, 7}[rnd.IntN(6)]]
	var fits []string
	for _, m := range models {
		if m.family == s.family {
			fits = append(fits, m.code)
		}
	}
	j := &job{code: fmt.Sprintf("J%d", w.nextJob), service: s.code, bookedOn: d, on: d, state: "booked", model: fits[rnd.IntN(len(fits))]}
	w.nextJob++
	w.jobs = append(w.jobs, j)
}

// use writes the job card. Damper bleeds take some 12 % more oil than the bill
// allows, and a little lower leg oil leaves the bottle unrecorded.
func (w *shop) use(j *job) {
	s := services[slices.IndexFunc(services, func(s service) bool { return s.code == j.service })]
	for _, l := range bom(s, j.model) {
		if rnd.Float64() >= l.need {
			continue
		}
		i := w.byCode[l.item]
		q := l.qty
		if i.unit == "ea" {
			if rnd.Float64() < l.qty*l.waste {
				q++
			}
			q = min(q, w.stock[l.item])
		} else {
			q *= (1 + l.waste) * (1 + .08*rnd.NormFloat64())
			if strings.HasPrefix(l.item, "oil-damper") {
				q *= 1.12
			}
			q = max(.5, math.Round(min(q, w.stock[l.item])*2)/2)
		}
		if q <= 0 || q > w.stock[l.item] {
			continue
		}
		w.stock[l.item] -= q
		w.uses = append(w.uses, []string{j.code, l.item, "", num(q)})
		w.demand[l.item] = append(w.demand[l.item], q)
		if l.item == "oil-lower" {
			w.stock[l.item] = max(0, w.stock[l.item]-math.Round(rnd.Float64()*3*10)/10)
		}
	}
}

func (w *shop) receive(d inventory.Date) {
	for _, o := range w.orders {
		if o.came == d {
			w.stock[o.item] += float64(o.packs) * w.byCode[o.item].pack
		}
	}
}

// reorder keeps about four weeks of the season's use: a rule of thumb.
func (w *shop) reorder(d inventory.Date) {
	for _, i := range w.items {
		if i.supplier == "" {
			continue
		}
		coming := 0.0
		for _, o := range w.orders {
			if o.item == i.code && o.came > d {
				coming += float64(o.packs) * i.pack
			}
		}
		ahead := (d + 14).Week().Number
		want := w.rate(i.code)*factor(ahead)*2.4 + i.pack*.3
		if i.unit == "ea" {
			want += 1
		}
		// A busy Monday passes an item over now and then, and the last three
		// before the season's peak passed over many.
		forget := .15
		if d > end-21 {
			forget = .55
		}
		if want <= w.stock[i.code]+coming || rnd.Float64() < forget {
			continue
		}
		packs := int(math.Ceil((want - w.stock[i.code] - coming) / i.pack))
		due := d + inventory.Date(lead(i.supplier))
		late := inventory.Date(0)
		if rnd.Float64() < .2 {
			late = inventory.Date(1 + rnd.IntN(6))
		}
		w.orders = append(w.orders, &order{fmt.Sprintf("PO%d", w.nextPO), i.code, i.supplier, packs, d, due, due + late})
	}
	w.nextPO++
}

// weigh counts the fluids by weight every fourth Friday.
func (w *shop) weigh(d inventory.Date) {
	for _, i := range w.items {
		if i.unit == "ea" {
			continue
		}
		temp := 16 + math.Round(rnd.Float64()*80)/10
		tare := 180.0
		gross := tare + w.stock[i.code]*weightOf(i, temp)
		row := []string{i.code, d.String(), "", trim(gross, 1), trim(tare, 1), trim(temp, 1)}
		if i.unit == "g" {
			row[5] = ""
		}
		w.counts = append(w.counts, row)
	}
}

// book adds the reservations of visitors for the coming days, and what was
// ordered in between for jobs that somebody noticed.
func (w *shop) book() {
	for _, code := range []string{"ember-long-can-seal", "eyelet-hardware"} {
		w.orders = append(w.orders, &order{fmt.Sprintf("PO%d", w.nextPO), code, w.byCode[code].supplier, 1, end - 4, end + 3, end + 3})
	}
	for k, s := range []string{"fork-lower", "shock-can", "fork-spring", "dropper-clean", "fork-full"} {
		m := []string{"scarp-160", "ember-air", "fell-150", "pillar-180", "fell-180"}[k]
		w.jobs = append(w.jobs, &job{code: fmt.Sprintf("J%d", w.nextJob), service: s, bookedOn: end - 4, on: end + inventory.Date([]int{1, 2, 3, 8, 11}[k]), state: "booked", model: m})
		w.nextJob++
	}
}
