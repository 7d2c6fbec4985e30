package plan

import (
	"circlip/forecast"
	"circlip/inventory"
)

// bySource is an expected quantity, of jobs or of an item's steps, by where the
// jobs come from.
type bySource [forecast.WalkIn + 1]float64

func (b bySource) sum() float64 {
	return b[forecast.Booked] + b[forecast.Fleet] + b[forecast.Returning] + b[forecast.WalkIn]
}

// add adds so many times another.
func (b *bySource) add(times float64, other bySource) {
	for s := range b {
		b[s] += times * other[s]
	}
}

// expectedJobs is how many jobs of each type come in each week.
func (v *view) expectedJobs(futures []forecast.Future, streams []forecast.Stream, types *jobTypes) [][]bySource {
	var jobs [][]bySource
	room := func() {
		for len(jobs) < len(types.types) {
			jobs = append(jobs, make([]bySource, len(v.cal.Weeks)))
		}
	}
	for _, f := range futures {
		types.eachRung(f, func(r forecast.Rung, at []int) {
			room()
			for week, done := range r.Done {
				jobs[at[week]][week][r.Source] += r.Capture * done
			}
		})
	}
	for _, s := range streams {
		at := types.byWeek(s.Services, s.Model)
		room()
		for week, mean := range s.Means {
			jobs[at[week]][week][forecast.WalkIn] += mean
		}
	}
	return jobs
}

// arrivals is the expected jobs by week, service and model; rows in which
// nothing is expected are left out. A job of several services counts for each.
func (v *view) arrivals(jobs [][]bySource, types *jobTypes) []Arrival {
	services, models := len(v.Services), len(v.Models)
	all := make([]bySource, len(v.cal.Weeks)*services*models)
	for at, t := range types.types {
		for week, by := range jobs[at] {
			for _, s := range t.services {
				all[(week*services+s)*models+t.model].add(1, by)
			}
		}
	}
	var kept []Arrival
	for i, by := range all {
		// Less than one job in a thousand million is rounding, not a job.
		if by.sum() > 1e-9 {
			kept = append(kept, Arrival{
				Week: i / (services * models), Service: v.Services[i/models%services].Code, Model: v.Models[i%models].Code,
				Booked: by[forecast.Booked], Fleet: by[forecast.Fleet], Returning: by[forecast.Returning], WalkIn: by[forecast.WalkIn],
			})
		}
	}
	return kept
}

// use is the expected use of every item by week and source.
type use struct {
	view  *view
	items [][]bySource // by item and week
}

// expectedUse is what the expected jobs take, in the items' steps.
func (v *view) expectedUse(jobs [][]bySource, types *jobTypes) use {
	u := use{v, make([][]bySource, len(v.Items))}
	for i := range u.items {
		u.items[i] = make([]bySource, len(v.cal.Weeks))
	}
	for at, t := range types.types {
		for _, l := range t.lines {
			i := v.itemAt[l.Item]
			each := l.Need * meanSteps(l, v.Items[i].Measure)
			for week, by := range jobs[at] {
				u.items[i][week].add(each, by)
			}
		}
	}
	return u
}

// until is the expected use of an item from today to the end of a day.
func (u use) until(item int, day inventory.Date) bySource {
	var sum bySource
	span := u.view.cal.Until(forecast.Day(day))
	for week, by := range u.items[item] {
		sum.add(span.Share(week), by)
	}
	return sum
}

// total is the expected use of an item over the horizon.
func (u use) total(item int) float64 {
	sum := 0.0
	for _, by := range u.items[item] {
		sum += by.sum()
	}
	return sum
}
