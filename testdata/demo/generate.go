//go:build ignore

// Command generate writes the demo book beside it: go run generate.go. The
// workshop, its makers, models, suppliers, prices and riders are invented; the
// service intervals and quantities are common practice, no source.
package main

import (
	"cmp"
	"encoding/csv"
	"fmt"
	"log"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
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
	w.write()
}

// ---- what the workshop is

type line struct {
	item        string
	qty         float64
	need, waste float64
}

type service struct {
	code, name, family string
	hours, months      int
	covers             string
	minutes            int
}

var services = []service{
	{"fork-lower", "Lower legs: wipers, foam rings, fresh oil", "fork-air", 50, 6, "", 50},
	{"fork-spring", "Air spring with lower legs", "fork-air", 100, 12, "fork-lower", 80},
	{"fork-full", "Full fork: damper, air spring, lower legs", "fork-air", 200, 24, "fork-spring", 150},
	{"shock-can", "Air can: seals and glide rings", "shock-air", 50, 6, "", 40},
	{"shock-full", "Shock damper with air can", "shock-air", 125, 12, "shock-can", 120},
	{"coil-hardware", "Eyelet bushings and hardware", "shock-coil", 60, 12, "", 25},
	{"coil-full", "Coil shock damper with hardware", "shock-coil", 150, 12, "coil-hardware", 110},
	{"dropper-clean", "Clean and grease", "dropper", 60, 6, "", 30},
	{"dropper-full", "Dropper full service", "dropper", 200, 18, "dropper-clean", 75},
}

type model struct{ code, name, family string }

var models = []model{
	{"fell-150", "Brackwater Fell 150", "fork-air"},
	{"fell-180", "Brackwater Fell 180", "fork-air"},
	{"scarp-160", "Quillon Scarp 160", "fork-air"},
	{"ember-air", "Ninefold Ember Air", "shock-air"},
	{"ember-long", "Ninefold Ember Air Long", "shock-air"},
	{"tallow-air", "Quillon Tallow Air", "shock-air"},
	{"ember-coil", "Ninefold Ember Coil", "shock-coil"},
	{"tallow-coil", "Quillon Tallow Coil", "shock-coil"},
	{"rise-170", "Brackwater Rise 170", "dropper"},
	{"rise-200", "Brackwater Rise 200", "dropper"},
	{"pillar-180", "Quillon Pillar 180", "dropper"},
}

type item struct {
	code, name, kind, unit, material string
	months                           int
	critical                         bool
	extra                            map[string]string
	supplier                         string
	pack                             float64
	price                            float64
	second                           string // another supplier, dearer and faster
}

func part(code, name, kind, material, supplier string, pack, price float64) item {
	return item{code: code, name: name, kind: kind, unit: "ea", material: material, critical: true, supplier: supplier, pack: pack, price: price, extra: map[string]string{}}
}

func fluid(code, name, kind, unit string, months int, supplier string, pack, price float64, extra map[string]string) item {
	return item{code: code, name: name, kind: kind, unit: unit, months: months, critical: true, supplier: supplier, pack: pack, price: price, extra: extra}
}

