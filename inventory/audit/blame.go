package audit

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Choices of the blame, without a source.
const (
	// An overuse of one thing is thought of as exponential with this mean, in
	// shares of what the bill allows: a tenth is likelier than a double.
	usualExtra = 0.25
	// Cards vary no less than so much of the variance they are reckoned to
	// have, and so many before the episode tell how much they do.
	leastCardVariance, cardsToTell = 0.05, 20
)

// blame finds what explains the last run of signals best if one thing alone is
// to: a service, a model, a person, all jobs alike, or a steady amount a week.
// Each of them would draw, from the episode's start on, an extra in proportion to
// what the bill allows it; what it would show on no card, on cards alone, or on
// both, each as likely, is held against what the periods left unrecorded, a job
// without a card taken as the bill allows it, and what the cards say beyond the
// bill. A period alone, an episode of which one period can be used, or one of
// what no job takes tells nothing.
func (a *ItemAudit) blame(from attribution) *Blame {
	e, any := a.LastRun()
	if !any {
		return nil
	}
	p := newPanel(a.Periods[e.Start:e.End+1], a.Item, from.takings)
	if len(p.spans) < 2 {
		return nil
	}
	c := newCourt(p, a, e)
	if c.standard == 0 {
		return nil // no job takes it: nothing to tell a leak from
	}
	services := p.byService(from.services)
	candidates := c.candidates(services)
	if len(services.codes) >= 2 {
		candidates = append(candidates, c.all(p))
	}
	if models := p.byModel(from.models); len(models.codes) >= 2 {
		candidates = append(candidates, c.candidates(models)...)
	}
	if people := p.byPerson(); named(people.codes) >= 2 {
		candidates = append(candidates, c.candidates(people)...)
	}
	return c.verdict(append(candidates, c.nothing()))
}

// court is the evidence of an episode. Amounts are turned so that the extra is
// above zero whichever way the episode goes.
type court struct {
	p            *panel
	sign         float64
	offCards     []float64 // by span, see span
	variance     []float64 // of it
	cardVariance float64   // of cards, as a share of what it is reckoned to be
	weeks        float64
	standard     float64 // in all spans
	excess       float64
}

func newCourt(p *panel, a *ItemAudit, e Episode) *court {
	c := &court{p: p, sign: 1}
	if e.Direction == Low {
		c.sign = -1
	}
	finest := p.finest() * p.finest()
	for _, s := range p.spans {
		c.offCards = append(c.offCards, c.sign*s.offCards)
		c.variance = append(c.variance, math.Max(s.card+s.count, finest))
		c.weeks += float64(s.to-s.from) / 7
		c.excess += c.sign * s.excess
	}
	for i, t := range p.takings {
		if p.in[i] >= 0 {
			c.standard += t.standard
		}
	}
	before := newPanel(a.Periods[:e.Start], a.Item, p.takings)
	c.cardVariance = before.cardVariance()
	c.widen(before.spans, finest)
	return c
}

// widen makes the evidence as much weaker as the periods before the episode
// scattered more than was reckoned.
func (c *court) widen(before []span, finest float64) {
	square := spreadWorth * 1.0
	for _, s := range before {
		square += s.offCards * s.offCards / math.Max(s.card+s.count, finest)
	}
	by := math.Max(1, square/float64(spreadWorth+len(before)))
	for i := range c.variance {
		c.variance[i] *= by
	}
}

// cardVariance is that of cards about the bill, as a share of what it is
// reckoned to be.
func (p *panel) cardVariance() float64 {
	square, n := 0.0, 0
	for _, takings := range p.jobs() {
		if job := tookOf(takings); job.onCard && job.variance > 0 {
			over := job.recorded - job.standard
			square += over * over / job.variance
			n++
		}
	}
	if n < cardsToTell {
		return 1
	}
	return math.Max(leastCardVariance, square/float64(n))
}

// candidate is one thing that may explain an episode.
type candidate struct {
	by    By
	code  string
	log   float64 // of how likely it makes what was seen, against nothing extra
	extra float64 // in all, in the measure
	per   float64 // jobs, or weeks
}

// candidates are the groups of a division that have a name.
func (c *court) candidates(d division) []candidate {
	columns, total := make([][]float64, len(d.codes)), make([]float64, len(d.codes))
	for g := range columns {
		columns[g] = make([]float64, len(c.p.spans))
	}
	for i := range c.p.takings {
		if g := d.of[i]; g >= 0 {
			columns[g][c.p.in[i]] += c.p.takings[i].standard
			total[g] += c.p.takings[i].standard
		}
	}
	jobs, onCards := c.p.jobsOf(d), c.cards(d)
	var all []candidate
	for g, code := range d.codes {
		if code == "" {
			continue
		}
		s := candidate{by: d.by, code: code, per: float64(jobs[g])}
		s.log, s.extra = either(c.periods(columns[g]), onCards[g])
		s.extra *= total[g]
		all = append(all, s)
	}
	return all
}

