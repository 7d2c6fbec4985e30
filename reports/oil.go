package reports

import (
	"fmt"
	"slices"
	"strings"

	"circlip/inventory"
	"circlip/inventory/audit"
)

// Names of columns that formulas, charts and the terminal go by.
const (
	untilColumn      = "Until"
	otherColumn      = "Other"
	drawnColumn      = "Drawn"
	standardColumn   = "Standard"
	recordedColumn   = "Recorded"
	unrecordedColumn = "Unrecorded"
	overColumn       = "Over standard"
	signalColumn     = "Signal"
)

// things are what the items of a scope are called.
type things struct{ key, name, where, one, column, empty string }

// thingsOf are the words for fluids, or those for pieces.
func thingsOf(s audit.Scope) things {
	if s == audit.Parts {
		return things{
			key: "parts", name: "Parts", where: "Where the parts went", one: "part", column: "Part",
			empty: "No part has been counted twice yet. Count the seals, rings and hardware today and again in a few weeks, with circlip count sheet or in the book's table counts: from then on this sheet says where they went.",
		}
	}
	return things{
		key: "oil", name: "Oil", where: "Where the oil went", one: "fluid", column: "Fluid",
		empty: "No fluid has been counted twice yet. Weigh or measure the oils and greases today and again in a few weeks, with circlip count sheet or in the book's table counts: from then on this sheet says where they went.",
	}
}

// oilTitle names a sheet's subject, the workshop and the day.
func oilTitle(what string, a audit.Audit) string {
	return titled(what, a.Workshop, a.AsOf)
}

// Oil is what left the shelf between two counts for the reorder workbook: the
// sentences of what has a signal, then every period against what the job cards
// say and what the bill of materials allows.
func Oil(a audit.Audit) Sheet {
	whole := OilPeriods(a)
	of := thingsOf(a.Scope)
	s := picked(whole, of.column, "Code", "After", untilColumn, "Unit", "Jobs", "Opening", "Received", otherColumn, "Closing",
		drawnColumn, standardColumn, recordedColumn, unrecordedColumn, overColumn, signalColumn)
	s.Key, s.Name, s.Title = of.key, of.name, oilTitle(of.where, a)
	s.Notes = append(signalSentences(a), whole.Notes...)
	return s
}

// OilSheets is the whole audit for a workbook and a page, the answers first:
// the summary, who takes it, what the bill should say, what may explain a
// period, every period, the charts, and how each figure is reckoned.
func OilSheets(a audit.Audit) []Sheet {
	sheets := []Sheet{OilSummary(a), OilUse(a), OilAlike(a), OilChanges(a), OilFindings(a), OilPeriods(a)}
	for _, of := range bySignal(toTell(a)) {
		sheets = append(sheets, OilChart(a, of))
	}
	return append(sheets, OilNotes(a))
}

// periodsTold is how many periods of each item a narrow page tells.
const periodsTold = 3

// OilTables is the audit for a terminal: the sentences, who takes it, and the
// latest periods in tables that find room side by side with a name.
func OilTables(a audit.Audit) []Sheet { return oilTables(a, periodsTold) }

// OilItemTables is the audit of one item for a terminal, with all its periods,
// findings and charts.
func OilItemTables(a audit.Audit) []Sheet {
	tables := oilTables(a, periodsOf(a))
	tables[0].Empty = "It has not been counted twice yet. Count it today and again in a week or a few, with circlip count sheet or count weigh: from then on this says where it went."
	for _, of := range a.Items {
		tables = append(tables, OilChart(a, of))
	}
	return tables
}

// oilTables tell so many of the latest periods of each item.
func oilTables(all audit.Audit, periods int) []Sheet {
	a := toTell(all)
	recent := latest(a, periods)
	use, others := useTables(a)
	known, earlier := findingsTable(a, recent)
	tables := append([]Sheet{summaryTable(all, a, others, earlier)}, use...)
	if s := alikeTable(a); len(s.Rows) > 0 {
		tables = append(tables, s)
	}
	if s := changeTable(a); s.Empty == "" {
		tables = append(tables, s)
	}
	if len(known.Rows) > 0 {
		tables = append(tables, known)
	}
	if len(a.Items) == 0 {
		return tables
	}
	return append(tables, periodTables(a, recent)...)
}

