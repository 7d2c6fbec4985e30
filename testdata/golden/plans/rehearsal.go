package plans

import (
	"circlip/forecast"
	"circlip/forecast/rehearse"
	"circlip/forecast/score"
	"circlip/reports/rehearsal"
)

// Rehearsal is what a year of the same workshop came to under two targets and
// three textbook methods, one of which never makes as many jobs ready.
func Rehearsal() rehearsal.Report {
	return rehearsal.Report{
		Workshop: "Larchfell Bike Park", Currency: euro, AsOf: AsOf, From: AsOf - 364, To: AsOf - 1, Weeks: 52, Target: 0.97,
		Plans: []rehearsal.Point{{Target: 0.90, Result: result(361, 90_000, 0)}, {Target: 0.97, Result: result(388, 120_050, 990)}},
		Textbook: []rehearsal.Curve{
			curveOf(rehearse.Method{Kind: rehearse.Cover}, 200, 100_000, 300, 210_000),
			curveOf(rehearse.Method{Kind: rehearse.Croston, Alpha: 0.1}, 320, 120_000, 388, 160_000, 396, 190_000),
			curveOf(rehearse.Method{Kind: rehearse.TSB, Alpha: 0.2}, 360, 140_000, 392, 180_000),
		},
		Scores:  &rehearsal.Scores{Services: scoring([]string{"fork-lower", "fork-full"}, 1), Items: scoring([]string{"SEA-35"}, 2)},
		LeftOut: []string{"OLD-32"}, Assumed: 1,
	}
}

// Rehearsals are three of invented workshops; the second has no textbook method
// that makes as many jobs ready, the third misses the target.
func Rehearsals() []rehearsal.Report {
	list := []rehearsal.Report{Rehearsal(), Rehearsal(), Rehearsal()}
	for i := range list {
		list[i].Workshop, list[i].Seed, list[i].Assumed, list[i].LeftOut = "Invented workshop", uint64(11+i), 0, nil
	}
	list[1].Textbook = list[1].Textbook[:1]
	list[2].Plans = []rehearsal.Point{{Target: 0.97, Result: result(380, 110_000, 0)}}
	return list
}

// result is 400 jobs of which so many were ready, with a mean stock value and
// what expired, in cents.
func result(ready int, value float64, expired int64) rehearse.Result {
	return rehearse.Result{
		Jobs: 400, Ready: ready, Readiness: float64(ready) / 400, MeanStockValue: value, MeanWithOrders: 1.2 * value,
		Orders: ready / 4, Lines: ready / 2, Goods: 2_345_678, Carriage: int64(ready) * 100, Expired: expired, Left: int64(value) + 1_005,
	}
}

// curveOf is a method's points from pairs of jobs ready and stock value.
func curveOf(m rehearse.Method, pairs ...float64) rehearsal.Curve {
	c := rehearsal.Curve{Method: m}
	for i := 0; i < len(pairs); i += 2 {
		r := result(int(pairs[i]), pairs[i+1], 0)
		c.Points = append(c.Points, rehearse.Point{Knob: 1 + float64(i)/2, Readiness: r.Readiness, Value: r.MeanStockValue, Result: r})
	}
	return c
}

// scoring is of two methods: the first says what comes, the second always half
// of it.
func scoring(names []string, mean float64) rehearsal.Scoring {
	s := rehearsal.Scoring{Names: names, Methods: []string{"circlip", "mean of 8 weeks"}}
	for method := range s.Methods {
		law := forecast.Poisson(mean / float64(1+method))
		var byHorizon [][]score.Scores
		for range rehearsal.Horizons {
			things := make([]score.Scores, len(names))
			for thing := range things {
				for n := range 100 {
					things[thing].Add(law, forecast.Poisson(mean).Quantile((float64(n)+0.5)/100))
				}
			}
			byHorizon = append(byHorizon, things)
		}
		s.Cells = append(s.Cells, byHorizon)
	}
	return s
}
