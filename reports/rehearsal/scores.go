package rehearsal

import (
	"gonum.org/v1/gonum/stat"

	"circlip/forecast"
	"circlip/forecast/score"
	"circlip/forecast/series"
	"circlip/inventory"
	"circlip/reports/plan"
)

// Horizons are the weeks ahead that forecasts are scored for.
var Horizons = []int{1, 2, 4, 8}

// Scores are what the forecasts of a rehearsal were worth: those of circlip and
// of the textbook, of jobs by service and of use by item.
type Scores struct {
	Services, Items Scoring
	shop            inventory.Shop
	world           *world
	pieces          []int // items scored: those that come in pieces
}

// Scoring is the scores of one sort of thing.
type Scoring struct {
	Names   []string
	Methods []string
	Cells   [][][]score.Scores // by method, horizon and thing
}

// ours is the first of the methods.
const ours = "circlip"

func newScoring(names []string) Scoring {
	s := Scoring{Names: names, Methods: []string{ours}}
	for _, b := range baselines {
		s.Methods = append(s.Methods, b.name)
	}
	for range s.Methods {
		var byHorizon [][]score.Scores
		for range Horizons {
			byHorizon = append(byHorizon, make([]score.Scores, len(names)))
		}
		s.Cells = append(s.Cells, byHorizon)
	}
	return s
}

func newScores(shop inventory.Shop, w *world) *Scores {
	s := &Scores{shop: shop, world: w}
	var services, items []string
	for _, service := range shop.Services {
		services = append(services, service.Code)
	}
	for at, i := range shop.Items {
		if i.Measure == inventory.Each && w.Items[at].Cost > 0 {
			s.pieces = append(s.pieces, at)
			items = append(items, i.Code)
		}
	}
	s.Services, s.Items = newScoring(services), newScoring(items)
	return s
}

// add scores the forecasts of a Monday for what came. Weeks count from the
// world's first.
func (s *Scores) add(out *plan.Outlook, week int) {
	before := s.world.before
	for h, ahead := range Horizons {
		at := week + ahead - 1
		if at >= s.world.weeks() {
			continue
		}
		for k, law := range out.Services(ahead - 1) {
			s.Services.Cells[0][h][k].Add(law, s.world.services[k][before+at])
		}
		for k, law := range out.Use(ahead-1, s.pieces) {
			s.Items.Cells[0][h][k].Add(law, s.world.used[s.pieces[k]][before+at])
		}
	}
	for k := range s.Services.Names {
		s.Services.addBaselines(k, s.world.services[k], before+week)
	}
	for k, item := range s.pieces {
		s.Items.addBaselines(k, s.world.used[item], before+week)
	}
}

// addBaselines scores what a textbook says of a row of counts after so many
// weeks of it: the same for every horizon.
func (s *Scoring) addBaselines(thing int, counts []int, known int) {
	past := make([]float64, known)
	for i, n := range counts[:known] {
		past[i] = float64(n)
	}
	for b, baseline := range baselines {
		law := baseline.law(past)
		for h, ahead := range Horizons {
			if at := known + ahead - 1; at < len(counts) {
				s.Cells[b+1][h][thing].Add(law, counts[at])
			}
		}
	}
}

// Together adds up the scores of all things by a method at a horizon.
func (s Scoring) Together(method, horizon int) score.Scores {
	var sum score.Scores
	for _, cell := range s.Cells[method][horizon] {
		sum.Merge(cell)
	}
	return sum
}

// InBand is how many of a method's cells, things by horizons, have transforms
// that lie as flat as those of right laws do, of those in which enough came to
// tell.
func (s Scoring) InBand(method int) (in, of int) {
	for h := range s.Cells[method] {
		flat, told := s.inBandAt(method, h)
		in, of = in+flat, of+told
	}
	return in, of
}

// inBandAt is the same at one of the horizons.
func (s Scoring) inBandAt(method, horizon int) (in, of int) {
	for _, cell := range s.Cells[method][horizon] {
		if tilt := cell.Tilt(); tilt.Degrees > 0 {
			of++
			if !tilt.Alarm() {
				in++
			}
		}
	}
	return in, of
}

// Verdict is what a method's forecasts so many weeks ahead were worth, all
// things of one sort together.
type Verdict struct {
	Method      string
	Ahead       int // weeks
	Flat, Cells int // things whose transforms lie flat, of those that can tell
	score.Scores
}

// Verdicts are those of one or several rehearsals together, method by method,
// each horizon after the other; the workshops need not have the same things.
func Verdicts(of ...Scoring) []Verdict {
	var list []Verdict
	if len(of) == 0 {
		return nil
	}
	for m, method := range of[0].Methods {
		for h, ahead := range Horizons {
			v := Verdict{Method: method, Ahead: ahead}
			for _, s := range of {
				v.Merge(s.Together(m, h))
				flat, told := s.inBandAt(m, h)
				v.Flat, v.Cells = v.Flat+flat, v.Cells+told
			}
			list = append(list, v)
		}
	}
	return list
}

// baseline is a textbook forecast with its law.
type baseline struct {
	name string
	law  func(past []float64) forecast.PMF
}

// baselines have negative binomial laws with the variance of the past, at least
// a little more than Poisson's, as the comparison of published methods on open
// series has them; the base stock's is Poisson.
var baselines = []baseline{
	{"mean of 8 weeks", withVariance(func(past []float64) float64 { return meanOfLast(past, 8) })},
	{"Croston", withVariance(func(past []float64) float64 { return series.Croston(past, smoothing) })},
	{"SBA", withVariance(func(past []float64) float64 { return series.SBA(past, smoothing) })},
	{"TSB", withVariance(func(past []float64) float64 { return series.TSB(past, smoothing, smoothing) })},
	{"Poisson, 52 weeks", func(past []float64) forecast.PMF { return forecast.Poisson(meanOfLast(past, 52)) }},
}

// smoothing is the usual constant of the smoothing methods.
const smoothing = 0.1

func meanOfLast(past []float64, weeks int) float64 {
	past = past[max(0, len(past)-weeks):]
	if len(past) == 0 {
		return 0
	}
	return stat.Mean(past, nil)
}

func withVariance(mean func([]float64) float64) func([]float64) forecast.PMF {
	return func(past []float64) forecast.PMF {
		m := mean(past)
		if !(m > 1e-9) {
			return forecast.Poisson(0)
		}
		v := 1.05 * m
		if len(past) > 1 {
			v = max(stat.Variance(past, nil), v)
		}
		return forecast.NegativeBinomial(m, m*m/(v-m))
	}
}
