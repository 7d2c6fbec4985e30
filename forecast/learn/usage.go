package learn

import (
	"cmp"
	"math"
	"slices"

	"circlip/forecast"
)

// Usage is how much one unit is ridden, as learnt, with what it rests on:
// HoursPerWeek = GroupMean + OwnWeight·(OwnHours/OwnWeeks − GroupMean).
type Usage struct {
	HoursPerWeek float64        // in a week of season factor 1
	SD           float64        // standard deviation of HoursPerWeek; 0 where given
	Spread       forecast.Hours // the group's: variance of hours ridden over their mean
	Known        bool           // whether anything is known; else all figures are 0 but the spread
	Given        bool           // whether the planner's own figure is taken as it is

	OwnHours   forecast.Hours // ridden between the unit's own readings
	OwnWeeks   forecast.Weeks // season-weighted, that they were ridden in
	Increments int            // the times of a week or more that these make up
	OwnWeight  float64        // of the own readings against the group's mean, 0 to 1
	GroupMean  float64        // hours a week
	GroupUnits int            // units whose readings make up the group's mean
	LeftOut    LeftOut        // of the unit's readings
}

// Interval holds HoursPerWeek with probability p, by a gamma law.
func (u Usage) Interval(p float64) (low, high float64) {
	return gammaInterval(u.HoursPerWeek, u.SD, p)
}

// Group is what the meters of one group have in common.
type Group struct {
	ID    int
	Known bool // whether anything is known of the hours ridden

	Mean      float64 // hours a week of a unit of the group
	MeanSD    float64 // standard deviation of Mean
	OwnWeight float64 // of the group's own units against the mean over all groups, 0 to 1
	AllMean   float64 // hours a week, the mean over all groups
	Between   float64 // standard deviation of the units' hours a week around Mean
	Freedom   float64 // what Between rests on, in units, the prior's weight included
	Units     int     // units whose own readings make up Mean and Between
	Given     int     // units whose hours the planner gave

	Spread        forecast.Hours // variance of hours ridden over their mean
	SpreadFreedom float64        // degrees of freedom of Spread, the prior's included
	SpreadPrior   float64        // share of the prior's weight in Spread, 0 to 1
	Increments    int            // times of a week or more between readings, given units included
	LeftOut       LeftOut        // of all units' readings
}

// Interval holds the group's mean with probability p. Units differ in
// proportion to the mean, so what is found over what is true has a gamma law
// with mean 1, and what is true has the inverse of one.
func (g Group) Interval(p float64) (low, high float64) {
	if !(g.Mean > 0) {
		return g.Mean, g.Mean
	}
	low, high = gammaInterval(1, g.MeanSD/g.Mean, p)
	if !(low > 0) || math.IsInf(g.Mean/low, 0) {
		return g.Mean / high, 7 * 24
	}
	return g.Mean / high, g.Mean / low
}

// SpreadInterval holds the spread with probability p, by a scaled inverse
// chi-square.
func (g Group) SpreadInterval(p float64) (low, high forecast.Hours) {
	if !(p > 0) || !(g.SpreadFreedom > 0) {
		return g.Spread, g.Spread
	}
	tail := (1 - min(p, 1)) / 2
	scale := float64(g.Spread) * g.SpreadFreedom
	return forecast.Hours(scale / chiSquare(g.SpreadFreedom, 1-tail)),
		forecast.Hours(scale / chiSquare(g.SpreadFreedom, tail))
}

// Usages learns how much every unit is ridden, in the order of the meters,
// and what the units of each group have in common, in the order of the groups'
// numbers. Tau is season-weighted time, 0 or more and additive, as of
// [forecast.Calendar.Tau].
//
// A unit's rate is its own hours over its own weeks, drawn to its group's
// mean: linear Bayes, which is the credibility of Bühlmann & Straub (1970,
// "Glaubwürdigkeit für Schadensätze") with hours over spread in the place of
// claims and weeks over spread in that of volume.
func Usages(meters []Meter, tau func(from, to forecast.Day) forecast.Weeks, prior Prior) ([]Usage, []Group) {
	prior = prior.orUsual()
	records := recordsOf(meters, newClock(meters, tau))
	byGroup := map[int][]int{}
	for i, m := range meters {
		byGroup[m.Group] = append(byGroup[m.Group], i)
	}
	all, known := overall(meters, records, prior)
	usages, groups := make([]Usage, len(meters)), make([]Group, 0, len(byGroup))
	for id, units := range byGroup {
		p := newPool(id, meters, records, units, prior)
		p.learn(all, known, len(byGroup) > 1, prior)
		for _, i := range units {
			usages[i] = p.usage(meters[i], records[i])
		}
		groups = append(groups, p.Group)
	}
	slices.SortFunc(groups, func(a, b Group) int { return cmp.Compare(a.ID, b.ID) })
	return usages, groups
}

