package plan

import (
	"circlip/forecast"
	"circlip/inventory"
)

// arrivals is the expected jobs by week, service and model; rows in which
// nothing is expected are left out. A job of several services counts for each.
func (v *view) arrivals(futures []forecast.Future) []Arrival {
	weeks, services, models := len(v.cal.Weeks), len(v.Services), len(v.Models)
	all := make([]Arrival, weeks*services*models)
	for _, f := range futures {
		for _, r := range f.Rungs {
			for week, done := range r.Done {
				for _, s := range r.Services {
					all[(week*services+s)*models+f.Model].add(r.Source, r.Capture*done)
				}
			}
		}
	}
	kept := all[:0]
	for i, a := range all {
		// Less than one job in a thousand million is rounding, not a job.
		if a.Jobs() > 1e-9 {
			a.Week = i / (services * models)
			a.Service = v.Services[i/models%services].Code
			a.Model = v.Models[i%models].Code
			kept = append(kept, a)
		}
	}
	return kept
}

func (a *Arrival) add(from forecast.Source, jobs float64) {
	switch from {
	case forecast.Booked:
		a.Booked += jobs
	case forecast.Fleet:
		a.Fleet += jobs
	case forecast.Returning:
		a.Returning += jobs
	case forecast.WalkIn:
		a.WalkIn += jobs
	}
}

// bySource is an expected quantity, in steps of the book, by where its jobs
// come from.
type bySource [forecast.WalkIn + 1]float64

func (b bySource) sum() float64 {
	return b[forecast.Booked] + b[forecast.Fleet] + b[forecast.Returning] + b[forecast.WalkIn]
}

// use is the expected use of every item by week and source.
type use struct {
	view  *view
	items [][]bySource // by item and week
}

func (v *view) expectedUse(futures []forecast.Future, types *jobTypes) use {
	u := use{v, make([][]bySource, len(v.Items))}
	for i := range u.items {
		u.items[i] = make([]bySource, len(v.cal.Weeks))
	}
	for _, f := range futures {
		for _, r := range f.Rungs {
			for week, done := range r.Done {
				if arrives := r.Capture * done; arrives > 0 {
					u.add(types.types[types.of(r.Services, f.Model, week)], week, r.Source, arrives)
				}
			}
		}
	}
	return u
}

func (u use) add(t jobType, week int, from forecast.Source, arrives float64) {
	for _, l := range t.lines {
		i := u.view.itemAt[l.Item]
		u.items[i][week][from] += arrives * l.Need * meanSteps(l, u.view.Items[i].Measure)
	}
}

// until is the expected use of an item from today to the end of a day.
func (u use) until(item int, day inventory.Date) bySource {
	var sum bySource
	span := u.view.cal.Until(forecast.Day(day))
	for week, by := range u.items[item] {
		for s := range by {
			sum[s] += span.Share(week) * by[s]
		}
	}
	return sum
}
