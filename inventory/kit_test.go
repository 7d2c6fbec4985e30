package inventory

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestShareCost(t *testing.T) {
	ea := func(item string, qty Quantity, alone UnitCost) Content {
		return Content{Item: item, Measure: Each, Qty: qty, Alone: alone}
	}
	ml := func(item string, qty Quantity, alone UnitCost) Content {
		return Content{Item: item, Measure: Millilitre, Qty: qty, Alone: alone}
	}
	tests := []struct {
		rule   string
		cost   Money
		opened Quantity
		parts  []Content
		want   string
	}{
		{"a part alone takes the whole cost", 1780, 1, []Content{ea("a", 2, 0)},
			"a 2: 1780 at 8900000"},
		{"by pieces where a cost is not known of all parts", 1780, 1, []Content{ea("a", 1, 90_000), ea("b", 1, 0), ea("c", 2, 10)},
			"a 1: 445 at 4450000; b 1: 445 at 4450000; c 2: 890 at 4450000"},
		{"by what the parts cost alone where all is known", 900, 1, []Content{ea("a", 1, 4_000_000), ea("b", 2, 1_000_000)},
			"a 1: 600 at 6000000; b 2: 300 at 1500000"},
		{"fluids by the ml: 5 ml at 0.20 against one piece at 1.00", 400, 1, []Content{ea("a", 1, 1_000_000), ml("oil", 50, 200_000)},
			"a 1: 200 at 2000000; oil 50: 200 at 400000"},
		{"a fluid of unknown cost counts as one piece, however much", 400, 1, []Content{ea("a", 3, 0), ml("oil", 50, 0)},
			"a 3: 300 at 1000000; oil 50: 100 at 200000"},
		{"the unit left over goes to the largest remainder", 100, 1, []Content{ea("a", 1, 100), ea("b", 1, 500)},
			"a 1: 17 at 170000; b 1: 83 at 830000"},
		{"among equals to the earlier part", 100, 1, []Content{ea("a", 1, 0), ea("b", 1, 0), ea("c", 1, 0)},
			"a 1: 34 at 340000; b 1: 33 at 330000; c 1: 33 at 330000"},
		{"several kits together are shared out once, not kit by kit", 100, 3, []Content{ea("a", 1, 0), ea("b", 2, 0)},
			"a 3: 33 at 110000; b 6: 67 at 111667"},
		{"a kit that cost nothing has parts that cost nothing", 0, 1, []Content{ea("a", 1, 5), ea("b", 1, 5)},
			"a 1: 0 at 0; b 1: 0 at 0"},
		{"an empty kit shares nothing out", 100, 1, nil, ""},
	}
	for _, test := range tests {
		var got []string
		for _, s := range ShareCost(test.cost, test.opened, test.parts) {
			got = append(got, fmt.Sprintf("%s %d: %d at %d", s.Item, s.Qty, s.Cost, s.Unit))
		}
		if text := strings.Join(got, "; "); text != test.want {
			t.Errorf("%s: found %q, expected %q", test.rule, text, test.want)
		}
	}
}

// However the parts weigh, the shares add up to the cost, so do the values of
// the lots that they become, and none is more than a unit off its proportion.
func TestOpeningAKitLosesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		parts := make([]Content, rapid.IntRange(1, 12).Draw(t, "parts"))
		known := true
		for i := range parts {
			parts[i] = Content{
				Item:    fmt.Sprint("part ", i),
				Measure: rapid.SampledFrom([]Measure{Each, Millilitre, Gram}).Draw(t, "measure"),
				Qty:     Quantity(rapid.Int64Range(1, 600).Draw(t, "qty")),
				Alone:   UnitCost(rapid.Int64Range(0, maxUnitCostNumber).Draw(t, "alone")),
			}
			known = known && parts[i].Alone > 0
		}
		opened := Quantity(rapid.Int64Range(1, 16).Draw(t, "opened"))
		cost := Money(rapid.Int64Range(0, 1_000_000_00).Draw(t, "cost"))
		sum, value, weight := Money(0), Money(0), 0.0
		for _, p := range parts {
			weight += weightByHand(p, known)
		}
		for i, s := range ShareCost(cost, opened, parts) {
			sum += s.Cost
			value += Value(s.Qty, parts[i].Measure, s.Unit)
			due := float64(cost) * weightByHand(parts[i], known) / weight
			if off := float64(s.Cost) - due; off < -1.001 || off > 1.001 {
				t.Fatalf("%s gets %d, its proportion is %.3f", s.Item, s.Cost, due)
			}
		}
		if sum != cost || value != cost {
			t.Fatalf("kits that cost %d became parts that cost %d and are worth %d", cost, sum, value)
		}
	})
}