// summaryTable is the summary for a terminal, with what of the whole audit is
// not told there.
func summaryTable(all, told audit.Audit, asBill, earlier []string) Sheet {
	s := OilSummary(told)
	if left := len(all.Items) - len(told.Items); left > 0 {
		s.Empty = ""
		s.Remarks = append(s.Remarks, quietOthers(left, all.Scope)+" The workbook and --json have them.")
	}
	if len(asBill) > 0 {
		s.Remarks = append(s.Remarks, "No job surely takes more or less than the bill says of: "+strings.Join(asBill, "; ")+". The workbook and --json have the estimates.")
	}
	if more := len(earlier) - earlierTold; more > 0 {
		earlier = append(earlier[:earlierTold:earlierTold], fmt.Sprintf("%d more", more))
	}
	if len(earlier) > 0 {
		s.Remarks = append(s.Remarks, "There is something to know about earlier counts of: "+strings.Join(earlier, "; ")+". The workbook has it, too.")
	}
	return s.only(thingsOf(all.Scope).column, "Weeks", "More a week", "Unit", "Latest z", signalColumn, "Since", "A year")
}

// earlierTold is of how many items a terminal says that earlier counts have
// something to know.
const earlierTold = 6

// auditedTold is how many items are told one by one, whatever there is to tell.
const auditedTold = 24

// toTell is the audit with all its items, or, where they are many, with those
// alone of which there is something to tell.
func toTell(a audit.Audit) audit.Audit {
	if len(a.Items) <= auditedTold {
		return a
	}
	a.Items = slices.DeleteFunc(slices.Clone(a.Items), func(of audit.ItemAudit) bool {
		return len(of.Episodes) == 0 && len(of.Changes) == 0 && latestReason(of) == ""
	})
	return a
}

// quietOthers counts those that are not told one by one.
func quietOthers(n int, scope audit.Scope) string {
	return fmt.Sprintf("What left of %s is within what chance explains.", plural(n, "other "+thingsOf(scope).one, "other "+thingsOf(scope).one+"s"))
}

// periodTables are the latest periods: the counts, what the jobs account for,
// how sure that is, and the charts.
func periodTables(a, shown audit.Audit) []Sheet {
	whole := OilPeriods(shown)
	if left := periodsOf(a) - periodsOf(shown); left > 0 {
		whole.Notes = append(whole.Notes, fmt.Sprintf("The latest %d periods of each %s. The workbook and --json have all.", periodsTold, thingsOf(a.Scope).one))
	}
	name := thingsOf(a.Scope).column
	table := func(title string, columns ...string) Sheet {
		s := whole.only(append([]string{name, "Unit", untilColumn}, columns...)...)
		s.Title, s.Notes = title, nil
		return s
	}
	counted := table("What left the shelf by the counts", "Opening", "Received", otherColumn, "Closing", drawnColumn)
	counted.Notes = whole.Notes
	return []Sheet{
		counted,
		table("What the jobs account for", standardColumn, recordedColumn, unrecordedColumn, overColumn),
		table("How sure that is, and what it is worth", "Unrecorded ±", "Unrecorded cost", "Over standard ±", "Over standard cost"),
		table("Where the charts stand, in sigmas", "Sigma", "z", "EWMA", "CUSUM high", "CUSUM low", signalColumn),
	}
}

// latest is the audit with the last so many periods of each item alone.
func latest(a audit.Audit, most int) audit.Audit {
	a.Items = slices.Clone(a.Items)
	for i, of := range a.Items {
		from := max(0, len(of.Periods)-most)
		a.Items[i].Periods = of.Periods[from:]
		a.Items[i].Marks = of.Marks[min(from, len(of.Marks)):]
	}
	return a
}

// periodsOf counts the periods of all items.
func periodsOf(a audit.Audit) int {
	n := 0
	for _, of := range a.Items {
		n += len(of.Periods)
	}
	return n
}

// only is the sheet with the named columns and no others, for the terminal,
// which shows values and not formulas.
func (s Sheet) only(names ...string) Sheet {
	kept := picked(s, names...)
	for i := range kept.Columns {
		kept.Columns[i].Rank = 0
	}
	return kept
}

// measured is an amount that was computed, in an item's measure, as finely as
// its quantities are told.
func measured(x float64, m inventory.Measure) Cell {
	if m == inventory.Each {
		return Figure(x, 2)
	}
	return Figure(x, 1)
}
