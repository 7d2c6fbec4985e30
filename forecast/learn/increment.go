package learn

import (
	"cmp"
	"math"
	"slices"

	"circlip/forecast"
)

// Reading is what a unit's meter showed at the start of a day. Hours run on
// through replaced meters.
type Reading struct {
	Day   forecast.Day
	Hours forecast.Hours
}

// Meter is all that is known of one unit's riding: readings in the order of
// their days, the group it belongs to (the caller's number), and the hours a
// week that the planner gave, if any.
type Meter struct {
	Group    int
	Readings []Reading
	Known    *float64
}

// given is the planner's figure, where it is one that a week has room for.
func (m Meter) given() (float64, bool) {
	if m.Known == nil || !(*m.Known >= 0) || *m.Known > 7*24 {
		return 0, false
	}
	return *m.Known, true
}

// Reason tells why something a meter said is not learnt from.
type Reason int

// The reasons, in the order in which readings are looked at.
const (
	NoNumber  Reason = iota // readings that are no number from 0
	SameDay                 // readings that a later one of their day replaces
	Fall                    // times between readings of which the later is less
	Jump                    // times between readings in which more hours were ridden than passed
	OffSeason               // times ridden in that have no weight in the season
	reasons
)

// LeftOut counts, for each Reason, what was not learnt from.
type LeftOut [reasons]int

// Any tells whether anything was left out but readings of one day, which say
// nothing more than the last of them.
func (l LeftOut) Any() bool { return l != LeftOut{SameDay: l[SameDay]} }

// increment is hours ridden between two days that are a week or more apart
// where the readings allow it.
type increment struct {
	from, to forecast.Day
	gain     float64 // hours
	weeks    float64 // season-weighted
}

// Readings closer than that are merged: how often a meter is read must not
// count as evidence, and rounding to whole hours or minutes must not count as
// spread.
const (
	mergeDays  = 7
	mergeWeeks = 0.25 // of season-weighted time
)

// leastHours is what no meter counts: less is rounding.
const leastHours = 1e-6

// increments appends what the meter gained to a list, and counts what it
// leaves out. Where a time is left out the next begins anew at its end.
func (m Meter) increments(list []increment, clock clock) ([]increment, LeftOut) {
	readings, out := m.daily()
	run := len(list) // where the unbroken run begins
	for i := 1; i < len(readings); i++ {
		a, b := readings[i-1], readings[i]
		gain := float64(b.Hours - a.Hours)
		if math.Abs(gain) < leastHours {
			gain = 0
		}
		if gain < 0 || gain > 24*float64(b.Day-a.Day) {
			out[breach(gain)]++
			list = endRun(list, run, &out)
			run = len(list)
			continue
		}
		step := increment{from: a.Day, to: b.Day, gain: gain, weeks: clock.between(a.Day, b.Day)}
		list = extend(list, run, step)
	}
	return endRun(list, run, &out), out
}

// daily is the last reading of every day, in order. The meter's own readings
// stay as they are.
func (m Meter) daily() ([]Reading, LeftOut) {
	var out LeftOut
	byDay := func(a, b Reading) int { return cmp.Compare(a.Day, b.Day) }
	readings := make([]Reading, 0, len(m.Readings))
	for _, r := range m.Readings {
		if !(r.Hours >= 0) || math.IsInf(float64(r.Hours), 0) {
			out[NoNumber]++
			continue
		}
		readings = append(readings, r)
	}
	if !slices.IsSortedFunc(readings, byDay) {
		slices.SortStableFunc(readings, byDay)
	}
	days := readings[:0]
	for _, r := range readings {
		if n := len(days); n > 0 && days[n-1].Day == r.Day {
			days[n-1] = r
			out[SameDay]++
			continue
		}
		days = append(days, r)
	}
	return days, out
}

func breach(gain float64) Reason {
	if gain < 0 {
		return Fall
	}
	return Jump
}

// extend joins a step to the last increment of the run where that is not yet
// long enough; else the step begins the next one.
func extend(list []increment, first int, step increment) []increment {
	if len(list) > first {
		if last := &list[len(list)-1]; !last.long() {
			last.join(step)
			return list
		}
	}
	return append(list, step)
}

func (i *increment) join(next increment) {
	i.to, i.gain, i.weeks = next.to, i.gain+next.gain, i.weeks+next.weeks
}

func (i increment) long() bool { return i.to-i.from >= mergeDays && i.weeks >= mergeWeeks }

// endRun ends a run: what is too short at its end joins what came before, and
// what has no weight in the season goes.
func endRun(list []increment, run int, out *LeftOut) []increment {
	if n := len(list); n-run >= 2 && !list[n-1].long() {
		list[n-2].join(list[n-1])
		list = list[:n-1]
	}
	n := len(list)
	if n == run || list[n-1].weeks > 0 {
		return list
	}
	if list[n-1].gain > 0 {
		out[OffSeason]++
	}
	return list[:n-1]
}

// clock is season-weighted time, summed up once so that it costs the same for
// a week as for years.
type clock struct {
	base forecast.Day
	sums []float64 // of weeks from base to base + i
	tau  func(from, to forecast.Day) forecast.Weeks
}

// clockDays bounds what is summed up; times outside are asked for one by one.
const clockDays = 100 * 366

// newClock takes the readings' own days as its bounds.
func newClock(meters []Meter, tau func(from, to forecast.Day) forecast.Weeks) clock {
	first, last := forecast.Day(math.MaxInt), forecast.Day(math.MinInt)
	for _, m := range meters {
		for _, r := range m.Readings {
			first, last = min(first, r.Day), max(last, r.Day)
		}
	}
	c := clock{base: first, tau: tau}
	if last <= first || uint64(last)-uint64(first) > clockDays {
		return c
	}
	c.sums = make([]float64, 1, last-first+1)
	for day := first; day < last; day++ {
		c.sums = append(c.sums, c.sums[day-first]+weight(tau(day, day+1)))
	}
	return c
}

func (c clock) between(from, to forecast.Day) float64 {
	if c.sums == nil {
		return weight(c.tau(from, to))
	}
	return c.sums[to-c.base] - c.sums[from-c.base]
}

// weight is time that can be counted on: what is no number from 0 is none.
func weight(w forecast.Weeks) float64 {
	if !(w > 0) || math.IsInf(float64(w), 0) {
		return 0
	}
	return float64(w)
}
