package forecast

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Daily steps cost more than ten times what half weeks do. They are taken only
// where calendar limits can follow each other at least twice inside the
// horizon; where they can hardly follow at all, half weeks say the same.
func TestCalendarLimitsFarApartNeedNoDailySteps(t *testing.T) {
	cal, err := NewCalendar(wednesday, 26, nil)
	if err != nil {
		t.Fatal(err)
	}
	ladder := &Ladder{FoldIn: .25, Services: []Service{
		{ID: 1, Every: 50, Months: 6}, {ID: 2, Every: 100, Months: 12, Covers: []int{1}}, {ID: 3, Every: 200, Months: 24, Covers: []int{2}},
	}}
	r := rand.New(rand.NewPCG(3, 4))
	for i := range 30 {
		u := Unit{
			Ladder: ladder, Spread: 4, ReadOn: wednesday - Day(r.IntN(20)), ShowRate: .95, Source: Fleet,
			HoursPerWeek: 1 + 6*r.Float64(), Capture: 1, LagWeeks: []Weeks{.5, 1, 3}[i%3],
		}
		for _, s := range ladder.Services {
			u.Clocks = append(u.Clocks, Clock{Hours: s.Every * Hours(r.Float64()), DoneOn: u.ReadOn - Day(r.IntN(180))})
		}
		usual, daily := weeklyAt(t, cal, u, 0), weeklyAt(t, cal, u, 7)
		for week := range usual {
			// A third of the 3 % that all approximations together may take.
			if d := math.Abs(usual[week]-daily[week]) / max(daily[week], .03); d > .01 {
				t.Errorf("unit %d, week %d: %v jobs, in daily steps %v", i, week, usual[week], daily[week])
			}
		}
	}
}

// weeklyAt is the jobs of all services by week at so many steps a week; 0: as
// many as usual.
func weeklyAt(t *testing.T, cal *Calendar, u Unit, steps int) []float64 {
	t.Helper()
	p, err := newPlanner(cal, []Unit{u})
	if err != nil {
		t.Fatal(err)
	}
	var a arena
	futures := p.futures(&u, func(u *Unit, s *strand) resolution {
		r := p.resolution(u, s)
		if steps > 0 {
			r.steps = steps
		}
		return r
	}, &a)
	weekly := make([]float64, len(cal.Weeks))
	for week := range weekly {
		for id := 1; id <= 3; id++ {
			weekly[week] += Arrivals(futures, id, week)
		}
	}
	return weekly
}
