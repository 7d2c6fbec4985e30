package stock

import (
	"fmt"
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
)

// Joint is the joint law of what the coming jobs will take of all items. It is
// not changed by its methods.
//
// It keeps the jobs' side and the items' side apart: rows say which scenarios
// hold how many jobs of a kind and what they wait for; demands say, for each
// item, what the scenarios make of it. Readiness and walks only multiply and
// add the two.
type Joint struct {
	problem   Problem
	scenarios scenarios
	demands   []*demand // by item; nil: no job takes it
	rows      []row
	alwaysN   []float64 // expected jobs of types that wait for nothing
}

// row is the jobs of one type between two ends of windows: jobs that are held
// to the same lines in the same way. Most types have one row; a type whose
// items come from suppliers of different rhythm has one for each rhythm.
// Scenarios without such jobs are left out, which for rare types is most.
type row struct {
	typ    int
	at     []int32   // scenarios in which there are such jobs
	weight []float64 // probability × jobs, of those
	parts  []part
}

// part is one item that the jobs of a row wait for.
type part struct {
	item, pattern int
	vector        []int32 // of the item's demand, for each of row.at
}

// New works out the joint law: by enumeration where the job counts have few
// enough values, else by simulation.
func New(p Problem, effort Effort) (*Joint, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	effort = effort.orUsual(p)
	s, exact := enumerate(p, effort.States)
	if !exact {
		s = sample(p, effort)
	}
	return newJoint(p, s), nil
}

// Given is the joint law where the scenarios are known; the problem's events
// and streams are not looked at. Weights need not add up to 1.
func Given(p Problem, list []Scenario) (*Joint, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	s, err := given(list, len(p.Types), p.Windows)
	if err != nil {
		return nil, err
	}
	return newJoint(p, s), nil
}

// orUsual fills in what is not said. The more jobs come, the more of them one
// scenario shows and the longer it takes, so fewer scenarios will do.
func (e Effort) orUsual(p Problem) Effort {
	const shown, few, plenty = 200_000, 640, 16_384
	jobs := 1.0
	for _, event := range p.Events {
		for _, o := range event {
			jobs += o.Prob * float64(1+len(o.Then))
		}
	}
	for _, s := range p.Streams {
		jobs += sum(s.Means)
	}
	scenarios := int(min(plenty, max(few, shown/jobs)))
	if e.States <= 0 {
		e.States = scenarios
	}
	if e.Batches <= 1 {
		e.Batches = 10
	}
	if e.PerBatch <= 0 {
		e.PerBatch = scenarios / e.Batches
	}
	return e
}

// newJoint puts items and jobs together. The order matters: rows tell each
// item's demand who waits for it, and the marginals are then told by the same
// patterns.
func newJoint(p Problem, s scenarios) *Joint {
	j := &Joint{problem: p, scenarios: s, demands: make([]*demand, len(p.Items)), alwaysN: make([]float64, len(p.Types))}
	byItem := uses(p)
	each(len(p.Items), func(i int) {
		scale := 1
		if s.batches > 0 {
			byItem[i], scale = steadied(byItem[i], p.Items[i].Pack)
		}
		if len(byItem[i]) > 0 {
			j.demands[i] = newDemand(byItem[i], p.Items[i].Window, s)
			j.demands[i].scale = scale
		}
	})
	byType := make([][]itemUse, len(p.Types))
	for i, takers := range byItem {
		for k, t := range takers {
			byType[t.typ] = append(byType[t.typ], itemUse{i, k, t.use})
		}
	}
	for t, list := range byType {
		j.addRows(t, list)
	}
	if s.batches > 0 {
		j.addMarginals(byItem, byType)
	}
	return j
}

// itemUse is what one job of some type takes of an item, which is the item's
// so-manieth taker.
type itemUse struct {
	item, taker int
	use         use
}

// addRows splits a type's jobs at the ends of its items' protection times.
func (j *Joint) addRows(typ int, list []itemUse) {
	after := -1
	for _, end := range j.ends(list) {
		r := j.scenarios.row(typ, after, end)
		for _, u := range list {
			if u.use.critical() {
				within := j.problem.Items[u.item].Window >= end
				r.parts = append(r.parts, j.demands[u.item].part(u, within, r))
			}
		}
		if len(r.at) > 0 {
			j.rows = append(j.rows, r)
		}
		after = end
	}
	if after < 0 {
		j.alwaysN[typ] = sum(j.scenarios.row(typ, -1, 0).weight)
	}
}

// ends are the windows of the items that a job waits for, rising.
func (j *Joint) ends(list []itemUse) []int {
	var ends []int
	for _, u := range list {
		if u.use.critical() {
			ends = append(ends, j.problem.Items[u.item].Window)
		}
	}
	slices.Sort(ends)
	return slices.Compact(ends)
}

