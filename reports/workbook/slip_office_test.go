package workbook

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"circlip/inventory"
	"circlip/reports/plan"
	"circlip/testdata/golden/plans"

	"github.com/google/go-cmp/cmp"
)

// lean is the plan made by hand without what makes its workbook large.
func lean() plan.Plan {
	p := plainPlan()
	p.Weeks, p.Arrivals, p.Curve, p.Kits, p.Oil.Items = nil, nil, nil, nil, nil
	for i := range p.Items {
		p.Items[i].Week, p.Items[i].Through = nil, nil
	}
	return p
}

// savedByOffice are workbooks as LibreOffice saves them, in one run.
func savedByOffice(t *testing.T, workbooks ...[]byte) (paths []string) {
	t.Helper()
	ours, theirs := t.TempDir(), t.TempDir()
	var files []string
	for i, workbook := range workbooks {
		name := fmt.Sprintf("%03d.xlsx", i)
		files, paths = append(files, filepath.Join(ours, name)), append(paths, filepath.Join(theirs, name))
		if err := os.WriteFile(files[i], workbook, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	convert(t, theirs, "xlsx", files...)
	return paths
}

// officeRules are the rows of badWork that LibreOffice might save otherwise.
var officeRules = []string{
	"text in packs", "a thousand million packs", "a formula", "merged packs", "a merged head",
	"a hidden row", "a hidden column", "a renamed tab", "a hidden tab", "another quantity",
}

func TestAnswersSavedByLibreOfficeAreTheSame(t *testing.T) {
	t.Parallel()
	workbook := reorderBytes(t, lean())
	var all [][]byte
	for _, r := range goodWork {
		all = append(all, edited(t, workbook, quillon, r.work))
	}
	var told [][]string
	for _, r := range badWork {
		if slices.Contains(officeRules, r.rule) {
			all, told = append(all, edited(t, workbook, quillon, r.work)), append(told, r.want)
		}
	}
	paths := savedByOffice(t, all...)
	for i, r := range goodWork {
		t.Run(r.rule, func(t *testing.T) {
			answers, faults, err := ReadAnswers(paths[i])
			if err != nil || len(faults) > 0 || len(answers) != 3 {
				t.Fatal(answers, faults, err)
			}
			sameAnswer(t, answers[0], r.changes, r.note, r.notes)
		})
	}
	for i, want := range told {
		t.Run(want[0], func(t *testing.T) {
			_, faults, err := ReadAnswers(paths[len(goodWork)+i])
			toldOf(t, faults, err, want)
		})
	}
}

func TestADeliverySavedByLibreOfficeIsTheSame(t *testing.T) {
	t.Parallel()
	workbook := deliveryBytes(t, dueOf(sent()))
	filled := edited(t, workbook, "Delivery", came(func(d desk) {
		d.set("H12", 19.95)
		d.set("I12", "0012")
		d.set("J12", "3Q26")
		d.set("K13", int(plans.AsOf)+400+epoch)
		d.set("B9", "yes")
	}))
	price := inventory.Money(19_95)
	want := whole()
	want.Closed = true
	want.Lines[0].Price, want.Lines[0].Lot = &price, "0012"
	want.Lines[0].Cure, _ = inventory.ParseCure("3Q26")
	want.Lines[1].Expires = plans.AsOf + 400
	paths := savedByOffice(t, filled)
	got, faults, err := ReadDelivery(paths[0])
	if err != nil || len(faults) > 0 {
		t.Fatal(faults, err)
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-expected +read)\n%s", diff)
	}
}

func TestLibreOfficeWorksOutTheOrderToSend(t *testing.T) {
	yen := sent()
	yen.Currency = inventory.Currency{Code: "JPY"}
	workbooks := [][]byte{orderBytes(t, sent()), orderBytes(t, yen)}
	for i, judged := range recalculated(t, workbooks...) {
		if n := sameFigures(t, reorderFile(t, workbooks[i]), judged); n != 6 {
			t.Errorf("found %d formulas, expected a quantity and a total a line, goods and all: 6", n)
		}
	}
}

// Both files were saved by LibreOffice, so that what it makes of them is looked
// at where it is not installed, too.
func TestSlipsThatLibreOfficeOnceSavedAreRead(t *testing.T) {
	answers, faults, err := ReadAnswers(filepath.Join(hostile, "reorder.xlsx"))
	if err != nil || len(faults) > 0 || len(answers) != 3 {
		t.Fatal(answers, faults, err)
	}
	for _, a := range answers {
		if len(a.Changes()) > 0 || len(a.Lines) == 0 {
			t.Errorf("order to %s: found %v, expected what was proposed", a.Supplier, a.Changes())
		}
	}
	delivery, faults, err := ReadDelivery(filepath.Join(hostile, "delivery.xlsx"))
	if err != nil || len(faults) > 0 {
		t.Fatal(faults, err)
	}
	if diff := cmp.Diff(whole(), delivery); diff != "" {
		t.Errorf("(-expected +read)\n%s", diff)
	}
}
