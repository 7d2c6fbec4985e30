package reports

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/reports/plan"
)

// taughtShop is a small invented workshop with two years behind it: forks of a
// fleet and of customers with meters, guests without, walk-ins, deliveries.
func taughtShop(learns bool) inventory.Shop {
	today := inventory.NewDate(2026, 6, 15)
	given := 6.0
	shop := inventory.Shop{
		AsOf: today,
		Settings: inventory.Settings{
			Workshop: "bench", Readiness: 0.97, HorizonWeeks: 8, ShowRate: 0.95, Learn: learns,
			FleetCapture: 1, FleetLagWeeks: 1, CustomerCapture: 0.6, CustomerLagWeeks: 3, UsageSpreadH: 4, FoldIn: 0.25,
		},
		Suppliers: []inventory.Supplier{{Code: "near", Name: "Near", LeadDays: 3}, {Code: "new", Name: "New", LeadDays: 9}},
		Items: []inventory.Item{
			{Code: "oil", Name: "Lower leg oil", Measure: inventory.Millilitre}, {Code: "wiper", Measure: inventory.Each},
			{Code: "ring", Measure: inventory.Each}, {Code: "both", Measure: inventory.Each},
		},
		Offers: []inventory.Offer{
			{Item: "oil", Supplier: "near", FromPacks: 1, PackQty: 10_000, MinPacks: 1, Multiple: 1, Price: 20_00},
			{Item: "wiper", Supplier: "new", FromPacks: 1, PackQty: 2, MinPacks: 1, Multiple: 1, Price: 9_60},
		},
		Models:   []inventory.Model{{Code: "fell", Family: "fork"}},
		Services: []inventory.Service{{Code: "lower", Family: "fork", EveryHours: 50}, {Code: "both", Family: "fork", EveryMonths: 24, Covers: []string{"lower"}}},
		BOM: []inventory.BOMLine{
			{Service: "lower", Model: "*", Item: "oil", Qty: 200, Need: 0.9, Waste: 0.05},
			{Service: "lower", Model: "fell", Item: "wiper", Qty: 2, Need: 0.5},
			{Service: "lower", Model: "fell", Item: "ring", Qty: 1, Need: 1},
			{Service: "both", Model: "*", Item: "ring", Qty: 2, Need: 0.3, From: today - 300, To: today + 300},
		},
	}
	job := func(unit string, on inventory.Date) {
		code := fmt.Sprintf("J%d", len(shop.Jobs)+1)
		shop.Jobs = append(shop.Jobs, inventory.Job{
			Code: code, Unit: unit, Model: "fell", Services: []string{"lower"},
			BookedOn: on - 4, BenchDate: on, DoneOn: on, State: inventory.Done,
		})
		shop.Uses = append(shop.Uses, inventory.JobUse{Job: code, Item: "oil", Qty: 200})
	}
	meter := func(code string, holder inventory.Holder, rate float64, known *float64) {
		u := inventory.Unit{Code: code, Model: "fell", Holder: holder, Group: "park", HoursPerWeek: known, InService: today - 560}
		for week := 0; week <= 80; week += 4 {
			u.Readings = append(u.Readings, inventory.Reading{Date: today - 560 + inventory.Date(7*week), Hours: rate * float64(week)})
		}
		shop.Units = append(shop.Units, u)
		for round := 1; round < int(rate*80/50); round++ {
			job(code, today-560+inventory.Date(float64(round)*350/rate)+7)
		}
	}
	meter("f1", inventory.Fleet, 6, &given)
	meter("f2", inventory.Fleet, 5, nil)
	meter("c1", inventory.Customer, 3, nil)
	shop.Units = append(shop.Units, inventory.Unit{Code: "g1", Model: "fell", Holder: inventory.Customer})
	job("g1", today-300)
	job("g1", today-90)
	for n := range 20 {
		job("", today-500+inventory.Date(20*n))
	}
	for n := range 12 {
		placed := today - 400 + inventory.Date(28*n)
		shop.Orders = append(shop.Orders, inventory.OrderLine{
			Order: fmt.Sprintf("O%d", n), Item: "oil", Supplier: "near", Packs: 1, PackQty: 10_000, ReceivedPacks: 1,
			PlacedOn: placed, DueOn: placed + 3, ReceivedOn: placed + 5,
		})
	}
	return shop
}

