package reports

import (
	"fmt"
	"slices"

	"circlip/inventory"
	"circlip/inventory/cost"
	"circlip/reports/chart"
)

// Names of columns that totals, formulas, charts and the terminal go by.
const (
	monthColumn  = "Month"
	startColumn  = "At the start"
	endColumn    = "At the end"
	usedColumn   = "Used"
	valueColumn  = "Value"
	spendColumn  = "Spend"
	ninetyColumn = "90 %"
)

// stockTotal is the total that other sheets show.
const (
	stockKey   = "stock value"
	stockTotal = "All items"
)

// Costs is what stock is worth and where its money went, for the workbook.
func Costs(a cost.Account) []Sheet {
	return []Sheet{StockValue(a), MoneyByMonth(a), SupplierSpend(a), ServiceSpend(a), JobCosts(a)}
}

// How much of long lists a terminal shows.
const (
	dearestTold = 40
	monthsTold  = 12
)

// CostTables is the same for a terminal: the items that tie up most, the
// latest months, and spend put together by supplier and by service.
func CostTables(a cost.Account) []Sheet {
	stock := StockValue(a).only("Item", "On hand", "Unit", valueColumn, "Cost of", "Last", "Mean")
	if all := len(stock.Rows); all > dearestTold {
		stock.Rows = stock.Rows[:dearestTold]
		stock.Notes = append(stock.Notes, fmt.Sprintf("The %d items that tie up most, of %d. The workbook and --json have all.", dearestTold, all))
	}
	months := MoneyByMonth(a)
	months.Totals = nil // they are of all months, and some of columns that find no room
	if all := len(months.Rows); all > monthsTold {
		months.Rows = months.Rows[all-monthsTold:]
		months.Notes = append(months.Notes, fmt.Sprintf("The latest %d months. The workbook and --json have all.", monthsTold))
	}
	jobs := JobCosts(a).only("Service", "Model", "Jobs", "Mean", "Median", ninetyColumn)
	jobs.Totals = nil
	return []Sheet{stock, months, supplierTable(a), serviceTable(a), jobs}
}

// costTitle names a sheet's subject, the workshop and the day.
func costTitle(what string, a cost.Account) string {
	return titled(what, a.Workshop, a.AsOf)
}

// StockValue is every item on the shelf by what it is worth, the dearest
// first, with what one of it cost.
func StockValue(a cost.Account) Sheet {
	unit := a.Currency.Code
	s := Sheet{
		Key: stockKey, Name: "Stock value", Title: costTitle("What the stock is worth", a),
		Notes: []string{
			"Every lot at what it cost, rounded once to the currency's smallest unit. What a piece, a litre or a kilogram costs: in the last delivery, and the mean by quantity of what is on the shelf and of the deliveries of the last 12 months.",
		},
		Facts: []Fact{
			{"Stock value", Amount(a.Stock, a.Currency), unit},
			{"Of it in lots past their date", Amount(a.Expired, a.Currency), unit},
		},
		Columns: []Column{
			{Name: "Item"},
			{Name: "Code", Rank: 6},
			{Name: "On hand", Kind: QuantityKind},
			{Name: "Unit"},
			{Name: valueColumn, Unit: unit, Kind: MoneyKind},
			{Name: "Last bought", Kind: DateKind, Rank: 5},
			{Name: "Cost of"},
			{Name: "Last", Unit: unit, Kind: MoneyKind},
			{Name: "Mean", Unit: unit, Kind: MoneyKind},
			{Name: "12 months", Unit: unit, Kind: MoneyKind, Rank: 4},
		},
		Empty:   "Nothing is on the shelf. Write what is there into the book's table stock and load it again: from then on this sheet says what it is worth.",
		Remarks: uncosted(a),
	}
	for _, i := range dearestFirst(a.Items) {
		m := i.Item.Measure
		_, per := tradeMeasure(m)
		s.Rows = append(s.Rows, Row{Cells: []Cell{
			Words(itemName(i.Item)), Words(i.Item.Code), Measured(i.OnHand, m), Words(string(m)),
			Amount(i.Value, a.Currency), Day(i.LastOn), Words("1 " + per), costOf(i.LastCost, m, a.Currency),
			costOf(i.MeanCost, m, a.Currency), costOf(i.YearCost, m, a.Currency),
		}})
	}
	if len(s.Rows) > 0 {
		s.Totals = []Total{{stockTotal, valueColumn, Amount(a.Stock, a.Currency).With(Formula{ColumnSum: valueColumn})}}
		s.Facts[0].Value = s.Facts[0].Value.With(Formula{Sheet: stockKey, Total: stockTotal})
	}
	return s
}

// dearestFirst is the items of which anything is on hand, by value.
func dearestFirst(items []cost.Item) []cost.Item {
	held := slices.DeleteFunc(slices.Clone(items), func(i cost.Item) bool { return i.OnHand == 0 })
	slices.SortStableFunc(held, func(a, b cost.Item) int { return int(max(-1, min(1, b.Value-a.Value))) })
	return held
}

// costOf is what a piece, a litre or a kilogram of an item costs; blank where
// it is not known.
func costOf(u inventory.UnitCost, m inventory.Measure, c inventory.Currency) Cell {
	if u == 0 {
		return Cell{}
	}
	one, _ := tradeMeasure(m)
	return Amount(inventory.Value(one, m, u), c)
}