func items() []item {
	list := []item{
		fluid("oil-lower", "Lower leg oil, 15 cSt", "oil", "ml", 48, "aldermoor", 1000, 18.40, map[string]string{"density_kg_m3": "872", "viscosity_40c": "15.2", "flash_point_c": "176"}),
		fluid("oil-damper-light", "Damper oil, 10 cSt", "oil", "ml", 48, "aldermoor", 1000, 21.90, map[string]string{"density_kg_m3": "853", "viscosity_40c": "10.1", "flash_point_c": "168"}),
		fluid("oil-damper-medium", "Damper oil, 16 cSt", "oil", "ml", 48, "aldermoor", 1000, 22.60, map[string]string{"density_kg_m3": "858", "viscosity_40c": "16.0", "flash_point_c": "172"}),
		fluid("oil-shock", "Shock oil, 22 cSt", "oil", "ml", 48, "aldermoor", 500, 14.80, map[string]string{"density_kg_m3": "861", "viscosity_40c": "22.1", "flash_point_c": "180"}),
		fluid("oil-can", "Air can oil", "oil", "ml", 48, "aldermoor", 250, 11.20, map[string]string{"density_kg_m3": "890", "viscosity_40c": "98", "flash_point_c": "205"}),
		fluid("grease-seal", "Seal grease", "grease", "g", 36, "aldermoor", 500, 19.50, map[string]string{}),
		fluid("grease-post", "Slick post grease", "grease", "g", 36, "aldermoor", 250, 13.75, map[string]string{}),
		fluid("solvent-ipa", "Isopropyl alcohol, 99 %", "solvent", "ml", 60, "aldermoor", 5000, 24.00, map[string]string{"density_kg_m3": "786", "flash_point_c": "11.7"}),
	}
	for _, f := range []struct{ m, mm string }{{"fell-150", "35"}, {"fell-180", "38"}, {"scarp-160", "36"}} {
		list = append(list,
			part(f.m+"-wiper", "Wiper "+f.mm+" mm, "+f.m, "wiper", "NBR", "ravelin", 2, 9.60),
			part(f.m+"-foam", "Foam ring "+f.mm+" mm, "+f.m, "other", "", "ravelin", 10, 6.20),
			part(f.m+"-glide", "Air piston glide ring, "+f.m, "glide-ring", "PTFE", "ravelin", 5, 11.00),
			part(f.m+"-spring-kit", "Air spring seal kit, "+f.m, "kit", "", "cobbet", 1, 17.80),
			part(f.m+"-piston-seal", "Air piston seal, "+f.m, "seal", "NBR", "", 0, 0),
			part(f.m+"-shaft-seal", "Air shaft seal, "+f.m, "seal", "NBR", "", 0, 0),
			part(f.m+"-damper-kit", "Damper seal kit, "+f.m, "kit", "", "cobbet", 1, 24.50),
			part(f.m+"-bushing", "Upper bushing pair, "+f.m, "bushing", "", "tessel", 1, 21.00),
		)
	}
	for _, s := range []string{"ember-air", "ember-long", "tallow-air"} {
		list = append(list,
			part(s+"-can-seal", "Air can quad seal set, "+s, "seal", "NBR", "ravelin", 1, 12.40),
			part(s+"-backup", "Backup ring set, "+s, "backup-ring", "PTFE", "ravelin", 1, 4.90),
			part(s+"-damper-kit", "Shock damper seal kit, "+s, "kit", "", "cobbet", 1, 28.90),
		)
	}
	for _, s := range []string{"ember-coil", "tallow-coil"} {
		list = append(list, part(s+"-damper-kit", "Coil damper seal kit, "+s, "kit", "", "cobbet", 1, 31.50))
	}
	for _, d := range []string{"rise-170", "rise-200", "pillar-180"} {
		list = append(list,
			part(d+"-collar-seal", "Collar wiper seal, "+d, "seal", "NBR", "tessel", 1, 7.30),
			part(d+"-key", "Guide key set, "+d, "hardware", "", "tessel", 1, 5.40),
		)
	}
	list = append(list,
		part("washer-crush", "Crush washer M8", "hardware", "", "ravelin", 25, 7.50),
		part("nut-foot", "Foot nut M8", "hardware", "", "ravelin", 10, 8.90),
		part("valve-core", "Valve core", "hardware", "", "ravelin", 10, 9.80),
		part("oring-shaft-12", "O-ring 12.42 × 1.78", "o-ring", "NBR", "ravelin", 25, 5.00),
		part("oring-cap-31", "O-ring 31.47 × 1.78", "o-ring", "FKM", "ravelin", 10, 9.00),
		part("eyelet-bushing", "Eyelet bushing, polymer", "bushing", "", "tessel", 4, 12.00),
		part("eyelet-hardware", "Eyelet hardware set 8 × 30", "hardware", "", "tessel", 1, 9.90),
		part("charge-seal", "Charge port seal", "seal", "FKM", "ravelin", 10, 7.20),
		part("spacer-fork", "Volume spacer, fork", "spacer", "", "tessel", 5, 8.50),
		part("spacer-shock", "Volume spacer, shock", "spacer", "", "tessel", 5, 7.00),
		part("wipe-roll", "Lint-free wipes, roll", "other", "", "cobbet", 6, 15.00),
	)
	for i := range list {
		switch list[i].code {
		case "spacer-fork", "spacer-shock", "wipe-roll", "solvent-ipa":
			list[i].critical = false
		case "oring-shaft-12":
			list[i].extra = map[string]string{"inside_mm": "12.42", "section_mm": "1.78", "hardness": "70"}
		case "oring-cap-31":
			list[i].extra = map[string]string{"inside_mm": "31.47", "section_mm": "1.78", "hardness": "75"}
		case "fell-150-wiper", "fell-180-wiper", "scarp-160-wiper", "oil-lower":
			list[i].second = "tessel"
		}
	}
	return list
}

