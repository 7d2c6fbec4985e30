package stock

import "math"

// Readiness is the share of jobs ready, at some levels. A job is judged as if
// it came at the end of its lines' protection times: it is ready when what all
// jobs of such a time take is there.
//
// Of each type the jobs count that arrive no later than the longest protection
// time of its critical lines: those that today's orders must serve. A line
// whose own protection time ends before such a job comes is held to how the
// item stands within that time, without the job: the next order will be held
// to the same. A type without critical lines is always ready, and counts with
// its jobs of the shortest protection time. Where no job comes at all,
// readiness is 1: nobody waits.
type Readiness struct {
	Workshop      float64 // arrival-weighted mean over the jobs
	StandardError float64 // of Workshop, on the safe side; 0 where Exact
	Exact         bool    // the scenarios are all there are
	Jobs          float64 // expected number of the jobs counted
	Types         []TypeReadiness
	Availability  []float64 // of each item: P(demand of its protection time ≤ level)
}

// TypeReadiness is the readiness of one job type, and what two shorter
// calculations would have said of it. Smallest is never below Ready. Product
// is never above it where the job counts are independent of each other or
// rise together (Song 1998); units that bring either one job or another may
// break that.
type TypeReadiness struct {
	Jobs     float64 // expected number of the jobs counted
	Ready    float64
	Product  float64 // of the lines' own chances, as if shortages were independent
	Smallest float64 // of the lines' own chances, as if shortages nested
}

// Readiness is what the levels, in steps by item, are good for.
func (j *Joint) Readiness(levels []int) Readiness {
	j.mustFit(levels)
	r := Readiness{
		Exact:        j.scenarios.batches == 0,
		Types:        make([]TypeReadiness, len(j.problem.Types)),
		Availability: make([]float64, len(levels)),
	}
	columns := make([]chances, len(levels)) // at the item's one level
	each(len(levels), func(i int) {
		r.Availability[i] = j.Availability(i, levels[i])
		if d := j.demands[i]; d != nil {
			columns[i] = d.chances(levels[i : i+1])
		}
	})
	rows := make([]rowReadiness, len(j.rows))
	each(len(j.rows), func(k int) { rows[k] = j.rows[k].readiness(columns, j.scenarios) })
	for t, always := range j.alwaysN {
		r.Types[t] = TypeReadiness{always, 1, 1, 1}
	}
	for from := 0; from < len(rows); {
		to := from + 1
		for to < len(rows) && j.rows[to].typ == j.rows[from].typ {
			to++
		}
		r.Types[j.rows[from].typ] = typeReadiness(rows[from:to])
		from = to
	}
	ready := 0.0
	for _, t := range r.Types {
		r.Jobs += t.Jobs
		ready += t.Jobs * t.Ready
	}
	if r.Workshop = 1; r.Jobs > 0 {
		r.Workshop = clamp(ready / r.Jobs)
		r.StandardError = standardError(rows, r.Workshop) / r.Jobs
	}
	return r
}

// typeReadiness is that of one type from its rows, which all have the same
// items in the same order.
func typeReadiness(rows []rowReadiness) TypeReadiness {
	t := TypeReadiness{Product: 1, Smallest: 1}
	ready := 0.0
	for _, r := range rows {
		t.Jobs += r.jobs
		ready += r.ready
	}
	t.Ready = clamp(ready / t.Jobs)
	for p := range rows[0].alone {
		alone := 0.0
		for _, r := range rows {
			alone += r.alone[p]
		}
		t.Product *= clamp(alone / t.Jobs)
		t.Smallest = min(t.Smallest, clamp(alone/t.Jobs))
	}
	return t
}

// standardError is that of the number of jobs ready, from how far apart the
// batches are. It is on the safe side: most of that spread is how often each
// item is short by itself, which is exact in the mean over all batches.
func standardError(rows []rowReadiness, share float64) float64 {
	if len(rows) == 0 || len(rows[0].jobsIn) < 2 {
		return 0
	}
	squares := 0.0
	for b := range rows[0].jobsIn {
		off := 0.0
		for _, r := range rows {
			off += r.readyIn[b] - share*r.jobsIn[b]
		}
		squares += off * off
	}
	n := float64(len(rows[0].jobsIn))
	return math.Sqrt(squares * n / (n - 1))
}

// rowReadiness is how many jobs of a row are expected, ready, and ready as far
// as one item goes.
type rowReadiness struct {
	jobs, ready     float64
	alone           []float64 // by part
	jobsIn, readyIn []float64 // by batch
}

// readiness of a row at one level of each item: in every scenario the product
// of the chances its items give, which there are independent.
func (row row) readiness(columns []chances, s scenarios) rowReadiness {
	batches := max(1, s.batches)
	perBatch := (len(s.prob) + batches - 1) / batches
	r := rowReadiness{alone: make([]float64, len(row.parts)), jobsIn: make([]float64, batches), readyIn: make([]float64, batches)}
	for k, scenario := range row.at {
		weight := row.weight[k]
		ready := weight
		for p, part := range row.parts {
			chance := columns[part.item].patterns[part.pattern][part.vector[k]]
			ready *= chance
			r.alone[p] += weight * chance
		}
		b := int(scenario) / perBatch
		r.jobsIn[b] += weight
		r.readyIn[b] += ready
	}
	r.jobs, r.ready = sum(r.jobsIn), sum(r.readyIn)
	return r
}
