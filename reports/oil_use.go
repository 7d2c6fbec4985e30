package reports

import (
	"fmt"
	"slices"

	"circlip/inventory"
	"circlip/inventory/audit"
)

// OilUse is what services, models and people take of each item a job, by the
// periods, beside what the bill of materials allows.
func OilUse(a audit.Audit) Sheet {
	of := thingsOf(a.Scope)
	s := Sheet{
		Key: of.key + " use", Name: "Use", Title: oilTitle("What a job takes", a),
		Notes: []string{
			"Estimated from what was drawn between the counts and which jobs were done. Of a hundred such intervals from .. to, 95 hold the truth, so that about one row in twenty is off by chance alone. Where the periods do not tell two apart, that is said.",
			"By a person says how much, not why: who does the harder jobs takes more.",
		},
		Columns: []Column{
			{Name: of.column}, {Name: "Code", Rank: 5}, {Name: "By", Rank: 1}, {Name: "Of"},
			{Name: "Jobs", Kind: CountKind}, {Name: "Unit"},
			{Name: standardColumn, Kind: NumberKind}, {Name: takesColumn, Kind: NumberKind},
			{Name: "From", Kind: NumberKind}, {Name: "To", Kind: NumberKind},
			{Name: "Says", Wrap: true},
		},
		Empty: "Nothing to tell apart yet. Three counts or more, with jobs done between them, open this sheet; done_by in the book's table jobs opens it by person.",
	}
	for _, item := range bySignal(a) {
		for _, way := range estimatesOf(item) {
			for _, e := range way.estimates {
				s.Rows = append(s.Rows, useRow(a, item, way.by, e))
			}
		}
	}
	return s
}

// takesColumn is what a job is estimated to take.
const takesColumn = "Takes"

// useTables are the same for a terminal, a table an item of which there is
// something to tell: by service all, by model and by person what differs from
// the bill. The others are named.
func useTables(a audit.Audit) (tables []Sheet, others []string) {
	for _, item := range bySignal(a) {
		one := a
		one.Items = []audit.ItemAudit{item}
		s := OilUse(one)
		all := len(s.Rows)
		by, said := s.column("By"), s.column("Says")
		if !signals(item) && !slices.ContainsFunc(s.Rows, func(r Row) bool { return differs(r.Cells[said].String()) }) {
			others = append(others, itemName(item.Item))
			continue
		}
		s.Rows = slices.DeleteFunc(s.Rows, func(r Row) bool {
			return r.Cells[by].String() != string(audit.ByService) && !differs(r.Cells[said].String())
		})
		if len(s.Rows) == 0 {
			continue
		}
		s.Title = fmt.Sprintf("What a job takes of %s, in %s", itemName(item.Item), item.Item.Measure)
		if len(tables) > 0 {
			s.Notes = nil
		}
		if left := all - len(s.Rows); left > 0 {
			s.Remarks = []string{plural(left, "estimate", "estimates") + " by model or person beside these " + oneMany(left, "says", "say") + " nothing against the bill: see the workbook or --json."}
		}
		tables = append(tables, s.only("Of", "Jobs", standardColumn, takesColumn, "From", "To", "Says"))
	}
	return tables, others
}

// differs reports whether an estimate says that the bill is off.
func differs(said string) bool { return said == saysMore || said == saysLess }

// division is the estimates by one way of dividing the jobs.
type division struct {
	by        audit.By
	estimates []audit.Estimate
}

func estimatesOf(of audit.ItemAudit) []division {
	return []division{{audit.ByService, of.Services}, {audit.ByModel, of.Models}, {audit.ByPerson, of.People}}
}

func useRow(a audit.Audit, of audit.ItemAudit, by audit.By, e audit.Estimate) Row {
	m := of.Item.Measure
	said := estimateSays(a, of, by, e)
	return Row{Strong: differs(said), Cells: []Cell{
		Words(itemName(of.Item)), Words(of.Item.Code), Words(string(by)), Words(called(a, by, e.Code)),
		Counted(e.Jobs), Words(string(m)), measured(e.StandardPerJob, m), finite(e.PerJob, m), finite(e.Low, m), finite(e.High, m),
		Words(said),
	}}
}

// What an estimate says.
const (
	saysAsBill = "as the bill says"
	saysMore   = "more than the bill"
	saysLess   = "less than the bill"
	saysNotYet = "not told yet"
)

// fewPeriods is below how many periods of an item nothing is said of who takes
// it: the least that the audit suggests a change on.
const fewPeriods = 6

// estimateSays is what an estimate says of the bill; where it tells nothing, also why.
func estimateSays(a audit.Audit, of audit.ItemAudit, by audit.By, e audit.Estimate) string {
	switch {
	case e.Known && e.Low > e.StandardPerJob:
		return saysMore
	case e.Known && e.High < e.StandardPerJob:
		return saysLess
	case e.Known:
		return saysAsBill
	}
	if len(of.Periods) < fewPeriods {
		return saysNotYet + ": too few counts"
	}
	for _, pair := range of.Alike {
		if pair.By == by && (pair.A == e.Code || pair.B == e.Code) {
			other := pair.A
			if other == e.Code {
				other = pair.B
			}
			return saysNotYet + ": goes with " + called(a, by, other)
		}
	}
	return saysNotYet + ": the interval is too wide"
}

// called is the name of what jobs are divided by.
func called(a audit.Audit, by audit.By, code string) string {
	switch {
	case code == "" && by == audit.ByPerson:
		return "not recorded"
	case by == audit.ByService:
		return serviceCalled(a, code)
	case by == audit.ByModel:
		return modelCalled(a, code)
	}
	return code
}

// finite is an estimate, blank where the periods do not bound it.
func finite(x float64, m inventory.Measure) Cell {
	if bounded(x) == nil {
		return Cell{}
	}
	return measured(x, m)
}
