package db_test

import (
	"errors"
	"os"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/google/uuid"

	"circlip/db"
	"circlip/inventory"
	"circlip/testdata/big"
)

// jan and so on are days of 2026.
func on(month time.Month, day int) inventory.Date { return inventory.NewDate(2026, month, day) }

func (b *bench) shop(t testing.TB, workshop int64, asOf inventory.Date) inventory.Shop {
	t.Helper()
	shop, err := b.Shop(t.Context(), workshop, asOf)
	if err != nil {
		t.Fatal(err)
	}
	return shop
}

func TestAShopHoldsWhatTheBookSays(t *testing.T) {
	bench := openBench(t)
	report := smallBook().load(t, bench)
	got := bench.shop(t, report.Workshop.ID, on(time.March, 31))
	flash, lead, hours, temp := 176.0, 3, 6.0, 20.0
	want := inventory.Shop{
		AsOf: on(time.March, 31),
		Suppliers: []inventory.Supplier{
			{Code: "cobbet", Name: "cobbet", OrderWeekday: time.Monday}, // the workshop's day
			{Code: "ravelin", Name: "Ravelin Seals", OrderWeekday: time.Tuesday, Cutoff: "14:00", LeadDays: 4, MinOrder: 4000,
				Carriage: 690, CarriageFreeFrom: 12000, HasFreeCarriage: true},
		},
		Items: []inventory.Item{
			{Code: "grease", Name: "Slick grease", Kind: inventory.Grease, Measure: inventory.Gram, Bin: "A2"},
			{Code: "kit-35", Name: "Seal kit 35", Kind: inventory.Kit, Measure: inventory.Each, Critical: true, Bin: "B3"},
			{Code: "oil-15", Name: "Lower leg oil", Kind: inventory.Oil, Measure: inventory.Millilitre, ShelfMonths: 36, Critical: true,
				DensityKgM3: 870, Viscosity40: 15.2, FlashPointC: &flash, Bin: "A1"},
			{Code: "oil-20", Name: "Thicker oil", Kind: inventory.Oil, Measure: inventory.Millilitre, Critical: true},
			{Code: "ring-10", Name: "O-ring 10", Kind: inventory.ORing, Measure: inventory.Each, Material: "FKM", Critical: true,
				InsideMM: 10, SectionMM: 1.78, Hardness: 70, Bin: "B2"},
			{Code: "wiper-35", Name: "Dust wiper 35", Kind: inventory.Wiper, Measure: inventory.Each, Material: "NBR", Critical: true,
				InsideMM: 35, SectionMM: 4.5, Hardness: 70, Bin: "B1", GTIN: "6291041500213"},
			{Code: "wiper-36", Name: "wiper-36", Kind: inventory.Wiper, Measure: inventory.Each, Material: "NBR", Critical: true},
		},
		Offers: []inventory.Offer{
			{Item: "grease", Supplier: "cobbet", FromPacks: 1, SupplierCode: "C-G", PackQty: 5000, MinPacks: 1, Multiple: 1, Price: 1800},
			{Item: "kit-35", Supplier: "ravelin", FromPacks: 1, SupplierCode: "RK-35", PackQty: 1, MinPacks: 1, Multiple: 1, Price: 1990},
			{Item: "oil-15", Supplier: "cobbet", FromPacks: 1, SupplierCode: "C-15", PackQty: 10000, MinPacks: 1, Multiple: 1, Price: 2490},
			{Item: "wiper-35", Supplier: "ravelin", FromPacks: 1, SupplierCode: "R-35", PackQty: 10, MinPacks: 1, Multiple: 1, Price: 4250},
			{Item: "wiper-35", Supplier: "ravelin", FromPacks: 5, SupplierCode: "R-35", PackQty: 10, MinPacks: 1, Multiple: 1, Price: 3800, LeadDays: &lead},
		},
		Kits:       []inventory.KitPart{{Kit: "kit-35", Item: "ring-10", Qty: 4}, {Kit: "kit-35", Item: "wiper-35", Qty: 2}},
		Alternates: []inventory.Alternate{{Item: "oil-15", Alternate: "oil-20", Rank: 1, Note: "one step firmer"}},
		Models:     []inventory.Model{{Code: "ember", Name: "Ember coil", Family: "shock"}, {Code: "fell-150", Name: "Fell 150", Family: "fork"}},
		Services: []inventory.Service{
			{Code: "can", Name: "Air can", Family: "shock", EveryHours: 100, BenchMinutes: 30},
			{Code: "full", Name: "Full service", Family: "fork", EveryHours: 200, EveryMonths: 24, Covers: []string{"lower"}, BenchMinutes: 120},
			{Code: "lower", Name: "Lower legs", Family: "fork", EveryHours: 50, EveryMonths: 6, BenchMinutes: 45},
		},
		BOM: []inventory.BOMLine{
			{Service: "can", Model: "ember", Item: "grease", Qty: 45, Need: 1},
			{Service: "full", Model: "fell-150", Item: "kit-35", Qty: 1, Need: 1},
			{Service: "lower", Model: "*", Item: "oil-15", Qty: 200, Need: 1, Waste: 0.05},
			{Service: "lower", Model: "fell-150", Item: "wiper-35", Qty: 2, Need: 1, To: on(time.January, 1)},
			{Service: "lower", Model: "fell-150", Item: "wiper-35", Qty: 2, Need: 0.9, From: on(time.January, 1)},
		},
		Units: []inventory.Unit{
			{Code: "F1", Model: "fell-150", Holder: inventory.Fleet, Group: "rental", HoursPerWeek: &hours, InService: inventory.NewDate(2025, time.March, 1),
				Readings: []inventory.Reading{{Date: on(time.January, 5), Hours: 120.5}, {Date: on(time.February, 2), Hours: 149}, {Date: on(time.March, 2), Hours: 3, Reset: true}}},
			{Code: "F2", Model: "fell-150", Holder: inventory.Customer, Retired: on(time.February, 1), Readings: []inventory.Reading{{Date: on(time.January, 10), Hours: 75}}},
			{Code: "S1", Model: "ember", Holder: inventory.Customer},
		},
		Season: map[int]float64{1: 0.5, 53: 0.4},
		Jobs: []inventory.Job{
			{Code: "J1", Unit: "F1", Model: "fell-150", Services: []string{"lower"}, BookedOn: on(time.January, 10), BenchDate: on(time.January, 14), State: inventory.Done, DoneOn: on(time.January, 15)},
			{Code: "J2", Model: "fell-150", Services: []string{"full"}, BookedOn: on(time.February, 1), BenchDate: on(time.February, 10), State: inventory.Done, DoneOn: on(time.February, 11)},
			{Code: "J3", Unit: "S1", Model: "ember", Services: []string{"can"}, BookedOn: on(time.February, 20), BenchDate: on(time.March, 10), State: inventory.Booked},
			{Code: "J4", Unit: "F2", Model: "fell-150", Services: []string{"lower", "full"}, BookedOn: on(time.January, 20), BenchDate: on(time.January, 28), State: inventory.NoShow},
			{Code: "J5", Unit: "F1", Model: "fell-150", Services: []string{"full"}, BenchDate: on(time.March, 20), State: inventory.Cancelled},
		},
		Uses: []inventory.JobUse{{Job: "J1", Item: "oil-15", Qty: 215}, {Job: "J1", Item: "wiper-35", Lot: "W1", Qty: 2}, {Job: "J2", Item: "kit-35", Qty: 1}},
		Lots: []inventory.Lot{
			{Item: "grease", Code: "G1", Received: on(time.January, 1), UnitCost: 36000, OnHand: 2500},
			{Item: "grease", Code: "PO1", Received: on(time.January, 16), UnitCost: 36000, OnHand: 5000},
			{Item: "kit-35", Code: "K1", Received: on(time.January, 1), Expires: inventory.NewDate(2030, time.December, 31), UnitCost: 19900000, OnHand: 1},
			{Item: "oil-15", Code: "O1", Received: on(time.January, 2), Expires: inventory.NewDate(2027, time.May, 1), UnitCost: 24900, OnHand: 7650},
			{Item: "oil-15", Code: "PO1", Received: on(time.January, 16), Expires: inventory.NewDate(2029, time.January, 16), UnitCost: 24900, OnHand: 10000},
			{Item: "ring-10", Code: "R1", Received: on(time.January, 1), Expires: inventory.NewDate(2034, time.May, 6), OnHand: 30},
			{Item: "wiper-35", Code: "W1", Received: on(time.January, 1), Expires: inventory.NewDate(2031, time.September, 30), UnitCost: 4100000, OnHand: 9},
		},
		Orders: []inventory.OrderLine{
			{Order: "PO1", Item: "grease", Supplier: "cobbet", Packs: 1, PackQty: 5000, Price: 18_00, PlacedOn: on(time.January, 10), DueOn: on(time.January, 15), ReceivedOn: on(time.January, 16), ReceivedPacks: 1},
			{Order: "PO1", Item: "oil-15", Supplier: "cobbet", Packs: 2, PackQty: 10000, Price: 24_90, PlacedOn: on(time.January, 10), DueOn: on(time.January, 15), ReceivedOn: on(time.January, 16), ReceivedPacks: 1},
			{Order: "PO2", Item: "wiper-35", Supplier: "ravelin", Packs: 6, PackQty: 10, Price: 38_00, PlacedOn: on(time.February, 20), DueOn: on(time.February, 27)},
		},
		Counts: []inventory.Count{{Item: "oil-15", Date: on(time.February, 28), Qty: 17650}, {Item: "wiper-35", Date: on(time.February, 28), Qty: 9}},
		CountParts: []inventory.CountPart{{Item: "oil-15", Date: on(time.February, 28), Qty: 17650,
			Weighed: &inventory.Weighing{GrossG: 1710, TareG: 180, TempC: &temp}}},
		Openings: []inventory.Count{{Item: "grease", Date: on(time.January, 1), Qty: 2500}, {Item: "kit-35", Date: on(time.January, 1), Qty: 2},
			{Item: "oil-15", Date: on(time.January, 2), Qty: 9000}, {Item: "ring-10", Date: on(time.January, 1), Qty: 30}, {Item: "wiper-35", Date: on(time.January, 1), Qty: 12}},
		Receipts: []inventory.Receipt{{Item: "grease", Date: on(time.January, 16), Qty: 5000}, {Item: "oil-15", Date: on(time.January, 16), Qty: 10000}},
	}
	want.Settings = got.Settings
	if diff := cmp.Diff(want, got, cmpopts.EquateEmpty()); diff != "" {
		t.Error(diff)
	}
	if s := got.Settings; s.Workshop != "north bench" || s.Currency.Code != "EUR" || s.Readiness != 0.97 || s.OrderWeekday != time.Monday {
		t.Errorf("settings %+v", s)
	}
}

