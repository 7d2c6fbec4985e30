package invented

import (
	"cmp"
	"fmt"
	"math"

	"circlip/inventory"
)

// rungs builds each family's ladder: the services that have an interval, narrow
// to wide, each of which includes those below it.
func (m *maker) rungs() {
	for _, s := range services {
		if s.EveryHours > 0 || s.EveryMonths > 0 {
			m.ladders[s.Family] = append(m.ladders[s.Family], s)
		}
	}
}

const (
	noDay      = inventory.Date(math.MaxInt32)
	daysAMonth = 365.25 / 12
)

// rider is a unit from the day it comes into service.
type rider struct {
	*maker
	dice
	unit   inventory.Unit
	ladder []inventory.Service
	coming Coming
	rate   float64 // hours a week
	spread float64
	meter  float64
	clock  []float64        // hours since each rung was last done
	limit  []inventory.Date // when its months run out
	visit  *visit           // when it is due
}

// visit is the way of a unit that is due to the bench, here or elsewhere.
type visit struct {
	rung          int
	booked, bench inventory.Date
	captured      bool
}

// newRider puts a unit on the hill with a new meter.
func (m *maker) newRider(d dice, code string, model inventory.Model, g Group, from inventory.Date) *rider {
	r := &rider{maker: m, dice: d, ladder: m.ladders[model.Family], coming: m.Truth.Customer, spread: g.SpreadH}
	if g.Holder == inventory.Fleet {
		r.coming = m.Truth.Fleet
	}
	r.rate = g.Mean * d.gamma(g.Shape) / g.Shape
	r.unit = inventory.Unit{Code: code, Model: model.Code, Holder: g.Holder, Group: g.Name, InService: from}
	if m.Meters != MetersNone && d.chance(.1) {
		stated := math.Round(10*r.rate*d.between(.8, 1.2)) / 10
		r.unit.HoursPerWeek = &stated
	}
	r.clock = make([]float64, len(r.ladder))
	r.limit = make([]inventory.Date, len(r.ladder))
	for i := range r.ladder {
		r.limit[i] = r.limitAfter(i, from)
	}
	return r
}

// ride lives from a day to the last, or until AsOf; it gives the day after the
// last on which it was in service. A unit on its way to the bench is not given
// up. Nobody tells the workshop when a unit that passed by once is given up.
func (r *rider) ride(day, last inventory.Date) inventory.Date {
	for ; day < asOf && (day <= last || r.visit != nil); day++ {
		r.meter += r.spread * r.gamma(r.rate*r.factors[day-r.dawn]/7/r.spread)
		if r.unit.Holder == inventory.Fleet && day%7 == 3 { // a Sunday
			r.read(day)
		}
		if r.visit == nil {
			r.becomeDue(day)
		}
		if r.visit != nil && r.visit.bench == day {
			r.bench(day)
		}
	}
	if r.visit != nil && r.visit.captured && r.visit.booked < asOf {
		r.book(inventory.Booked)
	}
	r.Truth.HoursPerWeek[r.unit.Code] = r.rate
	if day < asOf && r.unit.Group != passing {
		r.unit.Retired = day
	}
	r.Shop.Units = append(r.Shop.Units, r.unit)
	return day
}

// read takes a reading, if it is taken.
func (r *rider) read(day inventory.Date) {
	if taken := r.chance(r.Meters.taken()); taken {
		r.unit.Readings = append(r.unit.Readings, inventory.Reading{Date: day, Hours: math.Round(10*r.meter) / 10})
	}
}

func (r *rider) since(i int) float64 { return r.meter - r.clock[i] }

func (r *rider) limitAfter(i int, done inventory.Date) inventory.Date {
	if months := r.ladder[i].EveryMonths; months > 0 {
		return done.AddMonths(months)
	}
	return noDay
}

// out tells whether hours or months have run out at the end of a day.
func (r *rider) out(i int, day inventory.Date) bool {
	every := r.ladder[i].EveryHours
	return every > 0 && r.since(i) >= every || r.limit[i] <= day
}

// beyond is by how many hours a rung has run out, -1 if by none.
func (r *rider) beyond(i int) float64 {
	if every := r.ladder[i].EveryHours; every > 0 && r.since(i) >= every {
		return r.since(i) - every
	}
	return -1
}

