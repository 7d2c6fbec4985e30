package audit

import (
	"math"
	"math/rand/v2"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// Choices of the estimates, without a source.
const (
	// Of equally good ratios those nearest the bill are taken: so much of the
	// weight of the periods goes to it, too little to be seen otherwise.
	lean = 1e-8
	// Resamples; percentiles 2.5 and 97.5 are the 15th on either side (Davison
	// & Hinkley, Bootstrap Methods and their Application, 1997, section 5.2).
	resamples, outside = 599, 15
	// How many periods of scatter the spread that was reckoned is worth.
	spreadWorth = 3
	// What is known: from so many periods, and so many beyond the groups, if
	// the interval is no wider than so much of the standard on either side.
	fewestPeriods, fewestBeyond, widest = 6, 2, 0.5
)

// fit is the use of an item by the groups of a division, as a ratio to what the
// bill allows them.
//
// What a span drew, with each card's luck taken off (what it says beyond its
// group's own ratio to the bill), is Σ standard·ratio of the groups and noise,
// whose variance is that of the counts and of what cards leave open. The
// ratios are non-negative least squares, each span over its spread and what all
// of them scatter beyond that.
type fit struct {
	division
	jobs     []int
	standard []float64 // in the spans, in the measure
	spans    int
	ratio    []float64
	low      []float64
	high     []float64
	gram     *gram     // of the columns over the spreads, brought to length one
	length   []float64 // their lengths before
	left     float64   // sum of squares left, over the spreads
	cards    *cardRatios
}

func newFit(p *panel, d division) *fit {
	n := len(d.codes)
	f := &fit{division: d, jobs: p.jobsOf(d), standard: make([]float64, n), spans: len(p.spans)}
	if n == 0 {
		return f
	}
	e := equations{spread: slices.Repeat([]float64{1}, f.spans)}
	e.columns, e.drawn = f.tabulate(p)
	for t, s := range p.spans {
		e.over(t, math.Max(math.Sqrt(s.card+s.count), p.finest()))
	}
	f.solve(e.columns, e.drawn)
	f.low, f.high = make([]float64, n), make([]float64, n)
	if f.tooFew() {
		f.bound(e.columns, e.drawn)
		return f
	}
	if more := f.unreckoned(e.spread); more > 0 {
		for t, spread := range e.spread {
			e.over(t, math.Hypot(spread, more))
		}
		f.solve(e.columns, e.drawn)
	}
	f.bootstrap()
	return f
}

// equations are one a span, over its spread.
type equations struct {
	columns       *mat.Dense
	drawn, spread []float64
}

// over gives an equation another spread.
func (e *equations) over(t int, spread float64) {
	by := spread / e.spread[t]
	row := e.columns.RawRowView(t)
	for g := range row {
		row[g] /= by
	}
	e.drawn[t] /= by
	e.spread[t] = spread
}

// unreckoned is the spread that all spans have beyond their own, by what was
// left: sealed packs that hold not quite what they say, cards read less well
// than they are written. Else spans that seem exact would tell all (the moments
// of DerSimonian & Laird 1986, from memory, with the spans' leverages taken to
// be alike).
func (f *fit) unreckoned(spread []float64) float64 {
	weights := 0.0
	for _, s := range spread {
		weights += 1 / (s * s)
	}
	beyond := float64(f.spans - len(f.codes))
	return math.Sqrt(math.Max(0, (f.left-beyond)/(weights*beyond/float64(f.spans))))
}

// tooFew reports whether there are not the periods to tell the groups apart.
func (f *fit) tooFew() bool { return f.spans < len(f.codes)+fewestBeyond }

// bound has each group take from nothing to all of what a span drew, whichever
// span allows it least, and two spreads more; spans are over their spread.
func (f *fit) bound(columns *mat.Dense, drawn []float64) {
	for g := range f.high {
		f.high[g] = math.Inf(1)
		for t := range f.spans {
			if v := columns.At(t, g); v > 0 {
				f.high[g] = math.Min(f.high[g], (math.Max(0, drawn[t])+2)/v)
			}
		}
		f.high[g] = math.Max(f.high[g], f.ratio[g])
	}
}

// tabulate lists what the bill allows each group in each span, and what each
// span drew with the luck of cards taken off. Rows beyond the spans are free.
func (f *fit) tabulate(p *panel) (columns *mat.Dense, drawn []float64) {
	n := len(f.codes)
	columns, drawn = mat.NewDense(f.spans+n, n, nil), make([]float64, f.spans+n)
	for i := range p.takings {
		if t, g := &p.takings[i], f.of[i]; g >= 0 {
			f.standard[g] += t.standard
			columns.Set(p.in[i], g, columns.At(p.in[i], g)+t.standard)
		}
	}
	f.cards = newCardRatios(p, f.division, f.standard)
	for t, s := range p.spans {
		drawn[t] = s.unrecorded
	}
	for i := range p.takings {
		if t := &p.takings[i]; f.of[i] >= 0 && t.onCard {
			drawn[p.in[i]] += f.cards.ratio[f.of[i]] * t.standard
		}
	}
	return columns, drawn
}

// solve finds the ratios; the rows beyond the spans hold the lean.
func (f *fit) solve(columns *mat.Dense, drawn []float64) {
	n := len(f.codes)
	f.gram, f.length = newGram(n), make([]float64, n)
	for g := range n {
		f.length[g] = mat.Norm(columns.ColView(g), 2)
	}
	for t := range f.spans {
		f.gram.add(columns.RawRowView(t), 1)
	}
	f.gram.bring(f.length, make([]float64, n))
	for g, length := range f.length {
		columns.Set(f.spans+g, g, math.Sqrt(lean)*length)
		drawn[f.spans+g] = math.Sqrt(lean) * length
	}
	f.ratio, f.left = nnls(columns, drawn), 0
	for t := range f.spans {
		left := drawn[t]
		for g, v := range columns.RawRowView(t) {
			left -= v * f.ratio[g]
		}
		f.left += left * left
	}
}

// bootstrap makes the intervals: ratios found again from periods drawn anew
// about the fitted ones. Of those periods only their products with the columns
// matter, whose law is normal with the gram for its covariance, so that these
// are drawn. The spread of a resample is drawn as well, as little is known of
// it from few periods, and is never below the one that was reckoned.
func (f *fit) bootstrap() {
	n := len(f.codes)
	source := rand.NewPCG(uint64(n), uint64(f.spans))
	random := rand.New(source)
	draws := make([][]float64, n)
	for g := range draws {
		draws[g] = make([]float64, resamples)
	}
	scatter := distuv.ChiSquared{K: spreadWorth + math.Max(0, float64(f.spans-n)), Src: source}
	x := make([]float64, n)
	for r := range resamples {
		spread := math.Sqrt(math.Max(1, (spreadWorth+f.left)/scatter.Rand()))
		f.gram.resample(random, f.ratio, f.length, spread, x)
		for g, v := range x {
			draws[g][r] = v
		}
		f.cards.luck(random, draws, r)
	}
	for g := range draws {
		slices.Sort(draws[g])
		f.low[g], f.high[g] = math.Max(0, draws[g][outside-1]), math.Max(0, draws[g][resamples-outside])
	}
}

// estimates turn ratios into amounts a job.
func (f *fit) estimates() []Estimate {
	var all []Estimate
	for g, code := range f.codes {
		perJob := f.standard[g] / float64(f.jobs[g])
		all = append(all, Estimate{
			Code: code, Jobs: f.jobs[g], StandardPerJob: perJob,
			PerJob: f.ratio[g] * perJob, Low: f.low[g] * perJob, High: f.high[g] * perJob, Known: f.known(g),
		})
	}
	return all
}

func (f *fit) known(g int) bool {
	return f.spans >= fewestPeriods && !f.tooFew() && f.halfWidth(g) <= widest
}

// halfWidth of the interval, as a share of the standard.
func (f *fit) halfWidth(g int) float64 { return (f.high[g] - f.low[g]) / 2 }
