package stock

import (
	"math"
	"math/rand/v2"
)

// sample draws batches of scenarios. Events run one after another; within a
// batch each event's outcomes are spread over the scenarios in their exact
// shares, and evenly over the scenarios ordered by how many jobs of the
// event's main type they hold so far. That makes each type's count follow its
// exact law closely instead of by chance (array-RQMC: L'Ecuyer, Lécot &
// Tuffin 2008), while different types meet by chance, as they should.
func sample(events []Event, types, windows int, effort Effort) scenarios {
	n := effort.Batches * effort.PerBatch
	s := newScenarios(n, windows, coming(events, types))
	s.batches = effort.Batches
	for i := range s.prob {
		s.prob[i] = 1 / float64(n)
	}
	for b := range effort.Batches {
		rng := rand.New(rand.NewPCG(effort.Seed, uint64(b)))
		draw(events, s, b*effort.PerBatch, effort.PerBatch, rng)
	}
	s.accumulate()
	return s
}

// goldenStep leaves any run of its multiples, taken modulo 1, evenly spread.
var goldenStep = (math.Sqrt(5) - 1) / 2

// draw fills scenarios from..from+n. Each scenario's own u is uniform and
// independent from event to event, so every scenario by itself is an honest
// draw; only between scenarios are the draws kept apart.
func draw(events []Event, s scenarios, from, n int, rng *rand.Rand) {
	order := make([][]int, len(s.upTo)/s.windows) // of scenarios, by main type
	total := make([][]int, len(order))            // jobs so far of events of that main type
	scratch := sorter{next: make([]int, n)}
	for _, event := range events {
		main := event.mainType()
		if main < 0 {
			continue
		}
		if order[main] == nil {
			order[main], total[main] = rng.Perm(n), make([]int, n)
		}
		sorted, counts := order[main], total[main]
		scratch.sort(sorted, counts)
		u := rng.Float64()
		for _, i := range sorted {
			if u += goldenStep; u >= 1 {
				u--
			}
			if o := event.at(u); o >= 0 {
				s.upTo[event[o].Type*s.windows+event[o].Window][from+i]++
				counts[i]++
			}
		}
	}
}

// mainType is the type of the likeliest outcome; -1: the event brings nothing.
func (e Event) mainType() int {
	best, main := 0.0, -1
	for _, o := range e {
		if o.Prob > best {
			best, main = o.Prob, o.Type
		}
	}
	return main
}

// at is the outcome that u in [0, 1) stands for; -1: none.
func (e Event) at(u float64) int {
	for i, o := range e {
		if u -= o.Prob; u < 0 {
			return i
		}
	}
	return -1
}

// sorter orders scenarios by count, keeping the order of equal ones.
type sorter struct {
	next  []int
	start []int
}

// sort orders by counting, as there are few different counts.
func (t *sorter) sort(order, counts []int) {
	most := 0
	for _, c := range counts {
		most = max(most, c)
	}
	if cap(t.start) < most+2 {
		t.start = make([]int, 2*most+2)
	}
	start := t.start[:most+2]
	clear(start)
	for _, c := range counts {
		start[c+1]++
	}
	for c := range most {
		start[c+1] += start[c]
	}
	for _, i := range order {
		t.next[start[counts[i]]] = i
		start[counts[i]]++
	}
	copy(order, t.next)
}