// becomeDue finds what has run out and sets out for the bench.
func (r *rider) becomeDue(day inventory.Date) {
	first := -1
	for i := range r.ladder {
		if r.out(i, day) && (first < 0 || cmp.Or(cmp.Compare(r.beyond(first), r.beyond(i)), cmp.Compare(r.limit[i], r.limit[first])) < 0) {
			first = i
		}
	}
	if first < 0 {
		return
	}
	v := &visit{rung: r.folded(first, day), captured: r.chance(r.coming.Capture)}
	v.bench = day + inventory.Date(7*r.geometric(r.coming.LagWeeks))
	if n := v.bench.Weekday(); n == 0 || n == 6 {
		v.bench = v.bench.OnOrAfter(1) + inventory.Date(r.IntN(5))
	}
	v.booked = bookedOn(day, v.bench, r.geometric(r.Truth.AheadDays))
	r.visit = v
	r.Truth.Dues = append(r.Truth.Dues, Due{r.unit.Code, r.ladder[v.rung].Code, day, v.bench, v.captured})
}

// bookedOn is so many days before the bench date, on a working day and not
// before a first day.
func bookedOn(first, bench inventory.Date, ahead int) inventory.Date {
	day := max(first, bench-inventory.Date(ahead))
	n := day.Weekday()
	if n != 0 && n != 6 {
		return day
	}
	if friday := day.OnOrAfter(5) - 7; friday >= first {
		return friday
	}
	return day.OnOrAfter(1)
}

// folded is the widest rung that is near enough to take the place of a narrower
// one.
func (r *rider) folded(i int, day inventory.Date) int {
	for wide := len(r.ladder) - 1; wide > i; wide-- {
		if r.near(wide, r.ladder[i], day) {
			return wide
		}
	}
	return i
}

// near tells whether a wider rung is due within the fold-in of a narrower
// service's interval.
func (r *rider) near(wide int, own inventory.Service, day inventory.Date) bool {
	fold := r.Shop.Settings.FoldIn
	if every := r.ladder[wide].EveryHours; every > 0 && every-r.since(wide) <= fold*own.EveryHours {
		return true
	}
	if r.limit[wide] == noDay {
		return false
	}
	if own.EveryHours == 0 {
		return float64(r.limit[wide]-day-1) <= fold*float64(own.EveryMonths)*daysAMonth
	}
	hours := 0.0
	for d := day + 1; d < r.limit[wide] && hours <= fold*own.EveryHours; d++ {
		hours += r.rate * r.factors[d-r.dawn] / 7
	}
	return hours <= fold*own.EveryHours
}

// bench does what is due, here or elsewhere, unless nobody turns up.
func (r *rider) bench(day inventory.Date) {
	v := r.visit
	for wide := len(r.ladder) - 1; wide > v.rung; wide-- {
		if r.out(wide, day) {
			v.rung = wide
		}
	}
	if v.captured {
		state := r.turnsUp(r.dice, v.booked, v.bench)
		r.book(state)
		if state != inventory.Done {
			r.visit = nil
			return
		}
		r.read(day)
	}
	for i := 0; i <= v.rung; i++ {
		r.clock[i], r.limit[i] = r.meter, r.limitAfter(i, day)
	}
	r.visit = nil
}

// turnsUp decides how a job ends: of those who do not turn up one in three
// calls first.
func (m *maker) turnsUp(d dice, booked, bench inventory.Date) inventory.JobState {
	switch {
	case booked >= bench || !d.chance(m.NoShow):
		return inventory.Done
	case d.chance(1. / 3):
		return inventory.Cancelled
	}
	return inventory.NoShow
}

// book writes the visit into the job book.
func (r *rider) book(state inventory.JobState) {
	r.add(inventory.Job{
		Unit: r.unit.Code, Model: r.unit.Model, Services: []string{r.ladder[r.visit.rung].Code},
		BookedOn: r.visit.booked, BenchDate: r.visit.bench, State: state,
	})
}

func (m *maker) add(j inventory.Job) {
	if j.State == inventory.Done {
		j.DoneOn = j.BenchDate
	}
	m.jobs = append(m.jobs, j)
}

// known rides the fleet and the known customers' units. Who goes out of service
// is followed by another.
func (m *maker) known() {
	for n := range m.Units {
		group := m.Truth.Groups[0]
		if n%10 >= 7 {
			group = m.Truth.Groups[1]
		}
		m.slot(newDice(m.Seed, streamFleet+uint64(n)), n, group, 3*365)
	}
	for n := range m.Customers {
		m.slot(newDice(m.Seed, streamCustomers+uint64(n)), n, m.Truth.Groups[2+n%2], 5*365)
	}
}

// slot is a place in the fleet or among the customers, taken by one unit after
// the other; each stays so many days in the mean.
func (m *maker) slot(d dice, n int, g Group, stays float64) {
	model := models[d.IntN(m.Models)]
	day := m.dawn + inventory.Date(d.IntN(warmUp/2))
	for next := 1; day < asOf; next++ {
		r := m.newRider(d, fmt.Sprintf("%s-%04d-%d", g.Name, n+1, next), model, g, day)
		day = r.ride(day, day+inventory.Date(stays/2*(1+d.gamma(1))))
	}
}