// tradeMeasure is the quantity that prices are told of, and what it is called:
// a millilitre of oil costs less than any coin.
func tradeMeasure(m inventory.Measure) (inventory.Quantity, string) {
	switch m {
	case inventory.Millilitre:
		return 1000 * inventory.Quantity(m.Steps()), "l"
	case inventory.Gram:
		return 1000 * inventory.Quantity(m.Steps()), "kg"
	}
	return 1, string(m)
}

// uncosted says what figures rest on where nobody stated a lot's cost.
func uncosted(a cost.Account) []string {
	var remarks []string
	if a.Estimated > 0 {
		remarks = append(remarks, plural(a.Estimated, "lot has", "lots have")+" no cost on record: what the item is offered at for few packs stands in, or its share of a kit that is offered. State unit_cost in the book's table stock to be exact.")
	}
	if a.Unpriced > 0 {
		remarks = append(remarks, plural(a.Unpriced, "lot has", "lots have")+" no cost on record and nobody offers the item: worth nothing in all these figures until unit_cost says more.")
	}
	return remarks
}

// MoneyByMonth is how the value of the shelf came about, month by month.
func MoneyByMonth(a cost.Account) Sheet {
	unit := a.Currency.Code
	s := Sheet{
		Key: "money by month", Name: "Money by month", Title: costTitle("How the stock's value came about", a),
		Notes: []string{
			"At the end = at the start + opening + bought + found + kits - used - wasted - missing, exactly. Opening is the shelf as first written down; found and missing are what counts differed by; kits is the parts of opened kits less those kits. What was sent back or undone is taken off in its own month.",
		},
		Columns: []Column{{Name: monthColumn}},
		Empty:   "Nothing has moved yet. Write the shelf into the book's table stock and load it again: from then on this sheet says where its money went.",
	}
	for _, c := range flowColumns {
		s.Columns = append(s.Columns, Column{Name: c.name, Unit: unit, Kind: MoneyKind, Rank: c.rank})
	}
	for _, m := range a.Months {
		row := Row{Cells: []Cell{Words(m.Month.String())}}
		for _, c := range flowColumns {
			row.Cells = append(row.Cells, Amount(c.of(m), a.Currency))
		}
		end := &row.Cells[s.column(endColumn)]
		*end = end.With(Formula{Add: addedColumns, Less: lessColumns})
		s.Rows = append(s.Rows, row)
	}
	if len(s.Rows) > 0 {
		s.Totals = flowTotals(a)
		s.Charts = []chart.Chart{monthChart(len(s.Rows), unit)}
	}
	return s
}

// flowColumn is an amount of a month.
type flowColumn struct {
	name string
	rank int
	of   func(cost.MonthFlow) inventory.Money
}

// flowColumns are the columns of a month, from its start to its end.
var flowColumns = []flowColumn{
	{startColumn, 3, func(m cost.MonthFlow) inventory.Money { return m.Start }},
	{"Opening", 2, func(m cost.MonthFlow) inventory.Money { return m.Opening }},
	{"Bought", 0, func(m cost.MonthFlow) inventory.Money { return m.Bought }},
	{"Found", 1, func(m cost.MonthFlow) inventory.Money { return m.Found }},
	{"Kits", 4, func(m cost.MonthFlow) inventory.Money { return m.Kits }},
	{usedColumn, 0, func(m cost.MonthFlow) inventory.Money { return m.Used }},
	{"Wasted", 0, func(m cost.MonthFlow) inventory.Money { return m.Wasted }},
	{"Missing", 0, func(m cost.MonthFlow) inventory.Money { return m.Missing }},
	{endColumn, 0, func(m cost.MonthFlow) inventory.Money { return m.End }},
}

// What makes up the value at the end of a month.
var (
	addedColumns = []string{startColumn, "Opening", "Bought", "Found", "Kits"}
	lessColumns  = []string{usedColumn, "Wasted", "Missing"}
)

// flowTotals add up what came and went over all months, and say what is left.
func flowTotals(a cost.Account) []Total {
	var totals []Total
	all := cost.MonthFlow{Flow: a.Flow}
	for _, c := range flowColumns {
		if c.name != startColumn && c.name != endColumn {
			totals = append(totals, Total{c.name + " in all", c.name, Amount(c.of(all), a.Currency).With(Formula{ColumnSum: c.name})})
		}
	}
	left := Amount(a.Stock, a.Currency).With(Formula{Sheet: stockKey, Total: stockTotal})
	return append(totals, Total{"Stock value", endColumn, left})
}

// monthsDrawn is how many months find room side by side.
const monthsDrawn = 12

// monthChart draws what is kept against what is used, in the latest months: how
// long the stock would last, and whether it follows the season.
func monthChart(months int, unit string) chart.Chart {
	drawn := min(months, monthsDrawn)
	c := chart.Bars("Stock value and use", "Bars are the stock's value at the end of each month, the line is what jobs used in it",
		chart.Rows{First: months - drawn, Count: drawn}, monthColumn, endColumn, unit, usedColumn)
	c.Legend = true
	return c
}
