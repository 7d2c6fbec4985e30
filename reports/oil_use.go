package reports

import (
	"fmt"
	"strings"
	"unicode"

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
			"Estimated from what was drawn between the counts and which jobs were done. Of a hundred such intervals from .. to, 95 hold the truth. Where the periods do not tell two apart, that is said.",
			"By a person says how much, not why: who does the harder jobs takes more.",
		},
		Columns: []Column{
			{Name: of.column}, {Name: "Code", Rank: 5}, {Name: "By", Rank: 1}, {Name: "Of"},
			{Name: "Jobs", Kind: CountKind}, {Name: "Unit"},
			{Name: standardColumn, Kind: NumberKind}, {Name: "Estimated", Kind: NumberKind},
			{Name: "From", Kind: NumberKind}, {Name: "To", Kind: NumberKind},
			{Name: "Says", Wrap: true},
		},
		Empty: "Nothing to tell apart yet. Three counts or more, with jobs done between them, open this sheet; done_by in the book's table jobs opens it by person.",
	}
	for _, item := range a.Items {
		for _, way := range estimatesOf(item) {
			for _, e := range way.estimates {
				s.Rows = append(s.Rows, useRow(a, item, way.by, e))
			}
		}
	}
	return s
}

// useTable is the same for a terminal: what is told, and by service all.
func useTable(a audit.Audit) Sheet {
	whole := OilUse(a)
	by, says := whole.column("By"), whole.column("Says")
	shown, rows := whole, whole.Rows
	shown.Rows = nil
	for _, r := range rows {
		if said := r.Cells[says].String(); r.Cells[by].String() == string(audit.ByService) || said == saysMore || said == saysLess {
			shown.Rows = append(shown.Rows, r)
		}
	}
	if left := len(rows) - len(shown.Rows); left > 0 {
		shown.Notes = append(shown.Notes, fmt.Sprintf("By model and by person only what differs from the bill. The workbook and --json have %s more.", plural(left, "row", "rows")))
	}
	return shown.only(thingsOf(a.Scope).column, "Of", "Jobs", "Unit", standardColumn, "Estimated", "From", "To", "Says")
}

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
	return Row{Strong: said == saysMore || said == saysLess, Cells: []Cell{
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

// OilAlike is what the periods cannot tell apart, and which weighing would.
func OilAlike(a audit.Audit) Sheet {
	of := thingsOf(a.Scope)
	s := Sheet{
		Key: of.key + " alike", Name: "Alike", Title: oilTitle("What the counts cannot tell apart", a),
		Notes: []string{
			"Where two go up and down together in every period, no arithmetic says which of them takes the more. A count on the evening named lies between the jobs of the one and those of the other.",
		},
		Columns: []Column{
			{Name: of.column}, {Name: "Code", Rank: 5}, {Name: "By", Rank: 2}, {Name: "One"}, {Name: "Other"},
			{Name: "Correlation", Kind: NumberKind, Rank: 1},
			{Name: "Count on", Kind: DateKind},
			{Name: "Jobs of one", Kind: CountKind}, {Name: "Jobs of other", Kind: CountKind},
			{Name: "What to do", Wrap: true, Rank: 3},
		},
		Empty: "Nothing: what the counts tell, they tell of each by itself.",
	}
	for _, item := range a.Items {
		for _, pair := range item.Alike {
			cells := []Cell{
				Words(itemName(item.Item)), Words(item.Item.Code), Words(string(pair.By)), Words(called(a, pair.By, pair.A)), Words(called(a, pair.By, pair.B)),
				Figure(pair.Correlation, 2), Day(pair.WeighOn), Counted(pair.JobsA), Counted(pair.JobsB), Words(howToTell(item.Item, pair)),
			}
			if pair.WeighOn.IsZero() {
				cells[7], cells[8] = Cell{}, Cell{}
			}
			s.Rows = append(s.Rows, Row{Cells: cells})
		}
	}
	return s
}

// alikeTable is the same for a terminal.
func alikeTable(a audit.Audit) Sheet {
	s := OilAlike(a).only(thingsOf(a.Scope).column, "One", "Other", "Count on", "Jobs of one", "Jobs of other")
	s.Remarks = append(s.Remarks, "No day under Count on: none of the booked days tells the two apart.")
	return s
}

// howToTell says which count would tell two apart.
func howToTell(i inventory.Item, pair audit.Alike) string {
	if pair.WeighOn.IsZero() {
		return "no booked day tells them apart: do the jobs of the one in another week than those of the other, and count between"
	}
	verb := "count it"
	if i.Measure != inventory.Each {
		verb = "weigh or measure it"
	}
	return fmt.Sprintf("%s in the evening of %s: %s of the one lie before it, %d of the other", verb, shortDay(pair.WeighOn), plural(pair.JobsA, "job", "jobs"), pair.JobsB)
}

// OilChanges is what the bill of materials should say, and the command that
// takes it over: the old line stays for what was done before.
func OilChanges(a audit.Audit) Sheet {
	of := thingsOf(a.Scope)
	s := Sheet{
		Key: of.key + " changes", Name: "Bill", Title: oilTitle("What the bill of materials should say", a),
		Notes: []string{
			"Look first whether the job takes that much or whether some of it is spilt: a bill that allows a loss hides it. What is taken over holds from its day on; jobs done before are held to the old line.",
		},
		Columns: []Column{
			{Name: "Service"}, {Name: "Model"}, {Name: of.column}, {Name: "Unit"},
			{Name: "Says", Kind: QuantityKind}, {Name: "Should say", Kind: QuantityKind},
			{Name: "A job takes", Kind: NumberKind}, {Name: "From", Kind: NumberKind, Rank: 1}, {Name: "To", Kind: NumberKind, Rank: 1},
			{Name: "Jobs", Kind: CountKind, Rank: 2}, {Name: "Periods", Kind: CountKind, Rank: 2},
			{Name: "To take it over", Wrap: true, Rank: 3},
		},
		Empty: "Nothing: no service is surely off its line of the bill of materials. Six periods with ten jobs of a service are the least that a change is suggested on.",
	}
	for _, item := range a.Items {
		m := item.Item.Measure
		for _, c := range item.Changes {
			s.Rows = append(s.Rows, Row{Cells: []Cell{
				Words(serviceCalled(a, c.Line.Service)), Words(onModel(a, c.Line.Model)), Words(itemName(item.Item)), Words(string(m)),
				Measured(c.Line.Qty, m), Measured(c.Qty, m), measured(c.PerJob, m), finite(c.Low, m), finite(c.High, m),
				Counted(c.Jobs), Counted(c.Periods), Words(reviseCommand(a, item.Item, c)),
			}})
		}
	}
	return s
}

// changeTable is the same for a terminal, with the commands below the table.
func changeTable(a audit.Audit) Sheet {
	whole := OilChanges(a)
	s := whole.only("Service", "Model", thingsOf(a.Scope).column, "Unit", "Says", "Should say", "A job takes", "From", "To")
	for _, r := range whole.Rows {
		s.Remarks = append(s.Remarks, r.Cells[whole.column("To take it over")].String())
	}
	return s
}

func onModel(a audit.Audit, code string) string {
	if code == inventory.AnyModel {
		return "any"
	}
	return modelCalled(a, code)
}

// reviseCommand is what takes a change over from the day of the audit on.
func reviseCommand(a audit.Audit, i inventory.Item, c audit.Change) string {
	command := "circlip book revise " + typed(c.Line.Service) + " " + typed(i.Code) + " " + i.Measure.Format(c.Qty)
	if c.Line.Model != inventory.AnyModel {
		command += " --model " + typed(c.Line.Model)
	}
	return command + " --from " + a.AsOf.String()
}

// typed is a code as it is typed behind a command.
func typed(code string) string {
	plain := func(r rune) bool {
		return unicode.IsLetter(r) || unicode.IsDigit(r) || strings.ContainsRune("._-+/:", r)
	}
	if code != "" && strings.IndexFunc(code, func(r rune) bool { return !plain(r) }) < 0 {
		return code
	}
	return "'" + strings.ReplaceAll(code, "'", `'\''`) + "'"
}

// finite is an estimate, blank where the periods do not bound it.
func finite(x float64, m inventory.Measure) Cell {
	if bounded(x) == nil {
		return Cell{}
	}
	return measured(x, m)
}
