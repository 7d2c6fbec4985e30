package web

import (
	"fmt"
	"html"
	"regexp"
	"slices"
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/reports"
	"circlip/reports/chart"
)

// audited are sheets as an audit has them: sentences over a table, a table too
// wide for a page, a chart with a gap, and a record to be signed.
func audited(name string) []reports.Sheet {
	wide := reports.Sheet{Name: "Periods", Columns: []reports.Column{{Name: "Fluid"}, {Name: "Code", Rank: 5}, {Name: "Until", Kind: reports.DateKind}, {Name: "Unit"}}}
	row := reports.Row{Strong: true, Cells: []reports.Cell{reports.Words(name), reports.Words("OIL"), reports.Day(20600), reports.Words("ml")}}
	for n := range 16 {
		wide.Columns = append(wide.Columns, reports.Column{Name: "Figure " + string(rune('A'+n)), Kind: reports.NumberKind, Rank: n % 6})
		row.Cells = append(row.Cells, reports.Figure(float64(100+n), 1))
	}
	wide.Rows = []reports.Row{row}
	drawn := reports.Sheet{
		Name: name, Notes: []string{name}, Columns: []reports.Column{{Name: "Until", Kind: reports.DateKind}, {Name: "EWMA", Kind: reports.NumberKind}, {Name: "Upper", Kind: reports.NumberKind}},
		Charts: []chart.Chart{chart.Control(name, "the mean of "+name, chart.Rows{First: 1, Count: 3}, "Until", "sigmas", []string{"EWMA"}, []string{"Upper"})},
	}
	for n, mean := range []reports.Cell{reports.Figure(9, 2), reports.Figure(0.5, 2), {}, reports.Figure(-0.5, 2)} {
		drawn.Rows = append(drawn.Rows, reports.Row{Cells: []reports.Cell{reports.Day(inventory.Date(20600 + 7*n)), mean, reports.Figure(1, 2)}})
	}
	return []reports.Sheet{
		{Name: "Summary", Title: name, Notes: []string{name + ": 40 ml a week more", "quiet"}, Columns: []reports.Column{{Name: "Fluid"}}, Rows: []reports.Row{{Cells: []reports.Cell{reports.Words(name)}}},
			Facts: []reports.Fact{{Label: "Fluids", Value: reports.Counted(3)}}, Remarks: []string{name + " counted once"}, Totals: []reports.Total{{Name: "All", Column: "Fluid", Value: reports.Figure(7.5, 1)}}},
		wide, drawn,
		{Name: "Record", Columns: []reports.Column{{Name: "Date"}}, Empty: "Nothing was handed over to " + name, Fields: []reports.Field{{Label: "Carrier, signed"}, {Label: "Document", Value: reports.Words(name)}}},
	}
}

func auditPage(t testing.TB, name string) string {
	t.Helper()
	var page strings.Builder
	if err := Audit(&page, audited(name), "Where the oil went · "+name); err != nil {
		t.Fatal(err)
	}
	return page.String()
}

func TestAnAuditSaysItsSentencesFirst(t *testing.T) {
	page := auditPage(t, "Larch")
	at := -1
	for _, part := range []string{"<h1>Where the oil went · Larch</h1>", `<p class="say">Larch: 40 ml a week more</p>`, `<p class="say">quiet</p>`, "<dt>Fluids</dt><dd>3</dd>", "<table>", "<dt>All</dt><dd>7.5</dd>", `<p class="note">Larch counted once</p>`, "<h2>Periods</h2>", "<svg", "<h2>Record</h2>", "Nothing was handed over to Larch", `<p class="sign">Carrier, signed</p>`, `<p class="sign">Document: Larch</p>`} {
		next := strings.Index(page, part)
		if next <= at {
			t.Errorf("found %q at %d, expected it behind what comes before", part, next)
		}
		at = next
	}
}

