package reports

import (
	"encoding/json"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"circlip/inventory"
	"circlip/inventory/cost"
	"circlip/testdata/golden/plans"
)

func TestWhatPeopleReadOfCostsIsAsApproved(t *testing.T) {
	tables := textOf(t, CostTables(plans.Costs())...)
	golden(t, "costs.txt", tables)
	fitsTheTerminal(t, tables)
	document, err := CostsJSON(plans.Costs())
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "costs.json", string(document))
}

// cellsOf is a row as people read it.
func cellsOf(r Row) string {
	var texts []string
	for _, c := range r.Cells {
		texts = append(texts, c.String())
	}
	return strings.Join(texts, "|")
}

func TestTheStocksRows(t *testing.T) {
	s := StockValue(plans.Costs())
	want := []string{ // the dearest first
		"Lower leg oil 20|OIL-LL20|1,904.0|ml|35.80|2027-01-21|1 l|19.20|18.81|19.20", // 935.0 ml at 18.40 and 969.0 at 19.20 the litre
		// five at 4.25 and three at 4.633333; the year's deliveries less returns are six and three
		"Dust wiper 35 mm|WIP-35|8|ea|35.15|2027-02-22|1 ea|4.63|4.39|4.38",
		"Oil seal 35 mm|SEA-35|2|ea|19.80||1 ea||9.90|",
		"Seal grease|GRS-SEAL|481.4|g|18.77||1 kg||39.00|",
		"O-ring 12.42 x 1.78 mm, damper shaft, 70 shore|OR-1.78x12|40|ea|0.00||1 ea|||",
	}
	var got []string
	for _, r := range s.Rows {
		got = append(got, cellsOf(r))
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// Totals say what the account says, and formulas what they add up.
func TestTotalsOfCostsAreTheAccounts(t *testing.T) {
	a := plans.Costs()
	used := Amount(a.Flow.Used, a.Currency).String()
	rows := []struct {
		rule, total, want string
		sheet             Sheet
	}{
		{"the stock", stockTotal, Amount(a.Stock, a.Currency).String(), StockValue(a)},
		{"what was bought", "Bought in all", Amount(a.Flow.Bought, a.Currency).String(), MoneyByMonth(a)},
		{"what was wasted", "Wasted in all", "4.10", MoneyByMonth(a)},
		{"what counts missed", "Missing in all", "0.09", MoneyByMonth(a)}, // the lot of oil goes from 17.29 to 17.20
		{"what counts found", "Found in all", "4.25", MoneyByMonth(a)},
		{"what is left", "Stock value", Amount(a.Stock, a.Currency).String(), MoneyByMonth(a)},
		{"the suppliers", "All months", Amount(a.Flow.Bought, a.Currency).String(), SupplierSpend(a)},
		{"the services", "All months", used, ServiceSpend(a)},
	}
	for _, r := range rows {
		at := slices.IndexFunc(r.sheet.Totals, func(t Total) bool { return t.Name == r.total })
		if at < 0 {
			t.Errorf("%s: found no total %q", r.rule, r.total)
			continue
		}
		total := r.sheet.Totals[at]
		if total.Value.String() != r.want {
			t.Errorf("%s: found %s, expected %s", r.rule, total.Value, r.want)
		}
		if f := total.Value.Formula; f.Sheet == "" && math.Abs(columnSum(r.sheet, f.ColumnSum)-total.Value.Number()) > 1e-6 {
			t.Errorf("%s: the column %s adds up to %v, the total says %s", r.rule, f.ColumnSum, columnSum(r.sheet, f.ColumnSum), total.Value)
		}
	}
}

func columnSum(s Sheet, name string) (sum float64) {
	for _, r := range s.Rows {
		sum += r.Cells[s.column(name)].Number()
	}
	return sum
}

func TestWhatAPieceALitreAndAKilogramCost(t *testing.T) {
	yen := inventory.Currency{Code: "JPY"}
	rows := []struct {
		rule    string
		cost    inventory.UnitCost
		measure inventory.Measure
		c       inventory.Currency
		want    string
	}{
		{"a piece", 4_250_000, inventory.Each, plans.Costs().Currency, "4.25"},
		{"a litre of what a millilitre is dear of", 24_900, inventory.Millilitre, plans.Costs().Currency, "24.90"},
		{"a kilogram", 390_000, inventory.Gram, plans.Costs().Currency, "390.00"},
		{"half a cent goes up", 4_255_000, inventory.Each, plans.Costs().Currency, "4.26"},
		{"a currency without decimals", 4_250_000, inventory.Each, yen, "425"},
		{"not known", 0, inventory.Each, yen, ""},
	}
	for _, r := range rows {
		if got := costOf(r.cost, r.measure, r.c).String(); got != r.want {
			t.Errorf("%s: found %q, expected %q", r.rule, got, r.want)
		}
	}
}

func TestMonthsOfATableOfSpend(t *testing.T) {
	now := cost.Month{Year: 2027, Number: time.March}
	rows := []struct {
		back int
		want []bool // this month, last month, 12 months, in all
	}{
		{0, []bool{true, false, true, true}},
		{1, []bool{false, true, true, true}},
		{2, []bool{false, false, true, true}},
		{11, []bool{false, false, true, true}},
		{12, []bool{false, false, false, true}},
		{120, []bool{false, false, false, true}},
	}
	for _, r := range rows {
		for n, s := range spans {
			if got := s.holds(now.Add(-r.back), now); got != r.want[n] {
				t.Errorf("%d months back is in %q: found %t, expected %t", r.back, s.name, got, r.want[n])
			}
		}
	}
}

func TestATerminalPutsSpendTogether(t *testing.T) {
	rows := supplierTable(plans.Costs()).Rows
	want := []string{
		"Quillon Seals|0.00|-17.00|25.50|25.50",
		"Tarn Works|0.00|0.00|19.20|19.20",
		"not known: no order names it|0.00|13.90|13.90|13.90",
		"All together|0.00|-3.10|58.60|58.60",
	}
	var got []string
	for _, r := range rows {
		got = append(got, cellsOf(r))
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// Long lists are cut on a terminal only, and it says so.
func TestLongListsOfCostsAreCutAndTold(t *testing.T) {
	a := plans.Costs()
	for n := range 100 {
		a.Items = append(a.Items, cost.Item{Item: inventory.Item{Code: "spare-" + strconv.Itoa(n), Measure: inventory.Each}, OnHand: 1})
	}
	a.Months = make([]cost.MonthFlow, 30)
	for n := range a.Months {
		a.Months[n].Month = cost.Month{Year: 2024, Number: time.October}.Add(n)
	}
	tables := CostTables(a)
	if n := len(tables[0].Rows); n != dearestTold || !strings.Contains(strings.Join(tables[0].Notes, " "), "The 40 items that tie up most, of 105.") {
		t.Errorf("found %d items and the notes %q", n, tables[0].Notes)
	}
	last := tables[1].Rows[len(tables[1].Rows)-1].Cells[0].String()
	if n := len(tables[1].Rows); n != monthsTold || last != "2027-03" {
		t.Errorf("found %d months up to %s, expected the latest 12", n, last)
	}
	if items, months := StockValue(a).Rows, MoneyByMonth(a); len(items) != 105 || len(months.Rows) != 30 {
		t.Errorf("found %d items and %d months in the workbook, expected all", len(items), len(months.Rows))
	} else if c := months.Charts[0]; c.Rows.First != 18 || c.Rows.Count != 12 {
		t.Errorf("found a chart of %+v, expected the latest 12 months", c.Rows)
	}
}

func TestAnAccountOfNothingSaysWhatToDo(t *testing.T) {
	a := cost.Account{Workshop: "Larchfell Bike Park", AsOf: plans.AsOf, Currency: plans.Costs().Currency}
	for _, s := range Costs(a) {
		if s.Empty == "" || len(s.Rows)+len(s.Totals)+len(s.Charts) > 0 {
			t.Errorf("sheet %s: found %d rows, %d totals, %d charts and %q, expected only what to do next", s.Name, len(s.Rows), len(s.Totals), len(s.Charts), s.Empty)
		}
	}
	fitsTheTerminal(t, textOf(t, CostTables(a)...))
	document, err := CostsJSON(a)
	if err != nil || strings.Contains(string(document), "null") {
		t.Errorf("found %s (%v), expected empty lists", document, err)
	}
}

// Names are what people typed.
func TestNamesInCostsCannotActOnATerminal(t *testing.T) {
	a := plans.Costs()
	evil := "\x1b[2J\u202egpj.\n" + strings.Repeat("W", 200)
	a.Workshop, a.Items[0].Item.Name, a.Suppliers[0].Supplier.Name = evil, evil, evil
	a.Services[0].Service.Name, a.Jobs[0].Service.Name, a.Jobs[0].Model = evil, evil, evil
	fitsTheTerminal(t, textOf(t, CostTables(a)...))
}

// What a reader of the document adds up is what it says.
func TestTheDocumentOfCostsAddsUp(t *testing.T) {
	a := plans.Costs()
	text, err := CostsJSON(a)
	if err != nil {
		t.Fatal(err)
	}
	var d struct {
		Schema     int               `json:"schema"`
		StockValue string            `json:"stock_value"`
		Flow       map[string]string `json:"flow"`
		Items      []struct{ Value string }
		Suppliers  []struct{ Spend string }
		Services   []struct{ Spend string }
		JobsDone   map[string]int `json:"jobs_done"`
	}
	if err := json.Unmarshal(text, &d); err != nil {
		t.Fatal(err)
	}
	cents := func(text string) int64 {
		n, err := strconv.ParseInt(strings.Replace(text, ".", "", 1), 10, 64)
		if err != nil {
			t.Fatal(err)
		}
		return n
	}
	var items, bought, used int64
	for _, i := range d.Items {
		items += cents(i.Value)
	}
	for _, s := range d.Suppliers {
		bought += cents(s.Spend)
	}
	for _, s := range d.Services {
		used += cents(s.Spend)
	}
	f := func(name string) int64 { return cents(d.Flow[name]) }
	left := f("opening") + f("bought") + f("found") + f("kits") - f("used") - f("wasted") - f("missing")
	if stock := cents(d.StockValue); d.Schema != 1 || items != stock || left != stock || bought != f("bought") || used != f("used") {
		t.Errorf("found items of %d, flows to %d, a stock of %d; suppliers of %d in %d, services of %d in %d", items, left, stock, bought, f("bought"), used, f("used"))
	}
	if diff := cmp.Diff(map[string]int{"recorded": 4, "partly": 0, "unrecorded": 1}, d.JobsDone); diff != "" {
		t.Error(diff)
	}
}
