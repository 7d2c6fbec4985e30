// Package stock answers how much of every item to hold so that jobs are ready,
// and which offer to take. It is pure: numbers in, numbers out; the same input
// gives the same bytes.
//
// A job is ready when every critical line it needs is there. The same stream
// of jobs drives all items, so their shortages come together, and multiplying
// the items' availabilities understates readiness (Song 1998). Given how many
// jobs of each type come, though, the items are independent thinnings of those
// jobs (the repair-kit view: Smith, Chambers & Shlifer 1980; Mamer & Smith
// 1982; Teunter 2006). So readiness is averaged over scenarios of job counts,
// and inside a scenario it is a plain product.
//
// Where job counts have few enough values all scenarios are gone through.
// Else they are drawn, with a seed, in batches from whose spread the error is
// measured; how often each item is short by itself is worked out from the
// events and streams, exactly, and the draw only tells how shortages come
// together.
//
// Levels come from a walk down from ample levels, always giving up what loses
// the least readiness for its money, and from a last look at whole packs around
// the target; against all levels of small workshops that is within a tenth of
// a per cent of the cheapest on average at readiness of 0.9 and more.
//
// Words to know:
//
//   - A step is the smallest quantity of an item that is told apart here: one
//     piece, or 1 ml, or 0.1 ml, as the caller likes. All quantities of an
//     item (sizes, packs, positions, levels) are whole steps.
//   - A window is a protection time: the span an order placed now must last
//     for. Windows are numbered by their end, 0 the shortest. An arrival's
//     window is the first one it falls in; an item's demand is what the jobs
//     of its own window and of all shorter ones take.
//   - An event is one unit or booking: at most one of its outcomes happens.
//   - A stream is jobs that come singly and unforeseen, a Poisson or negative
//     binomial number of them.
//   - A level is what the position (on hand and on order) should cover.
//
// For example, one booked job that needs a seal kit for certain and a bushing
// three times in ten, with one kit and no bushing there:
//
//	joint, err := stock.New(stock.Problem{
//		Windows: 1,
//		Items:   []stock.Item{{Pack: 1, Cost: 2450}, {Pack: 1, Cost: 900}},
//		Types: []stock.JobType{{Lines: []stock.Line{
//			{Item: 0, Sizes: stock.Fixed(1), Need: 1, Critical: true},
//			{Item: 1, Sizes: stock.Fixed(1), Need: 0.3, Critical: true},
//		}}},
//		Events: []stock.Event{{{Type: 0, Window: 0, Prob: 0.95}}},
//	}, stock.Effort{})
//	joint.Readiness([]int{1, 0}).Workshop               // 0.7
//	joint.Walk([]int{1, 0}).Reach(0.97).Packs           // [0 1]
package stock