func TestATableTooWideForAPageStandsInTwo(t *testing.T) {
	sheets := audited("Larch")
	parts := across(sheets[1])
	if len(parts) != 2 || len(across(sheets[0])) != 1 {
		t.Fatalf("found %d tables, expected two, and one of a small sheet", len(parts))
	}
	var names [2][]string
	for i, p := range parts {
		for _, c := range p.Columns {
			names[i] = append(names[i], c.Name)
		}
		if len(p.Rows) != 1 || len(p.Rows[0].Cells) != len(p.Columns) || !p.Rows[0].Strong || p.Rows[0].Cells[0].String() != "Larch" {
			t.Errorf("table %d: found %v", i, p.Rows)
		}
	}
	for _, c := range sheets[1].Columns[4:] {
		if slices.Contains(names[0], c.Name) == slices.Contains(names[1], c.Name) {
			t.Errorf("found the figure %s twice or not at all in %v", c.Name, names)
		}
	}
	if rank := slices.MaxFunc(parts[1].Columns, func(x, y reports.Column) int { return x.Rank - y.Rank }).Rank; rank != 0 {
		t.Errorf("found the rank %d in the second table, expected a narrow screen to keep all of it", rank)
	}
	if got := strings.Join(names[1][:4], "|"); got != "Fluid|Until|Unit|Figure E" {
		t.Errorf("found the second table to begin with %s, expected what its rows are of", got)
	}
	var want []string
	for _, s := range append([]reports.Sheet{sheets[0]}, append(parts, sheets[2])...) {
		want = append(want, cellsOf(s)...)
	}
	if got := cells(auditPage(t, "Larch")); strings.Join(got, "|") != strings.Join(want, "|") {
		t.Errorf("found\n%q\nexpected\n%q", got, want)
	}
}

func TestAColumnThatSaysNothingIsLeftOut(t *testing.T) {
	said := reports.Sheet{
		Columns: []reports.Column{{Name: "Stream"}, {Name: "Volume", Kind: reports.NumberKind}, {Name: "Weight", Kind: reports.NumberKind}, {Name: "Note"}},
		Rows:    []reports.Row{{Cells: []reports.Cell{reports.Words("oil"), {}, {}, {}}}, {Cells: []reports.Cell{{}, {}, reports.Figure(0, 1), {}}}},
	}
	kept := across(said)[0]
	if len(kept.Columns) != 2 || kept.Columns[1].Name != "Weight" || len(kept.Rows[0].Cells) != 2 || kept.Rows[1].Cells[1].String() != "0.0" {
		t.Errorf("found %v over %v, expected the stream and the weight, which is 0 once", kept.Columns, kept.Rows)
	}
	said.Rows = nil
	if kept := across(said)[0]; len(kept.Columns) != 4 {
		t.Errorf("found %d columns over no row, expected all", len(kept.Columns))
	}
}

func TestASectionIsHeadedWithItsSubject(t *testing.T) {
	rows := []struct {
		rule, title string
		at          int
		want        string
	}{
		{"the first is under the title of the page", "Where the oil went · north bench · Monday 15 June 2026", 0, "Summary"},
		{"others say what they are about", "What a job takes · north bench · Monday 15 June 2026", 1, "What a job takes"},
		{"without a title by their name", "", 1, "Summary"},
	}
	for _, r := range rows {
		if got := called(r.at, reports.Sheet{Name: "Summary", Title: r.title}); got != r.want {
			t.Errorf("%s: found %q, expected %q", r.rule, got, r.want)
		}
	}
}

// periods are so many of each item, numbered.
func periods(each int, first reports.Column, items ...string) reports.Sheet {
	s := reports.Sheet{Name: "Periods", Columns: []reports.Column{first, {Name: "Until", Kind: reports.DateKind}, {Name: "N", Kind: reports.CountKind}}, Remarks: []string{"a remark"}}
	for _, item := range items {
		for n := range each {
			s.Rows = append(s.Rows, reports.Row{Cells: []reports.Cell{reports.Words(item), reports.Day(inventory.Date(20600 + 7*n)), reports.Counted(n)}})
		}
	}
	return s
}

func TestAPageTellsTheLatestPeriodsOfEach(t *testing.T) {
	rows := []struct {
		rule       string
		sheet      reports.Sheet
		kept, left int
		first      string // number of the first row
	}{
		{"few are all told", periods(mostPeriods, reports.Column{Name: "Fluid"}, "a", "b"), 2 * mostPeriods, 0, "0"},
		{"of each item the latest", periods(mostPeriods+4, reports.Column{Name: "Fluid"}, "a", "b"), 2 * mostPeriods, 8, "4"},
		{"of one item the latest", periods(100, reports.Column{Name: "Since", Kind: reports.DateKind}, "", ""), mostPeriods, 200 - mostPeriods, "74"},
	}
	for _, r := range rows {
		whole := len(r.sheet.Rows)
		got := recent(r.sheet)
		if len(got.Rows) != r.kept || got.Rows[0].Cells[2].String() != r.first || len(r.sheet.Rows) != whole || len(r.sheet.Remarks) != 1 {
			t.Errorf("%s: found %d rows from %s on, expected %d from %s", r.rule, len(got.Rows), got.Rows[0].Cells[2], r.kept, r.first)
		}
		if said := strings.Contains(strings.Join(got.Remarks, "|"), fmt.Sprintf("the workbook has %d more", r.left)); said != (r.left > 0) {
			t.Errorf("%s: found the remarks %q", r.rule, got.Remarks)
		}
	}
	record := periods(100, reports.Column{Name: "Carrier"}, "a")
	record.Columns[1].Name = "Date"
	if got := recent(record); len(got.Rows) != 100 {
		t.Errorf("found %d rows of a record, expected all", len(got.Rows))
	}
}

