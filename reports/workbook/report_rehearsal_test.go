package workbook

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"circlip/reports"
	"circlip/reports/rehearsal"
	"circlip/testdata/golden/plans"
)

func rehearsalBytes(t testing.TB, trials ...rehearsal.Report) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := EncodeRehearsal(&out, trials...); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestTheRehearsalWorkbookHasItsSheetsAndCharts(t *testing.T) {
	rows := []struct {
		rule   string
		trials []rehearsal.Report
		title  string
		charts int // a curve each workshop, two sorts by four horizons of calibration
	}{
		{"one past", []rehearsal.Report{plans.Rehearsal()}, "Rehearsal of 52 weeks · Larchfell Bike Park · 2026-03-02 to 2027-02-28", 1 + 8},
		{"several workshops", plans.Rehearsals(), "Rehearsals of 3 invented workshops of 52 weeks each · target 97.0 %", 3 + 8},
		{"nothing scored", []rehearsal.Report{{Workshop: "Nobody", Currency: plans.Rehearsal().Currency}}, "", 1},
	}
	for _, r := range rows {
		written := rehearsalBytes(t, r.trials...)
		f := reorderFile(t, written)
		if got := strings.Join(f.GetSheetList(), "|"); got != "Summary|Methods|Scores|Calibration" {
			t.Errorf("%s: found the sheets %s", r.rule, got)
		}
		title, err := f.GetCellValue("Summary", "A1")
		if err != nil || (r.title != "" && title != r.title) {
			t.Errorf("%s: found the title %q (%v), expected %q", r.rule, title, err, r.title)
		}
		charts := 0
		for name := range zipParts(t, written) {
			if strings.HasPrefix(name, "xl/charts/chart") {
				charts++
			}
		}
		if charts != r.charts {
			t.Errorf("%s: found %d charts, expected %d", r.rule, charts, r.charts)
		}
		if !bytes.Equal(written, rehearsalBytes(t, r.trials...)) {
			t.Errorf("%s: found other bytes the second time", r.rule)
		}
	}
}

var (
	seriesName   = regexp.MustCompile(`<ser>.*?<tx><strRef><f>([^<]*)</f>`)
	seriesXValue = regexp.MustCompile(`<xVal><strRef><f>([^<]*)</f>`)
	seriesYValue = regexp.MustCompile(`<yVal><numRef><f>([^<]*)</f>`)
)

// The lines of one chart lie over the rows of their ways of ordering, which
// stand below each other in the same columns, and are called after them.
func TestEveryWayOfOrderingHasItsLine(t *testing.T) {
	written := rehearsalBytes(t, plans.Rehearsal())
	f, sheet := reorderFile(t, written), reports.Methods([]rehearsal.Report{plans.Rehearsal()})
	var chart string
	for name, part := range zipParts(t, written) {
		if strings.HasPrefix(name, "xl/charts/chart") && strings.Contains(part, "scatterChart") {
			chart = part
		}
	}
	names, xs, ys := seriesName.FindAllStringSubmatch(chart, -1), seriesXValue.FindAllStringSubmatch(chart, -1), seriesYValue.FindAllStringSubmatch(chart, -1)
	if len(names) != 4 || len(xs) != 4 || len(ys) != 4 {
		t.Fatalf("found %d names, %d and %d ranges, expected four lines: circlip and three methods", len(names), len(xs), len(ys))
	}
	for i, l := range sheet.Charts[0].Layers {
		want := sheet.Rows[l.Rows.First].Cells[1].String()
		tab, cell, _ := strings.Cut(strings.ReplaceAll(strings.ReplaceAll(names[i][1], "&#39;", ""), "'", ""), "!")
		cell = strings.ReplaceAll(cell, "$", "")
		if got, err := f.GetCellValue(tab, cell); err != nil || got != want {
			t.Errorf("line %d: its name %s reads %q (%v), expected %q", i+1, names[i][1], got, err, want)
		}
		first := strings.TrimLeft(cell, "ABCDEFGHIJ")
		if !strings.Contains(xs[i][1], "$E$"+first+":") || !strings.Contains(ys[i][1], "$D$"+first+":") {
			t.Errorf("line %d begins at %s and %s, expected row %s of stock and readiness", i+1, xs[i][1], ys[i][1], first)
		}
	}
	if !strings.Contains(chart, "<legend>") || !strings.Contains(chart, `<max val="3000"`) {
		t.Error("found no legend, or an axis that does not end at 3000")
	}
}

func TestBarsStandWithTheirLine(t *testing.T) {
	bars := 0
	for name, part := range zipParts(t, rehearsalBytes(t, plans.Rehearsal())) {
		if strings.HasPrefix(name, "xl/charts/chart") && strings.Contains(part, "<barChart>") && strings.Contains(part, "<lineChart>") {
			bars++
		}
	}
	if bars != 8 {
		t.Errorf("found %d charts of bars with a line, expected one a horizon for services and for items", bars)
	}
}

func TestNoRehearsalIsNoWorkbook(t *testing.T) {
	path := filepath.Join(t.TempDir(), "rehearsal.xlsx")
	if err := WriteRehearsal(path); !errors.Is(err, errNothing) {
		t.Errorf("found %v, expected %v", err, errNothing)
	}
	left, err := os.ReadDir(filepath.Dir(path))
	if err != nil || len(left) != 0 {
		t.Errorf("found %v left behind (%v), expected nothing", left, err)
	}
	if err := WriteRehearsal(path, plans.Rehearsal()); err != nil {
		t.Fatal(err)
	}
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o644 {
		t.Errorf("found %v (%v), expected a file that all may read", info, err)
	}
}

// What LibreOffice hands back holds the same cells, charts beside them.
func TestLibreOfficeOpensARehearsal(t *testing.T) {
	written := rehearsalBytes(t, plans.Rehearsals()...)
	ours, theirs := reorderFile(t, written), recalculated(t, written)[0]
	for _, tab := range ours.GetSheetList() {
		want, err := ours.GetRows(tab)
		if err != nil {
			t.Fatal(err)
		}
		got, err := theirs.GetRows(tab)
		if err != nil {
			t.Fatal(err)
		}
		if len(got) != len(want) {
			t.Errorf("%s: found %d rows, expected %d", tab, len(got), len(want))
			continue
		}
		for i := range want {
			if strings.Join(got[i], "|") != strings.Join(want[i], "|") {
				t.Errorf("%s, row %d: found %q, expected %q", tab, i+1, got[i], want[i])
			}
		}
	}
}

// A spreadsheet shows #### where a number is wider than its column.
func TestNumbersOfFactsFindRoom(t *testing.T) {
	s := reports.Sheet{
		Name: "Facts", Columns: []reports.Column{{Name: "What"}, {Name: "How many", Kind: reports.CountKind}, {Name: "Of", Kind: reports.CountKind}},
		Facts: []reports.Fact{{Label: "One", Value: reports.Share(-13.515)}, {Label: "A long label that takes the first column", Value: reports.Counted(1_234_567_890)}},
	}
	p := placeSheet(s, "Facts")
	if at := p.factColumn(); p.widths[at] < float64(len("1,234,567,890"))+2 {
		t.Errorf("column %d is %v characters wide, expected room for 1,234,567,890", at+1, p.widths[at])
	}
}
