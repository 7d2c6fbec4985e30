package inventory

import (
	"reflect"
	"testing"
	"time"
)

func TestAMorningKnowsWhatTheEveningBeforeKnew(t *testing.T) {
	day := NewDate(2026, time.March, 9)
	readings := []Reading{{Date: day - 8, Hours: 40}, {Date: day - 1, Hours: 47}, {Date: day, Hours: 48}}
	shop := Shop{
		AsOf: day + 100,
		Units: []Unit{
			{Code: "hire", Holder: Fleet, InService: day - 30, Readings: readings},
			{Code: "to come", Holder: Fleet, InService: day},
			{Code: "guest", Holder: Customer, InService: day - 300},
			{Code: "guest seen", Holder: Customer, InService: day - 300},
			{Code: "gone", Holder: Fleet, InService: day - 300, Retired: day - 1},
			{Code: "to go", Holder: Fleet, InService: day - 300, Retired: day + 1},
		},
		Jobs: []Job{
			{Code: "done", Unit: "hire", BookedOn: day - 9, BenchDate: day - 2, State: Done, DoneOn: day - 1, DoneBy: "Ann"},
			{Code: "done later", Unit: "guest seen", BookedOn: day - 3, BenchDate: day - 1, State: Done, DoneOn: day, DoneBy: "Ann"},
			{Code: "booked today", BookedOn: day, BenchDate: day + 1, State: Done, DoneOn: day + 1},
			{Code: "cancelled later", BookedOn: day - 5, BenchDate: day + 2, State: Cancelled},
			{Code: "cancelled before", BookedOn: day - 5, BenchDate: day + 2, State: Cancelled, CancelledOn: day - 1},
			{Code: "cancelled today", BookedOn: day - 5, BenchDate: day - 1, State: Cancelled, CancelledOn: day},
			{Code: "found missing today", BookedOn: day - 5, BenchDate: day - 1, State: NoShow, CancelledOn: day},
			{Code: "missed", BookedOn: day - 5, BenchDate: day - 1, State: NoShow},
			{Code: "walked in yesterday", BenchDate: day - 1, State: Done, DoneOn: day - 1},
			{Code: "walks in today", BenchDate: day, State: Done, DoneOn: day},
		},
		Uses: []JobUse{{Job: "done", Item: "seal", Qty: 2}, {Job: "done later", Item: "seal", Qty: 2}},
		Orders: []OrderLine{
			{Order: "old", PlacedOn: day - 9, ReceivedOn: day - 4, Packs: 3, ReceivedPacks: 3},
			{Order: "coming", PlacedOn: day - 3, ReceivedOn: day, Packs: 3, ReceivedPacks: 3},
			{Order: "today's", PlacedOn: day, Packs: 3},
			{Order: "given up", PlacedOn: day - 9, Packs: 3, PackQty: 1, ClosedOn: day - 1},
			{Order: "to be given up", PlacedOn: day - 9, Packs: 3, PackQty: 1, ClosedOn: day},
		},
		Setups:   []Setup{{Job: "done", On: day - 1}, {Job: "done", On: day, After: true}},
		Receipts: []Receipt{{Item: "seal", Date: day - 4}, {Item: "seal", Date: day}},

		Counts:     []Count{{Item: "oil", Date: day - 1}},
		CountParts: []CountPart{{Item: "oil", Date: day - 1, Number: 1}},
		Others:     []OtherMove{{Item: "oil", Date: day - 1}, {Item: "oil", Date: day}},
		Spoils:     []Spoiled{{Job: "done", Item: "oil", Date: day - 1}, {Job: "done", Item: "oil", Date: day}},
		Disposals:  []Disposal{{Date: day - 1, Number: 1}, {Date: day, Number: 1}},
		Containers: []Container{{Code: "can"}},
	}
	before := shop.Before(day)
	states := map[string]JobState{}
	for _, j := range before.Jobs {
		states[j.Code] = j.State
	}
	if want := map[string]JobState{
		"done": Done, "done later": Booked, "cancelled later": Booked,
		"cancelled before": Cancelled, "cancelled today": Booked, "found missing today": Booked, "missed": NoShow, "walked in yesterday": Done,
	}; !reflect.DeepEqual(states, want) {
		t.Errorf("jobs %v, expected %v", states, want)
	}
	for _, j := range before.Jobs {
		if open := j.State == Booked; open && !j.CancelledOn.IsZero() {
			t.Errorf("job %s is booked and called off on %s", j.Code, j.CancelledOn)
		}
		if named := j.DoneBy != ""; named != (j.Code == "done") {
			t.Errorf("job %s was done by %q", j.Code, j.DoneBy)
		}
	}
	if len(before.Setups) != 1 || before.Setups[0].After {
		t.Errorf("setups %v, expected that of the day before", before.Setups)
	}
	var units []string
	for _, u := range before.Units {
		units = append(units, u.Code)
		if retired := !u.Retired.IsZero(); retired != (u.Code == "gone") {
			t.Errorf("%s: retired %v", u.Code, retired)
		}
		if u.Code == "hire" && len(u.Readings) != 2 {
			t.Errorf("%d readings, expected the two of the days before", len(u.Readings))
		}
	}
	if want := []string{"hire", "guest seen", "gone", "to go"}; !reflect.DeepEqual(units, want) {
		t.Errorf("units %v, expected %v", units, want)
	}
	if len(before.Uses) != 1 || before.Uses[0].Job != "done" {
		t.Errorf("uses %v, expected those of the job done", before.Uses)
	}
	if given, toBe := before.Orders[2].Outstanding(), before.Orders[3].Outstanding(); given != 0 || toBe != 3 {
		t.Errorf("%d and %d outstanding, expected none of what was given up the day before and 3 of what will be today", given, toBe)
	}
	if len(before.Orders) != 4 || before.Orders[1].ReceivedPacks != 0 || before.Orders[0].ReceivedPacks != 3 {
		t.Errorf("orders %v, expected one received and one coming", before.Orders)
	}
	if len(before.Others) != 1 || len(before.Spoils) != 1 || len(before.Disposals) != 1 || len(before.Containers) != 1 {
		t.Errorf("others %v, spoiled %v, disposals %v, containers %v, expected those of the day before and every container",
			before.Others, before.Spoils, before.Disposals, before.Containers)
	}
	if len(before.Counts) > 0 || len(before.CountParts) > 0 {
		t.Errorf("counts %v of %v, expected none: the shelf is left out", before.Counts, before.CountParts)
	}
	if len(before.Receipts) != 1 || before.AsOf != day || len(shop.Jobs) != 10 || shop.Orders[1].ReceivedPacks != 3 {
		t.Errorf("receipts %v as of %s; the shop itself must not change", before.Receipts, before.AsOf)
	}
}
