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
// Tuffin 2008), while different types meet by chance, as they should. Streams
// follow, each as one event with many outcomes.
func sample(p Problem, effort Effort) scenarios {
	n := effort.Batches * effort.PerBatch
	s := newScenarios(n, p.Windows, p.coming())
	s.batches = effort.Batches
	for i := range s.prob {
		s.prob[i] = 1 / float64(n)
	}
	springs := make([]*spring, len(p.Streams))
	for k, stream := range p.Streams {
		springs[k] = newSpring(stream)
	}
	for b := range effort.Batches {
		d := newDraw(s, b*effort.PerBatch, effort.PerBatch, rand.New(rand.NewPCG(effort.Seed, uint64(b))))
		for _, event := range p.Events {
			d.event(event)
		}
		for _, spring := range springs {
			d.stream(spring)
		}
	}
	s.accumulate()
	return s
}

// goldenStep leaves any run of its multiples, taken modulo 1, evenly spread.
var goldenStep = (math.Sqrt(5) - 1) / 2

// draw fills the scenarios of one batch. Each scenario's own u is uniform and
// independent from event to event, so every scenario by itself is an honest
// draw; only between scenarios are the draws kept apart.
type draw struct {
	scenarios
	from, n int
	rng     *rand.Rand
	order   [][]int // of the batch's scenarios, by main type
	total   [][]int // jobs so far of events of that main type
	scratch sorter
}

func newDraw(s scenarios, from, n int, rng *rand.Rand) *draw {
	types := len(s.comes)
	return &draw{s, from, n, rng, make([][]int, types), make([][]int, types), sorter{next: make([]int, n)}}
}

// by is the batch's scenarios ordered by the jobs of a main type so far, and
// those jobs.
func (d *draw) by(main int) (sorted, counts []int) {
	if d.order[main] == nil {
		d.order[main], d.total[main] = d.rng.Perm(d.n), make([]int, d.n)
	}
	d.scratch.sort(d.order[main], d.total[main])
	return d.order[main], d.total[main]
}

// evenly goes through scenarios in order, with numbers evenly spread over 0 to
// 1 over any run of them.
func (d *draw) evenly(order []int, do func(i int, u float64)) {
	u := d.rng.Float64()
	for _, i := range order {
		if u += goldenStep; u >= 1 {
			u--
		}
		do(i, u)
	}
}

// event draws one event.
func (d *draw) event(event Event) {
	main := event.mainType()
	if main < 0 {
		return
	}
	sorted, counts := d.by(main)
	d.evenly(sorted, func(i int, u float64) {
		if o := event.at(u); o >= 0 {
			event[o].jobs(func(j Job) { d.upTo[j.Type*d.windows+j.Window][d.from+i]++ })
			counts[i] += 1 + len(event[o].Then)
		}
	})
}

// mainType is the type of the likeliest outcome's first job; -1: the event brings nothing.
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
