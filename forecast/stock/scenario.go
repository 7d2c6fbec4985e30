package stock

import (
	"fmt"
	"math"
)

// Effort says how hard to work. The zero value is the usual.
type Effort struct {
	States   int    // count vectors that are enumerated exactly at most; 0: by how many jobs come, 640 to 16,384
	Batches  int    // independent batches of a simulation, from which its error is measured, 2 or more; 0: 10
	PerBatch int    // scenarios of one batch; 0: likewise, 64 to 1,638
	Seed     uint64 // of the simulation
}

// Scenario is one way the jobs may come: how many of each type in each window.
type Scenario struct {
	Prob   float64
	Counts []int // of type t in window w at t·windows + w
}

// scenarios are the ways the jobs may come, by columns, as items read them: an
// item asks for the counts of few types up to the end of its own window.
type scenarios struct {
	prob    []float64
	batches int // equal runs of scenarios, each drawn by itself; 0: exact
	windows int
	comes   []bool // by type
	// upTo[t·windows+w][s] is the number of jobs of type t in scenario s that
	// come in window w or before.
	upTo [][]uint16
}

// newScenarios makes room for n of them, with no jobs. Types that do not come
// share one column, which is never written to: a workshop knows many more
// types than come in a week.
func newScenarios(n, windows int, comes []bool) scenarios {
	s := scenarios{prob: make([]float64, n), windows: windows, upTo: make([][]uint16, len(comes)*windows)}
	none := make([]uint16, n)
	for c := range s.upTo {
		s.upTo[c] = none
		if comes[c/windows] {
			s.upTo[c] = make([]uint16, n)
		}
	}
	s.comes = comes
	return s
}

// coming tells which types any event or stream may bring.
func (p Problem) coming() []bool {
	comes := make([]bool, len(p.Types))
	for _, event := range p.Events {
		for _, o := range event {
			o.jobs(func(j Job) { comes[j.Type] = comes[j.Type] || o.Prob > 0 })
		}
	}
	for _, s := range p.Streams {
		comes[s.Type] = comes[s.Type] || sum(s.Means) > 0
	}
	return comes
}

// accumulate turns counts by window into counts up to the window's end.
func (s scenarios) accumulate() {
	for c, column := range s.upTo {
		if c%s.windows == 0 || !s.comes[c/s.windows] {
			continue
		}
		for i := range column {
			column[i] += s.upTo[c-1][i]
		}
	}
}

// jobs is how many jobs of a type come in scenario i after window `after` and
// up to window `to`; after -1: from the start.
func (s scenarios) jobs(typ, after, to, i int) int {
	n := int(s.upTo[typ*s.windows+to][i])
	if after >= 0 {
		n -= int(s.upTo[typ*s.windows+after][i])
	}
	return n
}

// given takes scenarios as they are handed in.
func given(list []Scenario, types, windows int) (scenarios, error) {
	all := make([]bool, types)
	for t := range all {
		all[t] = true
	}
	s := newScenarios(len(list), windows, all)
	total := 0.0
	for i, sc := range list {
		if len(sc.Counts) != types*windows {
			return s, fmt.Errorf("%w: scenario %d has %d counts, expected %d types × %d windows",
				ErrProblem, i, len(sc.Counts), types, windows)
		}
		if !(sc.Prob >= 0) || math.IsInf(sc.Prob, 0) {
			return s, fmt.Errorf("%w: scenario %d has weight %v, expected zero or more", ErrProblem, i, sc.Prob)
		}
		jobs := 0
		for c, n := range sc.Counts {
			if jobs += n; n < 0 || jobs > maxJobs {
				return s, fmt.Errorf("%w: scenario %d has a count of %d, expected 0 to %d in all", ErrProblem, i, n, maxJobs)
			}
			s.upTo[c][i] = uint16(n)
		}
		s.prob[i] = sc.Prob
		total += sc.Prob
	}
	if !(total > 0) {
		return s, fmt.Errorf("%w: the scenarios' weights add up to %v, expected more than 0", ErrProblem, total)
	}
	for i := range s.prob {
		s.prob[i] /= total
	}
	s.accumulate()
	return s, nil
}

// maxJobs is the most jobs of one type that a scenario counts.
const maxJobs = math.MaxUint16
