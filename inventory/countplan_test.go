package inventory

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestPublishedClassesOfItems(t *testing.T) {
	var plan []CountDue
	var want []string
	for _, row := range published(t, "count_classes.csv") {
		if row["kind"] != "class" {
			continue
		}
		value, err := strconv.Atoi(row["values"])
		if err != nil {
			t.Fatal(err)
		}
		plan = append(plan, CountDue{Item: Item{Code: row["values"]}, Value: Money(value)})
		want = append(want, row["values"]+" "+row["running_share"]+" "+row["class_before"])
	}
	slices.Reverse(plan)
	usualClasses.sort(plan)
	var got []string
	for _, c := range plan {
		got = append(got, fmt.Sprintf("%s %g %s", c.Item.Code, math.Round(c.Share*1e4)/100, c.Class))
	}
	if len(got) != 10 || !slices.Equal(got, want) {
		t.Errorf("found\n%s\nexpected\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}

func TestPublishedVariation(t *testing.T) {
	seen := 0
	for _, row := range published(t, "count_classes.csv") {
		if row["kind"] != "variation" {
			continue
		}
		seen++
		var xs []float64
		for _, text := range strings.Fields(row["values"]) {
			x, err := strconv.ParseFloat(text, 64)
			if err != nil {
				t.Fatal(err)
			}
			xs = append(xs, x)
		}
		got, known := variation(xs)
		if text := fmt.Sprintf("%.4f", got); !known || text != row["cv_population"] {
			t.Errorf("%v: found %s, expected %s", xs, text, row["cv_population"])
		}
	}
	if seen == 0 {
		t.Error("found no row to check")
	}
	if _, known := variation([]float64{0, 0, 0}); known {
		t.Error("figures that are all zero have no coefficient of variation")
	}
}

// dueText is an item as a line of a specification.
func dueText(c CountDue) string {
	text := fmt.Sprintf("%s %s%s used=%d", c.Item.Code, c.Class, c.Movement, c.Used)
	if !c.LastOn.IsZero() {
		text += fmt.Sprintf(" last=%d", c.LastOn-today)
	}
	if !c.DueOn.IsZero() {
		text += fmt.Sprintf(" due=%+d", c.DueOn-today)
	}
	if c.DaysLate > 0 {
		text += fmt.Sprintf(" late=%d", c.DaysLate)
	}
	return text
}

// counting is a year of a workshop that does a job every four weeks, each of
// which takes a seal at 10.00 and two rings at 0.50; the seal was last counted
// 100 days ago, the rings 200.
func counting() Shop {
	shop := Shop{
		AsOf:     today,
		Items:    []Item{{Code: "ring"}, {Code: "seal"}},
		Models:   []Model{{Code: "fell", Family: "fork"}},
		Services: []Service{{Code: "lower", Family: "fork"}},
		BOM: []BOMLine{
			{Service: "lower", Model: AnyModel, Item: "ring", Qty: 2, Need: 1},
			{Service: "lower", Model: AnyModel, Item: "seal", Qty: 1, Need: 1},
		},
		Lots: []Lot{{Item: "ring", UnitCost: 50_0000}, {Item: "seal", UnitCost: 10_00_0000}},
	}
	for i, item := range shop.Items {
		shop.Items[i].Measure = Each
		shop.Counts = append(shop.Counts, Count{Item: item.Code, Date: today - map[string]Date{"seal": 100, "ring": 200}[item.Code]})
	}
	for n := range 13 {
		shop.Jobs = append(shop.Jobs, Job{Code: fmt.Sprint("J", n), Model: "fell", Services: []string{"lower"}, State: Done, DoneOn: today - Date(28*(n+1))})
	}
	return shop
}

func TestCountPlan(t *testing.T) {
	tests := []struct {
		rule   string
		change func(*Shop)
		want   string
	}{
		{"the dear are counted four times a year, the next twice; the longest overdue comes first", func(*Shop) {},
			"ring BX used=26 last=-200 due=-18 late=18; seal AX used=13 last=-100 due=-9 late=9"},
		{"the shares and times are the workshop's to set", func(s *Shop) {
			s.Settings.CountClasses = CountClasses{AShare: 0.99, BShare: 1, ATimes: 2, BTimes: 2, CTimes: 1}
		}, "ring AX used=26 last=-200 due=-18 late=18; seal AX used=13 last=-100 due=+82"},
		{"a class that is counted no times is never due", func(s *Shop) {
			s.Settings.CountClasses = CountClasses{AShare: 0.5, BShare: 0.6, ATimes: 4}
		}, "seal AX used=13 last=-100 due=-9 late=9; ring CX used=26 last=-200"},
		{"what never was counted comes first, and is due today", func(s *Shop) { s.Counts = s.Counts[:1] },
			"seal AX used=13 due=+0; ring BX used=26 last=-200 due=-18 late=18"},
		{"the opening shelf was counted when it was written down", func(s *Shop) {
			s.Counts, s.Openings = nil, []Count{{Item: "seal", Date: today - 10}, {Item: "ring", Date: today - 500}}
		}, "ring BX used=26 last=-500 due=-318 late=318; seal AX used=13 last=-10 due=+81"},
		{"what a job recorded goes before its bill", func(s *Shop) {
			s.Uses = []JobUse{{Job: "J0", Item: "ring", Qty: 28}}
		}, "ring BZ used=52 last=-200 due=-18 late=18; seal AX used=12 last=-100 due=-9 late=9"},
		{"jobs of the day itself, of more than a year ago, and those not done do not count", func(s *Shop) {
			s.Jobs[0].DoneOn, s.Jobs[1].DoneOn, s.Jobs[2].State = today, today-365, NoShow
		}, "ring BY used=20 last=-200 due=-18 late=18; seal AY used=10 last=-100 due=-9 late=9"},
		{"a line that not every job takes is used by its share of them; 95 % before it makes it C", func(s *Shop) { s.BOM[0].Need = 0.5 },
			"seal AX used=13 last=-100 due=-9 late=9; ring CX used=13 last=-200 due=+165"},
		{"how steady use is cannot be told before three spans are known", func(s *Shop) { s.Jobs = s.Jobs[:2] },
			"ring B used=4 last=-200 due=-18 late=18; seal A used=2 last=-100 due=-9 late=9"},
		{"where nothing is used nothing is dear", func(s *Shop) { s.Jobs = nil },
			"ring C used=0 last=-200 due=+165; seal C used=0 last=-100 due=+265"},
		{"without a lot an item costs what it is offered at", func(s *Shop) {
			s.Lots, s.Offers = s.Lots[:1], []Offer{{Item: "seal", Supplier: "brindle", FromPacks: 1, PackQty: 1, Price: 1}}
		}, "ring AX used=26 last=-200 due=-109 late=109; seal CX used=13 last=-100 due=+265"},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			shop := counting()
			test.change(&shop)
			var got []string
			for _, c := range CountPlan(shop) {
				got = append(got, dueText(c))
			}
			if text := strings.Join(got, "; "); text != test.want {
				t.Errorf("found\n%s\nexpected\n%s", text, test.want)
			}
		})
	}
}

// Whatever is used: every item stands in the plan once, the dearer never in a
// class below the cheaper's, what is due earlier never behind what is due later,
// and counting an item today makes it due no sooner than a day on.
func TestCountPlanIsInOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shop := Shop{AsOf: today}
		for n := range rapid.IntRange(1, 12).Draw(t, "items") {
			code := fmt.Sprint("item-", n)
			shop.Items = append(shop.Items, Item{Code: code, Measure: Each})
			shop.Lots = append(shop.Lots, Lot{Item: code, UnitCost: UnitCost(rapid.IntRange(1, 500_0000).Draw(t, "cost"))})
			shop.Uses = append(shop.Uses, JobUse{Job: "J", Item: code, Qty: Quantity(rapid.IntRange(0, 500).Draw(t, "used"))})
			if rapid.Bool().Draw(t, "counted") {
				shop.Counts = append(shop.Counts, Count{Item: code, Date: today - Date(rapid.IntRange(0, 700).Draw(t, "ago"))})
			}
		}
		shop.Jobs = []Job{{Code: "J", State: Done, DoneOn: today - 3}}
		plan := CountPlan(shop)
		seen := map[string]bool{}
		for i, c := range plan {
			seen[c.Item.Code] = true
			if i > 0 && plan[i-1].urgency() > c.urgency() {
				t.Fatalf("%+v stands before %+v", plan[i-1], c)
			}
			for _, other := range plan {
				if other.Value > c.Value && other.Class > c.Class {
					t.Fatalf("%+v is dearer than %+v", other, c)
				}
			}
			if c.DaysLate < 0 || c.IsDue(today) != (c.DueOn <= today) {
				t.Fatalf("found %+v", c)
			}
		}
		if len(seen) != len(shop.Items) || len(plan) != len(shop.Items) {
			t.Fatalf("found %d items in %d rows, expected %d", len(seen), len(plan), len(shop.Items))
		}
		shop.Counts = append(shop.Counts, Count{Item: plan[0].Item.Code, Date: today})
		for _, c := range CountPlan(shop) {
			if c.Item.Code == plan[0].Item.Code && c.IsDue(today) {
				t.Fatalf("counted today, and due again: %+v", c)
			}
		}
	})
}
