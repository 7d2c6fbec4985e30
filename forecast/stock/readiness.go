package stock

// Readiness is the share of jobs ready, at some levels. Of each type the jobs
// count that arrive no later than the longest protection time of its critical
// lines: those that today's orders must serve. A type without critical lines
// is always ready. Where no job comes at all, readiness is 1: nobody waits.
type Readiness struct {
	Workshop      float64 // arrival-weighted mean over the jobs
	StandardError float64 // of Workshop; 0 where Exact
	Exact         bool
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
	columns := make([][][]float64, len(levels))
	for i, level := range levels {
		r.Availability[i] = j.Availability(i, level)
		if d := j.demands[i]; d != nil {
			columns[i] = d.chances([]int{level})
		}
	}
	all := j.scenarios.tally()
	for from := 0; from < len(j.rows); {
		to := from + 1
		for to < len(j.rows) && j.rows[to].typ == j.rows[from].typ {
			to++
		}
		r.Types[j.rows[from].typ] = typeReadiness(j.rows[from:to], columns, all)
		from = to
	}
	for t, jobs := range j.alwaysN {
		if jobs > 0 {
			all.always(jobs)
		}
		if r.Types[t].Jobs == 0 {
			r.Types[t] = TypeReadiness{Jobs: jobs, Ready: 1, Product: 1, Smallest: 1}
		}
	}
	r.Workshop, r.Jobs, r.StandardError = all.share(), sum(all.jobs), all.standardError()
	return r
}

// typeReadiness is that of one type from its rows; the jobs are added to all.
func typeReadiness(rows []row, columns [][][]float64, all tally) TypeReadiness {
	t := TypeReadiness{Product: 1, Smallest: 1}
	alone := make([]float64, len(rows[0].parts)) // ready as far as one item goes
	ready := 0.0
	for _, r := range rows {
		for k, scenario := range r.at {
			chance := 1.0
			for p, part := range r.parts {
				c := columns[part.item][part.pattern][part.vector[k]]
				chance *= c
				alone[p] += r.weight[k] * c
			}
			t.Jobs += r.weight[k]
			ready += r.weight[k] * chance
			all.add(scenario, r.weight[k], r.weight[k]*chance)
		}
	}
	t.Ready = clamp(ready / t.Jobs)
	for _, a := range alone {
		t.Product *= clamp(a / t.Jobs)
		t.Smallest = min(t.Smallest, clamp(a/t.Jobs))
	}
	return t
}
