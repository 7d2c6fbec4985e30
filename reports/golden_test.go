package reports

import (
	"flag"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"circlip/reports/plan"
	"circlip/testdata/golden/plans"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write what the tests got into testdata/golden")

// golden compares got with the approved file, or makes it so with -update.
func golden(t *testing.T, name, got string) {
	t.Helper()
	path := filepath.Join("..", "testdata", "golden", "reports", name)
	if *update {
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("no approved text: %v; look at the output, then go test ./reports -update", err)
	}
	if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(got, "\n")); diff != "" {
		t.Errorf("%s differs (-approved +got); if the change is meant, go test ./reports -update:\n%s", name, diff)
	}
}

// textOf is what the terminal shows of sheets.
func textOf(t *testing.T, sheets ...Sheet) string {
	t.Helper()
	var out strings.Builder
	if err := Text(&out, sheets...); err != nil {
		t.Fatal(err)
	}
	return out.String()
}

func TestWhatPeopleReadIsAsApproved(t *testing.T) {
	p := plans.Plan()
	none := plan.Plan{Workshop: p.Workshop, AsOf: p.AsOf, Currency: p.Currency}
	texts := map[string]string{
		"page.txt":     Page(p),
		"summary.txt":  textOf(t, Summary(p)),
		"orders.txt":   textOf(t, SupplierOrder(p, p.Orders[0]), SupplierOrder(p, p.Orders[1]), SupplierOrder(p, p.Orders[2])),
		"kits.txt":     textOf(t, KitTable(p)),
		"why.txt":      textOf(t, Why(p)),
		"demand.txt":   textOf(t, DemandTable(p)),
		"arrivals.txt": textOf(t, Arrivals(p)),
		"curve.txt":    textOf(t, Curve(p)),
		"limits.txt":   textOf(t, Limits(p), Forward(p)),
		"watch.txt":    textOf(t, Chase(p), Ageing(p)),
		"nothing.txt":  textOf(t, Limits(none), Forward(none), Chase(none), Ageing(none), Curve(none)),
	}
	for name, text := range texts {
		t.Run(name, func(t *testing.T) {
			golden(t, name, text)
			fitsTheTerminal(t, text)
		})
	}
}

// fitsTheTerminal fails on lines that a terminal of 80 columns would break, on
// characters it would act on, and on blanks at the end.
func fitsTheTerminal(t *testing.T, text string) {
	t.Helper()
	for i, line := range strings.Split(text, "\n") {
		switch {
		case width(line) > 80:
			t.Errorf("line %d takes %d columns, expected at most 80: %q", i+1, width(line), line)
		case strings.TrimRight(line, " ") != line:
			t.Errorf("line %d ends in blanks: %q", i+1, line)
		case strings.ContainsFunc(line, func(r rune) bool { return r < ' ' || r == 0x7F || (r >= 0x80 && r < 0xA0) || hidden(r) }):
			t.Errorf("line %d holds characters that a terminal acts on: %q", i+1, line)
		}
	}
}
