package forecast

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The rule beside what it says: units draw a week, a place and whether they
// are in the book by now; of those that are not, the shares are counted.
func TestUnbookedIsWhatIsLeftOfUnitsNotInTheBook(t *testing.T) {
	rung := Rung{After: Start, Stage: 0, Services: []int{1}, Source: Fleet, Capture: 0.7, Done: []float64{0.3, 0.2, 0.1}}
	later := Rung{After: 0, Stage: 1, Services: []int{1}, Source: Fleet, Capture: 0.7, Done: []float64{0, 0.1, 0.1}}
	booked := []float64{0.9, 0.4, 0}
	f := Unbooked(Future{Rungs: []Rung{rung, later}}, booked)

	rng := rand.New(rand.NewPCG(1, 2))
	const units = 400_000
	left := 0
	here, elsewhere := [3]int{}, [3]int{}
	for range units {
		week, u := 0, rng.Float64()
		for week < 3 && u >= rung.Done[week] {
			u -= rung.Done[week]
			week++
		}
		comes := week < 3 && rng.Float64() < rung.Capture
		if comes && rng.Float64() < booked[week] {
			continue
		}
		left++
		if comes {
			here[week]++
		} else if week < 3 {
			elsewhere[week]++
		}
	}
	for week := range 3 {
		for _, side := range []struct {
			name  string
			found float64
			count int
		}{{"here", f.Rungs[0].Capture * f.Rungs[0].Done[week], here[week]}, {"elsewhere", f.Rungs[1].Done[week], elsewhere[week]}} {
			share := float64(side.count) / float64(left)
			if tolerance := 4 * math.Sqrt(share*(1-share)/float64(left)); math.Abs(side.found-share) > tolerance {
				t.Errorf("week %d %s: %.4f, of the simulated units %.4f ± %.4f", week, side.name, side.found, share, tolerance)
			}
		}
	}
	if f.Rungs[1].Capture != 0 || f.Rungs[2].Done[1] != 0.1 {
		t.Errorf("what is done elsewhere and what comes later: %+v", f.Rungs[1:])
	}
}

func TestUnbookedLeavesAloneWhatTheBookSaysNothingOf(t *testing.T) {
	open := Future{Rungs: []Rung{{After: Start, Stage: 0, Source: Booked, Capture: 1, Done: []float64{0.95}}, {After: Start, Stage: 1, Source: Fleet, Capture: 1, Done: []float64{0.05}}}}
	if f := Unbooked(open, []float64{0.9}); f.Rungs[1].Done[0] != 0.05 || len(f.Rungs) != 2 {
		t.Errorf("a unit with an open job: %+v, expected it unchanged", f.Rungs)
	}
	walkIn := Future{Rungs: []Rung{{After: Start, Stage: 0, Source: Fleet, Capture: 1, Done: []float64{0.5, 0.5}}}}
	if f := Unbooked(walkIn, []float64{0, 0}); f.Rungs[0].Done[0] != 0.5 {
		t.Errorf("jobs that nobody books: %+v, expected them unchanged", f.Rungs)
	}
	sure := Future{Rungs: []Rung{{After: Start, Stage: 0, Source: Fleet, Capture: 1, Done: []float64{1}}}}
	if f := Unbooked(sure, []float64{1}); math.IsNaN(f.Rungs[0].Done[0]) || f.Rungs[0].Done[0] != 0 {
		t.Errorf("a unit that was sure to be booked and is not: %+v, expected that it does not come", f.Rungs)
	}
}

func TestADayOfASpan(t *testing.T) {
	cal, err := NewCalendar(20_616, 3, nil) // a Friday
	if err != nil {
		t.Fatal(err)
	}
	tuesday := cal.Weeks[1].First + 1
	open := Rung{Source: Booked, Day: tuesday}
	for _, c := range []struct {
		name  string
		span  Span
		share float64
		job   float64
	}{
		{"a span until the day holds the job and two days' part of the week", cal.Until(tuesday), 0.4, 1},
		{"one until the day before holds no more than that day", cal.Until(tuesday - 1), 0.2, 0},
		{"a week holds all of it", cal.InWeek(1), 1, 1},
		{"days that count by half", cal.Weighted(tuesday, func(Day) float64 { return 0.5 }), 0.2, 0.5},
	} {
		t.Run(c.name, func(t *testing.T) {
			if share, job := c.span.Share(1), c.span.ShareOf(open, 1); math.Abs(share-c.share) > 1e-12 || job != c.job {
				t.Errorf("share %v of the week and %v of the job, expected %v and %v", share, job, c.share, c.job)
			}
		})
	}
	if first, whole := cal.Part(0), cal.Part(1); first != 0.2 || whole != 1 {
		t.Errorf("a week from Friday on is %v of a week and a whole one %v, expected 0.2 and 1", first, whole)
	}
	if mean := cal.InWeek(1).Mean(cal, func(d Day) float64 { return float64(d - cal.Weeks[1].First) }); mean != 2 {
		t.Errorf("mean day of a week %v, expected Wednesday", mean)
	}
}
