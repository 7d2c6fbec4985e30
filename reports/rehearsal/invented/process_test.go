package invented

import (
	"math"
	"testing"

	"circlip/forecast"
	"circlip/inventory"
)

// The units' days are those of the forecast's process: what its closed forms
// expect of a fleet that begins with new meters, given the true rates, is what
// the workshop had, service by service. Jobs of one unit are spaced more evenly
// than a Poisson number's, so that its standard deviation bounds theirs.
func TestJobsComeAsTheProcessSays(t *testing.T) {
	const weeks = 50
	for _, lists := range []struct {
		name   string
		config Config
	}{
		{"fleet", Config{Seed: 21, Units: 120, Customers: -1, Weeks: 26, NoShow: -1, WalkInShare: -1}},
		{"customers", Config{Seed: 22, Units: -1, Customers: 80, Weeks: 26, NoShow: -1, WalkInShare: -1}},
	} {
		w := Make(lists.config)
		found, expected := make([]float64, len(w.Shop.Services)), make([]float64, len(w.Shop.Services))
		end := map[string]inventory.Date{}
		for _, u := range w.Shop.Units {
			cal, futures := w.foresee(t, u, weeks)
			end[u.Code] = inventory.Date(cal.End())
			for s := range w.Shop.Services {
				for week := range weeks {
					expected[s] += forecast.Arrivals(futures, s, week)
				}
			}
		}
		for _, j := range w.Shop.Jobs {
			for s, service := range w.Shop.Services {
				if j.Services[0] == service.Code && j.BenchDate < end[j.Unit] {
					found[s]++
				}
			}
		}
		for s, service := range w.Shop.Services {
			if expected[s] > 0 {
				t.Logf("%s %s: found %.0f jobs, expected %.1f", lists.name, service.Code, found[s], expected[s])
				near(t, lists.name+" "+service.Code, found[s], expected[s], math.Sqrt(expected[s]), 1)
			}
		}
	}
}

// foresee asks the closed forms for a unit, from its first day.
func (w Workshop) foresee(t *testing.T, u inventory.Unit, weeks int) (*forecast.Calendar, []forecast.Future) {
	season, spread := forecast.Season{}, 0.0
	for week := 1; week <= 53; week++ {
		season[week] = w.Truth.Season[week]
	}
	cal, err := forecast.NewCalendar(forecast.Day(u.InService), weeks, season)
	if err != nil {
		t.Fatal(err)
	}
	coming := w.Truth.Customer
	if u.Holder == inventory.Fleet {
		coming = w.Truth.Fleet
	}
	for _, g := range w.Truth.Groups {
		if g.Name == u.Group {
			spread = g.SpreadH
		}
	}
	unit := forecast.Unit{
		Ladder: w.ladderOf(u), HoursPerWeek: w.Truth.HoursPerWeek[u.Code], Spread: forecast.Hours(spread), ReadOn: cal.AsOf,
		Capture: coming.Capture, LagWeeks: forecast.Weeks(coming.LagWeeks), ShowRate: 1,
	}
	for range unit.Ladder.Services {
		unit.Clocks = append(unit.Clocks, forecast.Clock{DoneOn: cal.AsOf})
	}
	futures, err := forecast.Futures(cal, []forecast.Unit{unit})
	if err != nil {
		t.Fatal(err)
	}
	return cal, futures
}

func (w Workshop) ladderOf(u inventory.Unit) *forecast.Ladder {
	ladder, number := &forecast.Ladder{FoldIn: w.Shop.Settings.FoldIn}, map[string]int{}
	for i, s := range w.Shop.Services {
		number[s.Code] = i
	}
	for i, s := range w.Shop.Services {
		family := ""
		for _, m := range w.Shop.Models {
			if m.Code == u.Model {
				family = m.Family
			}
		}
		if s.Family != family || s.EveryHours == 0 && s.EveryMonths == 0 {
			continue
		}
		step := forecast.Service{ID: i, Every: forecast.Hours(s.EveryHours), Months: s.EveryMonths}
		for _, c := range s.Covers {
			step.Covers = append(step.Covers, number[c])
		}
		ladder.Services = append(ladder.Services, step)
	}
	return ladder
}