// kitParts is what the air spring kits hold; their seals are had no other way.
func kitParts() [][]string {
	var rows [][]string
	for _, f := range []string{"fell-150", "fell-180", "scarp-160"} {
		rows = append(rows, []string{f + "-spring-kit", f + "-piston-seal", "1"}, []string{f + "-spring-kit", f + "-shaft-seal", "1"}, []string{f + "-spring-kit", "oring-cap-31", "2"})
	}
	return rows
}

// bom is what a service takes on a model; common practice, no source.
func bom(s service, m string) []line {
	lower := []line{{"oil-lower", 20, 1, .05}, {m + "-wiper", 2, 1, .02}, {m + "-foam", 2, 1, 0}, {"washer-crush", 2, 1, 0}, {"nut-foot", 2, .15, 0}, {"grease-seal", 4, 1, 0}, {"solvent-ipa", 40, 1, 0}, {m + "-bushing", 1, .08, 0}, {m + "-shaft-seal", 1, .04, 0}}
	spring := []line{{m + "-spring-kit", 1, 1, 0}, {m + "-glide", 1, .5, 0}, {"valve-core", 1, .08, 0}, {"spacer-fork", 1, .1, 0}}
	can := []line{{m + "-can-seal", 1, 1, .02}, {m + "-backup", 1, .4, 0}, {"oil-can", 4, 1, .1}, {"grease-seal", 3, 1, 0}, {"valve-core", 1, .06, 0}, {"spacer-shock", 1, .08, 0}, {"solvent-ipa", 25, 1, 0}}
	eyelet := []line{{"eyelet-bushing", 2, .35, 0}, {"eyelet-hardware", 1, .15, 0}}
	switch s.code {
	case "fork-lower":
		return lower
	case "fork-spring":
		return merge(lower, spring)
	case "fork-full":
		oil := "oil-damper-light"
		if m == "fell-180" {
			oil = "oil-damper-medium"
		}
		return merge(lower, spring, []line{{m + "-damper-kit", 1, 1, 0}, {oil, 160, 1, .15}, {"oring-cap-31", 2, 1, 0}, {"oring-shaft-12", 1, 1, .05}, {"wipe-roll", 1, .1, 0}})
	case "shock-can":
		return can
	case "shock-full":
		return merge(can, eyelet, []line{{m + "-damper-kit", 1, 1, 0}, {"oil-shock", 65, 1, .2}, {"charge-seal", 1, 1, 0}, {"oring-shaft-12", 1, 1, .05}})
	case "coil-hardware":
		return merge(eyelet, []line{{"grease-seal", 2, 1, 0}, {"solvent-ipa", 10, 1, 0}})
	case "coil-full":
		return merge(eyelet, []line{{"grease-seal", 2, 1, 0}, {m + "-damper-kit", 1, 1, 0}, {"oil-shock", 80, 1, .2}, {"charge-seal", 1, 1, 0}, {"solvent-ipa", 30, 1, 0}})
	case "dropper-clean":
		return []line{{"grease-post", 6, 1, 0}, {"solvent-ipa", 15, 1, 0}, {m + "-collar-seal", 1, .25, 0}}
	}
	return []line{{"grease-post", 10, 1, 0}, {"solvent-ipa", 30, 1, 0}, {m + "-collar-seal", 1, 1, 0}, {m + "-key", 1, 1, 0}, {"oil-can", 3, 1, 0}}
}

func merge(lists ...[]line) []line {
	var all []line
	for _, l := range slices.Concat(lists...) {
		if i := slices.IndexFunc(all, func(x line) bool { return x.item == l.item }); i >= 0 {
			all[i].qty = max(all[i].qty, l.qty)
			all[i].need = max(all[i].need, l.need)
			continue
		}
		all = append(all, l)
	}
	return all
}

var suppliers = [][]string{
	{"ravelin", "Ravelin Seals", "mon", "14:00", "4", "40", "6.90", "120"},
	{"cobbet", "Cobbet & Daw Trade Parts", "mon", "12:00", "8", "60", "9.50", "180"},
	{"aldermoor", "Aldermoor Lubricants", "wed", "16:00", "5", "50", "12.00", "150"},
	{"tessel", "Tessel Import", "mon", "11:00", "3", "0", "14.90", "250"},
}

func lead(supplier string) int {
	for _, s := range suppliers {
		if s[0] == supplier {
			n, _ := strconv.Atoi(s[4])
			return n
		}
	}
	return 7
}

