package reports

import (
	"fmt"
	"math"
	"slices"

	"circlip/forecast/rehearse"
	"circlip/inventory"
	"circlip/reports/rehearsal"
)

// Names of columns that the terminal picks and charts go by.
const (
	wayColumn     = "Way of ordering"
	settingColumn = "Setting"
	readyColumn   = "Jobs ready"
	stockColumn   = "Mean stock"
)

// Rehearsal is what the plans came to at each target, and each textbook method
// at the readiness that the plans reached at the workshop's own target.
func Rehearsal(r rehearsal.Report) Sheet {
	s := Sheet{
		Key: "rehearsal", Name: "Summary",
		Title: fmt.Sprintf("Rehearsal of %s · %s · %s to %s", plural(r.Weeks, "week", "weeks"), whose(r), r.From, r.To),
		Notes: []string{
			"The past was played again week by week: each Monday was planned with what was known that morning, the orders came after the real lead times, and jobs took what they really took. The textbook methods went through the same weeks. Jobs, money and stock count after a warm-up in which the shelf fills.",
		},
		Facts:   rehearsalFacts(r),
		Columns: append(wayColumns(r.Currency), resultColumns(r.Currency)...),
		Remarks: rehearsalRemarks(r),
	}
	for _, p := range r.Plans {
		cells := []Cell{Words("circlip"), Words("aims at " + percent(p.Target)), Share(p.Readiness), stock(p.MeanStockValue, r.Currency), {}, {}}
		s.Rows = append(s.Rows, Row{Cells: append(cells, resultCells(p.Result, r.Currency)...), Strong: p.Target == r.Target})
	}
	if p, played := r.AtTarget(); played {
		for _, c := range r.Textbook {
			s.Rows = append(s.Rows, Row{Cells: textbookCells(c, p, r.Currency)})
		}
	}
	return s
}

// RehearsalTables are the same for a terminal: first readiness against money,
// then what was ordered and what was left.
func RehearsalTables(r rehearsal.Report) []Sheet {
	s := Rehearsal(r)
	money := picked(s, wayColumn, settingColumn, readyColumn, stockColumn, "At the same readiness", "Plan saves")
	goods := picked(s, wayColumn, "Orders", "Lines", "Goods", "Carriage", "Expired", "Left")
	goods.Title, goods.Notes, goods.Facts, goods.Remarks = "What was ordered and what was left", nil, nil, nil
	for i, p := range r.Plans {
		goods.Rows[i].Cells[0] = Words("circlip at " + percent(p.Target))
	}
	goods.Rows = slices.DeleteFunc(goods.Rows, func(r Row) bool { return r.Cells[1].Blank() }) // never reaches it
	return []Sheet{money, goods}
}

// picked keeps some columns of a sheet, in the order asked for.
func picked(s Sheet, names ...string) Sheet {
	from := s
	s.Columns, s.Rows = nil, nil
	for _, name := range names {
		s.Columns = append(s.Columns, from.Columns[from.column(name)])
	}
	for _, r := range from.Rows {
		row := Row{Strong: r.Strong}
		for _, name := range names {
			row.Cells = append(row.Cells, r.Cells[from.column(name)])
		}
		s.Rows = append(s.Rows, row)
	}
	return s
}

// whose names the workshop, an invented one with its seed.
func whose(r rehearsal.Report) string {
	if r.Seed == 0 {
		return r.Workshop
	}
	return fmt.Sprintf("%s, seed %d", r.Workshop, r.Seed)
}

func wayColumns(c inventory.Currency) []Column {
	return []Column{
		{Name: wayColumn},
		{Name: settingColumn},
		{Name: readyColumn, Unit: "%", Kind: ShareKind},
		{Name: stockColumn, Unit: c.Code, Kind: MoneyKind},
		{Name: "At the same readiness", Unit: c.Code, Kind: MoneyKind},
		{Name: "Plan saves", Unit: "%", Kind: ShareKind},
	}
}

