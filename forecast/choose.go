package forecast

import (
	"math"
	"slices"
)

// candidate is a service that may be done in place of a job it covers.
type candidate struct {
	job  int
	need float64 // hours its clock must show for that
	read reading // its clock, as a line in x
	near int     // from this step on its calendar limit decides alone
}

// chooser decides what is done on a unit that is due for a job, by x.
type chooser struct {
	job        int
	candidates []candidate // in order of preference
	cell       float64
	split      []share // of the state last asked for
	state      splitState
}

// splitState is what a split depends on: which candidates' calendars decide,
// and the columns.
type splitState struct {
	near, low, cols int
}

// share is the part of each column that goes to a job.
type share struct {
	job    int
	low    int
	weight []float64
}

// candidates are the services above a job that may matter: most covering
// first, then the one with the fewest hours left, then by order.
func (s *step) candidates(job int) []int {
	var some []int
	for _, i := range s.strand.above[job] {
		if s.onHours[i] || s.onDate[i] {
			some = append(some, i)
		}
	}
	if len(some) < 2 {
		return some
	}
	left := func(i int) float64 {
		r := s.front.hands[i].read(s.mean, s.variance)
		return float64(s.strand.services[i].limit()) - r.from - r.slope*s.mean
	}
	slices.SortStableFunc(some, func(i, j int) int {
		if d := s.strand.size[j] - s.strand.size[i]; d != 0 {
			return d
		}
		return int(sign(left(i) - left(j)))
	})
	return some
}

// chooser is the rule for a job: when it becomes due, what covers it and
// would be due within the fold-in takes its place; when the unit comes in,
// only what is due by then.
func (s *step) chooser(job int, atBench bool) *chooser {
	c := &chooser{job: job, cell: s.cell, state: splitState{near: -1}}
	some := s.candidates(job)
	if len(some) == 0 {
		return c
	}
	mean, variance := s.gain(atBench)
	fold := 0.0
	if !atBench {
		fold = s.strand.foldIn
	}
	own := s.strand.services[job]
	for _, i := range some {
		k := candidate{job: i, need: math.Inf(1), near: s.nearFrom(i, own, fold)}
		if s.onHours[i] {
			k.need = float64(s.strand.services[i].limit() - Hours(fold)*own.Every)
		}
		k.read = s.front.hands[i].later(mean, variance).read(s.mean+mean, s.variance+variance)
		c.candidates = append(c.candidates, k)
	}
	return c
}

// nearFrom is the first step at whose end the calendar limit of a service is
// within the fold-in of a job: so many of the job's hours to ride, or where
// the job has no hours or the meter does not run, that share of its months.
func (s *step) nearFrom(service int, job Service, fold float64) int {
	limit := s.limit(service)
	if !s.onDate[service] || limit == never {
		return len(s.lat.points)
	}
	for p := range s.lat.points {
		point := &s.lat.points[p]
		near := limit - point.end - fold*float64(job.Months)*daysAMonth
		if job.Every > 0 && s.rate > 0 {
			near = s.rate*(s.lat.cal.since(limit)-point.tauEnd) - fold*float64(job.Every)
		}
		if near <= 0 {
			return p
		}
	}
	return len(s.lat.points)
}

// stateAt tells by the step which candidates' calendars decide; all else is
// the same for steps of one state.
func (c *chooser) stateAt(p int) int {
	state := 0
	for i, k := range c.candidates {
		if p >= k.near {
			state |= 1 << i
		}
	}
	return state
}

// shares divides the columns low, low+1, … between the job and what may take
// its place, for what happens in a step.
func (s *step) shares(c *chooser, p, low, cols int) []share {
	state := splitState{c.stateAt(p), low, cols}
	if state == c.state {
		return c.split
	}
	c.state, c.split = state, c.split[:0]
	left := s.floats(cols)
	for i := range left {
		left[i] = 1
	}
	for _, k := range c.candidates {
		weight := s.floats(cols)
		for i := range weight {
			weight[i] = left[i] * c.chance(k, p, float64(low+i)*s.cell)
			left[i] -= weight[i]
		}
		c.add(k.job, low, weight)
	}
	c.add(c.job, low, left)
	return c.split
}

// add keeps the columns of a share that are not empty.
func (c *chooser) add(job, low int, weight []float64) {
	first, last := 0, len(weight)
	for first < last && weight[first] == 0 {
		first++
	}
	for last > first && weight[last-1] == 0 {
		last--
	}
	if first < last {
		c.split = append(c.split, share{job, low + first, weight[first:last]})
	}
}

// chance is the probability that a candidate takes the job's place, for mass
// spread over a cell around x.
func (c *chooser) chance(k candidate, p int, x float64) float64 {
	if p >= k.near {
		return 1
	}
	beyond := k.read.from + k.read.slope*x - k.need
	if k.read.blur < c.cell/4 {
		return min(max(beyond/c.cell+0.5, 0), 1)
	}
	return 0.5 * math.Erfc(-beyond/(k.read.blur*math.Sqrt2))
}

// gain is the mean and variance of the hours from a front to where the next
// job becomes due, or to the bench. It serves clocks that are estimated.
func (s *step) gain(toBench bool) (mean, variance float64) {
	mean = math.Inf(1)
	for i, h := range s.front.hands {
		if s.onHours[i] {
			r := h.read(s.mean, s.variance)
			mean = min(mean, float64(s.strand.services[i].limit())-r.from-r.slope*s.mean)
		}
	}
	if math.IsInf(mean, 1) {
		return 0, 0
	}
	day := s.shape(1. / 7)
	mean = max(mean, 0) + s.over.mean
	variance = s.spread*s.spread*(day+1)*(day+2)/3 - s.over.mean*s.over.mean
	if toBench && s.again > 0 {
		lag := s.again / (1 - s.again)
		week := s.rate * s.lat.points[min(s.start(0).from, len(s.lat.points)-1)].tauLag
		mean += week * lag
		variance += s.spread*week*lag + week*week*lag*(1+lag)
	}
	return mean, variance
}
