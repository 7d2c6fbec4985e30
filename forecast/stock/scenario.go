package stock

// Effort says how hard to work. The zero value is the usual.
type Effort struct {
	States   int    // count vectors that are enumerated exactly at most; 0: 4096
	Batches  int    // independent batches of a simulation, from which its error is measured; 0: 10
	PerBatch int    // scenarios of one batch; 0: 160
	Seed     uint64 // of the simulation
}

// Scenario is one way the jobs may come: how many of each type in each window.
type Scenario struct {
	Prob   float64
	Counts []int // of type t in window w at t·windows + w
}
