// Package learn turns a workshop's past into the figures that the forecast
// runs on. Records in, values out: no clock, no database, no random source.
//
// Three words to know:
//
//   - A prior is what is believed before looking: the book's own figure or
//     common practice, with a weight that says how many observations it is worth.
//   - The data are what was seen. Everything learnt carries their number, so
//     that a person can be told what a figure rests on.
//   - The posterior is both together: near the prior while little was seen, near
//     the data once there is much. Its interval says how sure it is.
//
// Where the past cannot tell, the answer is the prior's, and its Basis says so.
// Nothing here fails, and no figure is ever NaN.
//
// A workshop whose book says that 95 % of jobs turn up, and which saw 40 come
// and 6 stay away:
//
//	show := learn.Share{PriorMean: 0.95, PriorWeight: 20, Yes: 40, No: 6}
//	show.Mean()             // 0.894: below the book, above the bare 0.870
//	low, high := show.Interval(0.9)
package learn

// Basis says what a figure rests on.
type Basis int

// The bases, from nothing seen to enough seen.
const (
	FromBook Basis = iota // nothing was seen: the prior's figure
	TooFew                // something was seen, not enough to leave the prior's figure
	Borrowed              // mostly the figure of the family that it belongs to
	Learnt                // prior and data together
)
