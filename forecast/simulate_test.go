package forecast

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"sync"
)

// A simulation of the process, day by day, that shares nothing with the
// closed forms but the calendar: one meter, its clocks, units due and on the
// bench, done here or elsewhere, bookings kept and missed.

// gammaSource draws gamma numbers of one shape below 1: Marsaglia & Tsang
// 2000 for shape+1, times a power of a uniform number.
type gammaSource struct {
	d, c, power, scale float64
}

func newGammaSource(shape, scale float64) gammaSource {
	d := shape + 1 - 1./3
	return gammaSource{d: d, c: 1 / math.Sqrt(9*d), power: 1 / shape, scale: scale}
}

func (g gammaSource) draw(r *rand.Rand) float64 {
	for {
		x := r.NormFloat64()
		v := 1 + g.c*x
		if v <= 0 {
			continue
		}
		v = v * v * v
		u := r.Float64()
		if u < 1-0.0331*x*x*x*x || math.Log(u) < x*x/2+g.d*(1-v+math.Log(v)) {
			return g.scale * g.d * v * math.Exp(-r.ExpFloat64()*g.power)
		}
	}
}

// simulated is one unit laid out for many replicates.
type simulated struct {
	cal      *Calendar
	unit     *Unit
	covers   [][]bool // each service covers itself too
	size     []int    // how many it covers
	hours    []gammaSource
	riding   []bool // for each day from the reading
	bookings []simBooking
	counts   [][]float64 // by service and week, booked ones apart
	booked   [][]float64
}

type simBooking struct {
	bench    Day
	services []int
	does     []bool
}

type simJob struct {
	service int
	bench   Day
}

func newSimulated(cal *Calendar, u *Unit) *simulated {
	s := &simulated{cal: cal, unit: u}
	covers, err := u.Ladder.closure()
	if err != nil {
		panic(err)
	}
	n := len(covers)
	for i := range covers {
		covers[i][i] = true
		size := 0
		for _, c := range covers[i] {
			if c {
				size++
			}
		}
		s.size = append(s.size, size)
		s.counts = append(s.counts, make([]float64, len(cal.Weeks)))
		s.booked = append(s.booked, make([]float64, len(cal.Weeks)))
	}
	s.covers = covers
	for day := u.ReadOn; day < cal.End(); day++ {
		shape := u.HoursPerWeek * float64(cal.Tau(day, day+1)) / float64(u.Spread)
		s.riding = append(s.riding, shape > 0)
		s.hours = append(s.hours, newGammaSource(max(shape, 1e-300), float64(u.Spread)))
	}
	for _, b := range u.Bookings {
		job := simBooking{bench: max(b.Bench, cal.AsOf), does: make([]bool, n)}
		for i, service := range u.Ladder.Services {
			if slices.Contains(b.Services, service.ID) {
				job.services = append(job.services, i)
				for j := range n {
					job.does[j] = job.does[j] || covers[i][j]
				}
			}
		}
		s.bookings = append(s.bookings, job)
	}
	slices.SortStableFunc(s.bookings, func(a, b simBooking) int { return int(a.bench - b.bench) })
	return s
}

// run plays replicates and adds their mean counts.
func (s *simulated) run(replicates int, r *rand.Rand) {
	each := 1 / float64(replicates)
	life := &simLife{simulated: s, r: r, each: each}
	for range replicates {
		life.play()
	}
}

// simLife is one replicate.
type simLife struct {
	*simulated
	r       *rand.Rand
	each    float64
	clock   []float64
	limit   []Day
	waiting []simJob
	order   []int // scratch, see ranOut
}

const noDay = Day(math.MaxInt32)

func (l *simLife) play() {
	u := l.unit
	l.clock, l.limit, l.waiting = l.clock[:0], l.limit[:0], l.waiting[:0]
	for i, c := range u.Clocks {
		l.clock = append(l.clock, float64(c.Hours))
		l.limit = append(l.limit, l.limitAfter(i, c.DoneOn))
	}
	for day := u.ReadOn; day < l.cal.End(); day++ {
		for i, c := range u.Clocks {
			if c.DoneOn > u.ReadOn && c.DoneOn == day {
				l.clock[i] = 0
			}
		}
		if day == l.cal.AsOf {
			l.becomeDue(day)
		}
		l.ride(day)
		if day < l.cal.AsOf {
			continue
		}
		kept := l.keep(day)
		if !kept {
			l.becomeDueUnheld(day)
		}
		l.bench(day)
		if kept {
			l.becomeDue(day + 1)
		}
	}
}

func (l *simLife) ride(day Day) {
	i := day - l.unit.ReadOn
	if !l.riding[i] {
		return
	}
	h := l.hours[i].draw(l.r)
	for s := range l.clock {
		l.clock[s] += h
	}
}

func (l *simLife) limitAfter(service int, done Day) Day {
	if m := l.unit.Ladder.Services[service].Months; m > 0 {
		return done.addMonths(m)
	}
	return noDay
}

// keep plays the bookings of a day; it tells whether there was one.
func (l *simLife) keep(day Day) bool {
	any := false
	for _, b := range l.bookings {
		if b.bench != day {
			continue
		}
		any = true
		if l.r.Float64() >= l.unit.ShowRate {
			continue
		}
		for _, s := range b.services {
			l.booked[s][l.cal.WeekOf(day)] += l.each
		}
		for s, does := range b.does {
			if does {
				l.clock[s], l.limit[s] = 0, l.limitAfter(s, day)
			}
		}
	}
	return any
}

