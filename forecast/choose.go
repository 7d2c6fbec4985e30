package forecast

import (
	"math"
	"slices"
	"sort"
)

// candidate is a service that may be done in place of a job it covers.
type candidate struct {
	job  int
	need float64 // hours its clock must show for that
	read reading // its clock, as a line in x
	near float64 // from this day on, as an instant, its calendar limit decides alone
}

// chooser decides what is done on a unit that is due for a job, by x.
type chooser struct {
	job        int
	candidates []candidate // in order of preference
	split      []share     // of the state last asked for
	state      splitState
	exact      []float64 // of one candidate: its share of each column at the limit
}

// unsplit is the state of a chooser that has not split anything yet.
var unsplit = splitState{decided: -1}

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
	c := &chooser{job: job, state: unsplit}
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
		k := candidate{job: i, need: math.Inf(1), near: s.nearFrom(i, own, atBench)}
		if s.onHours[i] {
			k.need = float64(s.strand.services[i].limit() - Hours(fold)*own.Every)
		}
		k.read = s.front.hands[i].later(mean, variance).read(s.mean+mean, s.variance+variance)
		c.candidates = append(c.candidates, k)
	}
	return c
}

// nearFrom is the first day on which the calendar limit of a service is so
// near that it takes the place of a job: at the end of the day within the
// fold-in, so many of the job's hours to ride, or where the job has no hours
// or the meter does not run, that share of its months; on the bench, on the
// day itself.
func (s *step) nearFrom(service int, job Service, atBench bool) float64 {
	limit := s.limit(service)
	if !s.onDate[service] || limit == never {
		return never
	}
	if atBench {
		return limit
	}
	fold := s.strand.foldIn
	if job.Every == 0 || s.rate == 0 {
		return math.Ceil(limit-fold*float64(job.Months)*daysAMonth) - 1
	}
	first, last := int(s.lat.cal.AsOf), int(min(limit, float64(s.lat.cal.End())))
	ahead := s.lat.cal.since(limit)
	return float64(first + sort.Search(max(last-first, 0), func(i int) bool {
		return s.rate*(ahead-s.lat.cal.since(float64(first+i+1))) <= fold*float64(job.Every)
	}))
}

// decided is the share of what happens at a time that a calendar limit
// decides: all of it after the limit is near, none before.
func (s *step) decided(k candidate, at when) float64 {
	if at.known {
		if float64(at.day) >= k.near {
			return 1
		}
		return 0
	}
	if at.step == 0 {
		return 0
	}
	from, to := s.lat.points[at.step-1].end, s.lat.points[at.step].end
	return min(max((to-k.near)/(to-from), 0), 1)
}

// splitState is what a split depends on: which share of each candidate the
// calendar decides, and the columns.
type splitState struct {
	decided   float64
	low, cols int
}

// stateAt sums up what the calendar decides; it only grows with time.
func (s *step) stateAt(c *chooser, at when) float64 {
	sum := 0.0
	for _, k := range c.candidates {
		sum += s.decided(k, at)
	}
	return sum
}

// shares divides the columns low, low+1, … between the job and what may take
// its place.
func (s *step) shares(c *chooser, at when, low, cols int) []share {
	state := splitState{s.stateAt(c, at), low, cols}
	if state == c.state {
		return c.split
	}
	c.state, c.split = state, c.split[:0]
	left := s.floats(cols)
	for i := range left {
		left[i] = 1
	}
	for _, k := range c.candidates {
		decided := s.decided(k, at)
		weight := s.floats(cols)
		for i := range weight {
			weight[i] = left[i] * (decided + (1-decided)*k.chance(float64(low+i)*s.cell, s.cell))
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

// chance is the probability that a candidate takes the job's place by its
// hours, for mass spread over a cell around x.
func (k candidate) chance(x, cell float64) float64 {
	beyond := k.read.from + k.read.slope*x - k.need
	if k.read.blur < cell/4 {
		return min(max(beyond/cell+0.5, 0), 1)
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
