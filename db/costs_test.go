package db_test

import (
	"fmt"
	"os"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/jackc/pgx/v5"

	"circlip/db"
	"circlip/inventory"
	"circlip/inventory/cost"
)

// account is what the database's ledger comes to on a day.
func (b *bench) account(t testing.TB, workshop int64, asOf inventory.Date) cost.Account {
	t.Helper()
	records, err := b.Spending(t.Context(), workshop, asOf)
	if err != nil {
		t.Fatal(err)
	}
	a, err := cost.Of(b.shop(t, workshop, asOf), records)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// The same figures in SQL, by its own arithmetic: numeric, whose round goes
// half away from zero. A lot's value is rounded after every movement; the
// difference is the movement's.
const ledgerValuesSQL = `
WITH priced AS (
	SELECT m.*, CASE WHEN m.to_place = 'shelf' THEN m.qty ELSE -m.qty END AS gain,
		CASE WHEN m.to_place = 'shelf' THEN m.from_place ELSE m.to_place END AS place,
		l.unit_cost::numeric / (10000 * CASE i.measure WHEN 'ea' THEN 1 ELSE 10 END) AS step_cost
	FROM circlip.movement AS m JOIN circlip.lot AS l USING (workshop, item, lot) JOIN circlip.item AS i USING (workshop, item)
	WHERE m.workshop = $1 AND m.happened_on <= $2),
worth AS (
	SELECT *, round(step_cost * sum(gain) OVER lotwise) - round(step_cost * (sum(gain) OVER lotwise - gain)) AS value
	FROM priced WINDOW lotwise AS (PARTITION BY item, lot ORDER BY happened_on, seq))
`

// inSQL is amounts by name.
func (b *bench) inSQL(t testing.TB, workshop int64, asOf inventory.Date, query string) map[string]inventory.Money {
	t.Helper()
	type amount struct {
		Name  string
		Money inventory.Money
	}
	sums := map[string]inventory.Money{}
	for _, a := range collect(t, b.admin, pgx.RowToStructByPos[amount], ledgerValuesSQL+query, workshop, asOf.Time()) {
		sums[a.Name] = a.Money
	}
	return sums
}

// What the account says of the demo workshop is what SQL adds up by itself, on
// its last day, in the middle of its past and before it.
func TestAnAccountIsWhatSQLAddsUp(t *testing.T) {
	bench := openBench(t)
	report, err := bench.Load(t.Context(), folderOf(t, os.DirFS("../testdata/demo")), "")
	if err != nil {
		t.Fatal(err)
	}
	workshop := report.Workshop.ID
	// a lot without a cost has an offer's in the account and none in SQL
	if _, err := bench.admin.Exec(t.Context(), `ALTER TABLE circlip.lot DISABLE TRIGGER USER; UPDATE circlip.lot SET unit_cost = 12345678 WHERE unit_cost = 0`); err != nil {
		t.Fatal(err)
	}
	for _, day := range []inventory.Date{on(time.December, 31), inventory.NewDate(2025, time.July, 4), inventory.NewDate(2024, time.January, 1)} {
		a := bench.account(t, workshop, day)
		same := func(what, query string, found map[string]inventory.Money) {
			t.Helper()
			if diff := cmp.Diff(bench.inSQL(t, workshop, day, query), found); diff != "" {
				t.Errorf("%s on %s (-SQL +account): %s", what, day, diff)
			}
		}
		byItem, bySupplier, used := map[string]inventory.Money{}, map[string]inventory.Money{}, inventory.Money(0)
		for _, i := range a.Items {
			byItem[i.Item.Code] = i.Value
		}
		for _, s := range a.Suppliers {
			bySupplier[fmt.Sprint(s.Month, " ", s.Supplier.Code)] = s.Spend
		}
		for _, s := range a.Services {
			used += s.Spend
		}
		same("the stock", `SELECT item, sum(value)::bigint FROM worth GROUP BY item`, byItem)
		same("spend by supplier", `SELECT to_char(happened_on, 'YYYY-MM') || ' ' || coalesce(o.supplier, ''), sum(value)::bigint FROM worth
			LEFT JOIN circlip.order_line AS o ON (o.workshop, o.order_code, o.item) = (worth.workshop, worth.ref, worth.item)
			WHERE place = 'supplier' GROUP BY 1`, bySupplier)
		places := map[string]inventory.Money{"opening": a.Flow.Opening, "supplier": a.Flow.Bought, "job": -used, "difference": a.Flow.Found - a.Flow.Missing}
		for place, sum := range places {
			if sum == 0 {
				delete(places, place)
			}
		}
		same("the places", `SELECT place, sum(value)::bigint FROM worth GROUP BY place HAVING sum(value) <> 0`, places)
		if day == on(time.December, 31) && (a.Stock == 0 || len(a.Suppliers) < 50 || used == 0) {
			t.Errorf("found a stock of %d, %d months of suppliers and a use of %d: nothing to compare", a.Stock, len(a.Suppliers), used)
		}
	}
}

// What people do at the bench, and what it is worth.
func TestActsGoWhereTheirMoneyGoes(t *testing.T) {
	s := openShop(t)
	day := func(n int) inventory.Date { return on(time.March, n) }
	s.exec(t, `INSERT INTO circlip.supplier (workshop, supplier, name) VALUES ($1, 'ravelin', 'Ravelin')`, s.workshop)
	s.exec(t, `INSERT INTO circlip.order_line (workshop, order_code, item, supplier, packs, placed_on, pack_qty, price)
		VALUES ($1, 'PO1', 'seal', 'ravelin', 2, '2026-03-01', 10, 4250)`, s.workshop)
	s.must(t, db.Receive{Item: "seal", Lot: "A", Qty: 20, Order: "PO1", On: day(2), UnitCost: 4_250_000})
	s.must(t, db.Receive{Item: "oil", Lot: "O", Qty: 10_000, Order: "PO9", On: day(2), UnitCost: 24_900}) // an order of no known lines
	s.must(t, db.Take{Job: "J1", On: day(3), Lines: []db.Line{{Item: "seal", Qty: 2}, {Item: "oil", Qty: 2000}}})
	wrong := s.must(t, db.Take{Job: "J2", On: day(4), Lines: []db.Line{{Item: "seal", Qty: 5}}})
	s.must(t, db.Reverse{Item: "seal", Lot: "A", Seq: wrong.Moved[0].Seq, On: day(5)})
	s.must(t, db.Waste{Item: "seal", Qty: 1, On: day(6)})
	miscounted := s.must(t, db.Count{Item: "seal", Found: 10, On: day(7)})
	s.must(t, db.Reverse{Item: "seal", Lot: "A", Seq: miscounted.Moved[0].Seq, On: day(8)})
	s.must(t, db.Count{Item: "oil", Found: 7990, On: day(9)})

	records, err := s.Spending(t.Context(), s.workshop, day(31))
	if err != nil {
		t.Fatal(err)
	}
	want := []cost.Move{
		{On: day(2), Item: "oil", Lot: "O", Place: inventory.FromOrder, Ref: "PO9", Qty: 10_000},
		{On: day(3), Item: "oil", Lot: "O", Place: inventory.AtJob, Ref: "J1", Qty: -2000},
		{On: day(9), Item: "oil", Lot: "O", Place: inventory.Difference, Qty: -10},
		{On: day(2), Item: "seal", Lot: "A", Place: inventory.FromOrder, Ref: "PO1", Supplier: "ravelin", Qty: 20},
		{On: day(3), Item: "seal", Lot: "A", Place: inventory.AtJob, Ref: "J1", Qty: -2},
		{On: day(4), Item: "seal", Lot: "A", Place: inventory.AtJob, Ref: "J2", Qty: -5},
		{On: day(5), Item: "seal", Lot: "A", Place: inventory.AtJob, Ref: "J2", Undoes: true, Qty: 5},
		{On: day(6), Item: "seal", Lot: "A", Place: inventory.Wasted, Qty: -1},
		{On: day(7), Item: "seal", Lot: "A", Place: inventory.Difference, Qty: -7},
		{On: day(8), Item: "seal", Lot: "A", Place: inventory.Difference, Undoes: true, Qty: 7},
	}
	if diff := cmp.Diff(want, records.Moves); diff != "" {
		t.Error(diff)
	}
	rows := []struct {
		rule  string
		asOf  inventory.Date
		want  cost.Flow
		stock inventory.Money
	}{
		{"before anything came", day(1), cost.Flow{}, 0},
		{"as it came", day(2), cost.Flow{Bought: 20*425 + 2490}, 20*425 + 2490},
		{"a wrong act counts until it is undone", day(4), cost.Flow{Bought: 10_990, Used: 7*425 + 498}, 13*425 + 1992},
		{"and not after", day(5), cost.Flow{Bought: 10_990, Used: 2*425 + 498}, 18*425 + 1992},
		{"a wrong count", day(7), cost.Flow{Bought: 10_990, Used: 1348, Wasted: 425, Missing: 7 * 425}, 10*425 + 1992},
		{"in the end", day(31), cost.Flow{Bought: 10_990, Used: 1348, Wasted: 425, Missing: 2}, 17*425 + 1990}, // 799.0 ml: 1989.51
	}
	shop := inventory.Shop{Items: []inventory.Item{{Code: "oil", Measure: inventory.Millilitre}, {Code: "seal", Measure: inventory.Each}}}
	for _, r := range rows {
		records, err := s.Spending(t.Context(), s.workshop, r.asOf)
		if err != nil {
			t.Fatal(err)
		}
		shop.AsOf = r.asOf
		a, err := cost.Of(shop, records)
		if err != nil {
			t.Fatal(err)
		}
		if a.Flow != r.want || a.Stock != r.stock {
			t.Errorf("%s: found %+v worth %d, expected %+v worth %d", r.rule, a.Flow, a.Stock, r.want, r.stock)
		}
	}
}

// One workshop's money is not another's.
func TestSpendingIsOfOneWorkshop(t *testing.T) {
	s := openShop(t)
	other := s.another(t)
	s.must(t, db.Receive{Item: "seal", Lot: "A", Qty: 20, On: on(time.March, 2), UnitCost: 4_250_000})
	for workshop, want := range map[int64]int{s.workshop: 1, other: 0} {
		records, err := s.Spending(t.Context(), workshop, on(time.March, 31))
		if err != nil || len(records.Moves) != want || len(records.Lots) != want {
			t.Errorf("found %+v (%v), expected %d lots and moves", records, err, want)
		}
	}
}

// The small book's lots, those that are gone with them.
func TestSpendingKnowsLotsThatAreGone(t *testing.T) {
	bench := openBench(t)
	report := smallBook().load(t, bench)
	records, err := bench.Spending(t.Context(), report.Workshop.ID, on(time.January, 2))
	if err != nil {
		t.Fatal(err)
	}
	var lots []string
	for _, l := range records.Lots {
		lots = append(lots, fmt.Sprint(l.Item, " ", l.Code, " ", l.OnHand, " at ", l.UnitCost))
	}
	if want := []string{"grease G1 2500 at 36000", "kit-35 K1 2 at 19900000", "oil-15 O1 9000 at 24900", "ring-10 R1 30 at 0", "wiper-35 W1 12 at 4100000"}; !slices.Equal(lots, want) {
		t.Errorf("found the lots %q, expected those of the opening shelf as they then stood, %q", lots, want)
	}
}

// From the ledger of the big shop to its account.
func BenchmarkSpending(b *testing.B) {
	bench := openBench(b)
	report, err := bench.Load(b.Context(), typical, "")
	if err != nil {
		b.Fatal(err)
	}
	day := bigStart + inventory.Date(7*typical.weeks)
	shop := bench.shop(b, report.Workshop.ID, day)
	moves := 0
	for b.Loop() {
		records, err := bench.Spending(b.Context(), report.Workshop.ID, day)
		if err != nil {
			b.Fatal(err)
		}
		if _, err := cost.Of(shop, records); err != nil {
			b.Fatal(err)
		}
		moves = len(records.Moves)
	}
	b.ReportMetric(float64(moves), "movements")
}
