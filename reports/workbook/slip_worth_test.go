package workbook

import (
	"strconv"
	"testing"

	"circlip/inventory"
	"circlip/reports/plan"
	"circlip/testdata/golden/plans"

	"github.com/google/go-cmp/cmp"
)

// plainPlan is the approved plan with nothing that is worth bringing forward, so
// that its order sheets have the lines of the orders alone.
func plainPlan() plan.Plan {
	p := plans.Plan()
	p.Forward = nil
	return p
}

// What is worth bringing forward stands on the order's sheet without packs: left
// alone it is not ordered, and a person who wants it types how many.
func TestALineWithoutPacksIsOrderedWhenItIsGivenSome(t *testing.T) {
	p := plans.Plan()
	workbook := reorderBytes(t, p)
	answers, faults, err := ReadAnswers(saved(t, workbook))
	if err != nil || len(faults) > 0 {
		t.Fatal(faults, err)
	}
	added := answers[0].Proposal.Lines[len(answers[0].Proposal.Lines)-1]
	if added.Packs != 0 || len(answers[0].Lines) != len(p.Orders[0].Lines) || len(answers[0].Changes()) != 0 {
		t.Fatalf("left alone it is %+v, expected the order as it was", answers[0])
	}
	row := 8 + len(answers[0].Proposal.Lines)
	given := edited(t, workbook, quillon, func(d desk) {
		cell := func(column string) string { return column + strconv.Itoa(row) }
		d.set(cell("D"), 2)
		d.set(cell("L"), "with the next parcel")
	})
	answers, faults, err = ReadAnswers(saved(t, given))
	if err != nil || len(faults) > 0 {
		t.Fatal(faults, err)
	}
	if diff := cmp.Diff([]inventory.Change{{Item: added.Item, Proposed: 0, Now: 2}}, answers[0].Changes()); diff != "" {
		t.Errorf("changes (-expected +found)\n%s", diff)
	}
	if note := answers[0].Lines[len(answers[0].Lines)-1].Note; note != "with the next parcel" {
		t.Errorf("note %q", note)
	}
}