func weightByHand(p Content, known bool) float64 {
	switch {
	case known:
		return p.Measure.Number(p.Qty) * float64(p.Alone)
	case p.Measure == Each:
		return float64(p.Qty)
	}
	return 1
}

func TestContentsOfAKit(t *testing.T) {
	shop := Shop{
		Items: []Item{{Code: "kit", Measure: Each, Kind: Kit}, {Code: "oil", Measure: Millilitre}, {Code: "ring", Measure: Each}, {Code: "seal", Measure: Each}},
		Kits:  []KitPart{{"kit", "oil", 50}, {"kit", "ring", 2}, {"kit", "seal", 1}, {"other", "ring", 9}},
		Offers: []Offer{
			{Item: "oil", Supplier: "a", FromPacks: 1, PackQty: 10_000, Price: 1840},
			{Item: "ring", Supplier: "a", FromPacks: 5, PackQty: 25, Price: 400},
			{Item: "ring", Supplier: "a", FromPacks: 1, PackQty: 25, Price: 500},
			{Item: "ring", Supplier: "b", FromPacks: 1, PackQty: 10, Price: 300},
		},
	}
	want := "[{oil ml 50 18400} {ring ea 2 200000} {seal ea 1 0}]"
	if got := fmt.Sprint(Contents(shop, "kit")); got != want {
		t.Errorf("found %s, expected %s: one pack's price of the cheapest supplier, price breaks left out", got, want)
	}
}

func TestOpenedContainers(t *testing.T) {
	date := func(text string) Date {
		if text == "" {
			return 0
		}
		return mustDate(t, text)
	}
	for _, tc := range []struct {
		rule            string
		months          int
		opened, expires string
		want            string
	}{
		{"an opened bottle keeps its opened months", 12, "2026-06-15", "2029-12-16", "2027-06-15"},
		{"but never longer than one that is not opened", 12, "2026-06-15", "2026-09-30", "2026-09-30"},
		{"a bottle that does not age does once it is opened", 12, "2026-06-15", "", "2027-06-15"},
		{"no opened months stated: opening changes nothing", 0, "2026-06-15", "2029-12-16", "2029-12-16"},
		{"nothing stated at all: it does not age", 0, "2026-06-15", "", ""},
		{"a day that the month lacks is the month's last", 6, "2026-08-31", "", "2027-02-28"},
		{"opened after its expiry it stays expired", 12, "2026-10-01", "2026-09-30", "2026-09-30"},
	} {
		life := LifeOf(Item{Kind: Oil, OpenedMonths: tc.months}, nil)
		if got := life.OpenedUntil(date(tc.opened), date(tc.expires)); got.String() != tc.want {
			t.Errorf("%s: %s, expected %q", tc.rule, got, tc.want)
		}
	}
}

// A seal kit of NBR marked 1Q24, FKM marked 4Q19 and AU marked 3Q22 keeps until
// 2027-09-30, with the AU. COMPUTED from the periods of ISO 2230:2002, which are
// in testdata/published/standards/iso2230.csv. Had all of it been cured in one
// quarter it would go with the AU as well, which is what a kit that bears one
// mark is given.
func TestAKitExpiresWithItsShortestLivedPart(t *testing.T) {
	parts := []Item{{Material: "NBR"}, {Material: "FKM"}, {Material: "AU"}, {Material: "PTFE"}}
	marks := []string{"1Q24", "4Q19", "3Q22", "3Q22"}
	var last []string
	for i, part := range parts {
		last = append(last, LifeOf(part, nil).Expires(0, mustCure(t, marks[i]), 0).String())
	}
	if got := strings.Join(last, " "); got != "2031-03-31 2029-12-31 2027-09-30 " {
		t.Errorf("the parts keep until %q", got)
	}
	if got := LifeOf(Item{Kind: Kit}, parts).Expires(0, mustCure(t, "3Q22"), 0).String(); got != "2027-09-30" {
		t.Errorf("the kit marked 3Q22 keeps until %s, expected 2027-09-30", got)
	}
}

func mustCure(t *testing.T, mark string) Cure {
	t.Helper()
	c, err := ParseCure(mark)
	if err != nil {
		t.Fatal(err)
	}
	return c
}
