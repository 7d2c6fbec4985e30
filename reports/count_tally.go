package reports

import (
	"fmt"
	"slices"
	"strings"

	"circlip/inventory"
)

// Tally shows what a count comes to before it is posted.
func Tally(shop inventory.Shop, t inventory.Tallied) Sheet {
	items := map[string]inventory.Item{}
	for _, i := range shop.Items {
		items[i.Code] = i
	}
	c := shop.Settings.Currency
	s := Sheet{
		Key: "tally", Name: "Count", Title: "What the count of " + longDay(t.On) + " comes to",
		Facts: []Fact{
			{"Counted", Counted(len(t.Lines)), oneMany(len(t.Lines), "item", "items")},
			{"Left blank", Counted(len(t.NotCounted)), oneMany(len(t.NotCounted), "item", "items")},
			{"As expected", Counted(asExpected(t)), oneMany(asExpected(t), "item", "items")},
			{"Missing", Amount(t.Missing, c), c.Code},
			{"Too much", Amount(t.TooMuch, c), c.Code},
		},
		Columns: []Column{
			{Name: "Our code"}, {Name: "Item", Wrap: true, Rank: 2}, {Name: "Bin", Rank: 3}, {Name: "Unit"},
			{Name: "Expected", Kind: QuantityKind}, {Name: "Found", Kind: QuantityKind}, {Name: "Difference", Kind: QuantityKind},
			{Name: "Value", Unit: c.Code, Kind: MoneyKind}, {Name: "Look first", Wrap: true},
		},
		Empty: "All that was counted is as expected.",
	}
	for _, d := range t.Lines {
		if d.Diff == 0 {
			continue
		}
		i := items[d.Item]
		m := i.Measure
		s.Rows = append(s.Rows, Row{Cells: []Cell{
			Words(d.Item), Words(itemName(i)), Words(i.Bin), Words(string(m)),
			Measured(d.Expected, m), Measured(d.Found, m),
			Measured(d.Diff, m).With(Formula{Add: []string{"Found"}, Less: []string{"Expected"}}),
			valued(d, c), Words(lookFirst(d, m)),
		}, Strong: d.Diff < 0})
	}
	if len(s.Rows) > 0 {
		s.Totals = []Total{{"All differences", "Value", Amount(t.Missing+t.TooMuch, c).With(Formula{ColumnSum: "Value"})}}
	}
	s.Remarks = tallyRemarks(t)
	return s
}

func asExpected(t inventory.Tallied) (n int) {
	for _, d := range t.Lines {
		if d.Diff == 0 {
			n++
		}
	}
	return n
}

// valued is blank where nothing of a difference has a price.
func valued(d inventory.Discrepancy, c inventory.Currency) Cell {
	if d.Unpriced && d.Value == 0 {
		return Cell{Kind: MoneyKind}
	}
	return Amount(d.Value, c)
}

// lookFirst says what alone would explain a difference, or that nothing known
// does.
func lookFirst(d inventory.Discrepancy, m inventory.Measure) string {
	var texts []string
	for _, c := range d.Causes {
		texts = append(texts, causeWords(c, quantity(c.Qty, m)))
	}
	if d.Unpriced {
		texts = append(texts, "its cost is not known")
	}
	if d.Expected == 0 && d.Diff > 0 {
		texts = append(texts, "none of it is in the ledger: if none ever was, receive it")
	}
	if moved := d.Expected - d.AtWriting; moved != 0 && len(d.Causes) == 0 {
		texts = append(texts, "the ledger changed by "+signed(moved, m)+" since the sheet was written")
	}
	return strings.Join(texts, "; or ")
}

// signed is a change, with its sign.
func signed(q inventory.Quantity, m inventory.Measure) string {
	if q > 0 {
		return "+" + quantity(q, m)
	}
	return quantity(q, m)
}

// causeWords asks what somebody should look at.
func causeWords(c inventory.Cause, qty string) string {
	switch c.Why {
	case inventory.MovedSince:
		return "it was right when the sheet was written: " + qty + " moved since, perhaps after the count"
	case inventory.WasTold:
		return fmt.Sprintf("%s came or went on %s: counted without it?", qty, shortDay(c.On))
	case inventory.NotTaken:
		return fmt.Sprintf("job %s took %s on %s: booked, and still here?", c.Ref, qty, shortDay(c.On))
	case inventory.InTray:
		return fmt.Sprintf("%s set aside for job %s: in its tray?", qty, c.Ref)
	}
	return fmt.Sprintf("%s of order %s: here, and not received?", qty, c.Ref)
}

// tallyRemarks say what was left out, and what the money means.
func tallyRemarks(t inventory.Tallied) (remarks []string) {
	if len(t.NotCounted) > 0 {
		remarks = append(remarks, "Not counted, and left as they are: "+listed(t.NotCounted, 12)+".")
	}
	remarks = append(remarks, unlikeTares(t)...)
	if slices.ContainsFunc(t.Lines, func(d inventory.Discrepancy) bool { return len(d.Causes) > 0 }) {
		remarks = append(remarks, "Look first names what alone would explain a difference exactly; it proves nothing. Count again, or post the differences as they are.")
	}
	if slices.ContainsFunc(t.Lines, func(d inventory.Discrepancy) bool { return d.Diff != 0 }) {
		remarks = append(remarks, "Money is that of the lots to which a difference will be booked: what is missing of those that expire first, what is too much of the one that came last.")
	}
	return remarks
}

// unlikeTares say which known containers were reckoned with another tare.
func unlikeTares(t inventory.Tallied) (remarks []string) {
	for _, d := range t.Lines {
		for _, u := range d.Unlike {
			remarks = append(remarks, fmt.Sprintf("%s: the container %s was reckoned with a tare of %g g, and the book says %g g. Weigh it empty and put right the one that is wrong.", d.Item, u.Container, u.UsedG, u.KnownG))
		}
	}
	return remarks
}
