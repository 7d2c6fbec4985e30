// Package series tells the law of coming counts from the counts of past
// periods, most of which are 0: jobs that nobody could foresee, by week.
//
// Three words to know:
//
//   - A law here is a gamma law of the rate: how many a period bring on
//     average, and how sure that is. Given it, the counts are Poisson, so that
//     those of any span are negative binomial.
//   - A family is the series that are thought alike. What is too sparse to be
//     told from a series itself is borrowed from its family.
//   - The rolling origin is the judge: each method forecasts from many points
//     of the past what was then still to come, and the steadiest one whose
//     ranked probability score is not clearly above the least is taken.
//
// Two services counted over two years of weeks, of one family:
//
//	laws := series.Fit(series.Past{Phase: weekOfYear, Phases: 52, Series: []series.Series{
//		{Counts: lowers}, {Counts: dampers},
//	}})
//	laws[0].Mean(26) // expected next time the 27th week of the year comes
package series