func explained(t *testing.T, shop inventory.Shop, code string) Explanation {
	t.Helper()
	o, err := plan.Foresee(shop)
	if err != nil {
		t.Fatal(err)
	}
	e, err := Explain(shop, o, code)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// The page's form does not hang on what some method makes of a past.
func TestAnExplanationIsSetAsApproved(t *testing.T) {
	number := func(x float64) *float64 { return &x }
	count := func(n int) *int { return &n }
	jobs := unit{word: "jobs", decimals: 2}
	e := Explanation{workshop: "bench", asOf: inventory.NewDate(2026, 6, 15), learns: true, parts: []part{
		{name: "Unit", title: "What is known of unit f2", of: "Of", note: "A note of the table.", figures: []figure{
			figure{name: "Turns up", of: "bookings", unit: share, book: number(0.95), seen: count(1040), now: number(0.9634), words: "1,002 of 1,040 turned up; the rest, 3.7 %, did not."}.within(0.953, 0.972),
			{name: "Wait once due", of: "customers", unit: weeksLong, book: number(3), seen: count(0), now: number(3), words: "nothing was seen yet."},
			{name: "Season, this week", unit: bare, now: number(1)},
		}},
		{name: "Jobs", title: "Its jobs to come", of: "Week", crossed: true, note: "Means.", figures: []figure{
			{name: "full", of: "2026-W27", unit: jobs, now: number(0.25)},
			{name: "full", of: "2026-W28", unit: jobs, now: number(0.001), minor: true},
			{name: "lower", of: "2026-W25", unit: jobs, now: number(0.5)},
			{name: "lower", of: "2026-W27", unit: jobs, now: number(0.125)},
		}},
		{name: "None", title: "Nothing", of: "From"},
		{name: "Scores", figures: []figure{{name: "Score", now: number(0.1)}}},
	}}
	text := textOf(t, e.Sheets()...)
	e.learns = false
	text += "\n\n" + textOf(t, e.Sheets()[0])
	golden(t, "explain.txt", text)
	fitsTheTerminal(t, text)
}

// Services are named by people: one may be called as a column of ours is, or
// hold what a terminal acts on.
func TestOddNamesOfServicesHarmNoTable(t *testing.T) {
	shop := taughtShop(true)
	odd := "Week\x1b[2J"
	for s := range shop.Services {
		if shop.Services[s].Code == "lower" {
			shop.Services[s].Code = "Week"
		}
		shop.Services[s].Covers = nil
	}
	shop.Services[1].Code, shop.Services[1].EveryMonths = odd, 19
	for j := range shop.Jobs {
		shop.Jobs[j].Services = []string{"Week"}
	}
	text := textOf(t, explained(t, shop, "f2").Sheets()...)
	fitsTheTerminal(t, text)
	if !strings.Contains(text, "Week      Week") || !strings.Contains(text, "Week[2J") || !strings.Contains(text, "\n2026-W26") {
		t.Errorf("found\n%s", text)
	}
}

func TestEachThingIsToldWithItsOwnTables(t *testing.T) {
	tests := []struct {
		code string
		has  []string
	}{
		{"f1", []string{"unit f1", "planner gave it", "Spread of hours", "Comes here when due", "Wait once due", "Hours since, lower", "Months since, both", "Its jobs to come"}},
		{"f2", []string{"400 h in 80.0 season-weighted weeks, 5.0 h", "group park (fleet)", "Season, this week"}},
		{"g1", []string{"Its hours are not known", "Comes back at all, for lower: of 2 jobs", "1 came back", "Its jobs to come"}},
		{"lower", []string{"Turns up, bookings: 40 of 40", "Booked over a week ahead, walk-ins", "Walk-ins for lower", "lower, fell: 21 counted", "lower to come in 8 weeks", "together"}},
		{"oil", []string{"item oil: Lower leg oil", "Days to deliver, near: 12 deliveries", "How often jobs take it", "takes 20 ml and wastes 5.0 % of that", "Use until", "walk-ins"}},
		{"ring", []string{"No supplier offers it", "from 2025-08-19 until 2027-04-11", "Use until"}},
	}
	for _, test := range tests {
		t.Run(test.code, func(t *testing.T) {
			text := textOf(t, explained(t, taughtShop(true), test.code).Sheets()...)
			fitsTheTerminal(t, text)
			flat := strings.Join(strings.Fields(text), " ")
			for _, part := range test.has {
				if !strings.Contains(flat, part) {
					t.Errorf("lacks %q:\n%s", part, text)
				}
			}
		})
	}
}

// find is the one figure of a name.
func (e Explanation) find(t *testing.T, name, of string) figure {
	t.Helper()
	for _, p := range e.parts {
		for _, f := range p.figures {
			if f.name == name && f.of == of {
				return f
			}
		}
	}
	t.Fatalf("no figure %q of %q", name, of)
	return figure{}
}

// The figures can be reckoned by hand.
func TestFiguresAreBookDataAndBothTogether(t *testing.T) {
	shop := taughtShop(true)
	jobs := len(shop.Jobs)
	tests := []struct {
		code, name, of string
		book, now      float64
		seen           int
	}{
		{"lower", "Turns up", "bookings", 0.95, (0.95*20 + float64(jobs)) / float64(20+jobs), jobs},
		{"oil", "lower", "all models", 0.9, (0.9*20 + float64(jobs)) / float64(20+jobs), jobs},
		{"wiper", "lower", "fell", 0.5, 0.5 * 20 / float64(20+jobs), jobs},
		{"ring", "both", "all models", 0.3, 0.3, 0},
		{"wiper", "Days to deliver", "new", 9, 9, 0},
		{"f1", "Hours a week", "", 6, 6, 20},
	}
	for _, test := range tests {
		t.Run(test.code+" "+test.name, func(t *testing.T) {
			f := explained(t, shop, test.code).find(t, test.name, test.of)
			if *f.book != test.book || math.Abs(*f.now-test.now) > 1e-9 || *f.seen != test.seen {
				t.Errorf("book %v, now %v, seen %v; expected %+v", *f.book, *f.now, *f.seen, test)
			}
			if f.low != nil && (*f.low > *f.now || *f.high < *f.now) {
				t.Errorf("%v lies outside %v to %v", *f.now, *f.low, *f.high)
			}
		})
	}
}

func TestOnlyWhatIsLearntHasAnInterval(t *testing.T) {
	shop := taughtShop(true)
	given := explained(t, shop, "f1").find(t, "Hours a week", "")
	if given.low != nil || given.high != nil {
		t.Errorf("what the planner gave lies between %v and %v, expected no interval", *given.low, *given.high)
	}
	learnt := explained(t, shop, "f2").find(t, "Hours a week", "")
	if learnt.low == nil || learnt.book != nil || *learnt.low >= 5 || *learnt.high <= 5 || *learnt.high > 7 {
		t.Errorf("found %+v, expected an interval around the 5 h a week of its readings", learnt)
	}
	quoted := explained(t, shop, "wiper").find(t, "Days to deliver", "new")
	if quoted.low != nil {
		t.Errorf("days that were only quoted have an interval from %v", *quoted.low)
	}
	came := explained(t, shop, "oil").find(t, "Days to deliver", "near")
	if came.low == nil || *came.low > 5 || *came.high < 5 {
		t.Errorf("found %+v, expected an interval around the 5 days that every delivery took", came)
	}
}

func TestNothingIsSeenWhereNothingIsLearnt(t *testing.T) {
	shop := taughtShop(false)
	for _, code := range []string{"f1", "f2", "c1", "g1", "lower", "both", "oil", "wiper", "ring"} {
		e := explained(t, shop, code)
		if note := e.Sheets()[0].Notes[0]; !strings.Contains(note, "learn is no") {
			t.Errorf("%s: the page begins with %q", code, note)
		}
		for _, p := range e.parts {
			for _, f := range p.figures {
				if f.seen != nil || f.low != nil || f.high != nil {
					t.Errorf("%s: %s has evidence although nothing is learnt", code, f.label())
				}
				if f.book != nil && p.name != "Clocks" && math.Abs(*f.book-*f.now) > 1e-12 {
					t.Errorf("%s: %s is %v, expected the book's %v", code, f.label(), *f.now, *f.book)
				}
			}
		}
	}
}

func TestACodeOfTwoThingsTellsBoth(t *testing.T) {
	var titles []string
	for _, s := range explained(t, taughtShop(true), "both").Sheets() {
		titles = append(titles, s.Title)
	}
	all := strings.Join(titles, "\n")
	if !strings.Contains(all, "item both") || !strings.Contains(all, "service both") {
		t.Errorf("found the titles\n%s", all)
	}
}

func TestAnUnknownCodeSaysWhatWasLookedFor(t *testing.T) {
	shop := taughtShop(true)
	o, err := plan.Foresee(shop)
	if err != nil {
		t.Fatal(err)
	}
	_, err = Explain(shop, o, "f9")
	var unknown UnknownCode
	if !errors.As(err, &unknown) || len(unknown.Known) != len(shop.Items)+len(shop.Units)+len(shop.Services) {
		t.Fatalf("found %v, expected an UnknownCode with every code", err)
	}
	if want := `explain: found "f9", expected the code of an item, a unit or a service of the book`; err.Error() != want {
		t.Errorf("found %q, expected %q", err, want)
	}
}

// The document has every figure as a number, also those that the page leaves
// out.
func TestTheDocumentHasEveryFigure(t *testing.T) {
	for _, code := range []string{"f2", "g1", "lower", "oil"} {
		e := explained(t, taughtShop(true), code)
		text, err := e.JSON()
		if err != nil {
			t.Fatal(err)
		}
		var document struct {
			AsOf    string `json:"as_of"`
			Schema  int
			Learns  bool
			Explain []figureJSON
		}
		if err := json.Unmarshal(text, &document); err != nil {
			t.Fatal(err)
		}
		if document.AsOf != "2026-06-15" || document.Schema != 1 || !document.Learns {
			t.Errorf("%s: the document begins with %+v", code, document)
		}
		n := 0
		for _, p := range e.parts {
			for _, f := range p.figures {
				got := document.Explain[n]
				if n++; got.Figure != f.name || got.Of != f.of || math.Abs(*got.Now-*f.now) > 1e-6 || got.Words != f.words {
					t.Errorf("%s: figure %d is %+v, expected %+v", code, n, got, f)
				}
			}
		}
		if n != len(document.Explain) || n < 4 {
			t.Errorf("%s: %d figures in the document, %d explained", code, len(document.Explain), n)
		}
	}
}
