package plan

import (
	"math"
	"slices"

	"circlip/forecast"
)

// state is where a unit may stand, and how likely that is.
type state struct {
	unit forecast.Unit
	prob float64
}

// A state is left out below leastState. A unit has no more than mostMissed
// services done elsewhere since it was last here that are told apart.
const leastState, mostMissed = 0.02, 12

// states are where a unit may stand whose meter was not read of late: how far
// it was ridden since is reckoned, and may be less or more; and one that would
// long be due may still be waiting to come, or was served elsewhere since, so
// that its clocks started anew unseen. Each week that it did not come speaks for
// the second, and so does each further service that it must have missed.
func (v *view) states(u forecast.Unit, doubt float64) []state {
	if len(u.Bookings) > 0 {
		return []state{{u, 1}}
	}
	weeks := float64(v.cal.Tau(u.ReadOn, max(u.ReadOn, v.cal.AsOf)))
	sd := math.Sqrt(float64(u.Spread)*u.HoursPerWeek*weeks + doubt*doubt*weeks*weeks)
	if weeks < stale {
		return likely(v.missing(u, v.reckoned(u, 0)))
	}
	middle := v.missing(v.reckoned(u, 0), v.reckoned(u, 0))
	if !v.mayBeDue(v.reckoned(u, math.Sqrt(3)*sd)) {
		return likely(middle)
	}
	// Three points that keep mean, variance and skew of a normal law
	// (Gauss–Hermite).
	all := weigh(middle, 2./3)
	for _, side := range []float64{-1, 1} {
		ridden := v.reckoned(u, side*math.Sqrt(3)*sd)
		all = append(all, weigh(v.missing(ridden, ridden), 1./6)...)
	}
	return likely(all)
}

// stale is from how many weeks without a reading on the hours since are
// reckoned.
const stale = 4

func weigh(states []state, by float64) []state {
	for i := range states {
		states[i].prob *= by
	}
	return states
}

// missing are a unit's states with their weights, not adding up to 1: each is
// the chance that the unit was not seen until now. Now is the unit with its
// clocks as they stand today.
//
// Of so many services missed, each came due after its interval and was done
// elsewhere after a geometric wait; the waits together are negative binomial. What
// is left of the time since the unit was seen is that of its present clock: past
// the limit it is waiting, and every week of that had to pass too.
func (v *view) missing(u, now forecast.Unit) []state {
	first, round := v.first(now)
	if first < 0 {
		return []state{{u, 1}}
	}
	ran := v.ran(now, first)
	limit := round - float64(u.LagWeeks)
	again := float64(u.LagWeeks / (1 + u.LagWeeks))
	all := []state{{u, stillOut(again, ran-limit)}}
	for missed := 1; missed <= mostMissed && ran >= float64(missed)*limit; missed++ {
		slack := ran - float64(missed)*limit
		chance := math.Pow((1-u.Capture)*(1-again), float64(missed)) // that they waited no week at all
		var stands [3]stand                                          // early in its interval, late in it, past it
		for waited := 0; float64(waited) <= slack && chance > noChance; waited++ {
			switch left := slack - float64(waited); {
			case left > limit:
				stands[2].add(left, chance*stillOut(again, left-limit))
			case left > limit/2:
				stands[1].add(left, chance)
			default:
				stands[0].add(left, chance)
			}
			chance *= again * float64(waited+missed) / float64(waited+1)
		}
		for _, s := range stands {
			if s.weight > 0 {
				all = append(all, state{v.elsewhere(now, first, s.left/s.weight), s.weight})
			}
		}
	}
	return all
}

// noChance is below any chance that may still grow: one that falls on ends at
// the least number there is and never becomes 0.
const noChance = 1e-200

// stillOut is the probability that a unit which has been due for so many weeks
// has not come: some come at once, the others after whole weeks.
func stillOut(again, weeks float64) float64 { return math.Pow(again, math.Floor(weeks)+1) }

// stand is where a clock may stand, in weeks: a sum of such weeks and their
// weight.
type stand struct{ left, weight float64 }

func (s *stand) add(left, weight float64) {
	s.left += left * weight
	s.weight += weight
}

