package db_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5/pgconn"

	"circlip/db"
	"circlip/inventory"
)

// sheets lists the orders that were placed by a sheet.
func (b *bench) sheets(t testing.TB, workshop int64) []string {
	t.Helper()
	return b.lines(t, `SELECT format('%s is %s of %s', sheet, order_code, placed_on)
FROM circlip.order_sheet WHERE workshop = $1 ORDER BY sheet`, workshop)
}

// placedAgain tries to place a sheet as an order of another code.
func (b *bench) placedAgain(t testing.TB, workshop int64, sheet string) error {
	t.Helper()
	_, err := b.Do(t.Context(), workshop, uuid.New(), db.Place{Sheet: sheet, Order: "PO99", Supplier: "ravelin", On: on(time.April, 1),
		Lines: []db.PlaceLine{{Item: "wiper-35", Packs: 1, PackQty: 10, Price: 42_50}}})
	return err
}

func TestASheetIsSpentWhereverItsBookIsLoaded(t *testing.T) {
	first, second := openBench(t), openBench(t)
	was := orderingBook(t).load(t, first).Workshop.ID
	first.performed(t, was, everyAct()...)
	book := saved(t, first, was)
	is := book.load(t, second).Workshop.ID

	order, placed, err := second.SheetPlaced(t.Context(), is, oneSheet)
	if err != nil || order != "PO8" || placed != on(time.March, 6) {
		t.Errorf("the sheet was placed as %q on %s, %v, want PO8 on 2026-03-06", order, placed, err)
	}
	err = second.placedAgain(t, is, oneSheet)
	if said := "sheet " + oneSheet + " was placed as order PO8 on 2026-03-06"; !errors.Is(err, inventory.ErrConflict) || !strings.Contains(err.Error(), said) {
		t.Errorf("placed again: %v, want a conflict that says %q", err, said)
	}
	if err := second.placedAgain(t, is, otherSheet); err != nil {
		t.Errorf("another sheet: %v, want it placed", err)
	}
	book.load(t, second)
	if got := second.sheets(t, is); len(got) != 2 {
		t.Errorf("loaded again, the sheets are %q, want the two that were placed", got)
	}
	second.mustBeSound(t, is)
}

// withSheets is the small book with a column more: the sheet of each of its
// three rows of orders, the first two of which are of one order.
func withSheets(t testing.TB, sheets ...string) papers {
	t.Helper()
	p := smallBook()
	lines := strings.Split(strings.TrimSuffix(p["orders"], "\n"), "\n")
	if len(lines) != 1+len(sheets) {
		t.Fatalf("%d sheets for %d rows", len(sheets), len(lines)-1)
	}
	for i, sheet := range append([]string{"sheet"}, sheets...) {
		lines[i] += "," + sheet
	}
	p["orders"] = strings.Join(lines, "\n") + "\n"
	return p
}

// A book that is older than sheets leaves them as they are, and one that is
// newer brings them along to orders that are there.
func TestAnOlderAndANewerBookOfSheets(t *testing.T) {
	bench := openBench(t)
	w := smallBook().load(t, bench).Workshop.ID
	if got := bench.sheets(t, w); len(got) > 0 {
		t.Errorf("a book without sheets brought %q", got)
	}
	withSheets(t, oneSheet, oneSheet, "").load(t, bench)
	want := []string{oneSheet + " is PO1 of 2026-01-10"}
	if diff := cmp.Diff(want, bench.sheets(t, w)); diff != "" {
		t.Errorf("the newer book: %s", diff)
	}
	for name, p := range map[string]papers{"without the column": smallBook(), "blank": withSheets(t, "", "", "")} {
		p.load(t, bench)
		if diff := cmp.Diff(want, bench.sheets(t, w)); diff != "" {
			t.Errorf("an older book, %s: %s", name, diff)
		}
	}
	bench.mustBeSound(t, w)
}

