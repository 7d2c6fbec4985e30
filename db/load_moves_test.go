package db_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"github.com/google/uuid"

	"circlip/db"
	"circlip/inventory"
)

// orderingBook is the small book with a row of everything that ordering adds.
func orderingBook(t testing.TB) papers {
	p := smallBook().
		with(t, "items", "bin,gtin\n", "bin,gtin,opened_months\n").
		with(t, "items", "176,A1,\n", "176,A1,,6\n").
		with(t, "orders", "received_on,received_packs\n", "received_on,received_packs,closed_on\n").
		with(t, "orders", "2026-01-16,1\n", "2026-01-16,1,2026-02-20\n")
	p["holidays"] = "date,supplier,name\n2026-05-01,,Mayday\n2026-05-01,ravelin,Mayday\n2026-12-24,cobbet,\n"
	p["grooves"] = "item,root_mm,bore_mm,width_mm\nring-10,10.4,13.1,2.4\n"
	p["containers"] = "container,name,item,tare_g\ncan-1,Big can,,180.5\ntub,,grease,40.5\n"
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

// everyAct is an act of each kind on the book above, but for set-asides, which
// are not in a book.
func everyAct() []db.Act {
	march := func(day int) inventory.Date { return on(time.March, day) }
	lukewarm, canful := 21.5, 4_800.0
	return []db.Act{
		db.Receive{Item: "wiper-35", Lot: "W7", Qty: 20, Order: "PO7", On: march(2), Expires: on(time.December, 1), UnitCost: 41_000_000},
		db.Take{Job: "J3", On: march(3), Lines: []db.Line{{Item: "wiper-35", Qty: 10}, {Item: "grease", Qty: 45}}},
		db.Waste{Item: "ring-10", Lot: "R1", Qty: 3, Ref: "torn", On: march(3)},
		db.Count{Item: "oil-15", Found: 17_000, Ref: "tank", On: march(4)},
		db.Count{Item: "wiper-35", Found: 20, Ref: "box", On: march(4)},
		db.Waste{Item: "wiper-35", Lot: "W7", Qty: 2, Ref: "by mistake", On: march(5)},
		db.Reverse{Item: "wiper-35", Lot: "W7", Seq: 4, On: march(5)},
		db.Place{Sheet: oneSheet, Order: "PO8", Supplier: "ravelin", On: march(6), Lines: []db.PlaceLine{
			{Item: "kit-35", Packs: 3, PackQty: 1, Price: 19_90, Due: march(10)}, {Item: "wiper-35", Packs: 2, PackQty: 10, Price: 42_50}}},
		db.Deliver{Order: "PO8", On: march(9), Lines: []db.DeliverLine{
			{Item: "kit-35", Packs: 2, Qty: 2, Expires: on(time.November, 30), UnitCost: 199_0000}, {Item: "wiper-35", Packs: 1, Qty: 9, Lot: "W8"}}},
		db.Deliver{Order: "PO8", On: march(11), Closed: true, Lines: []db.DeliverLine{{Item: "kit-35"}}},
		db.OpenKit{Kit: "kit-35", Qty: 1, On: march(12), Parts: []db.KitShare{
			{Item: "wiper-35", Qty: 2, UnitCost: 30_0000}, {Item: "ring-10", Qty: 4, UnitCost: 10_0000}}},
		db.Extend{Item: "wiper-35", Lot: "W7", Until: inventory.NewDate(2029, time.December, 1), By: "B. Adler", Note: "supple", On: march(13)},
		db.OpenContainer{Item: "oil-15", Lot: "PO1", Qty: 5_000, Until: on(time.September, 14), On: march(14)},
		db.CloseJob{Job: "J3", On: march(15), By: "Ann", Used: []db.Line{{Item: "grease", Qty: 45}}, Wasted: []db.Line{{Item: "grease", Qty: 5}}},
		db.Count{Item: "grease", Found: 7_350, Ref: "tubs", On: march(16), Parts: []inventory.CountPart{
			{Item: "grease", Date: march(16), Number: 1, Container: "tub", Qty: 5_000, OpenedOn: march(3),
				Weighed: &inventory.Weighing{GrossG: 540.5, TareG: 40.5, TempC: &lukewarm}},
			{Item: "grease", Date: march(16), Number: 2, Qty: 2_350}}},
		db.Count{Item: "ring-10", Found: 31, On: march(16)}, // as it should be
		db.ReviseBill{Service: "lower", Model: inventory.AnyModel, Item: "oil-15", Qty: 230, From: march(20), Note: "as weighed", On: march(16)},
		db.Dispose{Disposal: inventory.Disposal{Date: march(17), Stream: inventory.UsedOil, VolumeML: &canful, Note: "drip trays"}},
		db.Dispose{Disposal: inventory.Disposal{Date: march(17), Stream: inventory.UsedOil, HandedOver: true, WeightG: &canful, Carrier: "Dray and Daughter", Document: "W-17"}},
	}
}

const (
	oneSheet   = "0f1e2d3c4b5a69788796a5b4c3d2e1f0"
	otherSheet = "1f1e2d3c4b5a69788796a5b4c3d2e1f0"
)

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
	if diff := cmp.Diff(first.sheets(t, a), second.sheets(t, b)); diff != "" {
		t.Errorf("%s: the sheets that were placed differ: %s", what, diff)
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

// A book that was saved earlier takes nothing back, and one that was saved later
// brings only what is new.
func TestAnOlderAndANewerSavedBook(t *testing.T) {
	first, second := openBench(t), openBench(t)
	was := orderingBook(t).load(t, first).Workshop.ID
	acts := everyAct()
	first.performed(t, was, acts[:5]...)
	early := saved(t, first, was)
	is := early.load(t, second).Workshop.ID
	first.performed(t, was, acts[5:]...)
	late := saved(t, first, was)

	if report := early.load(t, first); report.Movements != 0 || changes(report)["orders"][:4] != "0+0+" {
		t.Errorf("the earlier book changed what came after it: %+v", report)
	}
	if diff := cmp.Diff(late, saved(t, first, was)); diff != "" {
		t.Errorf("the earlier book left its mark: %s", diff)
	}
	if report := late.load(t, second); report.Movements == 0 || report.Movements > 16 {
		t.Errorf("the later book moved %d, want what the last acts did", report.Movements)
	}
	if diff := cmp.Diff(balances(t, first, was), balances(t, second, is)); diff != "" {
		t.Errorf("the later book comes to another shelf: %s", diff)
	}
	second.mustBeSound(t, is)
}

// balances lists what each lot holds.
func balances(t testing.TB, b *bench, workshop int64) []string {
	t.Helper()
	return b.lines(t, `
SELECT format('%s %s %s', item, lot, on_hand) FROM circlip.balance WHERE workshop = $1 ORDER BY item, lot`, workshop)
}

func TestASavedBookUnderAnotherName(t *testing.T) {
	first, second := openBench(t), openBench(t)
	was := orderingBook(t).load(t, first).Workshop.ID
	first.performed(t, was, everyAct()...)
	renamed := saved(t, first, was).with(t, "settings", "north bench", "trial bench")
	is := renamed.load(t, second).Workshop.ID
	if diff := cmp.Diff(first.movements(t, was), second.movements(t, is)); diff != "" {
		t.Errorf("the ledger differs: %s", diff)
	}
	if again := renamed.load(t, second); again.Movements != 0 {
		t.Errorf("loaded again it moved %d", again.Movements)
	}
}

func TestWhatWasReversedStaysReversed(t *testing.T) {
	first, second := openBench(t), openBench(t)
	was := orderingBook(t).load(t, first).Workshop.ID
	first.performed(t, was, everyAct()[:7]...)
	is := saved(t, first, was).load(t, second).Workshop.ID
	for rule, seq := range map[string]int64{"corrected once": 4, "a correction": 5} {
		_, err := second.Do(t.Context(), is, uuid.New(), db.Reverse{Item: "wiper-35", Lot: "W7", Seq: seq, On: on(time.April, 1)})
		if !errors.Is(err, inventory.ErrConflict) {
			t.Errorf("%s: %v, want a conflict", rule, err)
		}
	}
}

// What acts left behind besides movements goes on where a saved book is loaded.
func TestOrdersAndInspectionsGoOnFromASavedBook(t *testing.T) {
	first, second := openBench(t), openBench(t)
	was := orderingBook(t).load(t, first).Workshop.ID
	first.performed(t, was, everyAct()...)
	is := saved(t, first, was).load(t, second).Workshop.ID
	const inspected = `SELECT format('%s %s as %s on %s by %s (%s) until %s', item, lot, new_lot, inspected_on, inspected_by, note, until)
FROM circlip.inspection WHERE workshop = $1`
	if got := second.lines(t, inspected, is); len(got) != 1 || got[0] != first.lines(t, inspected, was)[0] {
		t.Errorf("inspections %q, want those of where it came from", got)
	}
	_, err := second.Do(t.Context(), is, uuid.New(),
		db.Extend{Item: "wiper-35", Lot: "W7 inspected", Until: inventory.NewDate(2032, time.January, 1), By: "B. Adler", On: on(time.April, 1)})
	if !errors.Is(err, inventory.ErrConflict) {
		t.Errorf("inspected a second time: %v, want a conflict", err)
	}
	for name, b := range map[string]*bench{"where it came from": first, "where it was loaded": second} {
		w := map[*bench]int64{first: was, second: is}[b]
		b.performed(t, w, db.Reverse{Item: "wiper-35", Lot: "W8", Seq: 1, On: on(time.April, 1)})
		orders := b.shop(t, w, on(time.April, 2)).Orders
		if o := orders[len(orders)-1]; o.Item != "wiper-35" || o.ReceivedPacks != 0 || o.Outstanding() != 20 {
			t.Errorf("%s: a delivery that was taken back left %+v, want its packs on order again", name, o)
		}
		b.mustBeSound(t, w)
	}
	if diff := cmp.Diff(first.movements(t, was), second.movements(t, is)); diff != "" {
		t.Errorf("the ledger differs: %s", diff)
	}
}

// Rows that are added to a saved book by hand are told among its moves, once.
func TestRowsAddedToASavedBook(t *testing.T) {
	first, second := openBench(t), openBench(t)
	p := orderingBook(t)
	was := p.load(t, first).Workshop.ID
	first.performed(t, was, everyAct()[:5]...)
	added := func(p papers) papers {
		return p.with(t, "job_use", "", "J2,wiper-35,,3\n").with(t, "counts", "", "grease,2026-03-20,731,,,\n")
	}
	want := added(saved(t, first, was))
	is := want.load(t, second).Workshop.ID
	want.load(t, first)
	if diff := cmp.Diff(balances(t, first, was), balances(t, second, is)); diff != "" {
		t.Errorf("- told in two parts, + told at once: %s", diff)
	}
	second.mustBeSound(t, is)
}

func TestADeliveryIsToldOnce(t *testing.T) {
	bench := openBench(t)
	p := smallBook()
	w := p.load(t, bench).Workshop.ID
	bench.performed(t, w, db.Receive{Item: "wiper-35", Lot: "W9", Qty: 60, Order: "PO2", On: on(time.March, 2)})
	before := bench.movements(t, w)
	p = p.with(t, "orders", "PO2,wiper-35,ravelin,6,2026-02-20,2026-02-27,,", "PO2,wiper-35,ravelin,6,2026-02-20,2026-02-27,2026-03-02,")
	if report := p.load(t, bench); report.Movements != 0 {
		t.Errorf("the row of the order moved stock that an act had received: %+v", report)
	}
	if diff := cmp.Diff(before, bench.movements(t, w)); diff != "" {
		t.Error(diff)
	}
	if got := bench.shop(t, w, on(time.April, 1)).Orders[2]; got.ReceivedPacks != 6 {
		t.Errorf("the order received %d packs, want the 6 of its row", got.ReceivedPacks)
	}
}

// What acts did to an order stays where an older book has blank cells.
func TestAnOlderBookLeavesOrdersAsActsMadeThem(t *testing.T) {
	bench := openBench(t)
	p := smallBook()
	w := p.load(t, bench).Workshop.ID
	bench.performed(t, w,
		db.Deliver{Order: "PO2", On: on(time.March, 2), Closed: true, Lines: []db.DeliverLine{{Item: "wiper-35", Packs: 4, Qty: 40}}})
	want := bench.shop(t, w, on(time.April, 1))
	if report := p.load(t, bench); changes(report)["orders"] != "0+0+3, 0 missing" || report.Movements != 0 {
		t.Errorf("the older book: %v, %d movements", changes(report), report.Movements)
	}
	if diff := cmp.Diff(want, bench.shop(t, w, on(time.April, 1))); diff != "" {
		t.Error(diff)
	}
	said := p.with(t, "orders", "received_on,received_packs\n", "received_on,received_packs,closed_on,pack_qty\n").
		with(t, "orders", "2026-02-20,2026-02-27,,\n", "2026-02-20,2026-02-27,2026-03-03,5,2026-03-04,20\n")
	if diff := cmp.Diff([]string{
		`orders:4:closed_on: already recorded otherwise, found "2026-03-04", expected 2026-03-02 as recorded; correct it by a count or a reversing movement`,
		`orders:4:pack_qty: already recorded otherwise, found "20", expected 10 as recorded, in which packs of it came`,
		`orders:4:received_on: already recorded otherwise, found "2026-03-03", expected 2026-03-02 as recorded; correct it by a count or a reversing movement`,
		`orders:4:received_packs: already recorded otherwise, found "5", expected 4 as recorded; correct it by a count or a reversing movement`,
	}, faultsOf(t, bench, said)); diff != "" {
		t.Error(diff)
	}
}

const (
	oneAct     = "6f1c2a34-0b5d-4c6e-8f70-a1b2c3d4e5f6"
	otherAct   = "7f1c2a34-0b5d-4c6e-8f70-a1b2c3d4e5f6"
	movesHead  = "item,lot,number,act,from,to,reverses,ref,qty,date,received,expires_on,unit_cost\n"
	opensW1    = "wiper-35,W1,1," + otherAct + ",opening,shelf,,stock,12,2026-01-01,2026-01-01,2031-09-30,4.10\n"
	wastesOfW1 = "wiper-35,W1,2," + oneAct + ",shelf,waste,,torn,1,2026-02-01,2026-01-01,2031-09-30,4.10\n"
)

func TestFaultsOfMoves(t *testing.T) {
	for _, tc := range []struct {
		rule, moves string
		want        []string
	}{
		{"a move stands once", wastesOfW1 + wastesOfW1,
			[]string{`moves:3:item: the same key as in row 2, found "wiper-35 / W1 / 2", expected each key once`}},
		{"it is of a known item", strings.Replace(wastesOfW1, "wiper-35", "wiper-53", 1),
			[]string{`moves:2:item: unknown code, found "wiper-53", expected one of the table items; is it "wiper-35"?`}},
		{"a lot has one age and one cost", wastesOfW1 + "wiper-35,W1,3," + oneAct + ",shelf,waste,,torn,1,2026-02-01,2026-01-02,,4.20\n",
			[]string{
				`moves:3:expires_on: told otherwise in row 2, found "nothing", expected 2031-09-30, as there: a lot has one day of receipt, one expiry and one cost`,
				`moves:3:received: told otherwise in row 2, found "2026-01-02", expected 2026-01-01, as there: a lot has one day of receipt, one expiry and one cost`,
				`moves:3:unit_cost: told otherwise in row 2, found "another cost", expected the cost as there: a lot has one day of receipt, one expiry and one cost`}},
		{"what is corrected is the mirror of it", wastesOfW1 + "wiper-35,W1,3," + otherAct + ",waste,shelf,2,torn,2,2026-02-01,2026-01-01,2031-09-30,4.10\n",
			[]string{`moves:3:reverses: no such row to correct, found "2", expected the number of a row of the lot with from and to the other way about, corrected once`}},
		{"and is corrected once", wastesOfW1 +
			"wiper-35,W1,3," + otherAct + ",waste,shelf,2,torn,1,2026-02-01,2026-01-01,2031-09-30,4.10\n" +
			"wiper-35,W1,4," + otherAct + ",waste,shelf,2,torn,1,2026-02-01,2026-01-01,2031-09-30,4.10\n",
			[]string{`moves:4:reverses: no such row to correct, found "2", expected the number of a row of the lot with from and to the other way about, corrected once`}},
		{"the opening shelf is told alike", strings.Replace(opensW1, "stock,12", "stock,13", 1),
			[]string{`moves:2:qty: not what the table stock says of the lot, found "13", expected 12, as there`}},
		{"packs are of an order", strings.Replace(movesHead, "unit_cost\n", "unit_cost,packs\n", 1) +
			"wiper-35,W9,1," + oneAct + ",supplier,shelf,,PO9,10,2026-02-01,2026-02-01,,,1\n",
			[]string{`moves:2:packs: packs of no order, found "1", expected none, or a delivery whose ref is an order of the item`}},
		{"an inspection takes a lot on", strings.Replace(movesHead, "unit_cost\n", "unit_cost,inspected_by\n", 1) +
			"wiper-35,W9,1," + oneAct + ",lot,shelf,,inspected,10,2026-02-01,2026-02-01,,,B. Adler\n",
			[]string{`moves:2:inspected_by: an inspection that took no lot on, found "B. Adler", expected one lot that goes on as another by one act, good for longer than its day, once`}},
		{"no lot falls below zero", strings.Replace(opensW1+wastesOfW1, "torn,1,", "torn,13,", 1),
			[]string{`moves: the ledger does not take lot W1 of wiper-35: below zero, found "torn", expected 1 fewer steps, so that what is set aside is kept`}},
	} {
		p := smallBook().without("job_use").without("counts")
		p["moves"] = tc.moves
		if !strings.HasPrefix(tc.moves, "item,") {
			p["moves"] = movesHead + tc.moves
		}
		if diff := cmp.Diff(tc.want, faultsOf(t, openBench(t), p)); diff != "" {
			t.Errorf("%s: (- want, + got)\n%s", tc.rule, diff)
		}
	}
}

func TestMovesStandAsTheyAreRecorded(t *testing.T) {
	bench := openBench(t)
	p := smallBook()
	p["moves"] = movesHead + opensW1 + wastesOfW1
	p.load(t, bench)
	p["moves"] = movesHead + opensW1 + strings.Replace(wastesOfW1, "torn,1,", "torn,2,", 1)
	if diff := cmp.Diff([]string{
		`moves:3:act: already recorded otherwise, found "` + oneAct + `", expected what it moved as recorded; correct it by a count or a reversing movement`,
	}, faultsOf(t, bench, p)); diff != "" {
		t.Error(diff)
	}
}
