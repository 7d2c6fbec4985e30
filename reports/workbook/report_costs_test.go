package workbook

import (
	"bytes"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"

	"circlip/db/dbtest"
	"circlip/inventory"
	"circlip/inventory/book"
	"circlip/inventory/cost"
	"circlip/reports"
	"circlip/testdata/golden/plans"
)

func costsBytes(t testing.TB, a cost.Account) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := EncodeCosts(&out, a); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// unmoved is the account of a workshop in which nothing has moved.
func unmoved() cost.Account {
	return cost.Account{Workshop: "Nobody", AsOf: plans.AsOf, Currency: plans.Costs().Currency}
}

func TestTheWorkbookOfCostsHasItsSheetsAndItsChart(t *testing.T) {
	rows := []struct {
		rule    string
		account cost.Account
		charts  int
	}{
		{"a winter", plans.Costs(), 1},
		{"nothing moved", unmoved(), 0},
	}
	for _, r := range rows {
		written := costsBytes(t, r.account)
		f := reorderFile(t, written)
		if got := strings.Join(f.GetSheetList(), "|"); got != "Stock value|Money by month|Spend by supplier|Spend by service|Cost of jobs" {
			t.Errorf("%s: found the sheets %s", r.rule, got)
		}
		charts := 0
		for name := range zipParts(t, written) {
			if strings.HasPrefix(name, "xl/charts/chart") {
				charts++
			}
		}
		if charts != r.charts {
			t.Errorf("%s: found %d charts, expected %d", r.rule, charts, r.charts)
		}
		if !bytes.Equal(written, costsBytes(t, r.account)) {
			t.Errorf("%s: found other bytes the second time", r.rule)
		}
	}
}

func TestTheWorkbookOfCostsIsWrittenWholeOrNotAtAll(t *testing.T) {
	path := filepath.Join(t.TempDir(), "costs.xlsx")
	if err := WriteCosts(path, plans.Costs()); err != nil {
		t.Fatal(err)
	}
	if found, err := os.ReadFile(path); err != nil || !bytes.Equal(found, costsBytes(t, plans.Costs())) {
		t.Errorf("found another file than is encoded (%v)", err)
	}
	if err := WriteCosts(filepath.Join(path, "nowhere.xlsx"), plans.Costs()); err == nil {
		t.Error("found no error where there is no folder")
	}
}

// Names are what people typed: none becomes a formula.
func TestNamesInTheWorkbookOfCostsStayText(t *testing.T) {
	a := plans.Costs()
	evil := `=HYPERLINK("http://example.invalid";"pay")`
	a.Items[0].Item.Name, a.Suppliers[0].Supplier.Name, a.Services[0].Service.Name, a.Jobs[0].Model = evil, evil, evil, evil
	f := reorderFile(t, costsBytes(t, a))
	found := 0
	for _, tab := range f.GetSheetList() {
		rows, err := f.GetRows(tab)
		if err != nil {
			t.Fatal(err)
		}
		for r, row := range rows {
			for c, text := range row {
				cell, err := excelize.CoordinatesToCellName(c+1, r+1)
				if err != nil {
					t.Fatal(err)
				}
				if formula, err := f.GetCellFormula(tab, cell); err != nil || strings.Contains(formula, "HYPERLINK") {
					t.Errorf("%s!%s: found the formula %q (%v)", tab, cell, formula, err)
				}
				if text == evil {
					found++
				}
			}
		}
	}
	if found != 4 {
		t.Errorf("found the name in %d cells, expected it as text in 4", found)
	}
}

