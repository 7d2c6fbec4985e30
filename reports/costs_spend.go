package reports

import (
	"fmt"

	"circlip/inventory"
	"circlip/inventory/cost"
)

// spending is an amount that went to somebody or something in a month.
type spending struct {
	month  cost.Month
	name   string
	code   string
	amount inventory.Money
}

func supplierSpends(a cost.Account) []spending {
	list := make([]spending, len(a.Suppliers))
	for i, s := range a.Suppliers {
		list[i] = spending{s.Month, supplierName(s.Supplier), s.Supplier.Code, s.Spend}
		if s.Supplier.Code == "" {
			list[i].name = "not known: no order names it"
		}
	}
	return list
}

func serviceSpends(a cost.Account) []spending {
	list := make([]spending, len(a.Services))
	for i, s := range a.Services {
		list[i] = spending{s.Month, serviceName(s.Service), s.Service.Code, s.Spend}
	}
	return list
}

// serviceName is what people call a service.
func serviceName(s inventory.Service) string {
	switch {
	case s.Code == "":
		return "not known: the job is not in the book"
	case s.Name == "":
		return s.Code
	}
	return s.Name
}

// What the sheets of spend say above themselves.
const (
	supplierNote = "Goods received, at what they cost, less what went back. Carriage is not recorded and not in these figures."
	serviceNote  = "What jobs took off the shelf, at what it cost. The parts of a job with several services are shared out by what the bill of materials asks for each, or equally where it names them for none; a service that another covers takes nothing of its own."
)

// SupplierSpend is what came from each supplier in each month.
func SupplierSpend(a cost.Account) Sheet {
	s := spendSheet(a, "Supplier", supplierSpends(a))
	s.Key, s.Name, s.Title = "spend by supplier", "Spend by supplier", costTitle("What was bought from whom", a)
	s.Notes = []string{supplierNote}
	s.Empty = "Nothing has been received yet. Orders in the book's table orders with the day they were received show here."
	return s
}

// ServiceSpend is what jobs took for each service in each month.
func ServiceSpend(a cost.Account) Sheet {
	s := spendSheet(a, "Service", serviceSpends(a))
	s.Key, s.Name, s.Title = "spend by service", "Spend by service", costTitle("What services took", a)
	s.Notes = []string{serviceNote}
	s.Empty = "No job has taken anything yet. What jobs really took, in the book's table job_use, shows here."
	return s
}

// spendSheet is one row a month and name, in time.
func spendSheet(a cost.Account, of string, spends []spending) Sheet {
	s := Sheet{Columns: []Column{
		{Name: monthColumn}, {Name: of}, {Name: "Code"}, {Name: spendColumn, Unit: a.Currency.Code, Kind: MoneyKind},
	}}
	sum := inventory.Money(0)
	for _, p := range spends {
		sum += p.amount
		s.Rows = append(s.Rows, Row{Cells: []Cell{Words(p.month.String()), Words(p.name), Words(p.code), Amount(p.amount, a.Currency)}})
	}
	if len(s.Rows) > 0 {
		s.Totals = []Total{{"All months", spendColumn, Amount(sum, a.Currency).With(Formula{ColumnSum: spendColumn})}}
	}
	return s
}

func supplierTable(a cost.Account) Sheet {
	return spendTable(SupplierSpend(a), a, "Supplier", supplierSpends(a))
}

func serviceTable(a cost.Account) Sheet {
	return spendTable(ServiceSpend(a), a, "Service", serviceSpends(a))
}

// span is some months back from the day's own.
type span struct {
	name        string
	first, last int // months before the day's; last before first in time
}

// spans are the columns of spend on a terminal; the last has no beginning.
var spans = []span{{"This month", 0, 0}, {"Last month", 1, 1}, {"12 months", 0, 11}, {"In all", 0, -1}}

// holds reports whether the month lies in the span as of another.
func (s span) holds(m, now cost.Month) bool {
	back := (now.Year-m.Year)*12 + int(now.Number-m.Number)
	return back >= s.first && (back <= s.last || s.last < s.first)
}