func TestWhatWasNotKnownOnADay(t *testing.T) {
	bench := openBench(t)
	w := smallBook().load(t, bench).Workshop.ID
	job := func(code string) func(inventory.Shop) string {
		return func(s inventory.Shop) string {
			for _, j := range s.Jobs {
				if j.Code == code {
					return string(j.State) + " " + j.DoneOn.String()
				}
			}
			return "absent"
		}
	}
	onHand := func(item string) func(inventory.Shop) string {
		return func(s inventory.Shop) string {
			var sum inventory.Quantity
			for _, l := range s.Lots {
				if l.Item == item {
					sum += l.OnHand
				}
			}
			return inventory.Gram.Format(sum)
		}
	}
	for _, tc := range []struct {
		rule string
		on   inventory.Date
		what func(inventory.Shop) string
		want string
	}{
		{"a job is not there before it is booked", on(time.January, 9), job("J1"), "absent"},
		{"it is booked on the day", on(time.January, 10), job("J1"), "booked "},
		{"and the day before it is done", on(time.January, 14), job("J1"), "booked "},
		{"it is done on its day", on(time.January, 15), job("J1"), "done 2026-01-15"},
		{"nobody has stayed away before the bench date", on(time.January, 27), job("J4"), "booked "},
		{"but on it", on(time.January, 28), job("J4"), "no-show "},
		{"what has no day of booking is known on the bench date", on(time.March, 19), job("J5"), "absent"},
		{"as it became", on(time.March, 20), job("J5"), "cancelled "},
		{"before the opening there is no shelf", on(time.January, 1), onHand("oil-15"), "0"},
		{"then what was counted", on(time.January, 2), onHand("oil-15"), "900"},
		{"less what was used", on(time.January, 15), onHand("oil-15"), "878.5"},
		{"more what came", on(time.January, 16), onHand("oil-15"), "1878.5"},
		{"and what a count found is known on its day", on(time.February, 27), onHand("oil-15"), "1878.5"},
		{"not before", on(time.February, 28), onHand("oil-15"), "1765"},
		{"a unit is there on its last day", on(time.February, 1), func(s inventory.Shop) string { return s.Units[1].Code }, "F2"},
		{"and after it, with the day it was retired", on(time.February, 2), func(s inventory.Shop) string { return s.Units[1].Code + " " + s.Units[1].Retired.String() }, "F2 2026-02-01"},
		{"an order is not there before it is placed", on(time.January, 9), func(s inventory.Shop) string { return string(rune('0' + len(s.Orders))) }, "0"},
		{"then it is outstanding", on(time.January, 15), func(s inventory.Shop) string { return inventory.Millilitre.Format(s.Orders[1].Outstanding()) }, "2000"},
		{"until it comes, if only in part", on(time.January, 16), func(s inventory.Shop) string { return inventory.Millilitre.Format(s.Orders[1].Outstanding()) }, "1000"},
		{"a meter shows what it showed", on(time.February, 2), func(s inventory.Shop) string { return s.Units[0].Readings[len(s.Units[0].Readings)-1].Date.String() }, "2026-02-02"},
		{"a use is known when the job is done", on(time.January, 14), func(s inventory.Shop) string { return string(rune('0' + len(s.Uses))) }, "0"},
		{"a count on its day", on(time.February, 27), func(s inventory.Shop) string { return string(rune('0' + len(s.Counts))) }, "0"},
	} {
		if got := tc.what(bench.shop(t, w, tc.on)); got != tc.want {
			t.Errorf("%s: %s: %q, want %q", tc.on, tc.rule, got, tc.want)
		}
	}
}