// The picture shows the rows that the chart names, and no value where a cell is
// blank.
func TestAChartIsDrawnFromTheCells(t *testing.T) {
	page := auditPage(t, "Larch")
	svg := page[strings.Index(page, "<svg"):strings.Index(page, "</svg>")]
	if strings.Contains(svg, "2026-05-27") || !strings.Contains(svg, ">2026-06-03<") || !strings.Contains(svg, ">2026-06-17<") {
		t.Errorf("found other days than those of the chart's rows in %s", svg)
	}
	if line := regexp.MustCompile(`class="line line1" d="([^"]*)"`).FindStringSubmatch(svg); strings.Count(line[1], "M") != 2 || strings.Contains(line[1], "L") {
		t.Errorf("found the line %q, expected two points with a gap between", line[1])
	}
	for _, words := range []string{`role="img"`, "<title>Larch</title>", "<desc>the mean of Larch</desc>"} {
		if strings.Count(page, "<svg") != strings.Count(page, words) {
			t.Errorf("expected %s in every chart", words)
		}
	}
	if !strings.Contains(page, "<figcaption><b>Larch.</b> the mean of Larch.</figcaption>") {
		t.Error("expected the chart's words for those who see it, too")
	}
}

func TestWhatCannotBeDrawnIsAnError(t *testing.T) {
	sheet := audited("Larch")[2]
	sheet.Charts = []chart.Chart{chart.Path("Curve", "", chart.Rows{Count: 1}, "EWMA", "", "Upper", "")}
	var page strings.Builder
	if err := Audit(&page, []reports.Sheet{sheet}, "x"); err == nil || !strings.Contains(err.Error(), "Curve") {
		t.Errorf("found %v, expected the chart to be named", err)
	}
}

func TestAnAuditIsWholeByItself(t *testing.T) {
	page := auditPage(t, nasty)
	for _, found := range tag.FindAllString(page, -1) {
		for _, foreign := range []string{"<script", "<link", "<img", "<iframe", "src=", "href=", "url(", "style=\"", " on", "<use", "<foreignobject"} {
			if strings.Contains(strings.ToLower(found), foreign) {
				t.Errorf("found %q in %s", foreign, found)
			}
		}
	}
	if sheet := styleSheet.FindString(page); strings.Contains(sheet, "url(") || strings.Contains(sheet, "@import") {
		t.Error("found a style that loads")
	}
	for _, must := range []string{"<!doctype html>", `lang="en-GB"`, "width=device-width", "default-src 'none'", "A4 landscape", "prefers-color-scheme: dark", "@media print"} {
		if !strings.Contains(page, must) {
			t.Errorf("expected %q", must)
		}
	}
	if body := page[strings.Index(page, "<body>"):strings.Index(page, "</html>")]; wellFormed(body) != nil {
		t.Errorf("%v in\n%s", wellFormed(body), body)
	}
	if strings.Contains(page, "ZgotmplZ") || strings.Contains(page, "\u202e") {
		t.Error("found a name that acts")
	}
}

func TestNamesStayTextInAnAudit(t *testing.T) {
	harmless := shape(auditPage(t, "Larch"))
	for _, text := range hostile {
		page := auditPage(t, text)
		if got := shape(page); got != harmless {
			t.Errorf("named %.40q it has other elements:\n%.600s\nexpected\n%.600s", text, got, harmless)
		}
		if words := html.UnescapeString(tag.ReplaceAllString(page, "")); strings.Count(words, reports.Plain(text)) < 9 {
			t.Errorf("named %.40q it does not show it everywhere", text)
		}
	}
}

func TestARecordOfUsedFluidsIsCalledAfterItsFirstSheet(t *testing.T) {
	var some, none strings.Builder
	if err := Disposal(&some, audited("Larch")); err != nil || !strings.Contains(some.String(), "<h1>Larch</h1>") || !strings.Contains(some.String(), `<p class="sign">Carrier, signed</p>`) {
		t.Errorf("%v\n%s", err, some.String())
	}
	if err := Disposal(&none, nil); err != nil || !strings.Contains(none.String(), "<h1>Used fluids</h1>") || !strings.Contains(none.String(), "There is nothing to be shown.") {
		t.Errorf("%v\n%s", err, none.String())
	}
}