func recordsOf(meters []Meter, clock clock) []record {
	records := make([]record, len(meters))
	var list []increment
	for i, m := range meters {
		var out LeftOut
		list, out = m.increments(list[:0], clock)
		records[i] = recordOf(list)
		records[i].leftOut = out
	}
	return records
}

// overall is the mean hours a week over all units that have readings and are
// not given; else over those given; else it is not known.
func overall(meters []Meter, records []record, prior Prior) (float64, bool) {
	var units []record
	hours, weeks, given, count := 0.0, 0.0, 0.0, 0.0
	for i, m := range meters {
		if rate, ok := m.given(); ok {
			given, count = given+rate, count+1
		} else if records[i].weeks > 0 {
			units = append(units, records[i])
			hours, weeks = hours+records[i].hours, weeks+records[i].weeks
		}
	}
	if weeks > 0 {
		mean := hours / weeks
		mean, _ = collective(units, math.Pow(prior.Between*mean, 2), float64(prior.Spread)*mean)
		return mean, true
	}
	if count > 0 {
		return given / count, true
	}
	return 0, false
}

// pool is a group while it is being learnt.
type pool struct {
	Group
	units []record  // those that make up the mean
	laws  []between // equally likely
	given float64   // mean of the planner's own figures
}

// between is one of the variances between units that may be, with the
// variance that the group's mean then has.
type between struct{ units, mean float64 }

func newPool(id int, meters []Meter, records []record, members []int, prior Prior) *pool {
	p := &pool{Group: Group{ID: id}}
	all := make([]record, 0, len(members))
	for _, i := range members {
		r := records[i]
		all = append(all, r)
		p.Increments += r.increments
		for reason, n := range r.leftOut {
			p.LeftOut[reason] += n
		}
		if rate, ok := meters[i].given(); ok {
			p.Given++
			p.given += (rate - p.given) / float64(p.Given)
		} else if r.weeks > 0 {
			p.units = append(p.units, r)
		}
	}
	p.Units = len(p.units)
	spread, freedom := spreadOf(all, prior)
	p.Spread, p.SpreadFreedom = forecast.Hours(spread), freedom
	p.SpreadPrior = prior.SpreadWeight / freedom
	return p
}

// betweenLaws is how many values of the variance between units are weighed.
const betweenLaws = 9

// learn finds the group's mean and the variance between its units. Groups
// differ from the mean over all of them about as much as that mean itself
// (common practice, no source); the variance of the group's own mean, which
// its weight rests on, is taken first at the one, then at the result.
func (p *pool) learn(all float64, known, several bool, prior Prior) {
	p.AllMean, p.Mean, p.Known = all, all, known
	if p.Units == 0 {
		if p.Given > 0 {
			p.Mean, p.Known = p.given, true
		}
		p.lay(prior, 1)
		return
	}
	p.OwnWeight = 1
	for range 2 {
		square, _ := p.between(prior)
		own, variance := collective(p.units, square, p.within())
		if several && all > 0 {
			p.OwnWeight = all * all / (all*all + variance)
		}
		p.Mean = all + p.OwnWeight*(own-all)
	}
	p.lay(prior, p.OwnWeight)
}

// within is the variance of a unit's hours in one week.
func (p *pool) within() float64 { return float64(p.Spread) * p.Mean }

// lay sets what rests on the mean: the variance between units as a scaled
// inverse chi-square, weighed at its quantiles, and the variance of the mean.
func (p *pool) lay(prior Prior, own float64) {
	square, freedom := p.between(prior)
	p.Between, p.Freedom = math.Sqrt(square), freedom
	variance := 0.0
	for k := range betweenLaws {
		b := between{units: square * freedom / chiSquare(freedom, (float64(k)+0.5)/betweenLaws)}
		if p.Units > 0 {
			_, b.mean = collective(p.units, b.units, p.within())
			b.mean *= own
		} else if p.Given > 0 {
			b.mean = b.units / float64(p.Given)
		} else {
			b.mean = p.Mean * p.Mean // groups differ by as much as their mean
		}
		variance += b.mean / betweenLaws
		p.laws = append(p.laws, b)
	}
	p.MeanSD = math.Sqrt(variance)
}

