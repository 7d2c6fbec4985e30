package plan

import (
	"math"

	"circlip/forecast"
)

// demands fills in the laws of what each item will be used: over its
// protection time, and week by week; the laws from today to each week's end
// only where they are asked for, since they are the long ones.
func (v *view) demands(items []Item, futures []forecast.Future, types *jobTypes, s *shelf, through bool) {
	t := forecast.NewTakings(futures, len(items), s.lines(types), types.of)
	for _, end := range s.windows {
		laws := t.Laws(v.cal.Until(forecast.Day(end)))
		for i := range items {
			if s.rhythms[i].protectUntil == end {
				items[i].Protection = s.told(i, laws[i])
			}
		}
	}
	for week := range v.cal.Weeks {
		laws := t.Laws(v.cal.InWeek(week))
		for i := range items {
			items[i].Week = append(items[i].Week, s.told(i, laws[i]))
		}
		if !through {
			continue
		}
		laws = t.Laws(v.cal.Until(v.cal.Weeks[week].Last))
		for i := range items {
			items[i].Through = append(items[i].Through, s.told(i, laws[i]))
		}
	}
}

// lines is what each type of job takes, in the shelf's steps.
func (s *shelf) lines(types *jobTypes) [][]forecast.Line {
	lines := make([][]forecast.Line, len(types.types))
	for at, t := range types.types {
		for _, l := range t.lines {
			i := s.view.itemAt[l.Item]
			steps := meanSteps(l, s.view.Items[i].Measure) / float64(s.step[i])
			lines[at] = append(lines[at], forecast.Line{Item: i, Need: l.Need, Size: forecast.Around(steps, 1)})
		}
	}
	return lines
}

// told is what is told of a law in steps, in the item's measure.
func (s *shelf) told(item int, law forecast.PMF) Demand {
	unit := s.view.Items[item].Measure.Number(s.step[item])
	quantile := func(p float64) float64 { return unit * float64(law.Quantile(p)) }
	return Demand{
		Mean: unit * law.Mean(), SD: unit * math.Sqrt(law.Variance()),
		P10: quantile(.10), P50: quantile(.50), P90: quantile(.90), P98: quantile(.98),
	}
}