func TestFaultsOfSheets(t *testing.T) {
	for _, tc := range []struct {
		rule   string
		before []string // sheets of the book that was loaded before, if any
		sheets [3]string
		want   []string
	}{
		{"an order is placed by one sheet", nil, [3]string{oneSheet, otherSheet, ""},
			[]string{`orders:3:sheet: told otherwise in row 2, found "` + otherSheet + `", expected ` + oneSheet + `, as there: an order is placed by one sheet`}},
		{"all of it", nil, [3]string{oneSheet, "", ""},
			[]string{`orders:3:sheet: told otherwise in row 2, found "nothing", expected ` + oneSheet + `, as there: an order is placed by one sheet`}},
		{"also where the first row tells none", nil, [3]string{"", oneSheet, ""},
			[]string{`orders:3:sheet: told otherwise in row 2, found "` + oneSheet + `", expected nothing, as there: an order is placed by one sheet`}},
		{"a sheet is one order", nil, [3]string{oneSheet, oneSheet, oneSheet},
			[]string{`orders:4:sheet: the sheet of another order in row 2, found "` + oneSheet + `", expected another, or none: PO1 was placed by it`}},
		{"a sheet has a name", nil, [3]string{"by hand", "by hand", ""}, []string{
			`orders:2:sheet: not the name of a sheet, found "by hand", expected 32 digits of 0 to 9 and a to f, as book save writes them`,
			`orders:3:sheet: not the name of a sheet, found "by hand", expected 32 digits of 0 to 9 and a to f, as book save writes them`}},
		{"an order keeps its sheet", []string{oneSheet, oneSheet, ""}, [3]string{otherSheet, otherSheet, ""}, []string{
			`orders:2:sheet: already recorded otherwise, found "` + otherSheet + `", expected ` + oneSheet + ` as recorded, by which the order was placed`,
			`orders:3:sheet: already recorded otherwise, found "` + otherSheet + `", expected ` + oneSheet + ` as recorded, by which the order was placed`}},
		{"a sheet keeps its order", []string{oneSheet, oneSheet, ""}, [3]string{"", "", oneSheet},
			[]string{`orders:4:sheet: already recorded otherwise, found "` + oneSheet + `", expected another, or none: order PO1 was placed by it on 2026-01-10`}},
	} {
		bench := openBench(t)
		if tc.before != nil {
			withSheets(t, tc.before...).load(t, bench)
		}
		if diff := cmp.Diff(tc.want, faultsOf(t, bench, withSheets(t, tc.sheets[:]...))); diff != "" {
			t.Errorf("%s: (- want, + got)\n%s", tc.rule, diff)
		}
	}
}

// The function by which a load records sheets is open to every program that may
// use the database, so it refuses by itself what would not be sound.
func TestSheetsAreRecordedOfOrdersThatAreThere(t *testing.T) {
	bench := openBench(t)
	w := withSheets(t, oneSheet, oneSheet, "").load(t, bench).Workshop.ID
	for _, tc := range []struct{ rule, sheet, order, broken string }{
		{"a sheet is of an order that is there", otherSheet, "PO9", "order_sheet_order_known"},
		{"a sheet is one order", oneSheet, "PO2", "order_sheet_pkey"},
		{"an order has one sheet", otherSheet, "PO1", "order_sheet_order_once"},
		{"both are recorded once", oneSheet, "PO1", "order_sheet_pkey"},
	} {
		_, err := bench.admin.Exec(t.Context(), `SELECT circlip.import_sheets($1, ARRAY[$2], ARRAY[$3], ARRAY[DATE '2026-01-10'])`,
			w, tc.sheet, tc.order)
		var refused *pgconn.PgError
		if !errors.As(err, &refused) || refused.ConstraintName != tc.broken {
			t.Errorf("%s: %v, want it refused by %s", tc.rule, err, tc.broken)
		}
	}
	if got := bench.sheets(t, w); len(got) != 1 {
		t.Errorf("the sheets are %q, want the one of the book", got)
	}
	bench.mustBeSound(t, w)
}