// factor is the park's season: lifts run from April to October.
func factor(week int) float64 {
	return math.Round(100*(1+.85*math.Sin(2*math.Pi*(float64(week)-16)/52))) / 100
}

// ---- how it lives

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
	w.fleet("rental", "fleet", 30, []string{"fell-150", "fell-180", "fell-180"}, []string{"ember-air", "ember-long", "ember-coil"}, []string{"rise-170", "rise-200", "rise-200"}, 5.2)
	w.fleet("race", "customer", 8, []string{"scarp-160", "fell-180"}, []string{"tallow-air", "tallow-coil"}, []string{"pillar-180"}, 6.5)
	w.fleet("local", "customer", 12, []string{"fell-150", "scarp-160", "scarp-160"}, []string{"tallow-air", "ember-air"}, []string{"pillar-180", "rise-170"}, 2.6)
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
		rho := 1000.0
		if i.unit == "ml" {
			base, _ := strconv.ParseFloat(i.extra["density_kg_m3"], 64)
			alpha := .6278 / base
			t := (temp - 15) * alpha
			rho = base * math.Exp(-t*(1+.8*t))
		}
		gross := tare + w.stock[i.code]*rho/1000
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

// gamma draws a gamma variate of the shape and scale one (Marsaglia & Tsang 2000).
func gamma(shape float64) float64 {
	if shape <= 0 {
		return 0
	}
	if shape < 1 {
		return gamma(shape+1) * math.Pow(rnd.Float64(), 1/shape)
	}
	d := shape - 1./3
	c := 1 / math.Sqrt(9*d)
	for {
		x := rnd.NormFloat64()
		v := math.Pow(1+c*x, 3)
		if v > 0 && math.Log(rnd.Float64()) < .5*x*x+d-d*v+d*math.Log(v) {
			return d * v
		}
	}
}

// ---- how it is written down

func (w *shop) write() {
	save("settings", "key,value", [][]string{
		{"workshop", "Larch Ridge Bike Park workshop (invented)"}, {"currency", "EUR"}, {"time_zone", "Europe/Vienna"},
		{"readiness", "0.97"}, {"horizon_weeks", "26"}, {"order_weekday", "mon"}, {"holding_rate", "0.20"}, {"show_rate", "0.95"},
		{"fleet_capture", "1.0"}, {"fleet_lag_weeks", "1"}, {"customer_capture", "0.6"}, {"customer_lag_weeks", "3"},
		{"usage_spread_h", "4"}, {"fold_in", "0.25"}, {"learn", "yes"}, {"shelf_life_standard", "ISO 2230:2002"}, {"flammable_limit_l", "15"},
	})
	save("suppliers", "supplier,name,order_weekday,cutoff,lead_days,min_order,carriage,carriage_free_from", suppliers)
	w.writeItems()
	save("kits", "kit,item,qty", kitParts())
	save("alternates", "item,alternate,rank,note", [][]string{{"oil-damper-light", "oil-damper-medium", "1", "one step firmer; ask the rider first"}})
	var rows [][]string
	for _, m := range models {
		rows = append(rows, []string{m.code, m.name, m.family})
	}
	save("models", "model,name,family", rows)
	w.writeServices()
	w.writeUnits()
	rows = nil
	for n := 1; n <= 53; n++ {
		rows = append(rows, []string{strconv.Itoa(n), trim(factor(min(n, 52)), 2)})
	}
	save("season", "week,factor", rows)
	w.writeJobs()
	save("stock", "item,lot,qty,counted_on,cure_date,expires_on,unit_cost", w.opening)
	w.writeOrders()
	save("counts", "item,date,qty,gross_g,tare_g,temp_c", w.counts)
	log.Printf("%d units, %d items, %d jobs, %d uses, %d orders, %d readings, %d counts", len(w.units), len(w.items), len(w.jobs), len(w.uses), len(w.orders), len(w.readings), len(w.counts))
}

