// Package invented makes workshops with a past from a seed, to rehearse
// planning on: units that are ridden and come due, customers who come or go
// elsewhere, walk-ins, no-shows, suppliers who are late. The truth behind the
// past is handed out with it, so that what was learnt can be held against it.
//
// All of it is invented: models, suppliers, prices, riders and intervals are
// nobody's, and only their orders of magnitude are common practice, no source.
//
// Three words to know:
//
//   - Dawn is the day the first units come into service, a year before Start;
//     the past that counts runs from Start to the day before the shop's AsOf.
//     Jobs and readings of the first year stand in the book too, so that every
//     clock has its beginning there.
//   - The truth is every parameter that was drawn.
//   - What is taken is what a job really takes off the shelf; what is used is
//     the part of it that the job cards say.
//
// For example, two years of a workshop whose bikes have no meters:
//
//	w := invented.Make(invented.Config{Seed: 7, Weeks: 104, Meters: invented.MetersNone})
//	days := w.Lead("brindle", w.Start) // what an order of that day takes
//
// A unit's days are those of the forecast's process. The meter gains a gamma
// number of hours a day. A service whose hours or months have run out at the
// end of a day makes the unit due; what covers it and is due within the fold-in
// takes its place. After a geometric number of whole weeks the unit comes, or
// the service is done elsewhere; what covers the job and has come due by then
// takes its place again, and the clocks of all that was done restart at what
// the meter shows. Two things are added that a workshop cannot do without:
// whoever would come on a weekend comes on a working day of the week after, and
// of those who booked a day or more ahead some do not turn up; their unit is
// due again the next day.
//
// The supplier orders of the past are there to learn lead times from. They are
// modest and go on week by week, but no shelf was played: what was used is not
// balanced by what came, and the lots on hand are the small opening shelf.
//
// The same configuration gives the same workshop, to the byte, on machines of
// one architecture; another architecture may round a last bit otherwise.
package invented
