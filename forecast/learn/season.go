package learn

import (
	"maps"
	"slices"
	"time"

	"circlip/forecast"
)

// SeasonEvidence is what a season rests on.
type SeasonEvidence struct {
	Days       int             // different days that the readings bound closely enough
	Weeks      int             // of the ISO weeks 1 to 52, those that such days lie in
	Units      int             // units whose readings tell one week from another
	Increments int             // their times of a week or more between readings
	Spread     forecast.Hours  // variance of hours ridden over their mean, season removed
	SD         map[int]float64 // standard deviation of each ISO week's factor; nil where there is no season
}

// A season needs a whole year of days. Readings farther apart than half a
// year say next to nothing of when in between it was ridden; those nearer
// count by what they can tell, which the likelihood sees to itself.
const (
	seasonDays  = 52 * 7
	seasonWeeks = 52
	farApart    = 26 * 7
)

// harmonics is how many sines and cosines a season is made of: two of each.
const harmonics = 4

// What the harmonics of a season are held to be before any reading: around 0,
// which is no season, with these standard deviations (common practice, no
// source): riding at the height of it is then some four times that at its low.
var harmonicSD = [harmonics]float64{0.7, 0.7, 0.35, 0.35}

// seasonSteps bounds the steps of the fit; four or five are usual.
const seasonSteps = 25

// SeasonOf learns the riding factor of every ISO week from the readings of all
// units together. The season is nil where they cover less than a year, which
// the evidence then shows.
//
// The logarithm of the factor is a sum of two harmonics of the year. Hours
// ridden have a variance in proportion to their mean, so they are fitted by
// quasi-likelihood (Wedderburn 1974), each unit's own rate profiled out, with
// a ridge prior towards no season. Factors mean 1 over the weeks 1 to 52.
func SeasonOf(meters []Meter, prior Prior) (forecast.Season, SeasonEvidence) {
	prior = prior.orUsual()
	clock := newClock(meters, func(from, to forecast.Day) forecast.Weeks {
		return forecast.Weeks(to-from) / 7
	})
	units, evidence := seasonData(meters, clock)
	if evidence.Days < seasonDays || evidence.Weeks < seasonWeeks || clock.sums == nil {
		return nil, evidence
	}
	fit := newSeasonFit(units, clock)
	spread := fit.solve(prior)
	evidence.Spread = forecast.Hours(spread)
	season, sd := fit.factors(spread)
	evidence.SD = sd
	return season, evidence
}

// seasonData is the increments of the units that tell of a season: those
// ridden in at least two times that are near enough.
func seasonData(meters []Meter, clock clock) ([][]increment, SeasonEvidence) {
	var evidence SeasonEvidence
	var units [][]increment
	var covered covering
	for _, m := range meters {
		all, _ := m.increments(make([]increment, 0, len(m.Readings)), clock)
		list, hours := all[:0], 0.0
		for _, i := range all {
			if i.to-i.from <= farApart {
				list, hours = append(list, i), hours+i.gain
			}
		}
		if len(list) < 2 || hours <= 0 {
			continue
		}
		units = append(units, list)
		evidence.Units++
		evidence.Increments += len(list)
		covered.add(list)
	}
	evidence.Days, evidence.Weeks = covered.count()
	return units, evidence
}

// covering counts, for each day, the increments that begin on it less those
// that end.
type covering map[forecast.Day]int

func (c *covering) add(list []increment) {
	if *c == nil {
		*c = covering{}
	}
	for k, i := range list {
		if k == 0 || list[k-1].to != i.from {
			(*c)[i.from]++
		}
		if k == len(list)-1 || list[k+1].from != i.to {
			(*c)[i.to]--
		}
	}
}

// count is the number of different days, and of the ISO weeks 1 to 52 that
// they lie in.
func (c covering) count() (days, weeks int) {
	var seen [54]bool
	open, from := 0, forecast.Day(0)
	for _, to := range slices.Sorted(maps.Keys(c)) {
		if open > 0 {
			days += int(to - from)
			for day := from; day < to; day++ {
				seen[isoWeek(day)] = true
			}
		}
		open, from = open+c[to], to
	}
	for _, s := range seen[1 : seasonWeeks+1] {
		if s {
			weeks++
		}
	}
	return days, weeks
}

// isoWeek is the ISO week that a day lies in.
func isoWeek(day forecast.Day) int {
	_, week := time.Unix(int64(day)*86400, 0).UTC().ISOWeek()
	return week
}
