package inventory

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// benchText is a day as a line of a specification; days count from today.
func benchText(d BenchDay) string {
	text := fmt.Sprintf("+%d %d", d.Date-today, d.Minutes)
	if d.Limit != nil {
		text += fmt.Sprintf("/%d", *d.Limit)
	}
	if d.Over() > 0 {
		text += fmt.Sprintf(" over=%d", d.Over())
	}
	if len(d.Jobs) > 0 {
		text += " " + strings.Join(d.Jobs, ",")
	}
	if len(d.Short) > 0 {
		text += " short=" + strings.Join(d.Short, ",")
	}
	return text
}

func TestBench(t *testing.T) {
	job := func(code string, in Date, services ...string) Job {
		return Job{Code: code, Model: "fell", Services: services, BenchDate: today + in, State: Booked}
	}
	hours := func(h float64) *float64 { return &h }
	tests := []struct {
		rule   string
		change func(*Shop)
		want   string
	}{
		{"every working day to the last job, with what it takes; today is a Friday", func(s *Shop) {
			s.Jobs = []Job{job("J1", 0, "lower"), job("J2", 4, "full"), job("J3", 4, "lower")}
		}, "+0 60/480 J1; +3 0/480; +4 180/480 J2,J3"},
		{"a service that another one covers takes no time of its own", func(s *Shop) {
			s.Jobs = []Job{job("J1", 0, "lower", "full")}
		}, "+0 120/480 J1"},
		{"hours run out", func(s *Shop) {
			s.Settings.BenchHours = hours(1.75)
			s.Jobs = []Job{job("J1", 0, "lower"), job("J2", 0, "lower")}
		}, "+0 120/105 over=15 J1,J2"},
		{"hours that nobody stated do not", func(s *Shop) {
			s.Settings.BenchHours = nil
			s.Jobs = []Job{job("J1", 0, "full")}
		}, "+0 120 J1"},
		{"parts run out where a kit is short", func(s *Shop) {
			s.Lots = []Lot{{Item: "wiper", OnHand: 2}}
			s.BOM = []BOMLine{{Service: "lower", Model: AnyModel, Item: "wiper", Qty: 2, Need: 1}}
			s.Jobs = []Job{job("J1", 0, "lower"), job("J2", 0, "lower")}
		}, "+0 120/480 J1,J2 short=J2"},
		{"what should have been done before is still to do today", func(s *Shop) {
			s.Jobs = []Job{job("J1", -9, "lower"), job("J2", 0, "lower")}
		}, "+0 120/480 J1,J2"},
		{"a holiday of the workshop is not in the calendar", func(s *Shop) {
			s.Holidays = []Holiday{{Date: today + 3}, {Date: today + 4, Supplier: "brindle"}}
			s.Jobs = []Job{job("J1", 4, "lower")}
		}, "+0 0/480; +4 60/480 J1"},
		{"unless a job is booked on it: no bench is open then", func(s *Shop) {
			s.Holidays = []Holiday{{Date: today + 3}}
			s.Jobs = []Job{job("J1", 1, "lower"), job("J2", 3, "lower")}
		}, "+0 0/480; +1 60/0 over=60 J1; +3 60/0 over=60 J2"},
		{"no job, no calendar", func(*Shop) {}, ""},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			shop := Shop{
				AsOf: today, Settings: Settings{Readiness: 0.97, BenchHours: hours(8)},
				Items:    []Item{{Code: "wiper", Critical: true}},
				Models:   []Model{{Code: "fell", Family: "fork"}},
				Services: []Service{{Code: "lower", Family: "fork", BenchMinutes: 60}, {Code: "full", Family: "fork", BenchMinutes: 120, Covers: []string{"lower"}}},
			}
			test.change(&shop)
			var got []string
			for _, d := range Bench(shop, Kits(shop)) {
				got = append(got, benchText(d))
			}
			if text := strings.Join(got, "; "); text != test.want {
				t.Errorf("found\n%s\nexpected\n%s", text, test.want)
			}
		})
	}
}

// Every booked job stands in the calendar once, in its place, and no minute is
// lost.
func TestBenchHoldsEveryJobOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shop := anyShelf(t)
		shop.Services[0].BenchMinutes, shop.Services[1].BenchMinutes = 45, 70
		kits := Kits(shop)
		var in, out []string
		want, got := 0, 0
		for _, k := range kits {
			in = append(in, fmt.Sprint(max(k.BenchDate, shop.AsOf), k.Job, k.State == Short))
			for _, s := range k.Services {
				want += map[string]int{"one": 45, "two": 70}[s]
			}
		}
		last := Date(0)
		for _, d := range Bench(shop, kits) {
			if d.Date <= last || d.Limit != nil {
				t.Fatalf("found %+v after %s, expected days in order, without a limit that nobody set", d, last)
			}
			last = d.Date
			got += d.Minutes
			for _, j := range d.Jobs {
				out = append(out, fmt.Sprint(d.Date, j, slices.Contains(d.Short, j)))
			}
		}
		if !slices.Equal(in, out) || got != want {
			t.Fatalf("found %v in %d minutes, expected %v in %d", out, got, in, want)
		}
	})
}
