package db_test

import (
	"os"
	"slices"
	"testing"
	"time"

	"github.com/google/uuid"

	"circlip/db"
	"circlip/inventory"
)

// A count says what it comes to before it is posted: the money of each
// difference is what the shelf's value then changes by, item by item, in the
// account of the ledger.
func TestADifferencePostedIsWorthWhatTheTallySaid(t *testing.T) {
	bench := openBench(t)
	report, err := bench.Load(t.Context(), folderOf(t, os.DirFS("../testdata/demo")), "")
	if err != nil {
		t.Fatal(err)
	}
	workshop, day := report.Workshop.ID, on(time.December, 31)
	shop := bench.shop(t, workshop, day)
	keepHalf(bench, t, workshop, shop) // what is set aside is missed last
	shop = bench.shop(t, workshop, day)
	taken := inventory.Stocktake{WrittenOn: day, On: day}
	there := map[string]inventory.Quantity{}
	for _, l := range shop.Lots {
		there[l.Item] += l.OnHand
	}
	for n, i := range shop.Items {
		taken.Listed = append(taken.Listed, inventory.Listed{Item: i.Code, OnHand: there[i.Code]})
		if there[i.Code] > 0 { // a quarter, none, half as much again, as it is
			found := there[i.Code] * []inventory.Quantity{1, 0, 6, 4}[n%4] / 4
			taken.Counted = append(taken.Counted, inventory.Counted{Item: i.Code, Qty: found})
		}
	}
	tallied, err := inventory.Tally(shop, taken)
	if err != nil {
		t.Fatal(err)
	}
	before := stockValues(bench, t, workshop, day)
	for n, d := range tallied.Lines {
		if d.AtWriting != d.Expected || d.Found-d.Expected != d.Diff {
			t.Errorf("%s: found %+v", d.Item, d)
		}
		if _, err := bench.Do(t.Context(), workshop, uuid.New(), db.Count{Item: d.Item, Found: d.Found, Ref: "count", On: day}); err != nil {
			t.Fatal(n, err)
		}
	}
	after, compared, sum := stockValues(bench, t, workshop, day), 0, inventory.Money(0)
	for _, d := range tallied.Lines {
		if got := after[d.Item] - before[d.Item]; got != d.Value || d.Unpriced {
			t.Errorf("%s: found the shelf worth %d more, the tally said %d of %d", d.Item, got, d.Value, d.Diff)
		}
		if d.Value != 0 {
			compared++
		}
		sum += d.Value
	}
	if compared < 20 || sum != tallied.Missing+tallied.TooMuch {
		t.Errorf("found %d differences with money, %d in all, expected twenty or more and %d", compared, sum, tallied.Missing+tallied.TooMuch)
	}
}

// keepHalf sets half of every second lot aside for a booked job, expired ones
// left out.
func keepHalf(b *bench, t testing.TB, workshop int64, shop inventory.Shop) {
	t.Helper()
	at := slices.IndexFunc(shop.Jobs, func(j inventory.Job) bool { return j.State == inventory.Booked })
	keep := db.SetAside{Job: shop.Jobs[at].Code, On: shop.AsOf}
	for n, l := range shop.Lots {
		if n%2 == 0 && l.UsableOn(shop.AsOf) && l.OnHand > 1 && len(l.SetAside) == 0 {
			keep.Lines = append(keep.Lines, db.Line{Item: l.Item, Lot: l.Code, Qty: l.OnHand / 2})
		}
	}
	if len(keep.Lines) < 10 {
		t.Fatalf("found %d lots to keep some of, expected ten or more", len(keep.Lines))
	}
	if _, err := b.Do(t.Context(), workshop, uuid.New(), keep); err != nil {
		t.Fatal(err)
	}
}

// stockValues is what the shelf is worth by item.
func stockValues(b *bench, t testing.TB, workshop int64, day inventory.Date) map[string]inventory.Money {
	t.Helper()
	values := map[string]inventory.Money{}
	for _, i := range b.account(t, workshop, day).Items {
		values[i.Item.Code] = i.Value
	}
	return values
}
