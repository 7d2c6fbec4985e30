// Package rehearse replays a shelf day by day under a way of ordering: what
// jobs really took and when deliveries really came are given, what is ordered
// is the policy's. Numbers in, values out.
//
// Three words to know. A step is the smallest countable amount of an item. A
// shelf's position is what is on hand, less what is owed, plus what is on
// order. Readiness is the share of jobs that found every critical line in full.
//
// A day goes by these rules, in this order:
//
//   - Lots that have kept for Expires days are written off at their cost.
//   - On a Monday the policy proposes packs; they are brought up to the
//     supplier's least number and multiple, and ordered on the supplier's
//     order weekday of that week.
//   - The day's orders are placed. One whose goods are worth less than the
//     supplier's minimum is not taken and counts as refused. Carriage is paid
//     by the order unless the goods reach the free amount.
//   - Deliveries due by their real lead time come in. What is owed is served
//     from them before anything else.
//   - Jobs come in the order given. Each takes its lines, first expired first
//     out; what is not there in full is taken as far as it goes and the rest is
//     owed. The job is ready when every critical line was there in full.
//   - What is left on the shelf is valued at cost.
//
// Jobs, money and stock count from the end of the warm-up; the flows of each
// item cover the whole replay, so that they can be reconciled.
//
//	always := func(m rehearse.Monday) []int { return []int{1} }
//	result, err := rehearse.Replay(world, 13, always, nil)
package rehearse