func TestTheDayAJobWasCalledOff(t *testing.T) {
	bench := openBench(t)
	p := smallBook().with(t, "jobs", "done_on\n", "done_on,cancelled_on\n").
		with(t, "jobs", "2026-01-28,no-show,", "2026-01-28,no-show,,2026-01-29").
		with(t, "jobs", "2026-03-20,cancelled,", "2026-03-20,cancelled,,2026-03-05").
		with(t, "jobs", "2026-03-10,booked,", "2026-03-10,cancelled,,2026-03-04")
	w := p.load(t, bench).Workshop.ID
	for _, tc := range []struct {
		rule, job, want string
		on              inventory.Date
	}{
		{"booked the day before", "J3", "booked ", on(time.March, 3)},
		{"called off on its day, long before the bench", "J3", "cancelled 2026-03-04", on(time.March, 4)},
		{"missed when that was said", "J4", "booked ", on(time.January, 28)},
		{"not on the bench date", "J4", "no-show 2026-01-29", on(time.January, 29)},
		{"without a day of booking it is known from the day it was called off", "J5", "absent", on(time.March, 4)},
		{"and so it stands", "J5", "cancelled 2026-03-05", on(time.March, 5)},
	} {
		got := "absent"
		for _, j := range bench.shop(t, w, tc.on).Jobs {
			if j.Code == tc.job {
				got = string(j.State) + " " + j.CancelledOn.String()
			}
		}
		if got != tc.want {
			t.Errorf("%s: %s on %s: %q, want %q", tc.rule, tc.job, tc.on, got, tc.want)
		}
	}
}

