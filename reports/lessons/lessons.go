// Package lessons is what a workshop's own past teaches: a Shop in, learnt
// figures with their evidence out. It reads the past in the words of the book
// and asks forecast/learn and forecast/series; plans are made with what comes
// out, and every figure can be told with its prior, its data and its posterior.
//
// Words: a job is foreseen if the unit's ladder or its own return could tell of
// it before it was booked; all others are walk-ins. With the setting learn = no
// nothing is learnt, and the book's own figures stand as they are.
//
//	l := lessons.Of(shop)
//	l.Show.Mean()     // the share of bookings that turn up
//	taught := l.Teach(shop) // the shop with what was learnt in place of the book's figures
package lessons

import (
	"maps"
	"sync"

	"circlip/forecast"
	"circlip/forecast/learn"
	"circlip/inventory"
)

// Lessons are what a shop's past teaches on its day.
type Lessons struct {
	On bool // the setting learn

	Show    learn.Share // bookings made at least a day ahead that turn up
	Needs   []Need      // by line of the shop's bill of materials
	Season  forecast.Season
	Seasons SeasonSource
	Riding  learn.SeasonEvidence

	Usage   map[string]learn.Usage // by unit; units without any meter are not there
	Groups  []Group
	Habits  map[inventory.Holder]Habit
	Loyalty map[string]Loyal // by unit

	Ahead   map[inventory.Holder]learn.Ahead // how long before its bench date the job of a unit foreseen is booked
	WalkIn  learn.Ahead                      // and that of a walk-in
	Returns map[string]learn.Renewal         // by service, of units without a meter
	Leads   []Lead
	WalkIns []WalkIn
}

// SeasonSource says where the season comes from.
type SeasonSource int

// The sources of a season.
const (
	NoSeason SeasonSource = iota // every week alike: no table, and less than a year of readings
	FromBook
	FromReadings
)

// Group is what the units of one holder and group have in common.
type Group struct {
	Holder inventory.Holder
	Name   string
	learn.Group
}

// needWeight and showWeight are what the book's own shares are worth, in jobs.
const needWeight, showWeight = 20, 20

// Of learns from a shop's past.
func Of(shop inventory.Shop) *Lessons {
	set := shop.Settings
	l := &Lessons{
		On:     set.Learn,
		Show:   learn.Share{PriorMean: set.ShowRate, PriorWeight: showWeight},
		Season: forecast.Season(shop.Season),
		Habits: map[inventory.Holder]Habit{
			inventory.Fleet:    {Capture: set.FleetCapture, Waited: learn.Waited{Lag: forecast.Weeks(set.FleetLagWeeks)}},
			inventory.Customer: {Capture: set.CustomerCapture, Waited: learn.Waited{Lag: forecast.Weeks(set.CustomerLagWeeks)}},
		},
	}
	if len(shop.Season) > 0 {
		l.Seasons = FromBook
	}
	if !l.On {
		return l
	}
	p := newPast(shop)
	var beside sync.WaitGroup
	beside.Go(func() {
		l.learnShow(p)
		l.learnNeeds(p)
	})
	l.learnRiding(p)
	beside.Go(func() { l.learnHabits(p) })
	l.learnAhead(p)
	l.learnReturns(p)
	l.learnLeads(p)
	l.learnWalkIns(p)
	beside.Wait()
	return l
}

// Teach is the shop with what was learnt in place of the book's own figures:
// show rate, capture, lag, need and season. The shop itself is not changed.
func (l *Lessons) Teach(shop inventory.Shop) inventory.Shop {
	if !l.On {
		return shop
	}
	set := &shop.Settings
	set.ShowRate = l.Show.Mean()
	fleet, customer := l.Habits[inventory.Fleet], l.Habits[inventory.Customer]
	set.FleetCapture, set.FleetLagWeeks = fleet.Capture, float64(fleet.Lag)
	set.CustomerCapture, set.CustomerLagWeeks = customer.Capture, float64(customer.Lag)
	shop.Season = maps.Clone(map[int]float64(l.Season))
	lines := make([]inventory.BOMLine, len(shop.BOM))
	for i, line := range shop.BOM {
		line.Need = l.Needs[i].Mean()
		lines[i] = line
	}
	shop.BOM = lines
	return shop
}
