package forecast

import (
	"fmt"
	"math"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
)

// Futures foresees the jobs of units over a calendar's horizon, in the order
// of the units: one Future for each strand of a unit's ladder in which
// anything may happen. It works on all processors; the result does not
// depend on their number. A unit that cannot be forecast is an ErrLadder.
//
// The process, day by day: the meter gains a gamma number of hours. A service
// whose hours or months have run out at the end of a day becomes due, unless
// the unit is already due for a job that it covers or that covers it; what
// covers it and is due within the fold-in takes its place. After a geometric
// number of whole weeks the unit is on the bench; what covers the job and has
// become due by then takes its place again, and at the end of the day the
// clocks of all that was done restart at what the meter then shows. Of several
// found to have run out together, the one whose limit was passed first decides.
func Futures(cal *Calendar, units []Unit) ([]Future, error) {
	p, err := newPlanner(cal, units)
	if err != nil {
		return nil, err
	}
	each := make([][]Future, len(units))
	var next atomic.Int64
	var all sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		all.Go(func() {
			var a arena
			for i := next.Add(1) - 1; i < int64(len(units)); i = next.Add(1) - 1 {
				each[i] = p.futures(&units[i], p.resolution, &a)
				for k := range each[i] {
					each[i][k].Unit = int(i)
				}
			}
		})
	}
	all.Wait()
	p.tables.trim()
	return slices.Concat(each...), nil
}

// planner is what the walks of all units share.
type planner struct {
	cal      *Calendar
	ladders  map[*Ladder][]*strand
	lattices map[int]*lattice
	tables   *passageTables
	peak     float64 // highest season factor of the horizon
}

func newPlanner(cal *Calendar, units []Unit) (*planner, error) {
	p := &planner{
		cal: cal, ladders: map[*Ladder][]*strand{}, lattices: map[int]*lattice{}, tables: keptTables(),
	}
	for i := range units {
		u := &units[i]
		if u.Ladder == nil {
			return nil, fmt.Errorf("%w: unit %d: found no ladder", ErrLadder, i)
		}
		if _, ok := p.ladders[u.Ladder]; !ok {
			strands, err := u.Ladder.strands()
			if err != nil {
				return nil, fmt.Errorf("unit %d: %w", i, err)
			}
			p.ladders[u.Ladder] = strands
		}
		if err := u.check(cal); err != nil {
			return nil, fmt.Errorf("%w: unit %d: %w", ErrLadder, i, err)
		}
	}
	for _, week := range cal.Weeks {
		p.peak = max(p.peak, cal.factor(week.First))
	}
	for steps := 1; steps <= 7; steps++ {
		p.lattices[steps] = newLattice(cal, steps)
	}
	return p, nil
}

// check refuses a state that no unit can be in.
func (u *Unit) check(cal *Calendar) error {
	switch {
	case !(u.HoursPerWeek >= 0) || math.IsInf(u.HoursPerWeek, 0):
		return fmt.Errorf("found %v hours a week, expected a number from 0", u.HoursPerWeek)
	case !(u.Spread > 0) || math.IsInf(float64(u.Spread), 0):
		return fmt.Errorf("found a spread of %v hours, expected a number above 0", u.Spread)
	case !(u.Capture >= 0 && u.Capture <= 1):
		return fmt.Errorf("found capture %v, expected a share from 0 to 1", u.Capture)
	case !(u.ShowRate >= 0 && u.ShowRate <= 1):
		return fmt.Errorf("found show rate %v, expected a share from 0 to 1", u.ShowRate)
	case !(u.LagWeeks >= 0) || math.IsInf(float64(u.LagWeeks), 0):
		return fmt.Errorf("found a lag of %v weeks, expected a number from 0", u.LagWeeks)
	case u.ReadOn > cal.AsOf:
		return fmt.Errorf("found a reading of day %d, expected none after day %d", u.ReadOn, cal.AsOf)
	case len(u.Clocks) != len(u.Ladder.Services):
		return fmt.Errorf("found %d clocks, expected one for each of %d services", len(u.Clocks), len(u.Ladder.Services))
	}
	for i, c := range u.Clocks {
		id := u.Ladder.Services[i].ID
		if !(c.Hours >= 0) || math.IsInf(float64(c.Hours), 0) {
			return fmt.Errorf("service %d: found %v hours since last done, expected a number from 0", id, c.Hours)
		}
		if c.DoneOn > cal.AsOf {
			return fmt.Errorf("service %d: found it done on day %d, expected none after day %d", id, c.DoneOn, cal.AsOf)
		}
	}
	for _, b := range u.Bookings {
		for _, id := range b.Services {
			if !slices.ContainsFunc(u.Ladder.Services, func(s Service) bool { return s.ID == id }) {
				return fmt.Errorf("found service %d booked, expected one of the unit's ladder", id)
			}
		}
	}
	return nil
}

