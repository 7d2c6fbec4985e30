// Package forecast tells when the units that a suspension workshop looks
// after will come in for which service, and what those jobs take from the
// shelf. Numbers in, values out: no clock, no database, no random source.
//
// Five words to know:
//
//   - A ladder is the set of services of one family of units, each due every
//     so many hours ridden or months passed, and which of them cover others.
//   - A passage is the moment a unit's meter runs past the hours at which a
//     service is due. Hours ridden follow a gamma process, so a passage has a
//     law over the weeks ahead and not a date.
//   - A rung is one job foreseen on a unit: what it does, and for each week
//     the probability that it is done in that week. Rungs lead from stage to
//     stage, because what comes next depends on what came first.
//   - A stream is the jobs that nothing foretells: only how many of them come
//     is known, and that not exactly.
//   - A law (PMF) is the distribution of a whole number, here of the
//     quantity of an item taken in a span of time.
//
// A fork that has its lower legs serviced every 50 hours, ridden 8 hours a
// week and now 40 hours after the last time:
//
//	lowers := forecast.Ladder{Services: []forecast.Service{{ID: 1, Every: 50}}}
//	cal, err := forecast.NewCalendar(asOf, 26, nil)
//	futures, err := forecast.Futures(cal, []forecast.Unit{{
//		Ladder: &lowers, HoursPerWeek: 8, Spread: 4, ReadOn: asOf,
//		Clocks: []forecast.Clock{{Hours: 40, DoneOn: asOf - 60}}, Capture: 1,
//	}})
//	jobs := forecast.Arrivals(futures, 1, 0) // expected in the first week
package forecast
