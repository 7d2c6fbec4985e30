package workbook

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf16"

	"circlip/inventory"
	"circlip/inventory/audit"
	"circlip/reports"
	"circlip/reports/chart"
	"circlip/testdata/golden/plans"
)

func auditBytes(t testing.TB, a audit.Audit) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := EncodeAudit(&out, a); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// chartParts are the charts of a workbook.
func chartParts(t testing.TB, workbook []byte) (charts []string) {
	t.Helper()
	for name, part := range zipParts(t, workbook) {
		if strings.HasPrefix(name, "xl/charts/chart") {
			charts = append(charts, part)
		}
	}
	return charts
}

// manyFluids is the audit with so many fluids more, all of one name that no tab
// may have.
func manyFluids(n int) audit.Audit {
	a := plans.Audit()
	a.Items = a.Items[:1:1]
	for i := range n {
		of := a.Items[0]
		of.Item.Code, of.Item.Name = fmt.Sprintf("OIL-%02d", i), "'Damper oil [2.5] for forks/shocks: any maker's, 漢字 too'"
		a.Items = append(a.Items, of)
	}
	return a
}

func TestTheAuditWorkbookHasItsSheetsAndCharts(t *testing.T) {
	nobody := audit.Audit{Workshop: "Nobody", Currency: plans.Audit().Currency}
	rows := []struct {
		rule   string
		audit  audit.Audit
		charts int // two an item
	}{
		{"fluids", plans.Audit(), 2 * len(plans.Audit().Items)},
		{"pieces", plans.PartsAudit(), 2 * len(plans.PartsAudit().Items)},
		{"nothing counted yet", nobody, 0},
		{"forty fluids", manyFluids(39), 80},
	}
	for _, r := range rows {
		written, sheets := auditBytes(t, r.audit), reports.OilSheets(r.audit)
		f := reorderFile(t, written)
		tabs := f.GetSheetList()
		if len(tabs) != len(sheets) || tabs[0] != "Summary" {
			t.Errorf("%s: found the sheets %v, expected %d, the summary first", r.rule, tabs, len(sheets))
			continue
		}
		seen := map[string]bool{}
		for i, tab := range tabs {
			title, err := f.GetCellValue(tab, "A1")
			if err != nil || title != reports.Plain(sheets[i].Title) {
				t.Errorf("%s: sheet %s: found the title %q (%v), expected %q", r.rule, tab, title, err, sheets[i].Title)
			}
			if seen[strings.ToLower(tab)] || len(utf16.Encode([]rune(tab))) > tabRunes || strings.ContainsAny(tab, `[]:*?/\`) {
				t.Errorf("%s: found the tab %q", r.rule, tab)
			}
			seen[strings.ToLower(tab)] = true
		}
		if n := len(chartParts(t, written)); n != r.charts {
			t.Errorf("%s: found %d charts, expected %d", r.rule, n, r.charts)
		}
		if !bytes.Equal(written, auditBytes(t, r.audit)) {
			t.Errorf("%s: found other bytes the second time", r.rule)
		}
	}
}

func TestAnAuditIsCalledAfterWhatItIsOf(t *testing.T) {
	for title, a := range map[string]audit.Audit{"Oil audit": plans.Audit(), "Parts audit": plans.PartsAudit()} {
		props, err := reorderFile(t, auditBytes(t, a)).GetDocProps()
		if err != nil || props.Title != title+" of "+a.AsOf.String() {
			t.Errorf("found the title %q (%v), expected %s", props.Title, err, title)
		}
	}
}

var (
	seriesCells = regexp.MustCompile(`<ser>.*?<tx><strRef><f>([^<]*)</f>.*?<cat><strRef><f>([^<]*)</f>.*?<val><numRef><f>([^<]*)</f>`)
	seriesWhole = regexp.MustCompile(`<ser>.*?</ser>`)
)

// Lines lie over the cells of their column, limits are dashed, and the upright
// axis goes below zero with the days at its foot.
func TestControlChartsLieOverTheirCells(t *testing.T) {
	a := plans.Audit()
	a.Items = a.Items[:1]
	written := auditBytes(t, a)
	f := reorderFile(t, written)
	sheet := reports.OilChart(a, a.Items[0])
	charts := chartParts(t, written)
	if len(charts) != len(sheet.Charts) {
		t.Fatalf("found %d charts, expected %d", len(charts), len(sheet.Charts))
	}
	for _, part := range charts {
		c := sheet.Charts[0]
		if strings.Contains(part, "CUSUM") {
			c = sheet.Charts[1]
		}
		cells, whole := seriesCells.FindAllStringSubmatch(part, -1), seriesWhole.FindAllString(part, -1)
		if len(cells) != len(c.Layers) || len(whole) != len(c.Layers) {
			t.Fatalf("%s: found %d lines, expected %d", c.Title, len(cells), len(c.Layers))
		}
		for i, l := range c.Layers {
			tab, head, _ := strings.Cut(strings.NewReplacer("&#39;", "", "'", "", "$", "").Replace(cells[i][1]), "!")
			if name, err := f.GetCellValue(tab, head); err != nil || name != l.Column {
				t.Errorf("%s: line %d is called by %s, which reads %q (%v), expected %s", c.Title, i+1, head, name, err, l.Column)
			}
			column := strings.TrimRight(head, "0123456789")
			if !strings.Contains(cells[i][3], "$"+column+"$") || !strings.Contains(cells[i][2], "$A$") {
				t.Errorf("%s: line %s lies over %s and %s, expected column %s over the days", c.Title, l.Column, cells[i][3], cells[i][2], column)
			}
			if dashed := strings.Contains(whole[i], `<prstDash val="dash"`) || strings.Contains(whole[i], `<a:prstDash val="dash"`); dashed != (l.Group > 0) {
				t.Errorf("%s: line %s dashed: %v", c.Title, l.Column, dashed)
			}
		}
		if strings.Contains(part, "<min ") || !strings.Contains(part, `<tickLblPos val="low"`) || !strings.Contains(part, `<legendPos val="b"`) {
			t.Errorf("%s: expected an axis without an end, days at its foot and a legend", c.Title)
		}
	}
}

// What stands below zero elsewhere is cut off; a chart that is not signed keeps
// its axis from zero.
func TestOnlySignedChartsGoBelowZero(t *testing.T) {
	for _, part := range chartParts(t, reorderBytes(t, plans.Plan())) {
		if !strings.Contains(part, `<min val="0"`) {
			t.Errorf("found a chart whose axis does not begin at 0: %.300s", part)
		}
	}
	if c := chart.Control("", "", chart.Rows{}, "", "", nil, nil); !c.Signed {
		t.Error("found a control chart that is not signed")
	}
}

func TestAnAuditIsWrittenWhole(t *testing.T) {
	path := filepath.Join(t.TempDir(), "audit.xlsx")
	if err := WriteAudit(path, plans.Audit()); err != nil {
		t.Fatal(err)
	}
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o644 {
		t.Errorf("found %v (%v), expected a file that all may read", info, err)
	}
	if err := WriteAudit(filepath.Join(path, "no", "audit.xlsx"), plans.Audit()); err == nil || !strings.Contains(err.Error(), "audit workbook") {
		t.Errorf("found %v, expected it to say what was not written", err)
	}
}

// Another engine than ours works out the differences, and reads every cell.
func TestLibreOfficeWorksOutAnAudit(t *testing.T) {
	t.Parallel()
	a := manyFluids(3)
	a.Items = append(a.Items, plans.Audit().Items[1:]...)
	a.Items[0].Item.Name = `=1+1 & <b>"` + "\u202e"
	a.Currency = inventory.Currency{Code: "JPY"}
	written := auditBytes(t, a)
	ours, theirs := reorderFile(t, written), recalculated(t, written)[0]
	periods := 0
	for _, of := range a.Items {
		periods += len(of.Periods)
	}
	if n := sameFigures(t, ours, theirs); n < 3*periods {
		t.Errorf("found %d formulas, expected drawn, unrecorded and over standard of %d periods", n, periods)
	}
	for _, tab := range ours.GetSheetList() {
		want, err := ours.GetRows(tab)
		if err != nil {
			t.Fatal(err)
		}
		got, err := theirs.GetRows(tab)
		if err != nil {
			t.Fatal(err)
		}
		for i := range min(len(want), len(got)) {
			if strings.Join(got[i], "|") != strings.Join(want[i], "|") {
				t.Errorf("%s, row %d: found %q, expected %q", tab, i+1, got[i], want[i])
			}
		}
		if len(got) != len(want) {
			t.Errorf("%s: found %d rows, expected %d", tab, len(got), len(want))
		}
	}
}
