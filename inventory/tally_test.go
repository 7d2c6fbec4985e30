package inventory

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

var tallyDay = NewDate(2027, 3, 1)

// countedShop holds wipers in two lots at 1.80 and 2.00, one of them partly set
// aside, and an oil at 2.5 cents a millilitre.
func countedShop() Shop {
	return Shop{
		AsOf: tallyDay,
		Items: []Item{
			{Code: "WIP-35", Measure: Each}, {Code: "oil", Measure: Millilitre, DensityKgM3: 860}, {Code: "new", Measure: Each},
			{Code: "unpriced", Measure: Each}, {Code: "kitted", Measure: Each}, {Code: "kit", Measure: Each},
		},
		Lots: []Lot{
			{Item: "WIP-35", Code: "A", Received: tallyDay - 40, Expires: tallyDay + 300, UnitCost: 180_0000, OnHand: 4, SetAside: []SetAside{{"J-7", 2}}},
			{Item: "WIP-35", Code: "B", Received: tallyDay - 4, Expires: tallyDay + 900, UnitCost: 200_0000, OnHand: 6},
			{Item: "oil", Code: "O", Received: tallyDay - 30, UnitCost: 2_5000, OnHand: 1000_0},
			{Item: "unpriced", Code: "U", Received: tallyDay - 30, OnHand: 3},
		},
		Offers: []Offer{{Item: "new", Supplier: "s", FromPacks: 1, PackQty: 10, Price: 50_00}, {Item: "kit", Supplier: "s", FromPacks: 1, PackQty: 1, Price: 6_00}},
		Kits:   []KitPart{{"closed", "kitted", 1}, {"kit", "kitted", 3}},
	}
}

// listing is a sheet of all items, written when the ledger held what it does now.
func listing(shop Shop, counted ...Counted) Stocktake {
	s := Stocktake{WrittenOn: shop.AsOf, On: shop.AsOf, Counted: counted}
	for _, i := range shop.Items {
		there := Quantity(0)
		for _, l := range shop.Lots {
			if l.Item == i.Code {
				there += l.OnHand
			}
		}
		s.Listed = append(s.Listed, Listed{i.Code, there})
	}
	return s
}

func TestWhatACountComesTo(t *testing.T) {
	rows := []struct {
		rule    string
		counted []Counted
		want    Discrepancy
	}{
		{"as it should be", []Counted{{Item: "WIP-35", Qty: 10}}, Discrepancy{Rows: 1, AtWriting: 10, Expected: 10, Found: 10}},
		{"too much goes to the lot that came last", []Counted{{Item: "WIP-35", Qty: 13}}, Discrepancy{Rows: 1, AtWriting: 10, Expected: 10, Found: 13, Diff: 3, Value: 6_00}},
		{"what is missing goes by expiry, free stock first", []Counted{{Item: "WIP-35", Qty: 7}},
			Discrepancy{Rows: 1, AtWriting: 10, Expected: 10, Found: 7, Diff: -3, Value: -(2*1_80 + 2_00)}},
		{"then what is set aside", []Counted{{Item: "WIP-35", Qty: 1}},
			Discrepancy{Rows: 1, AtWriting: 10, Expected: 10, Found: 1, Diff: -9, Value: -(3*1_80 + 6*2_00)}},
		{"all gone", []Counted{{Item: "WIP-35"}}, Discrepancy{Rows: 1, AtWriting: 10, Expected: 10, Diff: -10, Value: -(4*1_80 + 6*2_00)}},
		{"several rows add up", []Counted{{Item: "oil", Qty: 600_0}, {Item: "oil", Qty: 350_5, Weighed: &Weighing{}}},
			Discrepancy{Rows: 2, AtWriting: 1000_0, Expected: 1000_0, Found: 950_5, Diff: -49_5, Value: -1_24,
				Parts: []CountPart{{Item: "oil", Date: tallyDay, Number: 1, Qty: 600_0}, {Item: "oil", Date: tallyDay, Number: 2, Qty: 350_5, Weighed: &Weighing{}}}}},
		{"never had, valued as it is offered", []Counted{{Item: "new", Qty: 2}}, Discrepancy{Rows: 1, Found: 2, Diff: 2, Value: 10_00}},
		{"never had and only sold in a kit, valued as its share", []Counted{{Item: "kitted", Qty: 2}}, Discrepancy{Rows: 1, Found: 2, Diff: 2, Value: 4_00}},
		{"a cost that nobody knows is said", []Counted{{Item: "unpriced", Qty: 1}}, Discrepancy{Rows: 1, AtWriting: 3, Expected: 3, Found: 1, Diff: -2, Unpriced: true}},
		{"and not where nothing lacks", []Counted{{Item: "unpriced", Qty: 3}}, Discrepancy{Rows: 1, AtWriting: 3, Expected: 3, Found: 3}},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			shop := countedShop()
			got, err := Tally(shop, listing(shop, r.counted...))
			if err != nil || len(got.Lines) != 1 {
				t.Fatal(got, err)
			}
			r.want.Item = r.counted[0].Item
			if diff := cmp.Diff(r.want, got.Lines[0]); diff != "" {
				t.Errorf("(-expected +tallied)\n%s", diff)
			}
			if got.Missing != min(r.want.Value, 0) || got.TooMuch != max(r.want.Value, 0) {
				t.Errorf("found %d missing and %d too much, expected %d in all", got.Missing, got.TooMuch, r.want.Value)
			}
			if len(got.NotCounted) != 5 {
				t.Errorf("found %v not counted, expected the other five", got.NotCounted)
			}
		})
	}
}