// first is the service that has been due longest, with the usual weeks from one
// time to the next; −1 if none is due.
func (v *view) first(u forecast.Unit) (service int, round float64) {
	service = -1
	longest := 0.0
	for i := range u.Clocks {
		r := rounds(u, i)
		if over := v.ran(u, i) - (r - float64(u.LagWeeks)); over > longest {
			service, round, longest = i, r, over
		}
	}
	return service, round
}

func (v *view) mayBeDue(u forecast.Unit) bool {
	service, _ := v.first(u)
	return service >= 0
}

// reckoned is the unit with its clocks as they should stand today, or so many
// hours off.
func (v *view) reckoned(u forecast.Unit, off float64) forecast.Unit {
	since := v.cal.Tau(u.ReadOn, max(u.ReadOn, v.cal.AsOf))
	clocks := slices.Clone(u.Clocks)
	for i, c := range clocks {
		if c.DoneOn > u.ReadOn { // it starts on the day it was done
			clocks[i].Hours = forecast.Hours(u.HoursPerWeek * float64(v.cal.Tau(c.DoneOn, max(c.DoneOn, v.cal.AsOf))))
		} else {
			clocks[i].Hours += forecast.Hours(math.Max(0, u.HoursPerWeek*float64(since)+off))
		}
	}
	u.ReadOn, u.Clocks = max(u.ReadOn, v.cal.AsOf), clocks
	return u
}

// rounds is the usual weeks from one time of a service to the next, with the
// wait; +Inf where it never falls due.
func rounds(u forecast.Unit, service int) float64 {
	s := u.Ladder.Services[service]
	weeks := math.Inf(1)
	if s.Every > 0 && u.HoursPerWeek > 0 {
		weeks = float64(s.Every) / u.HoursPerWeek
	}
	if s.Months > 0 {
		weeks = min(weeks, float64(s.Months)*weeksAMonth)
	}
	return weeks + float64(u.LagWeeks)
}

const weeksAMonth = 365.2425 / 12 / 7

// ran is the weeks that a service's clock has run: by its hours, or by the
// calendar where that is nearer to its limit.
func (v *view) ran(u forecast.Unit, service int) float64 {
	s, c := u.Ladder.Services[service], u.Clocks[service]
	byDate := float64(v.cal.AsOf-c.DoneOn) / 7
	if s.Every == 0 || u.HoursPerWeek <= 0 {
		return byDate
	}
	byHours := float64(c.Hours) / u.HoursPerWeek
	if s.Months > 0 && byDate/(float64(s.Months)*weeksAMonth) > float64(c.Hours/s.Every) {
		return byDate
	}
	return byHours
}

// elsewhere is a unit whose services were done elsewhere as they came due: its
// first has run for so many weeks since, and so have those that it covers. Others
// that have passed their limits were done elsewhere too.
func (v *view) elsewhere(u forecast.Unit, first int, left float64) forecast.Unit {
	clocks := slices.Clone(u.Clocks)
	set := func(i int, weeks float64) {
		clocks[i] = forecast.Clock{Hours: forecast.Hours(weeks * u.HoursPerWeek), DoneOn: v.cal.AsOf - forecast.Day(math.Round(7*weeks))}
	}
	set(first, left)
	for i := range clocks {
		if slices.Contains(u.Ladder.Services[first].Covers, u.Ladder.Services[i].ID) && v.ran(u, i) > left {
			set(i, left)
		} else if round := rounds(u, i); i != first && v.ran(u, i) > round {
			set(i, math.Mod(v.ran(u, i), round))
		}
	}
	u.Clocks = clocks
	return u
}

// likely leaves out the unlikely states and makes the others add up to 1. A
// unit that by what is known of its kind should long have been seen, as where
// all that is due comes at once, is taken to stand as it was last seen: the first
// of its states.
func likely(all []state) []state {
	sum := 0.0
	for _, s := range all {
		sum += s.prob
	}
	if !(sum > 0) {
		return []state{{all[0].unit, 1}}
	}
	var kept []state
	left := 0.0
	for _, s := range all {
		if s.prob >= leastState*sum {
			kept = append(kept, s)
			left += s.prob
		}
	}
	for i := range kept {
		kept[i].prob /= left
	}
	return kept
}