// resultColumns are what a replay came to beside readiness and stock.
func resultColumns(c inventory.Currency) []Column {
	return []Column{
		{Name: "Orders", Kind: CountKind},
		{Name: "Lines", Kind: CountKind},
		{Name: "Goods", Unit: c.Code, Kind: MoneyKind},
		{Name: "Carriage", Unit: c.Code, Kind: MoneyKind},
		{Name: "Expired", Unit: c.Code, Kind: MoneyKind},
		{Name: "Left", Unit: c.Code, Kind: MoneyKind},
	}
}

func resultCells(r rehearse.Result, c inventory.Currency) []Cell {
	money := func(minor int64) Cell { return Amount(inventory.Money(minor), c) }
	return []Cell{Counted(r.Orders), Counted(r.Lines), money(r.Goods), money(r.Carriage), money(r.Expired), money(r.Left)}
}

// stock is a mean value of stock, in minor units, as money.
func stock(value float64, c inventory.Currency) Cell { return Amount(meanMoney(value), c) }

// meanMoney rounds a mean of money to the minor unit.
func meanMoney(value float64) inventory.Money { return inventory.Money(math.Round(value)) }

// textbookCells are a method's cheapest replay that makes as many jobs ready as
// the plans did, and its stock value at just their readiness.
func textbookCells(c rehearsal.Curve, plans rehearsal.Point, currency inventory.Currency) []Cell {
	at, found := c.Reaching(plans.Readiness)
	if !found {
		return append([]Cell{Words(c.Method.String()), Words("never reaches it")}, make([]Cell, 10)...)
	}
	cells := []Cell{Words(c.Method.String()), Words(fmt.Sprintf("%.2f", at.Knob)), Share(at.Readiness), stock(at.Value, currency), {}, {}}
	if value, reach := rehearse.ValueAt(c.Points, plans.Readiness); reach != rehearse.Beyond {
		cells[4] = stock(value, currency)
		if value > 0 {
			cells[5] = Share(1 - plans.MeanStockValue/value)
		}
	}
	return append(cells, resultCells(at.Result, currency)...)
}

// rehearsalFacts say what was reached with what money, and with how much less
// than the best textbook method.
func rehearsalFacts(r rehearsal.Report) []Fact {
	facts := []Fact{{"Target", Share(r.Target), "%"}}
	p, played := r.AtTarget()
	if !played {
		return facts
	}
	facts = append(facts,
		Fact{"Jobs done in those weeks", Counted(p.Jobs), ""},
		Fact{"Jobs ready under circlip's plans", Share(p.Readiness), "%"},
		Fact{"Standard error, were jobs independent", Figure(100*readyError(p.Result), 2), "points"},
		Fact{"Mean stock value under them", stock(p.MeanStockValue, r.Currency), r.Currency.Code},
	)
	method, value, found := r.Best(p.Readiness)
	if !found {
		return append(facts, Fact{"Best textbook method", Words("none makes as many jobs ready"), ""})
	}
	facts = append(facts,
		Fact{"Best textbook method", Words(method.String()), ""},
		Fact{"Its mean stock value at the same readiness", stock(value, r.Currency), r.Currency.Code},
	)
	if saving, known := r.Saving(); known {
		facts = append(facts, Fact{"Money that circlip's plans tie up less", Share(saving), "%"})
	}
	return facts
}

// readyError is the standard error of a share of jobs, as if one more had been
// ready and one more not: where all were, none is still sure.
func readyError(r rehearse.Result) float64 {
	n := float64(r.Jobs + 2)
	share := float64(r.Ready+1) / n
	return math.Sqrt(share * (1 - share) / n)
}

func rehearsalRemarks(r rehearsal.Report) []string {
	remarks := []string{
		"Of each textbook method the row shows the cheapest of its settings that made at least as many jobs ready as circlip's plans at the target. “At the same readiness” lies on the line between that setting and the best ones around it; the saving is against that.",
	}
	if r.Assumed > 0 {
		remarks = append(remarks, plural(r.Assumed, "job has", "jobs have")+" no use on record: taken to have used what the bill of materials always takes.")
	}
	if len(r.LeftOut) > 0 {
		remarks = append(remarks, "Left out, since nobody offers them now: "+listed(slices.Sorted(slices.Values(r.LeftOut)), 12)+".")
	}
	return remarks
}
