package reports

import (
	"fmt"
	"strings"
	"unicode"

	"circlip/inventory"
	"circlip/inventory/audit"
)

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

// changeTable is the same for a terminal: a sentence a line, with the command
// below it.
func changeTable(a audit.Audit) Sheet {
	s := OilChanges(a)
	s.Rows = nil
	for _, item := range a.Items {
		for _, c := range item.Changes {
			s.Remarks = append(s.Remarks, changeSentence(a, item.Item, c), reviseCommand(a, item.Item, c))
		}
	}
	if len(s.Remarks) > 0 {
		s.Empty = ""
	}
	return s
}

func changeSentence(a audit.Audit, i inventory.Item, c audit.Change) string {
	m := i.Measure
	return fmt.Sprintf("%s on %s, %s: %s instead of %s. A %s.",
		serviceCalled(a, c.Line.Service), onModel(a, c.Line.Model), itemName(i), quantity(c.Qty, m), quantity(c.Line.Qty, m), jobTakes(c, m))
}

// jobTakes is what a change rests on.
func jobTakes(c audit.Change, m inventory.Measure) string {
	return fmt.Sprintf("job takes %s, waste included, between %s and %s (%s in %s)",
		measured(c.PerJob, m), finite(c.Low, m), finite(c.High, m), plural(c.Jobs, "job", "jobs"), plural(c.Periods, "period", "periods"))
}

// ChangeEvidence is the note that a changed line of the bill of materials keeps:
// what it said, and what the audit of that day rests the change on.
func ChangeEvidence(c audit.Change, item inventory.Item, on inventory.Date) string {
	return fmt.Sprintf("was %s; audit of %s: a %s", quantity(c.Line.Qty, item.Measure), on, jobTakes(c, item.Measure))
}

func onModel(a audit.Audit, code string) string {
	if code == inventory.AnyModel {
		return "any model"
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