// resolution is how finely a strand is worked out: steps of a week, and the
// widest cell of hours, in spreads.
type resolution struct {
	steps int
	cell  float64
}

// The test of resolutions holds these in place: a step is at most so large a
// part of the standard deviation of a passage in time, a cell so large a part
// of the spread. Without a lag the hours at a job are so sharply known that
// cells must be finer.
const (
	stepShare   = .4
	cellShare   = .5
	finerBelow  = 0.25 // mean weeks of lag
	finestShare = 0.25
	leastSteps  = 2
)

// later is the resolution of what comes after a job: a whole interval lies
// before it, and what comes first has blurred it.
func (r resolution) later() resolution {
	if r.cell > finestShare {
		r.cell *= coarser
		if r.steps < 7 {
			r.steps = max(leastSteps, (r.steps+1)/2)
		}
	}
	return r
}

func (p *planner) resolution(u *Unit, s *strand) resolution {
	r := resolution{steps: leastSteps, cell: cellShare}
	if u.LagWeeks < finerBelow && len(s.services) > 1 {
		r.cell = finestShare
	}
	shortest := math.Inf(1)
	for _, service := range s.services {
		shortest = min(shortest, float64(service.limit()))
		if service.Months > 0 && 2*28*service.Months < int(p.cal.End()-p.cal.AsOf) {
			r.steps = 7 // its limits may follow each other, on single days
			return r
		}
	}
	weeks := math.Sqrt(float64(u.Spread)*shortest) / (u.HoursPerWeek * p.peak)
	if steps := math.Ceil(1 / (stepShare * weeks)); steps > 1 {
		r.steps = int(min(steps, 7))
	}
	return r
}

// futures foresees one unit. The arena is the worker's own.
func (p *planner) futures(u *Unit, resolve func(*Unit, *strand) resolution, a *arena) []Future {
	var all []Future
	for _, s := range p.ladders[u.Ladder] {
		a.reset()
		f := Future{Model: u.Model}
		w := newWalk(u, s, p, resolve(u, s), a)
		w.future = &f
		w.book(w.root(u), w.bookings(u), u.ShowRate)
		w.run()
		if len(f.Rungs) > 0 {
			all = append(all, f)
		}
	}
	return all
}

func newWalk(u *Unit, s *strand, p *planner, r resolution, a *arena) *walk {
	w := &walk{
		arena: a, strand: s, cal: p.cal, tables: p.tables,
		source: u.Source, capture: u.Capture, rate: u.HoursPerWeek, spread: float64(u.Spread),
		again: float64(u.LagWeeks / (1 + u.LagWeeks)),
	}
	w.over = overshoot(w.shape(1./7), w.spread)
	later := r.later()
	cell := s.cell(later.cell * w.spread)
	w.later = w.newGrid(p.lattices[later.steps], cell)
	w.first = w.later
	if later != r {
		w.first = w.newGrid(p.lattices[r.steps], cell*r.cell/later.cell)
	}
	return w
}
