package plan

import (
	"fmt"

	"circlip/forecast"
	"circlip/inventory"
)

// futures foresees the jobs of every unit, and of open jobs whose unit the
// book does not know or cannot foresee.
func (v *view) futures() ([]forecast.Future, error) {
	rates := v.rates()
	history := v.history()
	var units []forecast.Unit
	foreseen := map[string]bool{}
	for _, u := range v.Units {
		ladder := v.ladderOf(u)
		if ladder == nil {
			continue
		}
		foreseen[u.Code] = true
		units = append(units, v.unit(u, ladder, rates[u.Code], history[u.Code]))
	}
	all, err := forecast.Futures(v.cal, units)
	if err != nil {
		return nil, fmt.Errorf("units of %s: %w", v.Settings.Workshop, err)
	}
	for _, j := range v.Jobs {
		if j.State == inventory.Booked && !foreseen[j.Unit] {
			model, known := v.modelAt[j.Model]
			if !known {
				v.warn("job %s is on model %q, which the book does not know: its parts are not planned", j.Code, j.Model)
				continue
			}
			services := v.numbers(v.bill.Uncovered(j.Services))
			all = append(all, forecast.BookedJob(v.cal, model, services, forecast.Day(j.BenchDate), v.Settings.ShowRate))
		}
	}
	return all, nil
}

// ladderOf is the ladder of the unit's family, nil if it has none.
func (v *view) ladderOf(u inventory.Unit) *forecast.Ladder {
	model, known := v.modelAt[u.Model]
	if !known || (!u.Retired.IsZero() && u.Retired <= v.AsOf) {
		return nil
	}
	return v.ladders[v.Models[model].Family]
}

// past is what jobs tell of one unit.
type past struct {
	doneOn map[int]inventory.Date // by service: last done, itself or covered
	open   []forecast.Booking
}

func (v *view) history() map[string]*past {
	all := map[string]*past{}
	for _, j := range v.Jobs {
		if j.Unit == "" {
			continue
		}
		p := all[j.Unit]
		if p == nil {
			p = &past{doneOn: map[int]inventory.Date{}}
			all[j.Unit] = p
		}
		switch j.State {
		case inventory.Booked:
			p.open = append(p.open, forecast.Booking{Services: v.numbers(v.bill.Uncovered(j.Services)), Bench: forecast.Day(j.BenchDate)})
		case inventory.Done:
			for at, s := range v.Services {
				if v.does(j, s.Code) {
					p.doneOn[at] = max(p.doneOn[at], j.DoneOn)
				}
			}
		}
	}
	return all
}

func (v *view) does(j inventory.Job, service string) bool {
	for _, s := range j.Services {
		if s == service || v.bill.Covers(s, service) {
			return true
		}
	}
	return false
}

func (v *view) unit(u inventory.Unit, ladder *forecast.Ladder, rate float64, p *past) forecast.Unit {
	if p == nil {
		p = &past{}
	}
	meter := inventory.NewMeter(u)
	f := forecast.Unit{
		Ladder: ladder, Model: v.modelAt[u.Model], Source: forecast.Fleet,
		HoursPerWeek: rate, Spread: forecast.Hours(v.Settings.UsageSpreadH),
		ReadOn:  forecast.Day(v.AsOf),
		Capture: v.Settings.FleetCapture, LagWeeks: forecast.Weeks(v.Settings.FleetLagWeeks),
		ShowRate: v.Settings.ShowRate, Bookings: p.open,
	}
	if u.Holder == inventory.Customer {
		f.Source = forecast.Returning
		f.Capture, f.LagWeeks = v.Settings.CustomerCapture, forecast.Weeks(v.Settings.CustomerLagWeeks)
	}
	first := u.InService
	if meter.Known() {
		f.ReadOn = forecast.Day(meter.Last())
		if first.IsZero() {
			first = meter.First()
		}
	} else if !first.IsZero() {
		f.ReadOn = forecast.Day(first)
	}
	if first.IsZero() {
		first = v.AsOf
	}
	for _, s := range ladder.Services {
		f.Clocks = append(f.Clocks, clock(meter, p.doneOn[s.ID], first))
	}
	return f
}

// clock is where a service stands: hours from the last job that did it, or
// from first use.
func clock(meter inventory.Meter, done, first inventory.Date) forecast.Clock {
	if done.IsZero() {
		hours := 0.0
		if meter.Known() {
			hours = meter.At(meter.Last())
		}
		return forecast.Clock{Hours: forecast.Hours(hours), DoneOn: forecast.Day(first)}
	}
	return forecast.Clock{Hours: forecast.Hours(meter.Since(done)), DoneOn: forecast.Day(done)}
}

// rates is the hours a week of every unit: the book's own figure; else the
// unit's own readings over their season-weighted weeks; else the mean of its
// group; else none, and only the calendar makes it due.
func (v *view) rates() map[string]float64 {
	rates := map[string]float64{}
	sum, n := map[string]float64{}, map[string]float64{}
	var unknown []inventory.Unit
	for _, u := range v.Units {
		rate, known := v.ownRate(u)
		if !known {
			unknown = append(unknown, u)
			continue
		}
		rates[u.Code] = rate
		sum[u.Group] += rate
		n[u.Group]++
	}
	none := 0
	for _, u := range unknown {
		if n[u.Group] > 0 {
			rates[u.Code] = sum[u.Group] / n[u.Group]
		} else if v.ladderOf(u) != nil {
			none++
		}
	}
	if none > 0 {
		v.warn("units without hours_per_week, without two readings and without a group that has either, of which only the calendar limits are planned: %d", none)
	}
	return rates
}

func (v *view) ownRate(u inventory.Unit) (float64, bool) {
	if u.HoursPerWeek != nil {
		return *u.HoursPerWeek, true
	}
	meter := inventory.NewMeter(u)
	if !meter.Known() || meter.First() == meter.Last() {
		return 0, false
	}
	weeks := float64(v.cal.Tau(forecast.Day(meter.First()), forecast.Day(meter.Last())))
	if weeks <= 0 {
		return 0, false
	}
	return (meter.At(meter.Last()) - meter.At(meter.First())) / weeks, true
}
