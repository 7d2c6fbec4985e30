package plan

import (
	"slices"

	"circlip/forecast"
	"circlip/forecast/learn"
	"circlip/inventory"
	"circlip/reports/lessons"
)

// rareReturn is the expected number of second returns below which they are left
// out.
const rareReturn = 1e-3

// returns foresees the returns of a unit without a meter for each service that
// was done on it and that is not booked: the next one, and the one after.
func (v *view) returns(u inventory.Unit, p *past) []forecast.Future {
	if p == nil {
		return nil
	}
	var all []forecast.Future
	for at, done := range p.lastOf {
		law, known := v.lessons.Returns[v.Services[at].Code]
		if !known || p.isBooked(at) {
			continue
		}
		age, ends := v.weeksSince(done)
		first := law.Weekly(age, ends)
		rungs := []forecast.Rung{{After: forecast.Start, Stage: 0, Services: []int{at}, Source: forecast.Returning, Capture: 1, Done: first}}
		if second := again(law, first, ends); total(second) > rareReturn {
			rungs = append(rungs, forecast.Rung{After: 0, Stage: 1, Services: []int{at}, Source: forecast.Returning, Capture: 1, Done: second})
		}
		all = append(all, forecast.Future{Model: v.modelAt[u.Model], Rungs: rungs})
	}
	slices.SortFunc(all, func(a, b forecast.Future) int { return a.Rungs[0].Services[0] - b.Rungs[0].Services[0] })
	return all
}

// weeksSince is the season-weighted age of a job, and how much older it is at
// the end of each week.
func (v *view) weeksSince(done inventory.Date) (age forecast.Weeks, ends []forecast.Weeks) {
	for _, w := range v.cal.Weeks {
		ends = append(ends, v.cal.Tau(v.cal.AsOf, w.Last+1))
	}
	return v.cal.Tau(min(forecast.Day(done), v.cal.AsOf), v.cal.AsOf), ends
}

// again is when a unit that comes back in a week comes back once more.
func again(law learn.Renewal, first []float64, ends []forecast.Weeks) []float64 {
	second := make([]float64, len(first))
	before := forecast.Weeks(0)
	for week, prob := range first {
		if prob > 0 {
			from := (before + ends[week]) / 2
			later := make([]forecast.Weeks, 0, len(ends)-week)
			for _, end := range ends[week:] {
				later = append(later, end-from)
			}
			for k, q := range law.Weekly(0, later) {
				second[week+k] += prob * q
			}
		}
		before = ends[week]
	}
	return second
}

func total(p []float64) float64 {
	sum := 0.0
	for _, q := range p {
		sum += q
	}
	return sum
}

// bookedBy is, by week, the share of its jobs that are in the book by now.
func (v *view) bookedBy(ahead learn.Ahead) []float64 {
	booked := make([]float64, len(v.cal.Weeks))
	for week := range v.cal.Weeks {
		booked[week] = v.cal.InWeek(week).Mean(v.cal, func(d forecast.Day) float64 { return ahead.Beyond(int(d - v.cal.AsOf)) })
	}
	return booked
}

// walkIns are the streams of jobs that nothing tells of: what was learnt of
// each, less what of it is in the book already. Open jobs of the kind also tell
// a little of how many there are at this time.
func (v *view) walkIns() []forecast.Stream {
	if !v.lessons.On {
		return nil
	}
	unbooked := v.bookedBy(v.lessons.WalkIn)
	for week := range unbooked {
		unbooked[week] = 1 - unbooked[week]
	}
	var streams []forecast.Stream
	for _, w := range v.lessons.WalkIns {
		model, known := v.modelAt[w.Model]
		services := v.numbers(w.Services)
		if !known || len(services) < len(w.Services) {
			continue
		}
		s := forecast.Stream{Model: model, Services: services, Shape: w.Shape}
		for week, of := range v.cal.Weeks {
			mean := w.Mean(lessons.Phase(inventory.Week{Year: of.Year, Number: of.Number}))
			s.Means = append(s.Means, mean*v.cal.Part(week)*unbooked[week])
		}
		streams = append(streams, s)
	}
	return streams
}
