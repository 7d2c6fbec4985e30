package forecast

import (
	"slices"
)

// root is the front of a unit as it stands: at its latest reading, or where
// services were done after that, led through those jobs.
func (w *walk) root(u *Unit) *front {
	n := len(w.strand.place)
	f := &front{
		stage: Start, cells: block{cols: 1, mass: []float64{1}}, count: make([]int, n),
		instant: &instant{at: float64(u.ReadOn), hold: w.cal.AsOf},
	}
	var done []Day
	for i, place := range w.strand.place {
		c := u.Clocks[place]
		h := hand{kind: known, from: float64(c.Hours), limit: w.limitAfter(i, c.DoneOn)}
		if c.DoneOn > u.ReadOn {
			done = append(done, c.DoneOn)
		}
		f.hands = append(f.hands, h)
	}
	f.exact = w.align(f.hands[w.strand.widest()].from)
	for i := range f.hands {
		f.hands[i].from -= f.exact
	}
	slices.Sort(done)
	for _, day := range slices.Compact(done) {
		f = w.advance(f, day, 1)
		for i, place := range w.strand.place {
			if u.Clocks[place].DoneOn == day {
				f.hands[i] = hand{kind: zero, limit: w.limitAfter(i, day)}
			}
		}
		w.settleOrigin(f)
	}
	f.instant.hold = w.cal.AsOf
	return f
}

// limitAfter is the calendar limit of a service done on a day.
func (w *walk) limitAfter(service int, done Day) float64 {
	if months := w.strand.services[service].Months; months > 0 {
		return float64(done.addMonths(months))
	}
	return never
}

// booked is an open job that touches the strand.
type booked struct {
	bench Day
	lists []int // IDs of services that this strand lists
	does  []int // services of the strand whose clocks it restarts
}

// mostBookings is how many open jobs of one strand are followed both as kept
// and as missed. Further ones are listed, but leave the clocks as they are.
const mostBookings = 6

// bookings are the unit's open jobs that touch the strand, by date; one dated
// before the day of the forecast is moved to it.
func (w *walk) bookings(u *Unit) []booked {
	var all []booked
	for _, b := range u.Bookings {
		job := booked{bench: max(b.Bench, w.cal.AsOf)}
		for i, s := range w.strand.services {
			if !slices.Contains(b.Services, s.ID) {
				continue
			}
			if w.strand.own[i] {
				job.lists = append(job.lists, s.ID)
			}
			for _, below := range w.strand.below[i] {
				if !slices.Contains(job.does, below) {
					job.does = append(job.does, below)
				}
			}
		}
		if len(job.does) > 0 {
			all = append(all, job)
		}
	}
	slices.SortStableFunc(all, func(a, b booked) int { return int(a.bench - b.bench) })
	return all
}

// book leads a front at an instant through its open jobs: a unit does not
// come by itself before them. Each turns up and restarts its clocks, or is
// missed and leaves the unit to come as it would, from the day after.
func (w *walk) book(f *front, jobs []booked, showRate float64) {
	if total(f.cells.mass) < leastFront/10 {
		return
	}
	if len(jobs) == 0 {
		w.ahead = append(w.ahead, f)
		return
	}
	job, rest := jobs[0], jobs[1:]
	week := w.cal.WeekOf(job.bench)
	if week >= len(w.cal.Weeks) {
		return
	}
	stage := w.list(f, job, week, showRate)
	if len(jobs) > mostBookings {
		w.book(f, rest, showRate)
		return
	}
	kept := w.advance(f, job.bench+1, showRate)
	kept.stage = stage
	for _, i := range job.does {
		kept.count[i]++
		kept.hands[i] = hand{kind: zero, limit: w.limitAfter(i, job.bench)}
	}
	w.settleOrigin(kept)
	w.book(kept, rest, showRate)
	w.book(w.hold(f, job.bench+1, 1-showRate), rest, showRate)
}

// list adds the rung of an open job and returns the stage it leads to.
func (w *walk) list(f *front, job booked, week int, showRate float64) int {
	done := make([]float64, len(w.cal.Weeks))
	done[week] = showRate * total(f.cells.mass)
	w.future.Rungs = append(w.future.Rungs, Rung{
		After: f.stage, Stage: w.stages, Services: job.lists, Source: Booked, Capture: 1, Done: done,
		Day: job.bench,
	})
	w.stages++
	return w.stages - 1
}

// advance is a share of a front moved on to a later instant with nothing
// done: hours x become a law on cells.
func (w *walk) advance(f *front, to Day, share float64) *front {
	shape := w.shape(w.cal.since(float64(to)) - w.cal.since(f.instant.at))
	next := &front{
		stage: f.stage, tracked: true, hands: make([]hand, len(f.hands)), count: slices.Clone(f.count),
		instant: &instant{at: float64(to), hold: to},
	}
	for i, h := range f.hands {
		next.hands[i] = h.later(shape*w.spread, shape*w.spread*w.spread)
	}
	from, low := f.exact, 0
	if f.tracked {
		from, low = 0, f.cells.low
	}
	gained := gain(shape, w.spread).onCells(from, w.first.cell)
	next.cells = w.block(1, low+gained.low, f.cells.cols+len(gained.prob)-1)
	for c, q := range f.cells.mass {
		addScaled(next.cells.mass[c:c+len(gained.prob)], gained.prob, q*share)
	}
	return next
}

// hold is a share of a front whose unit does not come by itself before a day.
func (w *walk) hold(f *front, until Day, share float64) *front {
	next := *f
	next.cells = w.block(1, f.cells.low, f.cells.cols)
	addScaled(next.cells.mass, f.cells.mass, share)
	next.hands, next.count = slices.Clone(f.hands), slices.Clone(f.count)
	next.instant = &instant{at: f.instant.at, hold: until}
	return &next
}

// settleOrigin starts the hours afresh where an open job restarted every
// clock.
func (w *walk) settleOrigin(f *front) {
	for _, h := range f.hands {
		if h.kind != zero {
			return
		}
	}
	f.cells = block{cols: 1, mass: []float64{total(f.cells.mass)}}
	f.tracked, f.exact = false, w.align(0)
	for i := range f.hands {
		f.hands[i].kind, f.hands[i].from = known, -f.exact
	}
}