// demoCosts is the account of the demo book in a database, and what SQL itself
// adds up there, rounding a lot's value after each of its movements.
func demoCosts(t *testing.T, asOf inventory.Date) (a cost.Account, inSQL map[string]float64) {
	t.Helper()
	dsn := dbtest.Migrated(t)
	store, admin := dbtest.OpenDSN(t, dsn), dbtest.Connect(t, dsn)
	source, err := book.Folder(os.DirFS("../../testdata/demo"))
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = source.Close() }()
	report, err := store.Load(t.Context(), source, "")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := admin.Exec(t.Context(), `ALTER TABLE circlip.lot DISABLE TRIGGER USER; UPDATE circlip.lot SET unit_cost = 4450000 WHERE unit_cost = 0`); err != nil {
		t.Fatal(err) // so that no lot is valued by an offer, which SQL below knows nothing of
	}
	shop, err := store.Shop(t.Context(), report.Workshop.ID, asOf)
	if err != nil {
		t.Fatal(err)
	}
	records, err := store.Spending(t.Context(), report.Workshop.ID, asOf)
	if err != nil {
		t.Fatal(err)
	}
	if a, err = cost.Of(shop, records); err != nil {
		t.Fatal(err)
	}
	rows, err := admin.Query(t.Context(), placesSQL, report.Workshop.ID, asOf.Time())
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	inSQL = map[string]float64{}
	for rows.Next() {
		var place string
		var euros float64
		if err := rows.Scan(&place, &euros); err != nil {
			t.Fatal(err)
		}
		inSQL[place] = euros
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return a, inSQL
}

const placesSQL = `
WITH priced AS (
	SELECT m.*, CASE WHEN m.to_place = 'shelf' THEN m.qty ELSE -m.qty END AS gain,
		l.unit_cost::numeric / (10000 * CASE i.measure WHEN 'ea' THEN 1 ELSE 10 END) AS step_cost
	FROM circlip.movement AS m JOIN circlip.lot AS l USING (workshop, item, lot) JOIN circlip.item AS i USING (workshop, item)
	WHERE m.workshop = $1 AND m.happened_on <= $2),
worth AS (
	SELECT *, (round(step_cost * sum(gain) OVER lotwise) - round(step_cost * (sum(gain) OVER lotwise - gain))) / 100 AS value
	FROM priced WINDOW lotwise AS (PARTITION BY item, lot ORDER BY happened_on, seq))
SELECT 'stock', sum(value)::float8 FROM worth
UNION ALL SELECT from_place, sum(value)::float8 FROM worth WHERE to_place = 'shelf' GROUP BY from_place
UNION ALL SELECT to_place, -sum(value)::float8 FROM worth WHERE from_place = 'shelf' GROUP BY to_place`

// totalCell is where a total of a sheet stands in the workbook.
func totalCell(t *testing.T, sheets []reports.Sheet, name, total string) string {
	t.Helper()
	for _, s := range sheets {
		for _, at := range s.Totals {
			if s.Name == name && at.Name == total {
				return placeSheet(s, s.Name).totalRef(total)
			}
		}
	}
	t.Fatalf("found no total %q on the sheet %s", total, name)
	return ""
}

// What LibreOffice makes of the formulas is what the account says, and for the
// demo book what the database adds up.
func TestLibreOfficeAddsUpWhatTheDatabaseDoes(t *testing.T) {
	yen := plans.Costs()
	yen.Currency = inventory.Currency{Code: "JPY"}
	demo, inSQL := demoCosts(t, inventory.NewDate(2026, time.June, 20))
	written := [][]byte{costsBytes(t, demo), costsBytes(t, plans.Costs()), costsBytes(t, yen), costsBytes(t, unmoved())}
	books := recalculated(t, written...)
	for i, least := range []int{30, 15, 15, 0} {
		if n := sameFigures(t, reorderFile(t, written[i]), books[i]); n < least {
			t.Errorf("workbook %d: found %d formulas, expected at least %d", i, n, least)
		}
	}
	sheets := reports.Costs(demo)
	jobs, done := cost.Done{Recorded: demo.Done.Recorded}, demo.Done
	if jobs != done {
		t.Fatalf("found jobs of the demo book without a full record, %+v: the sheet of jobs would add up to less than was used", done)
	}
	rows := []struct{ tab, total, place string }{
		{"Stock value", "All items", "stock"},
		{"Money by month", "Stock value", "stock"},
		{"Money by month", "Opening in all", "opening"},
		{"Money by month", "Bought in all", "supplier"},
		{"Money by month", "Used in all", "job"},
		{"Spend by supplier", "All months", "supplier"},
		{"Spend by service", "All months", "job"},
		{"Cost of jobs", "All of them", "job"},
	}
	for _, r := range rows {
		got := valueAt(t, books[0], r.tab, totalCell(t, sheets, r.tab, r.total))
		if want, found := inSQL[r.place]; !found || want == 0 || math.Abs(got-want) > 1e-6 {
			t.Errorf("%s, %s: LibreOffice says %v, the database %v", r.tab, r.total, got, want)
		}
	}
}
