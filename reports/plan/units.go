package plan

import (
	"fmt"
	"math"
	"slices"

	"circlip/forecast"
	"circlip/forecast/learn"
	"circlip/inventory"
)

// futures foresees the jobs of every unit, and of open jobs whose unit the
// book does not know or cannot foresee. Units without a meter come back by
// what was learnt of their like.
func (v *view) futures() ([]forecast.Future, error) {
	riding := v.riding()
	history := v.history()
	var units []forecast.Unit
	var probs []float64 // that a unit stands so
	var returning []forecast.Future
	foreseen := map[string]bool{}
	for _, u := range v.Units {
		ladder := v.ladderOf(u)
		if ladder == nil {
			continue
		}
		if !v.lessons.HasHours(u.Code) {
			returning = append(returning, v.returns(u, history[u.Code])...)
			continue
		}
		foreseen[u.Code] = true
		unit := v.unit(u, ladder, riding[u.Code], history[u.Code])
		if !v.lessons.On {
			units, probs = append(units, unit), append(probs, 1)
			continue
		}
		for _, s := range v.states(unit, riding[u.Code].doubt) {
			units, probs = append(units, s.unit), append(probs, s.prob)
		}
	}
	all, err := forecast.Futures(v.cal, units)
	if err != nil {
		return nil, fmt.Errorf("units of %s: %w", v.Settings.Workshop, err)
	}
	for i, f := range all {
		all[i] = forecast.Weighed(f, probs[f.Unit])
	}
	all = append(all, returning...)
	if v.lessons.On {
		fleet, customers := v.bookedBy(v.lessons.Ahead[inventory.Fleet]), v.bookedBy(v.lessons.Ahead[inventory.Customer])
		for i, f := range all {
			if f.Rungs[0].Source == forecast.Fleet {
				all[i] = forecast.Unbooked(f, fleet)
			} else {
				all[i] = forecast.Unbooked(f, customers)
			}
		}
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

// ladderOf is the ladder of the unit's family, nil if it has none or is not in
// service.
func (v *view) ladderOf(u inventory.Unit) *forecast.Ladder {
	model, known := v.modelAt[u.Model]
	if !known || u.InService > v.AsOf || (!u.Retired.IsZero() && u.Retired <= v.AsOf) {
		return nil
	}
	return v.ladders[v.Models[model].Family]
}

// past is what jobs tell of one unit.
type past struct {
	doneOn map[int]inventory.Date // by service: last done, itself or covered
	lastOf map[int]inventory.Date // by service: last done by its own name
	open   []forecast.Booking
}

func (p *past) isBooked(service int) bool {
	return slices.ContainsFunc(p.open, func(b forecast.Booking) bool { return slices.Contains(b.Services, service) })
}

func (v *view) history() map[string]*past {
	all := map[string]*past{}
	for _, j := range v.Jobs {
		if j.Unit == "" {
			continue
		}
		p := all[j.Unit]
		if p == nil {
			p = &past{doneOn: map[int]inventory.Date{}, lastOf: map[int]inventory.Date{}}
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
				if slices.Contains(j.Services, s.Code) {
					p.lastOf[at] = max(p.lastOf[at], j.DoneOn)
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

func (v *view) unit(u inventory.Unit, ladder *forecast.Ladder, r riding, p *past) forecast.Unit {
	if p == nil {
		p = &past{}
	}
	meter := inventory.NewMeter(u)
	f := forecast.Unit{
		Ladder: ladder, Model: v.modelAt[u.Model], Source: forecast.Fleet,
		HoursPerWeek: r.hoursPerWeek, Spread: r.spread,
		ReadOn:  forecast.Day(v.AsOf),
		Capture: v.Settings.FleetCapture, LagWeeks: forecast.Weeks(v.Settings.FleetLagWeeks),
		ShowRate: v.Settings.ShowRate, Bookings: p.open,
	}
	if u.Holder == inventory.Customer {
		f.Source = forecast.Returning
		f.Capture, f.LagWeeks = v.Settings.CustomerCapture, forecast.Weeks(v.Settings.CustomerLagWeeks)
	}
	if loyal, known := v.lessons.Loyalty[u.Code]; known {
		f.Capture = loyal.Mean()
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
	latest := inventory.Date(0)
	for _, on := range p.doneOn {
		latest = max(latest, on)
	}
	for _, s := range ladder.Services {
		done := p.doneOn[s.ID]
		c := clock(meter, done, first)
		if v.lessons.On && done < latest {
			c = v.unseen(f, s, c, meter, forecast.Day(latest))
		}
		f.Clocks = append(f.Clocks, c)
	}
	return f
}

// unseen is the clock of a service that was due, by its clock, at the unit's
// latest visit and was not done then: it would have been, had it not been done
// elsewhere before. It is taken to have been done there each time it fell due.
func (v *view) unseen(u forecast.Unit, s forecast.Service, c forecast.Clock, meter inventory.Meter, visit forecast.Day) forecast.Clock {
	for s.Months > 0 && c.DoneOn < visit && inventory.Date(c.DoneOn).AddMonths(s.Months) <= inventory.Date(visit) {
		c.DoneOn = forecast.Day(inventory.Date(c.DoneOn).AddMonths(s.Months))
	}
	if s.Every <= 0 || c.DoneOn > u.ReadOn {
		return c
	}
	if visit <= u.ReadOn {
		if then := float64(c.Hours) - meter.Since(inventory.Date(visit)); then >= float64(s.Every) {
			c.Hours -= s.Every * forecast.Hours(math.Floor(then/float64(s.Every)))
		}
		return c
	}
	then := float64(c.Hours) + u.HoursPerWeek*float64(v.cal.Tau(u.ReadOn, visit))
	if then >= float64(s.Every) && u.HoursPerWeek > 0 {
		days := 7 * math.Mod(then, float64(s.Every)) / u.HoursPerWeek
		c.DoneOn = max(u.ReadOn+1, visit-forecast.Day(math.Round(days)))
	}
	return c
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

// riding is how much a unit is ridden.
type riding struct {
	hoursPerWeek float64
	spread       forecast.Hours
	doubt        float64 // standard deviation of hoursPerWeek
}

// riding is how much every unit is ridden: as learnt; where nothing is, the
// book's own figure; else the unit's own readings over their season-weighted
// weeks; else the mean of its group; else none, and only the calendar makes it
// due.
func (v *view) riding() map[string]riding {
	all := map[string]riding{}
	none, wild := 0, 0
	if v.lessons.On {
		for unit, u := range v.lessons.Usage {
			all[unit] = riding{u.HoursPerWeek, u.Spread, u.SD}
			if !u.Known {
				none++
			}
			if u.LeftOut[learn.Fall]+u.LeftOut[learn.Jump] > 0 {
				wild++
			}
		}
	} else {
		none = v.bareRates(all)
	}
	if none > 0 {
		v.warn("units without hours_per_week, without two readings and without a group that has either, of which only the calendar limits are planned: %d", none)
	}
	if wild > 0 {
		v.warn("units whose meter fell, or gained more hours than passed, which nothing is learnt from: %d; correct their readings, or mark a new meter", wild)
	}
	return all
}

// bareRates are those with nothing learnt; it returns how many units have none.
func (v *view) bareRates(all map[string]riding) (none int) {
	spread := forecast.Hours(v.Settings.UsageSpreadH)
	sum, n := map[string]float64{}, map[string]float64{}
	var unknown []inventory.Unit
	for _, u := range v.Units {
		if !u.Retired.IsZero() && u.Retired <= v.AsOf {
			continue
		}
		rate, known := v.ownRate(u)
		if !known {
			unknown = append(unknown, u)
			continue
		}
		all[u.Code] = riding{rate, spread, 0}
		sum[u.Group] += rate
		n[u.Group]++
	}
	for _, u := range unknown {
		all[u.Code] = riding{0, spread, 0}
		if n[u.Group] > 0 {
			all[u.Code] = riding{sum[u.Group] / n[u.Group], spread, 0}
		} else if v.ladderOf(u) != nil {
			none++
		}
	}
	return none
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