// spendTable puts the months of a sheet of spend together, a row a name.
func spendTable(s Sheet, a cost.Account, of string, spends []spending) Sheet {
	now := cost.MonthOf(a.AsOf)
	s.Columns, s.Rows, s.Totals = []Column{{Name: of}}, nil, nil
	for _, p := range spans {
		s.Columns = append(s.Columns, Column{Name: p.name, Unit: a.Currency.Code, Kind: MoneyKind})
	}
	s.Notes = append(s.Notes[:len(s.Notes):len(s.Notes)],
		fmt.Sprintf("This month is %s, so far as it has gone; 12 months are it and the eleven before it. The workbook and --json have every month.", now))
	at := map[string]int{}
	var names []spending
	for _, p := range spends {
		if _, known := at[p.code]; !known {
			at[p.code] = len(names)
			names = append(names, p)
		}
	}
	amounts, sums := make([][]inventory.Money, len(names)), make([]inventory.Money, len(spans))
	for i := range amounts {
		amounts[i] = make([]inventory.Money, len(spans))
	}
	for _, p := range spends {
		for n, span := range spans {
			if span.holds(p.month, now) {
				amounts[at[p.code]][n] += p.amount
				sums[n] += p.amount
			}
		}
	}
	for i, name := range names {
		s.Rows = append(s.Rows, amountRow(name.name, amounts[i], a.Currency))
	}
	if len(names) > 1 {
		row := amountRow("All together", sums, a.Currency)
		row.Strong = true
		s.Rows = append(s.Rows, row)
	}
	return s
}

// amountRow is a name and amounts behind it.
func amountRow(name string, amounts []inventory.Money, c inventory.Currency) Row {
	row := Row{Cells: []Cell{Words(name)}}
	for _, m := range amounts {
		row.Cells = append(row.Cells, Amount(m, c))
	}
	return row
}

// JobCosts is what the parts of a job cost, by service and model.
func JobCosts(a cost.Account) Sheet {
	unit := a.Currency.Code
	s := Sheet{
		Key: "cost of jobs", Name: "Cost of jobs", Title: costTitle("What the parts of a job cost", a),
		Notes: []string{
			"Jobs done that have a record of what they took. A job with several services counts with each, by that service's share. Half of the jobs cost no more than the median, nine in ten no more than the 90 % value.",
		},
		Facts: []Fact{
			{"Jobs done with a record", Counted(a.Done.Recorded), ""},
			{"Jobs done with a part of one", Counted(a.Done.Partly), ""},
			{"Jobs done without one", Counted(a.Done.Unrecorded), ""},
		},
		Columns: []Column{
			{Name: "Service"},
			{Name: "Code", Rank: 5},
			{Name: "Model"},
			{Name: "Jobs", Kind: CountKind},
			{Name: "Mean", Unit: unit, Kind: MoneyKind},
			{Name: "Median", Unit: unit, Kind: MoneyKind},
			{Name: ninetyColumn, Unit: unit, Kind: MoneyKind},
			{Name: "Total", Unit: unit, Kind: MoneyKind},
		},
		Empty: "No job that is done has a record of what it took. Write it into the book's table job_use: from then on this sheet says what a job costs.",
	}
	sum := inventory.Money(0)
	for _, j := range a.Jobs {
		sum += j.Total
		s.Rows = append(s.Rows, Row{Cells: []Cell{
			Words(serviceName(j.Service)), Words(j.Service.Code), Words(j.Model), Counted(j.Jobs),
			Amount(j.Mean, a.Currency), Amount(j.Median, a.Currency), Amount(j.P90, a.Currency), Amount(j.Total, a.Currency),
		}})
	}
	if len(s.Rows) > 0 {
		s.Totals = []Total{{"All of them", "Total", Amount(sum, a.Currency).With(Formula{ColumnSum: "Total"})}}
	}
	if a.Done.Partly > 0 {
		s.Remarks = []string{"Jobs with a part of a record took less off the shelf than their cards say, as those done before the shelf was first written down. They are in no figure of this sheet."}
	}
	return s
}