// addMarginals gives every item its exact law.
func (j *Joint) addMarginals(byItem [][]typeUse, byType [][]itemUse) {
	for i, d := range j.demands {
		if d != nil {
			d.exact = newMarginal(byItem[i])
		}
	}
	for _, list := range byType {
		last := -1 // the window up to which the type's jobs count
		if ends := j.ends(list); len(ends) > 0 {
			last = ends[len(ends)-1]
		}
		for _, u := range list {
			d := j.demands[u.item]
			t := &d.exact.takers[u.taker]
			if t.counted = last; !u.use.critical() {
				continue
			}
			t.within = d.patternFor(u.use, true)
			if last > j.problem.Items[u.item].Window {
				t.late = d.patternFor(u.use, false)
			}
		}
	}
	for e, event := range j.problem.Events {
		for _, o := range event {
			j.note(e, o, byType)
		}
	}
	for _, s := range j.problem.Streams {
		for _, u := range byType[s.Type] {
			j.demands[u.item].exact.noteStream(u.taker, s, j.problem.Items[u.item].Window)
		}
	}
	each(len(j.demands), func(i int) {
		if d := j.demands[i]; d != nil {
			d.exact.settle()
			d.exact.meet()
		}
	})
}

// note hands an outcome of an event to the items of its jobs, to each with all
// of its jobs at once.
func (j *Joint) note(event int, o Outcome, byType [][]itemUse) {
	if len(o.Then) == 0 {
		for _, u := range byType[o.Type] {
			exact := j.demands[u.item].exact
			if c, ok := exact.call(u.taker, o.Window, j.problem.Items[u.item].Window); ok {
				exact.note(event, []call{c}, o.Prob)
			}
		}
		return
	}
	calls := map[int][]call{}
	o.jobs(func(job Job) {
		for _, u := range byType[job.Type] {
			if c, ok := j.demands[u.item].exact.call(u.taker, job.Window, j.problem.Items[u.item].Window); ok {
				calls[u.item] = append(calls[u.item], c)
			}
		}
	})
	for item, list := range calls { // items do not mind the order among them
		j.demands[item].exact.note(event, list, o.Prob)
	}
}

// part is how a row's jobs wait for an item; the item's demand takes down that
// they do.
func (d *demand) part(u itemUse, within bool, r row) part {
	p := part{item: u.item, pattern: d.patternFor(u.use, within), vector: make([]int32, len(r.at))}
	wanted := d.wanted[p.pattern]
	for k, s := range r.at {
		p.vector[k] = d.vectorOf[s]
		wanted[p.vector[k]] += r.weight[k]
	}
	return p
}

// row is the jobs of a type after one window's end and up to another's.
func (s scenarios) row(typ, after, to int) row {
	r := row{typ: typ}
	for i, prob := range s.prob {
		if n := s.jobs(typ, after, to, i); n > 0 && prob > 0 {
			r.at = append(r.at, int32(i))
			r.weight = append(r.weight, prob*float64(n))
		}
	}
	return r
}

// Scenarios is how many scenarios stand for the future, and whether they are
// all there are.
func (j *Joint) Scenarios() (n int, exact bool) {
	return len(j.scenarios.prob), j.scenarios.batches == 0
}

// Availability is P(demand of the item over its protection time ≤ level).
func (j *Joint) Availability(item, level int) float64 {
	if d := j.demands[item]; d != nil {
		return d.availability(level)
	}
	if level < 0 {
		return 0
	}
	return 1
}

// LevelFor is the smallest level, in steps and not below zero, at which the
// item's availability is at least so much: the discrete newsvendor rule. An
// availability of 1 or more means all that may ever be asked for.
func (j *Joint) LevelFor(item int, availability float64) int {
	if j.demands[item] == nil {
		return 0
	}
	// 1e-12 is what sums of probabilities may be off by.
	enough := func(level int) bool { return j.Availability(item, level) >= min(availability, 1)-1e-12 }
	high := 1
	for !enough(high) {
		high *= 2
	}
	low := -1
	for low+1 < high {
		if mid := (low + high) / 2; enough(mid) {
			high = mid
		} else {
			low = mid
		}
	}
	return high
}

// each calls do for 0 to n−1, on as many processors as there are; what it does
// for one must not touch what it does for another.
func each(n int, do func(i int)) {
	var next atomic.Int64
	var wait sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), n) {
		wait.Go(func() {
			for i := int(next.Add(1)) - 1; i < n; i = int(next.Add(1)) - 1 {
				do(i)
			}
		})
	}
	wait.Wait()
}

// mustFit refuses levels of another problem: a fault of the program.
func (j *Joint) mustFit(levels []int) {
	if len(levels) != len(j.problem.Items) {
		panic(fmt.Sprintf("stock: %d levels for %d items", len(levels), len(j.problem.Items)))
	}
}

func sum(list []float64) float64 {
	total := 0.0
	for _, x := range list {
		total += x
	}
	return total
}
