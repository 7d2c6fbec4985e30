package rehearsal

import (
	"context"
	"errors"
	"fmt"
	"math"
	"reflect"
	"runtime"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"circlip/inventory"
	"circlip/reports/plan"
	"circlip/reports/rehearsal/invented"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
)

// little is an invented workshop that is played in a moment.
func little(seed uint64, weeks int) invented.Workshop {
	return invented.Make(invented.Config{Seed: seed, Units: 10, Customers: 10, Weeks: weeks, Models: 5})
}

// brief plays few weeks for two targets.
var brief = Options{Weeks: 5, WarmUp: 3, Targets: []float64{0.90, 0.97}}

func played(t *testing.T, p Past, o Options) Report {
	t.Helper()
	r, err := Run(t.Context(), p, o)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// What comes after a Monday is not known on it: with everything later changed
// the shop that the plan of that Monday sees, and the plan, are the same.
func TestAMondaySeesNothingThatCameLater(t *testing.T) {
	for seed := range uint64(2) {
		past := Invented(little(seed, 60))
		monday := past.Shop.AsOf - 7*10
		before := past.known(monday)
		changed := past
		changed.Shop = otherwise(past.Shop, monday)
		after := changed.known(monday)
		if diff := cmp.Diff(before, after, cmpopts.EquateEmpty()); diff != "" {
			t.Fatalf("seed %d: the shop of %s with what really came (-) and with something else (+):\n%s", seed, monday, diff)
		}
		if diff := cmp.Diff(planned(t, before), planned(t, after), cmpopts.EquateEmpty()); diff != "" {
			t.Errorf("seed %d: the plan of %s as it is (-) and as it would be had other things come later (+):\n%s", seed, monday, diff)
		}
		if reflect.DeepEqual(past.Shop, changed.Shop) {
			t.Fatalf("seed %d: nothing was changed", seed)
		}
		// Had it been known, the plan would be another one.
		if reflect.DeepEqual(planned(t, before), planned(t, changed.known(past.Shop.AsOf))) {
			t.Errorf("seed %d: the plan does not depend on the past at all", seed)
		}
	}
}

func planned(t *testing.T, shop inventory.Shop) plan.Plan {
	t.Helper()
	p, err := plan.Make(shop, plan.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// otherwise is the shop with another fate from a day on: jobs are missed or
// come later, meters run wild, suppliers keep everyone waiting, units retire.
func otherwise(shop inventory.Shop, from inventory.Date) inventory.Shop {
	var jobs []inventory.Job
	for _, j := range shop.Jobs {
		switch {
		case j.KnownFrom() >= from:
			continue // nobody asked
		case j.EndedOn() >= from && j.State == inventory.Done:
			if len(jobs)%2 == 0 {
				j.State, j.DoneOn = inventory.NoShow, 0
			} else {
				j.DoneOn += 5
			}
		}
		jobs = append(jobs, j)
	}
	known := map[string]inventory.Date{}
	for _, j := range jobs {
		known[j.Code] = j.EndedOn()
	}
	var uses []inventory.JobUse
	for _, u := range shop.Uses {
		if ended, kept := known[u.Job]; kept {
			if ended >= from {
				u.Qty *= 9
			}
			uses = append(uses, u)
		}
	}
	units := make([]inventory.Unit, len(shop.Units))
	for i, u := range shop.Units {
		u.Readings = append([]inventory.Reading(nil), u.Readings...)
		for k := range u.Readings {
			if u.Readings[k].Date >= from {
				u.Readings[k].Hours += 500
			}
		}
		if u.Retired >= from {
			u.Retired = 0
		} else if u.Retired.IsZero() && i%3 == 0 {
			u.Retired = from + 3
		}
		units[i] = u
	}
	orders := append([]inventory.OrderLine(nil), shop.Orders...)
	for i := range orders {
		if orders[i].ReceivedOn >= from {
			orders[i].ReceivedOn += 60
		}
	}
	var receipts []inventory.Receipt
	for _, r := range shop.Receipts {
		if r.Date >= from {
			r.Qty *= 9
		}
		receipts = append(receipts, r)
	}
	shop.Jobs, shop.Uses, shop.Units, shop.Orders, shop.Receipts, shop.Lots = jobs, uses, units, orders, receipts, nil
	return shop
}

func TestTheReportIsTheSameOnOneProcessor(t *testing.T) {
	past := Invented(little(4, 30))
	o := brief
	o.Scores = true
	many := played(t, past, o)
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	one := played(t, past, o)
	if a, b := fmt.Sprintf("%+v", many.Plans), fmt.Sprintf("%+v", one.Plans); a != b {
		t.Errorf("the plans differ:\n%s\n%s", a, b)
	}
	if !reflect.DeepEqual(many.Textbook, one.Textbook) || !reflect.DeepEqual(many.Scores.Services, one.Scores.Services) || !reflect.DeepEqual(many.Scores.Items, one.Scores.Items) {
		t.Error("the textbook's points or the scores differ")
	}
}

// Whatever is played, stock neither appears nor vanishes, and everything counts
// the same jobs.
func TestEveryWayOfOrderingMeetsTheSameJobs(t *testing.T) {
	w := little(5, 30)
	r := played(t, Invented(w), brief)
	jobs := r.Plans[0].Jobs
	if jobs == 0 {
		t.Fatal("found no jobs")
	}
	check := func(name string, n int, readiness float64) {
		if n != jobs || !(readiness >= 0 && readiness <= 1) {
			t.Errorf("%s: found %d jobs and readiness %v, expected %d jobs", name, n, readiness, jobs)
		}
	}
	for _, p := range r.Plans {
		check("plans", p.Jobs, p.Readiness)
		for i, f := range p.Flows {
			if f.Start+f.Received+f.Owed != f.Used+f.Expired+f.Left {
				t.Errorf("target %v, item %d: found %+v, expected what came in to have gone out or to be there", p.Target, i, f)
			}
		}
	}
	for _, c := range r.Textbook {
		for _, p := range c.Points {
			check(fmt.Sprint(c.Method), jobs, p.Readiness)
		}
	}
	done := 0
	for _, j := range w.Shop.Jobs {
		if j.State == inventory.Done && j.EndedOn() >= r.From && j.EndedOn() <= r.To {
			done++
		}
	}
	if done != jobs {
		t.Errorf("found %d jobs played, expected the %d done from %s to %s", jobs, done, r.From, r.To)
	}
}

func TestARehearsalStopsWhenItIsTold(t *testing.T) {
	past := Invented(little(6, 60))
	ctx, cancel := context.WithCancel(t.Context())
	weeks := 0
	began := time.Now()
	_, err := Run(ctx, past, Options{Weeks: 40, WarmUp: 8, Progress: func(n int) {
		if weeks += n; weeks == 2 {
			cancel()
			began = time.Now()
		}
	}})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("found %v, expected that it was cancelled", err)
	}
	if weeks > 4 || time.Since(began) > 10*time.Second {
		t.Errorf("played %d weeks and %s after it was told to stop in the second", weeks, time.Since(began))
	}
}

func TestAPastMustHoldTheWeeksAskedFor(t *testing.T) {
	none := little(7, 30)
	none.Shop.Jobs = nil
	future := little(7, 30)
	for i := range future.Shop.Jobs {
		future.Shop.Jobs[i].BenchDate += 3650
		future.Shop.Jobs[i].BookedOn += 3650
		if future.Shop.Jobs[i].State == inventory.Done {
			future.Shop.Jobs[i].DoneOn += 3650
		}
	}
	for _, c := range []struct {
		name  string
		past  Past
		weeks int
	}{
		{"more than there are", Invented(little(7, 30)), 2000},
		{"none", Invented(little(7, 30)), -8},
		{"no job at all", Invented(none), 1},
		{"a past that is still to come", Invented(future), 1},
	} {
		t.Run(c.name, func(t *testing.T) {
			if _, err := Run(t.Context(), c.past, Options{Weeks: c.weeks}); !errors.Is(err, ErrTooShort) {
				t.Errorf("found %v, expected that the past is too short", err)
			}
		})
	}
}

// Pasts that no workshop should have are played all the same.
func TestDegeneratePastsArePlayed(t *testing.T) {
	for _, c := range []struct {
		name  string
		spoil func(*inventory.Shop)
	}{
		{"no services", func(s *inventory.Shop) { s.Services, s.BOM = nil, nil }},
		{"no offers", func(s *inventory.Shop) { s.Offers = nil }},
		{"no units", func(s *inventory.Shop) { s.Units = nil }},
		{"no models", func(s *inventory.Shop) { s.Models = nil }},
		{"one job, long ago", func(s *inventory.Shop) {
			for _, j := range s.Jobs {
				if j.State == inventory.Done {
					s.Jobs = []inventory.Job{j}
					break
				}
			}
		}},
		{"all zeros in the meters", func(s *inventory.Shop) {
			for i := range s.Units {
				for k := range s.Units[i].Readings {
					s.Units[i].Readings[k].Hours = 0
				}
			}
		}},
		{"meters that jump", func(s *inventory.Shop) {
			for i := range s.Units {
				for k := range s.Units[i].Readings {
					s.Units[i].Readings[k].Hours *= float64(1 + 1000*(k%2))
				}
			}
		}},
		{"everybody booked on the day", func(s *inventory.Shop) {
			for i := range s.Jobs {
				s.Jobs[i].BookedOn = s.Jobs[i].BenchDate
			}
		}},
		{"jobs without units", func(s *inventory.Shop) {
			for i := range s.Jobs {
				s.Jobs[i].Unit = ""
			}
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			w := little(8, 20)
			c.spoil(&w.Shop)
			r := played(t, Of(w.Shop), Options{Weeks: 2, WarmUp: 1, Targets: []float64{0.97}, Scores: true})
			for _, p := range r.Plans {
				if math.IsNaN(p.Readiness) || math.IsNaN(p.MeanStockValue) {
					t.Errorf("found %+v, expected numbers", p.Result)
				}
			}
			if saving, found := r.Saving(); math.IsNaN(saving) || math.IsInf(saving, 0) {
				t.Errorf("found a saving of %v (%v)", saving, found)
			}
			if strings.Contains(fmt.Sprint(r.Textbook), "NaN") {
				t.Error("found a textbook's point that is no number")
			}
		})
	}
}

// No more than two outlooks are held, however many weeks are played.
func TestOutlooksAreLetGo(t *testing.T) {
	past := Invented(little(9, 40))
	var out, most atomic.Int64
	w := past.newWorld(16, func(int) (inventory.Offer, bool) { return inventory.Offer{}, false })
	m := newMondays(t.Context(), past, w, 3, Options{Progress: func(int) { out.Add(1) }})
	done := make(chan bool)
	for k := range 3 {
		go func() {
			for week := range 16 {
				m.week(k, week)
				m.mu.Lock()
				most.Store(max(most.Load(), int64(len(m.made))))
				m.mu.Unlock()
			}
			m.finish(k, nil)
			done <- true
		}()
	}
	for range 3 {
		<-done
	}
	if out.Load() != 16 || most.Load() > 2 {
		t.Errorf("made %d outlooks and held up to %d, expected 16, two at a time", out.Load(), most.Load())
	}
}

// BenchmarkRehearse plays two years of the usual invented workshop.
func BenchmarkRehearse(b *testing.B) {
	past := Invented(invented.Make(invented.Config{Seed: 1}))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Run(b.Context(), past, Options{Weeks: 104}); err != nil {
			b.Fatal(err)
		}
	}
}