func TestWhatExplainsADifference(t *testing.T) {
	rows := []struct {
		rule   string
		change func(*Shop, *Stocktake)
		found  Quantity
		want   []Cause
	}{
		{"nothing does", func(*Shop, *Stocktake) {}, 7, nil},
		{"a right count needs none", func(s *Shop, _ *Stocktake) { s.Receipts = []Receipt{{"WIP-35", tallyDay, 0}} }, 10, nil},
		{"it moved since the sheet was written", func(_ *Shop, c *Stocktake) { c.Listed[0].OnHand = 7 }, 7, []Cause{{MovedSince, "", 0, 3}}},
		{"a delivery of today", func(s *Shop, _ *Stocktake) { s.Receipts = []Receipt{{"WIP-35", tallyDay, 6}} }, 4, []Cause{{WasTold, "", tallyDay, 6}}},
		{"a delivery of another size does not", func(s *Shop, _ *Stocktake) { s.Receipts = []Receipt{{"WIP-35", tallyDay, 5}} }, 4, nil},
		{"a delivery of another item does not", func(s *Shop, _ *Stocktake) { s.Receipts = []Receipt{{"oil", tallyDay, 6}} }, 4, nil},
		{"a delivery of long ago does not", func(s *Shop, _ *Stocktake) { s.Receipts = []Receipt{{"WIP-35", tallyDay - 8, 6}} }, 4, nil},
		{"a delivery too much does not", func(s *Shop, _ *Stocktake) { s.Receipts = []Receipt{{"WIP-35", tallyDay, 3}} }, 13, nil},
		{"what was given back to a supplier and is still here", func(s *Shop, _ *Stocktake) { s.Receipts = []Receipt{{"WIP-35", tallyDay, -3}} }, 13, []Cause{{WasTold, "", tallyDay, 3}}},
		{"what a job was booked to have used, of two lots", func(s *Shop, _ *Stocktake) {
			s.Jobs = []Job{{Code: "J-3", State: Done, DoneOn: tallyDay - 1}, {Code: "J-4", State: Booked, BenchDate: tallyDay}}
			s.Uses = []JobUse{{"J-3", "WIP-35", "A", 1}, {"J-3", "WIP-35", "B", 2}, {"J-4", "WIP-35", "", 3}}
		}, 13, []Cause{{NotTaken, "J-3", tallyDay - 1, 3}}},
		{"what is in a tray", func(*Shop, *Stocktake) {}, 8, []Cause{{InTray, "J-7", 0, 2}}},
		{"an order that may be here", func(s *Shop, _ *Stocktake) {
			s.Orders = []OrderLine{{Order: "PO-1", Item: "WIP-35", Packs: 3, ReceivedPacks: 1, PackQty: 5, DueOn: tallyDay + 2}, {Order: "PO-2", Item: "WIP-35", Packs: 1, PackQty: 10, ClosedOn: tallyDay}}
		}, 20, []Cause{{Awaited, "PO-1", tallyDay + 2, 10}}},
		{"two things alike are both told", func(s *Shop, _ *Stocktake) { s.Receipts = []Receipt{{"WIP-35", tallyDay - 7, 2}} }, 8, []Cause{{WasTold, "", tallyDay - 7, 2}, {InTray, "J-7", 0, 2}}},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			shop := countedShop()
			sheet := listing(shop, Counted{Item: "WIP-35", Qty: r.found})
			r.change(&shop, &sheet)
			got, err := Tally(shop, sheet)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(r.want, got.Lines[0].Causes); diff != "" {
				t.Errorf("(-expected +found)\n%s", diff)
			}
		})
	}
}