// held tells whether a booking from a day on keeps the unit from coming by
// itself for a service.
func (l *simLife) held(service int, day Day) bool {
	for _, b := range l.bookings {
		if b.bench < day {
			continue
		}
		for _, s := range b.services {
			if l.covers[s][service] || l.covers[service][s] {
				return true
			}
		}
	}
	return false
}

// becomeDueUnheld is becomeDue at the end of a day on which no booking was.
func (l *simLife) becomeDueUnheld(day Day) { l.becomeDue(day) }

// becomeDue finds what has run out and decides the job and the day.
func (l *simLife) becomeDue(day Day) {
	for _, s := range l.ranOut(day) {
		if l.held(s, day) || l.onItsWay(s) {
			continue
		}
		job := l.choose(s, day)
		bench := day
		for again := float64(l.unit.LagWeeks / (1 + l.unit.LagWeeks)); l.r.Float64() < again; {
			bench += 7
		}
		l.waiting = append(l.waiting, simJob{job, bench})
	}
}

// ranOut lists what has run out in the order in which it did on the hour axis,
// then what did by its months alone: of two that are found out together, as
// after a reading of long ago, the first to pass its limit decides the job.
func (l *simLife) ranOut(day Day) []int {
	l.order = l.order[:0]
	for s := range l.clock {
		if l.out(s, day) {
			l.order = append(l.order, s)
		}
	}
	if len(l.order) > 1 {
		slices.SortStableFunc(l.order, func(a, b int) int {
			return cmp.Or(cmp.Compare(l.beyond(b), l.beyond(a)), cmp.Compare(l.limit[a], l.limit[b]))
		})
	}
	return l.order
}

// beyond is by how many hours a service has run out, -1 if by none.
func (l *simLife) beyond(s int) float64 {
	every := float64(l.unit.Ladder.Services[s].Every)
	if every > 0 && l.clock[s] >= every {
		return l.clock[s] - every
	}
	return -1
}

// out tells whether a service's hours or months have run out. A calendar
// limit counts from the morning of its day on, which is the end of the day
// before only where the day is said to begin.
func (l *simLife) out(s int, day Day) bool {
	every := float64(l.unit.Ladder.Services[s].Every)
	return every > 0 && l.clock[s] >= every || l.limit[s] <= day
}

func (l *simLife) onItsWay(s int) bool {
	for _, w := range l.waiting {
		if l.covers[w.service][s] || l.covers[s][w.service] {
			return true
		}
	}
	return false
}

// choose lets what covers a service and is near take its place.
func (l *simLife) choose(s int, day Day) int {
	ladder := l.unit.Ladder
	own := ladder.Services[s]
	best, least := s, 0.0
	for i, other := range ladder.Services {
		if i == s || !l.covers[i][s] {
			continue
		}
		left := math.Inf(1)
		near := false
		if other.Every > 0 {
			left = float64(other.Every) - l.clock[i]
			near = left <= ladder.FoldIn*float64(own.Every)
		}
		if l.limit[i] < noDay {
			days := float64(l.limit[i] - day - 1)
			if own.Every > 0 && l.unit.HoursPerWeek > 0 {
				near = near || l.unit.HoursPerWeek*float64(l.cal.Tau(day+1, max(l.limit[i], day+1))) <= ladder.FoldIn*float64(own.Every)
			} else {
				near = near || days <= ladder.FoldIn*float64(own.Months)*daysAMonth
			}
		}
		if near && (best == s || l.size[i] > l.size[best] || l.size[i] == l.size[best] && left < least) {
			best, least = i, left
		}
	}
	return best
}

// bench does what comes in on a day.
func (l *simLife) bench(day Day) {
	for k := 0; k < len(l.waiting); k++ {
		if l.waiting[k].bench != day {
			continue
		}
		job := l.waiting[k].service
		for i := range l.clock {
			if l.covers[i][job] && l.size[i] > l.size[job] && l.out(i, day) {
				job = i
			}
		}
		// What is done elsewhere restarts the clocks all the same, so that the
		// share done here needs no drawing.
		l.counts[job][l.cal.WeekOf(day)] += l.each * l.unit.Capture
		for s := range l.clock {
			if l.covers[job][s] {
				l.clock[s], l.limit[s] = 0, l.limitAfter(s, day)
			}
		}
		l.waiting = slices.DeleteFunc(l.waiting, func(w simJob) bool { return l.covers[job][w.service] })
		k = -1
	}
}

// simulate plays a unit on two streams of random numbers and returns the mean
// number of jobs by service and week, own and booked.
func simulate(cal *Calendar, u *Unit, replicates int, seed uint64) (own, booked [][]float64) {
	parts := make([]*simulated, 2)
	var all sync.WaitGroup
	for k := range parts {
		parts[k] = newSimulated(cal, u)
		all.Go(func() { parts[k].run(replicates/2, rand.New(rand.NewPCG(seed, uint64(k)))) })
	}
	all.Wait()
	for s := range parts[0].counts {
		for w := range parts[0].counts[s] {
			parts[0].counts[s][w] = (parts[0].counts[s][w] + parts[1].counts[s][w]) / 2
			parts[0].booked[s][w] = (parts[0].booked[s][w] + parts[1].booked[s][w]) / 2
		}
	}
	return parts[0].counts, parts[0].booked
}