func (w *shop) writeItems() {
	var rows, offers [][]string
	cols := []string{"inside_mm", "section_mm", "hardness", "density_kg_m3", "viscosity_40c", "flash_point_c"}
	for n, i := range w.items {
		row := []string{i.code, i.name, i.kind, i.unit, i.material, "", map[bool]string{true: "", false: "no"}[i.critical]}
		if i.months > 0 {
			row[5] = strconv.Itoa(i.months)
		}
		for _, c := range cols {
			row = append(row, i.extra[c])
		}
		rows = append(rows, append(row, fmt.Sprintf("%c%d", 'A'+n/12, n%12+1)))
		if i.supplier != "" {
			offers = append(offers, []string{i.code, i.supplier, "1", fmt.Sprintf("%s-%04d", strings.ToUpper(i.supplier[:2]), 1000+37*n), num(i.pack), "1", "1", trim(i.price, 2), ""})
			if i.unit == "ea" && i.pack > 1 {
				offers = append(offers, []string{i.code, i.supplier, "5", fmt.Sprintf("%s-%04d", strings.ToUpper(i.supplier[:2]), 1000+37*n), num(i.pack), "1", "1", trim(i.price*.92, 2), ""})
			}
		}
		if i.second != "" {
			offers = append(offers, []string{i.code, i.second, "1", fmt.Sprintf("T%05d", 500+n), num(i.pack), "1", "1", trim(i.price*1.15, 2), "2"})
		}
	}
	save("items", "item,name,kind,unit,material,shelf_months,critical,"+strings.Join(cols, ",")+",bin", rows)
	save("offers", "item,supplier,from_packs,supplier_code,pack_qty,min_packs,multiple,price,lead_days", offers)
}

func (w *shop) writeServices() {
	var rows, lines [][]string
	for _, s := range services {
		rows = append(rows, []string{s.code, s.name, s.family, strconv.Itoa(s.hours), strconv.Itoa(s.months), s.covers, strconv.Itoa(s.minutes)})
		for _, m := range models {
			if m.family != s.family {
				continue
			}
			for _, l := range bom(s, m.code) {
				own := m.code
				if !strings.HasPrefix(l.item, m.code) && !strings.HasPrefix(l.item, "oil-damper") {
					own = "*"
				}
				row := []string{s.code, own, l.item, "", num(l.qty), trim(l.need, 2), trim(l.waste, 2), ""}
				if !slices.ContainsFunc(lines, func(r []string) bool { return slices.Equal(r[:3], row[:3]) }) {
					lines = append(lines, row)
				}
			}
		}
	}
	save("services", "service,name,family,every_hours,every_months,covers,bench_minutes", rows)
	save("bom", "service,model,item,from,qty,need,waste,to", lines)
}

func (w *shop) writeUnits() {
	var rows [][]string
	for _, u := range w.units {
		weekly := trim(u.weekly, 1)
		if u.group == "local" {
			weekly = ""
		}
		rows = append(rows, []string{u.code, u.model, u.holder, u.group, weekly, start.AddMonths(-9).String(), ""})
	}
	save("units", "unit,model,holder,group,hours_per_week,in_service,retired", rows)
	slices.SortStableFunc(w.readings, func(a, b []string) int { return cmp.Or(cmp.Compare(a[0], b[0]), cmp.Compare(a[1], b[1])) })
	save("readings", "unit,date,hours,reset", w.readings)
}

func (w *shop) writeJobs() {
	var rows [][]string
	for _, j := range w.jobs {
		if j.bookedOn > end {
			continue
		}
		u := ""
		if j.known {
			u = j.unit.code
		}
		rows = append(rows, []string{j.code, u, j.model, j.service, j.bookedOn.String(), j.on.String(), j.state, j.doneOn.String()})
	}
	save("jobs", "job,unit,model,service,booked_on,bench_date,state,done_on", rows)
	save("job_use", "job,item,lot,qty", w.uses)
}

func (w *shop) writeOrders() {
	var rows [][]string
	for _, o := range w.orders {
		if o.placed >= end {
			continue // today's order is the plan's to make
		}
		came, packs := "", ""
		if o.came < end {
			came, packs = o.came.String(), strconv.Itoa(o.packs)
		}
		rows = append(rows, []string{o.code, o.item, o.supplier, strconv.Itoa(o.packs), o.placed.String(), o.due.String(), came, packs})
	}
	save("orders", "order,item,supplier,packs,placed_on,due_on,received_on,received_packs", rows)
}

func save(table, header string, rows [][]string) {
	f, err := os.Create(table + ".csv")
	if err != nil {
		log.Fatal(err)
	}
	out := csv.NewWriter(f)
	out.Write(strings.Split(header, ","))
	out.WriteAll(rows)
	if err := cmp.Or(out.Error(), f.Close()); err != nil {
		log.Fatal(err)
	}
}

func num(x float64) string { return trim(x, 1) }

func trim(x float64, decimals int) string {
	text := strconv.FormatFloat(x, 'f', decimals, 64)
	if strings.Contains(text, ".") {
		text = strings.TrimRight(strings.TrimRight(text, "0"), ".")
	}
	return text
}