func TestWhatIsSetAsideStandsWithItsLot(t *testing.T) {
	bench := openBench(t)
	w := smallBook().load(t, bench).Workshop.ID
	bench.performed(t, w, db.BookJob{Job: "J9", Unit: "S1", Services: []string{"can"}, On: on(time.March, 2), Bench: on(time.March, 12)})
	for _, job := range []string{"J3", "J9"} {
		_, err := bench.Do(t.Context(), w, uuid.New(), db.SetAside{Job: job, On: on(time.March, 3), Lines: []db.Line{{Item: "wiper-35", Qty: 2}}})
		if err != nil {
			t.Fatal(err)
		}
	}
	for day, want := range map[inventory.Date][]inventory.SetAside{
		on(time.March, 2): nil,
		on(time.March, 3): {{Job: "J3", Qty: 2}, {Job: "J9", Qty: 2}},
	} {
		lots := bench.shop(t, w, day).Lots
		if diff := cmp.Diff(want, lots[len(lots)-1].SetAside); diff != "" {
			t.Errorf("%s: %s", day, diff)
		}
	}
}

// The generator of testdata/big lives a workshop's months by its own rules and
// knows what is on the shelf in the end; its book, loaded, must come to that
// shop. Only costs differ: it does not look at price breaks.
func TestAnInventedWorkshopsBookComesToItsShop(t *testing.T) {
	want := big.New(big.Small)
	dir := t.TempDir()
	if err := want.Write(dir); err != nil {
		t.Fatal(err)
	}
	bench := openBench(t)
	report, err := bench.Load(t.Context(), folderOf(t, os.DirFS(dir)), "")
	if err != nil || len(report.Warnings) > 0 {
		t.Fatal(report.Warnings, err)
	}
	got := bench.shop(t, report.Workshop.ID, big.AsOf)
	if diff := cmp.Diff(want.Shop, got, cmpopts.EquateEmpty(), cmpopts.IgnoreFields(inventory.Lot{}, "UnitCost")); diff != "" {
		t.Errorf("- as it was lived, + as it was loaded: %s", diff)
	}
}

func TestNoSuchShop(t *testing.T) {
	bench := openBench(t)
	if _, err := bench.Shop(t.Context(), 77, on(time.March, 1)); !errors.Is(err, inventory.ErrNotFound) {
		t.Errorf("%v", err)
	}
	if err := bench.Save(t.Context(), 77, nil); !errors.Is(err, inventory.ErrNotFound) {
		t.Errorf("%v", err)
	}
}

func BenchmarkShop(b *testing.B) {
	bench := openBench(b)
	report, err := bench.Load(b.Context(), typical, "")
	if err != nil {
		b.Fatal(err)
	}
	if _, err := bench.admin.Exec(b.Context(), "ANALYZE"); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		if _, err := bench.Shop(b.Context(), report.Workshop.ID, bigStart+inventory.Date(7*typical.weeks)); err != nil {
			b.Fatal(err)
		}
	}
}
