package reports

import (
	"fmt"
	"slices"
	"strings"

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

// fits begins what may explain a period.
const fits = "fits "

// findingText is a finding in words, without its item and period.
func findingText(f audit.Finding, i inventory.Item) string {
	q := quantity(max(f.Qty, -f.Qty), i.Measure)
	on := ""
	if !f.On.IsZero() {
		on = " of " + f.On.String()
	}
	switch f.Kind {
	case audit.BookedLate:
		return fits + lateDelivery(f, q)
	case audit.Whole:
		return fits + wholeContainers(f, q)
	case audit.GramsAsML:
		return fits + "grams written down as ml in the count" + on + ", which makes " + q
	case audit.MLAsGrams:
		return fits + "ml written down as grams in the count" + on + ", which makes " + q
	case audit.Miscounted:
		return fits + "a slip of " + q + " in the count" + on + ", which goes with neither the one before nor the one after"
	case audit.Unexplained:
		return unexplained(f, q, i.Measure == inventory.Each)
	case audit.Negative:
		return q + " more was found than can have been there; look for a delivery that is not booked in, or a container that an earlier count missed"
	}
	return readingText(f, q, on)
}

// unexplained says where to look first for what no record explains.
func unexplained(f audit.Finding, q string, pieces bool) string {
	look := "a bottle that was overlooked or spilt"
	switch {
	case pieces && f.Qty > 0:
		look = "some that lie elsewhere, or went without a card"
	case pieces:
		look = "a delivery that nobody wrote down"
	case f.Qty < 0:
		look = "a delivery or a bottle that nobody wrote down"
	}
	text := fmt.Sprintf("%s %s left than jobs explain, and nothing on record fits; look for %s", q, moreOrLess(f.Qty < 0), look)
	if pieces {
		return text
	}
	return text + ", and weigh the empty bottles again: another tare looks like this"
}

// lateDelivery is a delivery that was on the shelf before it was booked in.
func lateDelivery(f audit.Finding, q string) string {
	delivery := fmt.Sprintf("the delivery%s of %s", named(f.Ref), q)
	switch {
	case f.On.IsZero():
		return delivery + ", which is not booked in yet"
	case f.Qty > 0:
		return delivery + " booked in" + onDay(f.On) + ": it stood on the shelf at the count before already"
	}
	return delivery + " booked in" + onDay(f.On) + ", after the count"
}

// wholeContainers are containers that turned up, or are gone.
func wholeContainers(f audit.Finding, q string) string {
	is := oneMany(f.N, "is", "are") + " missing"
	if f.Qty < 0 {
		is = oneMany(f.N, "was", "were") + " found"
	}
	if f.N == 1 {
		return "a whole container that " + is + ", " + q
	}
	return fmt.Sprintf("%d whole containers that %s, %s in all", f.N, is, q)
}

// readingText is a finding that says how to read a period.
func readingText(f audit.Finding, q, on string) string {
	switch f.Kind {
	case audit.TareChanged:
		return fmt.Sprintf("the container%s was weighed with another tare than in the count before, which makes %s", named(f.Ref), q)
	case audit.TareUnlike:
		return fmt.Sprintf("the container%s was weighed with a tare that is not its known one, which makes %s", named(f.Ref), q)
	case audit.CountsMissed:
		return fmt.Sprintf("%s of the usual rhythm %s missing: the difference is that of the whole time", plural(f.N, "count", "counts"), isAre(f.N))
	case audit.TwoWays:
		return "one of its counts was weighed, the other measured: the two ways may differ"
	case audit.NoTemp:
		return fmt.Sprintf("%s%s without a temperature: taken as 15 °C, which the spread allows for", plural(max(1, f.N), "container was weighed", "containers were weighed"), onDay(f.On))
	case audit.NoCards:
		text := fmt.Sprintf("%s certain to take it %s none of it on the card", plural(f.N, "job", "jobs"), oneMany(f.N, "has", "have"))
		if f.Qty != 0 {
			text += fmt.Sprintf(", and the %s that the bill allows %s did not leave the shelf", q, oneMany(f.N, "it", "them"))
		}
		return text
	case audit.Opened:
		return fmt.Sprintf("the container%s, opened%s, is past what it keeps opened: it held %s", named(f.Ref), onDay(f.On), q)
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

// findingsTable is what is known of the recent periods, for a terminal, and the
// items of which something is known of earlier ones, with the command that tells.
func findingsTable(a, recent audit.Audit) (Sheet, []string) {
	s := withoutRepeats(OilFindings(a))
	from := map[string]inventory.Date{}
	for _, of := range recent.Items {
		if len(of.Periods) > 0 {
			from[of.Item.Code] = of.Periods[0].To
		}
	}
	code, until := s.column("Code"), s.column(untilColumn)
	var earlier []string
	s.Rows = slices.DeleteFunc(s.Rows, func(r Row) bool {
		before := r.Cells[until].Date() < from[r.Cells[code].String()]
		if of := r.Cells[0].String() + " (circlip oil " + typed(r.Cells[code].String()) + ")"; before && !slices.Contains(earlier, of) {
			earlier = append(earlier, of)
		}
		return before
	})
	return s.only(thingsOf(a.Scope).column, untilColumn, "Finding"), earlier
}

// repeats are the findings that a habit brings to every count.
var repeats = []audit.FindingKind{audit.NoTemp, audit.NoCards, audit.TwoWays, audit.Opened}

// withoutRepeats tells of the latest count alone what a habit brings to many,
// with how many there were before.
func withoutRepeats(s Sheet) Sheet {
	code, kind, about, text := s.column("Code"), s.column("Kind"), s.column("About"), s.column("Finding")
	key := func(r Row) string {
		return strings.Join([]string{r.Cells[code].String(), r.Cells[kind].String(), r.Cells[about].String()}, "\x00")
	}
	later := map[string]int{}
	for _, r := range s.Rows {
		later[key(r)]++
	}
	before := map[string]int{}
	var kept []Row
	for _, r := range s.Rows {
		k := key(r)
		later[k]--
		switch {
		case !slices.Contains(repeats, audit.FindingKind(r.Cells[kind].String())):
		case later[k] > 0:
			before[k]++
			continue
		case before[k] > 0:
			r.Cells = slices.Clone(r.Cells)
			r.Cells[text] = Words(r.Cells[text].String() + "; likewise at " + plural(before[k], "count", "counts") + " before")
		}
		kept = append(kept, r)
	}
	s.Rows = kept
	return s
}
