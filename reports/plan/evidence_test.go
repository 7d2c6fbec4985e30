package plan

import (
	"math"
	"strings"
	"testing"

	"circlip/inventory"
)

func foreseen(t *testing.T, shop inventory.Shop) *Outlook {
	t.Helper()
	o, err := Foresee(shop)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// mixedShop has units of a fleet and of customers, some without hours, open
// jobs with and without a unit, and a past.
func mixedShop(learns bool) inventory.Shop {
	shop := parkShop()
	shop.Settings.Learn = learns
	for n, code := range []string{"c1", "c2", "c3"} {
		u := inventory.Unit{Code: code, Model: "fell", Holder: inventory.Customer}
		if n == 0 {
			u.Readings = []inventory.Reading{{Date: monday - 200, Hours: 0}, {Date: monday - 60, Hours: 70}}
		}
		shop.Units = append(shop.Units, u)
		shop.Jobs = append(shop.Jobs, inventory.Job{
			Code: "D" + code, Unit: code, Model: "fell", Services: []string{"lower"},
			BookedOn: monday - 70, BenchDate: monday - 60, DoneOn: monday - 60, State: inventory.Done,
		})
	}
	shop.Units[3].Retired = monday - 5
	shop.Units[4].HoursPerWeek, shop.Units[4].Readings = nil, nil // rides as its group
	return shop
}

// Every job foreseen is of one unit, of an open job without one, or a walk-in.
func TestTheUnitsJobsAddUpToTheArrivals(t *testing.T) {
	for name, learns := range map[string]bool{"learn = yes": true, "learn = no": false} {
		t.Run(name, func(t *testing.T) {
			shop := mixedShop(learns)
			o := foreseen(t, shop)
			type cell struct {
				week    int
				service string
			}
			left := map[cell]float64{}
			for _, a := range o.Arrivals() {
				left[cell{a.Week, a.Service}] += a.Jobs() - a.WalkIn
			}
			jobs := 0.0
			for _, u := range shop.Units {
				out, err := o.Unit(u.Code)
				if err != nil {
					t.Fatal(err)
				}
				for _, a := range out.Jobs {
					left[cell{a.Week, a.Service}] -= a.Jobs()
					jobs += a.Jobs()
				}
			}
			if jobs < 2 {
				t.Fatalf("%v jobs of all units, too few to prove anything", jobs)
			}
			for at, sum := range left {
				want := 0.0
				if at.week == 0 && at.service == "spring" {
					want = o.view.Settings.ShowRate // J2 is booked this week, for no unit
				}
				if math.Abs(sum-want) > 1e-9 {
					t.Errorf("week %d, %s: %v jobs are of no unit, expected %v", at.week, at.service, sum, want)
				}
			}
		})
	}
}

func TestAUnitsClocksAreReadAndReckoned(t *testing.T) {
	shop := parkShop()
	out, err := foreseen(t, shop).Unit("f3")
	if err != nil {
		t.Fatal(err)
	}
	if out.HoursPerWeek != 6 || out.ReadOn != monday-1 || len(out.Clocks) != 2 {
		t.Fatalf("found %+v", out)
	}
	lower := out.Clocks[0]
	if lower.Service != "lower" || lower.EveryHours != 50 || lower.Hours != 30 {
		t.Errorf("found %+v, expected 30 of 50 h of lower", lower)
	}
	if want := 30 + 6./7; math.Abs(lower.HoursToday-want) > 1e-9 {
		t.Errorf("today %v h, expected %v: a day at 6 h a week after the reading", lower.HoursToday, want)
	}
}

func TestAUnitThatIsNotInServiceHasNoJobs(t *testing.T) {
	out, err := foreseen(t, mixedShop(true)).Unit("f4")
	if err != nil || len(out.Jobs) != 0 || len(out.Clocks) != 0 {
		t.Errorf("found %+v, %v", out, err)
	}
}

func TestAnUnknownUnitIsRefused(t *testing.T) {
	_, err := foreseen(t, parkShop()).Unit("f9")
	if err == nil || !strings.Contains(err.Error(), "unit f9: not in the book") {
		t.Errorf("found %v", err)
	}
}

// What is expected of an item until its protection ends is what its order is
// told to be for.
func TestAnItemsUseIsByWhereItsJobsComeFrom(t *testing.T) {
	shop := parkShop()
	o := foreseen(t, shop)
	for at, i := range shop.Items {
		out := o.Item(at)
		if offered := i.Code != "seal"; out.Offered != offered {
			t.Errorf("%s: offered %v, expected %v", i.Code, out.Offered, offered)
		}
		by := o.shelf.use.until(at, out.ProtectUntil)
		sum := out.Booked + out.Fleet + out.Returning + out.WalkIn
		if want := by.sum() / float64(i.Measure.Steps()); math.Abs(sum-want) > 1e-9 {
			t.Errorf("%s: %v together, expected %v", i.Code, sum, want)
		}
	}
	wiper := o.Item(3)
	if wiper.Lead.Quoted != 3 || wiper.PlaceBy != monday || wiper.ProtectUntil != monday+7+3-1 {
		t.Errorf("wiper: %+v", wiper)
	}
	// Two wipers for each of the two booked jobs, which turn up 95 times of 100.
	if want := 2 * 2 * 0.95; math.Abs(wiper.Booked-want) > 1e-9 {
		t.Errorf("wiper: %v for booked jobs, expected %v", wiper.Booked, want)
	}
}
