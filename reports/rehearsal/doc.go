// Package rehearsal plays a workshop's own past again, week by week: on each
// Monday it plans with what was known on that morning, orders what the plan
// proposes, lets deliveries come when they really came and jobs take what they
// really took. The textbook's ways of ordering go through the same weeks, so
// that money and readiness can be held against each other; and every forecast
// that was made on the way is scored once it is known what came.
//
// Words: a past is what really happened; a point is one way of ordering at one
// setting, with the readiness it reached and the mean value of its stock; the
// horizon is how many weeks ahead a forecast looked, 1 the week that began on
// the Monday.
//
//	report, err := rehearsal.Run(ctx, rehearsal.Of(shop), rehearsal.Options{Weeks: 104})
//	fmt.Println(report.Saving())
package rehearsal
