package plan

import (
	"fmt"
	"slices"

	"circlip/forecast"
	"circlip/forecast/learn"
	"circlip/inventory"
	"circlip/reports/lessons"
)

// Lessons is what the shop's past teaches, as the outlook took it.
func (o *Outlook) Lessons() *lessons.Lessons { return o.view.lessons }

// Weeks is the horizon.
func (o *Outlook) Weeks() []Span { return o.view.weeks() }

// Arrivals is the expected number of jobs by week, service and model.
func (o *Outlook) Arrivals() []Arrival { return o.view.arrivals(o.jobs, o.types) }

// UnitOutlook is one unit as the outlook sees it. A unit whose hours are not
// known has no clocks; one that is not in service has no jobs either.
type UnitOutlook struct {
	HoursPerWeek float64
	Capture      float64        // probability that its next due service is done here
	ReadOn       inventory.Date // of its latest reading, or of its first use
	Clocks       []Clock
	Jobs         []Arrival // by week and service
}

// Clock is how far a unit is towards one of its services.
type Clock struct {
	Service     string
	EveryHours  float64 // 0: not due by hours
	EveryMonths int     // 0: not due by the calendar
	Hours       float64 // since it was last done, on ReadOn
	HoursToday  float64 // reckoned to the day of the outlook
	DoneOn      inventory.Date
}

// Unit is what is to come of one unit alone.
func (o *Outlook) Unit(code string) (UnitOutlook, error) {
	at := slices.IndexFunc(o.view.Units, func(u inventory.Unit) bool { return u.Code == code })
	if at < 0 {
		return UnitOutlook{}, fmt.Errorf("unit %s: not in the book, expected one of its %d units", code, len(o.view.Units))
	}
	u := o.view.Units[at]
	v, ridden := o.view.only(u)
	futures, err := v.futures()
	if err != nil {
		return UnitOutlook{}, fmt.Errorf("unit %s: %w", code, err)
	}
	types := v.newJobTypes()
	out := UnitOutlook{HoursPerWeek: ridden.hoursPerWeek, Jobs: v.arrivals(v.expectedJobs(futures, nil, types), types)}
	ladder := v.ladderOf(u)
	if ladder == nil || (!v.lessons.HasHours(u.Code)) {
		return out, nil
	}
	stands := v.unit(u, ladder, ridden, v.history()[code])
	today := v.reckoned(stands, 0)
	out.Capture, out.ReadOn = stands.Capture, inventory.Date(stands.ReadOn)
	for i, s := range ladder.Services {
		out.Clocks = append(out.Clocks, Clock{
			Service: v.Services[s.ID].Code, EveryHours: float64(s.Every), EveryMonths: s.Months,
			Hours: float64(stands.Clocks[i].Hours), HoursToday: float64(today.Clocks[i].Hours),
			DoneOn: inventory.Date(stands.Clocks[i].DoneOn),
		})
	}
	return out, nil
}

// only is a view of one unit and its jobs. Where nothing is learnt the unit is
// given what it takes from its group, which is not in view.
func (v *view) only(u inventory.Unit) (*view, riding) {
	one := *v
	one.warnings, one.kitted, one.needed = nil, nil, slices.Clone(v.needed)
	ridden := one.riding()[u.Code]
	if !v.lessons.On {
		u.HoursPerWeek = &ridden.hoursPerWeek
	}
	one.Units, one.Jobs = []inventory.Unit{u}, nil
	for _, j := range v.Jobs {
		if j.Unit == u.Code {
			one.Jobs = append(one.Jobs, j)
		}
	}
	return &one, ridden
}

// ItemOutlook is when an item's next order goes and what it must last for.
type ItemOutlook struct {
	Offer                             inventory.Offer // that sets the rhythm
	Offered                           bool            // else nobody does, and the slowest supplier's rhythm counts
	PlaceBy, ExpectedOn, ProtectUntil inventory.Date
	Lead                              learn.Lead
	// Expected use from today to the end of ProtectUntil, in the item's measure.
	Booked, Fleet, Returning, WalkIn float64
}

// Item is what is to come of one item of the shop.
func (o *Outlook) Item(item int) ItemOutlook {
	r, offered := o.view.rhythmOf(o.view.Items[item])
	by := o.shelf.use.until(item, r.protectUntil)
	unit := o.view.Items[item].Measure.Number(1)
	return ItemOutlook{
		Offer: r.offer, Offered: offered, PlaceBy: r.placeBy, ExpectedOn: r.expectedOn, ProtectUntil: r.protectUntil, Lead: r.lead,
		Booked: unit * by[forecast.Booked], Fleet: unit * by[forecast.Fleet],
		Returning: unit * by[forecast.Returning], WalkIn: unit * by[forecast.WalkIn],
	}
}
