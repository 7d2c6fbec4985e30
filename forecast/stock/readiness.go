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
