package reports

import (
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/testdata/golden/plans"
)

func TestTheKitTableSaysWhatIsOnTheBench(t *testing.T) {
	rows := []struct {
		rule string
		job  inventory.JobKit
		want string
	}{
		{"a unit of the book", inventory.JobKit{Services: []string{"fork-full"}, Unit: "rental-07", Model: "fell-150"}, "fork-full on rental-07"},
		{"the model of a unit that is not in the book", inventory.JobKit{Services: []string{"fork-full"}, Model: "fell-150"}, "fork-full on fell-150"},
		{"several services", inventory.JobKit{Services: []string{"fork-full", "wash"}, Unit: "rental-07"}, "fork-full and wash on rental-07"},
		{"nothing known of the unit", inventory.JobKit{Services: []string{"fork-full"}}, "fork-full"},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			if got := (jobShortage{JobKit: r.job}).onTheBench(); got != r.want {
				t.Errorf("found %q, expected %q", got, r.want)
			}
		})
	}
}

// Whoever reads the list in the morning reads every job, once.
func TestTheKitTableNamesEachJobOnce(t *testing.T) {
	p := plans.Plan()
	s := KitTable(p)
	named := map[string]int{}
	for _, r := range s.Rows {
		if job := r.Cells[0].String(); job != "" {
			named[job]++
		}
		if r.Cells[len(r.Cells)-1].Blank() {
			t.Errorf("found a row that says nothing: %+v", r)
		}
	}
	for _, k := range p.Kits {
		if named[k.Job] != 1 {
			t.Errorf("found job %s %d times, expected it once", k.Job, named[k.Job])
		}
	}
	if len(s.Rows) != len(Kits(p).Rows) {
		t.Errorf("found %d rows, expected the %d of the workbook's sheet", len(s.Rows), len(Kits(p).Rows))
	}
	if text := textOf(t, s); strings.Contains(text, "Not shown") || strings.Contains(text, "…") {
		t.Errorf("expected every column and no text cut at 80 columns, found:\n%s", text)
	}
}
