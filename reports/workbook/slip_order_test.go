package workbook

import (
	"os"
	"path/filepath"
	"testing"

	"circlip/inventory"
	"circlip/reports/plan"
	"circlip/testdata/golden/plans"

	"github.com/google/go-cmp/cmp"
)

// asProposed is each order of a plan answered with itself.
func asProposed(p plan.Plan) []inventory.Answer {
	var answers []inventory.Answer
	for _, o := range p.Orders {
		answer := inventory.Answer{Proposal: p.Proposal(o)}
		for _, l := range o.Lines {
			answer.Lines = append(answer.Lines, inventory.AnsweredLine{Item: l.Item.Code, Packs: l.Packs})
		}
		answers = append(answers, answer)
	}
	return answers
}

// saved puts a workbook into a file.
func saved(t testing.TB, workbook []byte) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "slip.xlsx")
	if err := os.WriteFile(path, workbook, 0o600); err != nil {
		t.Fatal(err)
	}
	return path
}

func TestAnOrderLeftAsItIsAnswersWithItself(t *testing.T) {
	answers, faults, err := ReadAnswers(saved(t, reorderBytes(t, plans.Plan())))
	if err != nil || len(faults) > 0 {
		t.Fatal(faults, err)
	}
	if diff := cmp.Diff(asProposed(plans.Plan()), answers); diff != "" {
		t.Errorf("(-proposed +answered)\n%s", diff)
	}
}
