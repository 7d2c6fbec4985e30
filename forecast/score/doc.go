// Package score tells what forecasts of counts were worth once it is known
// what came. Laws and numbers in, numbers out; smaller scores are better.
//
// Three words to know:
//
//   - The ranked probability score is the distance of a whole law from what
//     came, in the unit of the thing forecast.
//   - The pinball loss is that of one quantile, the level that a shelf is
//     filled to: short and over weigh as their probabilities do.
//   - The transform is how far up its law an outcome lies, from 0 to 1. The
//     transforms of right laws lie flat.
//
// Means of absolute errors are left out on purpose: where most weeks bring
// nothing they are least for a forecast of nothing.
//
//	var s score.Scores
//	for week, law := range laws {
//		s.Add(law, came[week])
//	}
//	fmt.Println(s.RPS(), s.Pinball(), s.Histogram(), s.Tilt().Alarm())
//
// The scores are those of Czado, Gneiting & Held, Predictive model assessment
// for count data, Biometrics 65 (2009).
package score
