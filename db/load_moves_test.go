package db_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/google/uuid"

	"circlip/db"
	"circlip/inventory"
)

// orderingBook is the small book with a row of everything that ordering adds,
// and a use, a late one, of whichever lot comes first.
func orderingBook(t testing.TB) papers {
	p := smallBook().
		with(t, "items", "bin,gtin\n", "bin,gtin,opened_months\n").
		with(t, "items", "176,A1,\n", "176,A1,,6\n").
		with(t, "orders", "received_on,received_packs\n", "received_on,received_packs,closed_on\n").
		with(t, "orders", "2026-01-16,1\n", "2026-01-16,1,2026-02-20\n")
	p["holidays"] = "date,supplier,name\n2026-05-01,,Mayday\n2026-05-01,ravelin,Mayday\n2026-12-24,cobbet,\n"
	p["grooves"] = "item,root_mm,bore_mm,width_mm\nring-10,10.4,13.1,2.4\n"
	return p
}

// performed does acts one after the other, each under a key of its own.
func (b *bench) performed(t testing.TB, workshop int64, acts ...db.Act) {
	t.Helper()
	for _, act := range acts {
		if _, err := b.Do(t.Context(), workshop, uuid.New(), act); err != nil {
			t.Fatalf("%#v: %v", act, err)
		}
	}
}

// everyAct is an act of each kind that moves stock, on the book above.
func everyAct() []db.Act {
	march := func(day int) inventory.Date { return on(time.March, day) }
	return []db.Act{
		db.Receive{Item: "wiper-35", Lot: "W7", Qty: 20, Order: "PO7", On: march(2), Expires: on(time.December, 1), UnitCost: 41_000_000},
		db.Take{Job: "J3", On: march(3), Lines: []db.Line{{Item: "wiper-35", Qty: 10}, {Item: "grease", Qty: 45}}},
		db.Waste{Item: "ring-10", Lot: "R1", Qty: 3, Ref: "torn", On: march(3)},
		db.Count{Item: "oil-15", Found: 17_000, Ref: "tank", On: march(4)},
		db.Count{Item: "wiper-35", Found: 20, Ref: "box", On: march(4)},
		db.Waste{Item: "wiper-35", Lot: "W7", Qty: 2, Ref: "by mistake", On: march(5)},
		db.Reverse{Item: "wiper-35", Lot: "W7", Seq: 4, On: march(5)},
		db.Place{Order: "PO8", Supplier: "ravelin", On: march(6), Lines: []db.PlaceLine{
			{Item: "kit-35", Packs: 3, PackQty: 1, Price: 19_90, Due: march(10)}, {Item: "wiper-35", Packs: 2, PackQty: 10, Price: 42_50}}},
		db.Deliver{Order: "PO8", On: march(9), Lines: []db.DeliverLine{
			{Item: "kit-35", Packs: 2, Qty: 2, Expires: on(time.November, 30), UnitCost: 199_0000}, {Item: "wiper-35", Packs: 1, Qty: 9, Lot: "W8"}}},
		db.Deliver{Order: "PO8", On: march(11), Closed: true, Lines: []db.DeliverLine{{Item: "kit-35"}}},
		db.OpenKit{Kit: "kit-35", Qty: 1, On: march(12), Parts: []db.KitShare{
			{Item: "wiper-35", Qty: 2, UnitCost: 30_0000}, {Item: "ring-10", Qty: 4, UnitCost: 10_0000}}},
		db.Extend{Item: "wiper-35", Lot: "W7", Until: inventory.NewDate(2029, time.December, 1), By: "B. Adler", Note: "supple", On: march(13)},
		db.OpenContainer{Item: "oil-15", Lot: "PO1", Qty: 5_000, Until: on(time.September, 14), On: march(14)},
	}
}

// theSame compares two workshops in all that a book can hold.
func theSame(t testing.TB, what string, first, second *bench, a, b int64, today inventory.Date) {
	t.Helper()
	if diff := cmp.Diff(saved(t, first, a), saved(t, second, b)); diff != "" {
		t.Errorf("%s: saved again it differs: %s", what, diff)
	}
	if diff := cmp.Diff(first.movements(t, a), second.movements(t, b)); diff != "" {
		t.Errorf("%s: the ledger differs: %s", what, diff)
	}
	if diff := cmp.Diff(first.lots(t, a), second.lots(t, b)); diff != "" {
		t.Errorf("%s: the lots differ: %s", what, diff)
	}
	if diff := cmp.Diff(first.shop(t, a, today), second.shop(t, b, today), cmpopts.IgnoreFields(inventory.Lot{}, "SetAside")); diff != "" {
		t.Errorf("%s: the shop differs: %s", what, diff)
	}
}

func TestWhatActsDidComesBackWithTheBook(t *testing.T) {
	first, second := openBench(t), openBench(t)
	p := orderingBook(t)
	was := p.load(t, first).Workshop.ID
	acts := everyAct()
	first.performed(t, was, acts[:8]...)
	// Job cards and a count come in late, in the midst of it all.
	p = p.with(t, "job_use", "", "J2,wiper-35,,2\nJ2,oil-15,,30\n").with(t, "counts", "", "grease,2026-03-02,740,,,\n")
	p.load(t, first)
	first.performed(t, was, acts[8:]...)

	book := saved(t, first, was)
	report := book.load(t, second)
	is := report.Workshop.ID
	for table, did := range changes(report) {
		if !strings.HasSuffix(did, "+0+0, 0 missing") {
			t.Errorf("into an empty database, %s: %s, want all of it new", table, did)
		}
	}
	theSame(t, "after acts of every kind", first, second, was, is, on(time.April, 1))
	for name, b := range map[string]*bench{"where it came from": first, "where it was loaded": second} {
		again := book.load(t, b)
		for table, did := range changes(again) {
			if !strings.HasPrefix(did, "0+0+") || !strings.HasSuffix(did, ", 0 missing") || again.Movements > 0 {
				t.Errorf("loaded again %s: %s %s, %d movements", name, table, did, again.Movements)
			}
		}
		b.mustBeSound(t, again.Workshop.ID)
	}
	theSame(t, "loaded twice", first, second, was, is, on(time.April, 1))
}