// between is the variance between units at the present mean and the units
// that it rests on: the moment estimate, not below 0, drawn to the prior. What
// the moment counts for is the share of the expected square that comes from
// between units, squared, and less as gamma laws have long tails.
func (p *pool) between(prior Prior) (square, freedom float64) {
	square, freedom = math.Pow(prior.Between*p.Mean, 2), prior.BetweenWeight
	moment, noise, ok := betweenMoment(p.units, p.within())
	if !ok || square == 0 {
		return square, freedom
	}
	share := square / (square + noise)
	own := float64(p.Units-1) * share * share / (1 + 3*prior.Between*prior.Between)
	total := freedom + own
	return (freedom*square + own*max(moment, 0)) / total, total
}

// betweenMoment is the unbiased estimate of the variance between units (the
// usual one of Bühlmann & Straub), which may be below 0, and the variance
// within that it is free of.
func betweenMoment(units []record, within float64) (moment, noise float64, ok bool) {
	weeks, squares, hours := 0.0, 0.0, 0.0
	for _, r := range units {
		weeks, squares, hours = weeks+r.weeks, squares+r.weeks*r.weeks, hours+r.hours
	}
	scale := weeks - squares/weeks
	if len(units) < 2 || !(scale > 1e-9*weeks) {
		return 0, 0, false
	}
	mean, apart := hours/weeks, 0.0
	for _, r := range units {
		apart += r.weeks * (r.rate() - mean) * (r.rate() - mean)
	}
	noise = float64(len(units)-1) * within / scale
	return apart/scale - noise, noise, true
}

// collective is the mean of units' rates weighted by credibility, and its
// variance, for a variance between units and one within a unit's week. Where
// both are 0 the weights are the weeks.
func collective(units []record, between, within float64) (mean, variance float64) {
	sum, weights := 0.0, 0.0
	for _, r := range units {
		w := r.weeks
		if between > 0 || within > 0 {
			w = 1 / (between + within/r.weeks)
		}
		sum, weights = sum+w*r.rate(), weights+w
	}
	if between > 0 || within > 0 {
		variance = 1 / weights
	}
	return sum / weights, variance
}

// usage is what is learnt of one unit.
func (p *pool) usage(m Meter, r record) Usage {
	u := Usage{
		Spread: p.Spread, Known: p.Known, GroupMean: p.Mean, GroupUnits: p.Units,
		OwnHours: forecast.Hours(r.hours), OwnWeeks: forecast.Weeks(r.weeks),
		Increments: r.increments, LeftOut: r.leftOut,
	}
	if rate, ok := m.given(); ok {
		u.HoursPerWeek, u.Known, u.Given = rate, true, true
		return u
	}
	rates := make([]float64, 0, betweenLaws)
	own := 0.0
	for _, b := range p.laws {
		z := p.credibility(b, r)
		own += z / betweenLaws
		rates = append(rates, p.drawn(z, r))
	}
	u.OwnWeight, u.HoursPerWeek = own, p.drawn(own, r)
	u.SD = math.Sqrt(p.variance(rates, u.HoursPerWeek, r))
	return u
}

// credibility is the weight of a unit's own rate against the group's mean.
func (p *pool) credibility(b between, r record) float64 {
	if r.weeks <= 0 || b.units <= 0 {
		return 0
	}
	return b.units / (b.units + p.within()/r.weeks)
}

// drawn is a unit's rate for a weight of its own readings.
func (p *pool) drawn(own float64, r record) float64 {
	if r.weeks <= 0 {
		return p.Mean
	}
	return p.Mean + own*(r.rate()-p.Mean)
}

// variance is that of a unit's rate: as of a gamma law that has seen so many
// hours over the spread in so many weeks over it, the variance of the group's
// mean as far as that counts, and that over the laws that may be.
func (p *pool) variance(rates []float64, mean float64, r record) float64 {
	sum := 0.0
	for k, b := range p.laws {
		if b.units <= 0 {
			continue
		}
		group := 1 - p.credibility(b, r)
		seen := p.Mean/b.units + r.weeks/float64(p.Spread)
		gap := rates[k] - mean
		sum += rates[k]/seen + group*group*b.mean + gap*gap
	}
	return sum / betweenLaws
}