// all is every job alike: oil that is lost in pouring, whatever it is for.
func (c *court) all(p *panel) candidate {
	s := c.candidates(p.divide(ByAll, nil, func(*taking) string { return string(ByAll) }))[0]
	s.code = ""
	return s
}

// nothing is the same amount a week, whatever is done; it shows on no card.
func (c *court) nothing() candidate {
	column := make([]float64, len(c.p.spans))
	for i, s := range c.p.spans {
		column[i] = c.standard / c.weeks * float64(s.to-s.from) / 7
	}
	e := c.periods(column)
	return candidate{by: ByNone, log: e.log(), extra: e.mode() * c.standard, per: c.weeks}
}

// effect is an extra, as a share of a column: the best value were it free,
// and its standard deviation.
type effect struct{ best, sd float64 }

func effectOf(product, square float64) effect {
	if square == 0 {
		return effect{0, math.Inf(1)}
	}
	return effect{product / square, 1 / math.Sqrt(square)}
}

// periods holds a column against what the spans left unrecorded.
func (c *court) periods(column []float64) effect {
	product, square := 0.0, 0.0
	for i, v := range column {
		product += v * c.offCards[i] / c.variance[i]
		square += v * v / c.variance[i]
	}
	return effectOf(product, square)
}

// cards holds each group's part of every job against what its card says beyond
// the bill.
func (c *court) cards(d division) []effect {
	product, square := make([]float64, len(d.codes)), make([]float64, len(d.codes))
	part := make([]float64, len(d.codes))
	for first, takings := range c.p.jobs() {
		job := tookOf(takings)
		if !job.onCard {
			continue
		}
		clear(part)
		for i, t := range takings {
			if g := d.of[first+i]; g >= 0 {
				part[g] += t.standard
			}
		}
		over := c.sign * (job.recorded - job.standard)
		variance := math.Max(c.cardVariance*job.variance, c.p.finest()*c.p.finest())
		for g, v := range part {
			product[g] += v * over / variance
			square[g] += v * v / variance
		}
	}
	all := make([]effect, len(part))
	for g := range all {
		all[g] = effectOf(product[g], square[g])
	}
	return all
}

// mode is the likeliest extra, given what is usual.
func (e effect) mode() float64 {
	if math.IsInf(e.sd, 1) {
		return 0
	}
	return math.Max(0, e.best-e.sd*e.sd/usualExtra)
}

// log is the logarithm of how likely an extra of the usual kind makes what was
// seen, against none: ∫ exp(−x/m)/m · N(best; x, sd) dx / N(best; 0, sd) over
// x ≥ 0, m being the usual extra.
func (e effect) log() float64 {
	if math.IsInf(e.sd, 1) {
		return 0
	}
	z := e.best/e.sd - e.sd/usualExtra
	return math.Log(e.sd/usualExtra) + logMills(z)
}

// logMills is the logarithm of Φ(z)/φ(z), by its asymptotic series far
// below zero (Abramowitz & Stegun 1964, 26.2.12).
func logMills(z float64) float64 {
	if z < -20 {
		return math.Log1p(-1/(z*z)+3/(z*z*z*z)) - math.Log(-z)
	}
	return math.Log(distuv.UnitNormal.CDF(z)) + z*z/2 + math.Log(2*math.Pi)/2
}

// either weighs an extra that shows on no card, on cards alone, or on both.
func either(periods, cards effect) (log, extra float64) {
	logs := [3]float64{periods.log(), cards.log(), periods.log() + cards.log()}
	extras := [3]float64{periods.mode(), cards.mode(), periods.mode() + cards.mode()}
	log = logSum(logs[:]) - math.Log(3)
	for i, l := range logs {
		extra += math.Exp(l-log) / 3 * extras[i]
	}
	return log, extra
}

// logSum is the logarithm of the sum of what the logarithms stand for.
func logSum(logs []float64) float64 {
	most, sum := math.Inf(-1), 0.0
	for _, l := range logs {
		most = math.Max(most, l)
	}
	for _, l := range logs {
		sum += math.Exp(l - most)
	}
	return most + math.Log(sum)
}

// verdict names the likeliest candidate, the earlier one of two that are the same
// in all but name.
func (c *court) verdict(candidates []candidate) *Blame {
	var logs []float64
	for _, s := range candidates {
		logs = append(logs, s.log)
	}
	all := logSum(logs)
	best, next := 0, -1
	for i, s := range candidates {
		if s.log > candidates[best].log+1e-9 {
			best = i
		}
	}
	for i, s := range candidates {
		if i != best && s.by == ByService && (next < 0 || s.log > candidates[next].log) {
			next = i
		}
	}
	s := candidates[best]
	b := &Blame{By: s.by, Code: s.code, Prob: math.Exp(s.log - all), Extra: c.sign * s.extra / s.per}
	if c.excess > 0 {
		b.Share = math.Min(1, s.extra/c.excess)
	}
	if next >= 0 {
		b.RunUp, b.RunProb = candidates[next].code, math.Exp(candidates[next].log-all)
	}
	return b
}
