package stock

import (
	"fmt"
	"math"
	"slices"
)

// Joint is the joint law of what the coming jobs will take of all items. It is
// not changed by its methods.
type Joint struct {
	problem   Problem
	scenarios scenarios
	demands   []*demand // by item; nil: no job takes it
	rows      []row
	alwaysN   []float64 // expected jobs of types that wait for nothing
}

// row is the jobs of one type between two ends of windows: jobs that are held
// to the same lines in the same way.
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
	effort = effort.orUsual()
	s, exact := enumerate(p.Events, len(p.Types), p.Windows, effort.States)
	if !exact {
		s = sample(p.Events, len(p.Types), p.Windows, effort)
	}
	return newJoint(p, s), nil
}

// Given is the joint law where the scenarios are known; the problem's events
// are not looked at. Weights need not add up to 1.
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

func (e Effort) orUsual() Effort {
	if e.States <= 0 {
		e.States = 4096
	}
	if e.Batches <= 1 {
		e.Batches = 10
	}
	if e.PerBatch <= 0 {
		e.PerBatch = 160
	}
	return e
}

func newJoint(p Problem, s scenarios) *Joint {
	j := &Joint{problem: p, scenarios: s, demands: make([]*demand, len(p.Items)), alwaysN: make([]float64, len(p.Types))}
	waits := make([][]int, len(p.Types)) // items that a job of the type waits for
	byItem := uses(p)
	for i, takers := range byItem {
		if len(takers) == 0 {
			continue
		}
		j.demands[i] = newDemand(takers, p.Items[i].Window, s)
		for _, t := range takers {
			if t.use.critical() {
				waits[t.typ] = append(waits[t.typ], i)
			}
		}
	}
	for t := range p.Types {
		j.addRows(t, waits[t], byItem)
	}
	return j
}

// addRows splits a type's jobs at the ends of its items' protection times.
func (j *Joint) addRows(typ int, waits []int, byItem [][]typeUse) {
	var ends []int
	for _, i := range waits {
		ends = append(ends, j.problem.Items[i].Window)
	}
	slices.Sort(ends)
	after := -1
	for _, end := range slices.Compact(ends) {
		r := j.scenarios.row(typ, after, end)
		for _, i := range waits {
			within := j.problem.Items[i].Window >= end
			r.parts = append(r.parts, j.demands[i].part(i, useOf(byItem[i], typ), within, r.at))
		}
		if len(r.at) > 0 {
			j.rows = append(j.rows, r)
		}
		after = end
	}
	if len(waits) == 0 {
		j.alwaysN[typ] = sum(j.scenarios.row(typ, -1, 0).weight)
	}
}

func useOf(takers []typeUse, typ int) use {
	i := slices.IndexFunc(takers, func(t typeUse) bool { return t.typ == typ })
	return takers[i].use
}

func (d *demand) part(item int, u use, within bool, at []int32) part {
	p := part{item: item, pattern: d.patternFor(u, within), vector: make([]int32, len(at))}
	for k, s := range at {
		p.vector[k] = d.vectorOf[s]
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

// tally adds a share of jobs by batch, so that its error can be measured.
type tally struct {
	ready, jobs []float64 // by batch
	perBatch    int
}

func (s scenarios) tally() tally {
	n := max(1, s.batches)
	return tally{make([]float64, n), make([]float64, n), max(1, len(s.prob)/n)}
}

func (t tally) add(scenario int32, jobs, ready float64) {
	b := int(scenario) / t.perBatch
	t.jobs[b] += jobs
	t.ready[b] += ready
}

// always adds jobs that are ready whatever happens.
func (t tally) always(jobs float64) {
	for b := range t.jobs {
		t.jobs[b] += jobs / float64(len(t.jobs))
		t.ready[b] += jobs / float64(len(t.jobs))
	}
}

// share is ready jobs of all jobs.
func (t tally) share() float64 {
	if jobs := sum(t.jobs); jobs > 0 {
		return clamp(sum(t.ready) / jobs)
	}
	return 1
}

// standardError is that of the share: the spread between batches of how far
// each is off the common ratio.
func (t tally) standardError() float64 {
	n := float64(len(t.jobs))
	jobs := sum(t.jobs)
	if n < 2 || jobs == 0 {
		return 0
	}
	share := t.share()
	squares := 0.0
	for b := range t.jobs {
		off := t.ready[b] - share*t.jobs[b]
		squares += off * off
	}
	return math.Sqrt(squares*n/(n-1)) / jobs
}
