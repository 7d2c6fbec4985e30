package reports

import (
	"fmt"

	"circlip/inventory"
	"circlip/inventory/audit"
)

// OilFindings is everything that may explain a period, or that must be known to
// read it.
func OilFindings(a audit.Audit) Sheet {
	of := thingsOf(a.Scope)
	s := Sheet{
		Key: of.key + " findings", Name: "Findings", Title: oilTitle("What to know about the counts", a),
		Notes: []string{
			"Each may explain a difference, or says how to read it. No figure was changed for any of them: put right what was written down wrong, and the audit follows.",
		},
		Columns: []Column{
			{Name: of.column}, {Name: "Code", Rank: 5}, {Name: "After", Kind: DateKind, Rank: 2}, {Name: untilColumn, Kind: DateKind},
			{Name: "Finding", Wrap: true},
			{Name: "Kind", Rank: 4}, {Name: "About", Rank: 4}, {Name: "Quantity", Kind: QuantityKind, Rank: 4}, {Name: "Unit", Rank: 4},
		},
		Empty: "Nothing: every count reads as it stands.",
	}
	for _, item := range a.Items {
		for _, p := range item.Periods {
			for _, f := range p.Findings {
				s.Rows = append(s.Rows, findingRow(item.Item, p, f))
			}
		}
	}
	return s
}

func findingRow(i inventory.Item, p audit.Period, f audit.Finding) Row {
	qty, unit := Cell{}, Cell{}
	if f.Qty != 0 {
		qty, unit = Measured(f.Qty, i.Measure), Words(string(i.Measure))
	}
	return Row{Cells: []Cell{
		Words(itemName(i)), Words(i.Code), Day(p.From), Day(p.To), Words(findingText(f, i)),
		Words(string(f.Kind)), Words(f.Ref), qty, unit,
	}}
}

// findingText is a finding in words, without its item and period.
func findingText(f audit.Finding, i inventory.Item) string {
	q := quantity(max(f.Qty, -f.Qty), i.Measure)
	on := ""
	if !f.On.IsZero() {
		on = " of " + f.On.String()
	}
	switch f.Kind {
	case audit.BookedLate:
		delivery := fmt.Sprintf("fits the delivery%s of %s booked in%s", named(f.Ref), q, onDay(f.On))
		if f.Qty > 0 {
			return delivery + ": it stood on the shelf at the count before already"
		}
		return delivery + ", after the count"
	case audit.Whole:
		went := "missing"
		if f.Qty < 0 {
			went = "found"
		}
		return fmt.Sprintf("fits %s %s, %s in all", plural(f.N, "whole container", "whole containers"), went, q)
	case audit.GramsAsML:
		return fmt.Sprintf("fits grams written down as ml in the count%s: %s of the difference", on, q)
	case audit.MLAsGrams:
		return fmt.Sprintf("fits ml written down as grams in the count%s: %s of the difference", on, q)
	case audit.Miscounted:
		return fmt.Sprintf("fits a slip in the count%s, which goes with neither the one before nor the one after: %s of the difference", on, q)
	case audit.Negative:
		return fmt.Sprintf("found %s more than can have been there: look for a delivery that is not booked in, or a container that an earlier count missed", q)
	}
	return readingText(f, q, on)
}

// readingText is a finding that says how to read a period.
func readingText(f audit.Finding, q, on string) string {
	switch f.Kind {
	case audit.TareChanged:
		return fmt.Sprintf("weighed container%s with another tare than in the count before, which comes to %s", named(f.Ref), q)
	case audit.TareUnlike:
		return fmt.Sprintf("weighed container%s with a tare that is not its known one, which comes to %s", named(f.Ref), q)
	case audit.CountsMissed:
		return fmt.Sprintf("%s of the usual rhythm %s missing: the difference is that of the whole time", plural(f.N, "count", "counts"), isAre(f.N))
	case audit.TwoWays:
		return "one of its counts was weighed, the other measured: the two ways may differ"
	case audit.NoTemp:
		return fmt.Sprintf("%s%s without a temperature: taken as 15 °C, which the spread allows for", plural(max(1, f.N), "container was weighed", "containers were weighed"), onDay(f.On))
	case audit.NoCards:
		return fmt.Sprintf("%s certain to take it %s none of it on the card", plural(f.N, "job", "jobs"), oneMany(f.N, "has", "have"))
	case audit.Opened:
		return fmt.Sprintf("container%s, opened%s, is past what it keeps opened: it held %s", named(f.Ref), onDay(f.On), q)
	}
	return string(f.Kind) + on
}

// named puts a name behind what it is the name of.
func named(ref string) string {
	if ref == "" {
		return ""
	}
	return " " + ref
}

func onDay(d inventory.Date) string {
	if d.IsZero() {
		return ""
	}
	return " on " + d.String()
}