func TestCountsThatCannotBeAreTold(t *testing.T) {
	rows := []struct {
		rule   string
		change func(*Stocktake)
		kind   error
		told   string
	}{
		{"a count of tomorrow", func(s *Stocktake) { s.On++ }, ErrInvalid, "2027-03-02"},
		{"no day", func(s *Stocktake) { s.On = 0 }, ErrInvalid, "expected a day until 2027-03-01"},
		{"an item that is no longer there", func(s *Stocktake) { s.Listed[1].Item = "gone" }, ErrNotFound, `"gone"`},
		{"a row that is not on the sheet", func(s *Stocktake) { s.Counted[0].Item = "other" }, ErrInvalid, "not on the sheet"},
	}
	for _, r := range rows {
		shop := countedShop()
		sheet := listing(shop, Counted{Item: "WIP-35", Qty: 1})
		r.change(&sheet)
		got, err := Tally(shop, sheet)
		if !errors.Is(err, r.kind) || !strings.Contains(err.Error(), r.told) {
			t.Errorf("%s: found %v, expected %q", r.rule, err, r.told)
		}
		if diff := cmp.Diff(Tallied{}, got); diff != "" {
			t.Errorf("%s: found a tally beside an error\n%s", r.rule, diff)
		}
	}
}

// Whatever the lots: the money of a difference is what the shelf is worth more
// or less when it is booked, and stock that is set aside goes last.
func TestADifferenceIsWorthWhatTheShelfChangesBy(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shop := Shop{AsOf: tallyDay, Items: []Item{{Code: "i", Measure: rapid.SampledFrom([]Measure{Each, Millilitre}).Draw(t, "measure")}}}
		free := Quantity(0)
		for n := range rapid.IntRange(0, 5).Draw(t, "lots") {
			l := Lot{Item: "i", Code: string(rune('A' + n)), Received: tallyDay - Date(rapid.IntRange(0, 3).Draw(t, "age")),
				Expires: Date(rapid.SampledFrom([]int{0, int(tallyDay) - 1, int(tallyDay) + 9}).Draw(t, "expires")),
				OnHand:  Quantity(rapid.IntRange(1, 50).Draw(t, "on hand")), UnitCost: UnitCost(rapid.IntRange(1, 9_9999).Draw(t, "cost"))}
			if kept := Quantity(rapid.IntRange(0, int(l.OnHand)).Draw(t, "kept")); kept > 0 {
				l.SetAside = []SetAside{{"J", kept}}
				free -= kept
			}
			free += l.OnHand
			shop.Lots = append(shop.Lots, l)
		}
		found := Quantity(rapid.IntRange(0, 300).Draw(t, "found"))
		before, seen := shelfWorth(shop), newShelfSeen(shop)
		d := seen.difference(shop.Items[0], 0, []Counted{{Item: "i", Qty: found}})
		lots := seen.lots["i"]
		if d.Diff > 0 && len(lots) == 0 {
			return // a lot that is not there yet
		}
		change := make([]Quantity, len(lots))
		if d.Diff > 0 {
			change[lastReceived(lots)] = d.Diff
		} else {
			lose(lots, change, -d.Diff)
		}
		after, sum, lost := Shop{Items: shop.Items}, Quantity(0), Quantity(0)
		for i, l := range lots {
			lost -= min(change[i]+l.OnHand-setAsideOf(l), 0)
			l.OnHand += change[i]
			if l.OnHand < 0 {
				t.Fatalf("lot %s falls to %d", l.Code, l.OnHand)
			}
			sum += l.OnHand
			after.Lots = append(after.Lots, l)
		}
		if sum != found {
			t.Fatalf("found %d on the shelf afterwards, expected the %d counted", sum, found)
		}
		if want := max(0, -d.Diff-free); lost != want {
			t.Errorf("found %d of what is set aside lost, expected %d", lost, want)
		}
		if got := shelfWorth(after) - before; got != d.Value || d.Unpriced {
			t.Errorf("found %d (unpriced %v), expected the shelf's change of %d", d.Value, d.Unpriced, got)
		}
	})
}

func shelfWorth(s Shop) (sum Money) {
	for _, l := range s.Lots {
		sum += Value(l.OnHand, s.Items[0].Measure, l.UnitCost)
	}
	return sum
}
