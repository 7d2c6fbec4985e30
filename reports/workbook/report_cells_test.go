package workbook

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/reports"
	"circlip/testdata/golden/plans"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
)

var update = flag.Bool("update", false, "write what the tests got into testdata/golden")

// The approved text holds every cell of the workbook: where it stands, what it
// shows as a reader formats it, and the formula behind it.
func TestEveryCellIsAsApproved(t *testing.T) {
	f := reorderFile(t, reorderBytes(t, plans.Plan()))
	var out strings.Builder
	for _, tab := range f.GetSheetList() {
		fmt.Fprintf(&out, "== %s\n", tab)
		rows, err := f.GetRows(tab)
		if err != nil {
			t.Fatal(err)
		}
		for r, row := range rows {
			for c, shown := range row {
				cell, err := excelize.CoordinatesToCellName(c+1, r+1)
				if err != nil {
					t.Fatal(err)
				}
				formula, err := f.GetCellFormula(tab, cell)
				if err != nil {
					t.Fatal(err)
				}
				if formula != "" {
					formula = "\t=" + formula
				}
				if shown != "" || formula != "" {
					fmt.Fprintf(&out, "%s\t%s%s\n", cell, strings.ReplaceAll(shown, "\n", " / "), formula)
				}
			}
		}
	}
	path := filepath.Join("..", "..", "testdata", "golden", "reports", "workbook.txt")
	if *update {
		if err := os.WriteFile(path, []byte(out.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatalf("no approved text: %v; look at the workbook, then go test ./reports/workbook -update", err)
	}
	if diff := cmp.Diff(strings.Split(string(want), "\n"), strings.Split(out.String(), "\n")); diff != "" {
		t.Errorf("the workbook differs (-approved +got); if the change is meant, go test ./reports/workbook -update:\n%s", diff)
	}
}

// placed is a sheet of two rows below a note, its table's head in row 4.
func placed(columns ...string) *placedSheet {
	s := reports.Sheet{Key: "key", Title: "Title", Notes: []string{"Note"}}
	for _, name := range columns {
		s.Columns = append(s.Columns, reports.Column{Name: name, Kind: reports.CountKind})
	}
	for range 2 {
		s.Rows = append(s.Rows, reports.Row{Cells: make([]reports.Cell, len(columns))})
	}
	last := columns[len(columns)-1]
	s.Totals = []reports.Total{{Name: "Goods", Column: last}, {Name: "Carriage", Column: last}}
	return placeSheet(s, "O'Neill")
}

func TestFormulasAreWrittenInCells(t *testing.T) {
	p := placed("a", "b", "c", "d")
	b := &reportBook{byKey: map[string]*placedSheet{"key": p}}
	euro := inventory.Currency{Code: "EUR", Decimals: 2}
	yen := inventory.Currency{Code: "JPY"}
	rows := []struct {
		rule    string
		formula *reports.Formula
		want    string
	}{
		{"a value of its own", nil, ""},
		{"a formula with nothing set is none", &reports.Formula{}, ""},
		{"columns of the row multiplied", &reports.Formula{Product: []string{"a", "c"}}, "A5*C5"},
		{"two columns added", &reports.Formula{Add: []string{"a", "b"}}, "A5+B5"},
		{"three that stand side by side are a range, blanks and all", &reports.Formula{Add: []string{"a", "b", "c"}}, "SUM(A5:C5)"},
		{"three that do not are added one by one", &reports.Formula{Add: []string{"a", "b", "d"}}, "A5+B5+D5"},
		{"some taken off", &reports.Formula{Add: []string{"a", "b"}, Less: []string{"d"}}, "A5+B5-D5"},
		{"a column over all rows", &reports.Formula{ColumnSum: "d"}, "SUM(D5:D6)"},
		{"totals added", &reports.Formula{TotalSum: []string{"Goods", "Carriage"}}, "D7+D8"},
		{"a total of another sheet, its name quoted", &reports.Formula{Sheet: "key", Total: "Carriage"}, "'O''Neill'!D8"},
		{"carriage that is always asked", &reports.Formula{Carriage: &reports.Carriage{Of: "Goods", Ordered: "b", Flat: 690, Currency: euro}}, "IF(SUM(B5:B6)=0,0,6.90)"},
		{"carriage that is free from an amount on", &reports.Formula{Carriage: &reports.Carriage{Of: "Goods", Ordered: "b", Flat: 690, FreeFrom: 15000, Free: true, Currency: euro}}, "IF(SUM(B5:B6)=0,0,IF(D7>=150.00,0,6.90))"},
		{"carriage in a currency without decimals", &reports.Formula{Carriage: &reports.Carriage{Of: "Goods", Ordered: "b", Flat: 690, Currency: yen}}, "IF(SUM(B5:B6)=0,0,690)"},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			if got := b.formula(p, r.formula, 5); got != r.want {
				t.Errorf("found %q, expected %q", got, r.want)
			}
		})
	}
}

func TestPartsOfASheetStandBelowEachOther(t *testing.T) {
	s := reports.Sheet{Title: "T", Columns: []reports.Column{{Name: "a"}}, Empty: "nothing"}
	rows := []struct {
		rule                                       string
		change                                     func(*reports.Sheet)
		facts, chart, head, first, totals, remarks int
		last                                       int
	}{
		{"a title and a table of one line that says it is empty", func(*reports.Sheet) {}, 0, 0, 3, 4, 0, 0, 4},
		{"notes below the title", func(s *reports.Sheet) { s.Notes = []string{"n", "n"} }, 0, 0, 5, 6, 0, 0, 6},
		{"facts with a free row before and after", func(s *reports.Sheet) { s.Facts = make([]reports.Fact, 2) }, 3, 0, 6, 7, 0, 0, 7},
		{"totals right below the rows", func(s *reports.Sheet) {
			s.Rows = []reports.Row{{Cells: make([]reports.Cell, 1)}, {Cells: make([]reports.Cell, 1)}}
			s.Totals = []reports.Total{{Name: "t", Column: "a"}}
		}, 0, 0, 3, 4, 6, 0, 6},
		{"remarks with a free row before", func(s *reports.Sheet) { s.Remarks = []string{"r"} }, 0, 0, 3, 4, 0, 6, 6},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			s := s
			r.change(&s)
			p := placeSheet(s, "tab")
			got := [7]int{p.facts, p.chartRow, p.head, p.first, p.totals, p.remarks, p.last}
			if want := [7]int{r.facts, r.chart, r.head, r.first, r.totals, r.remarks, r.last}; got != want {
				t.Errorf("found facts, charts, head, first, totals, remarks, last in rows %v, expected %v", got, want)
			}
		})
	}
}

func TestNumbersAreFormattedByWhatTheyAre(t *testing.T) {
	rows := []struct {
		rule  string
		style reportStyle
		want  string
	}{
		{"text stays text, also when it is typed over", reportStyle{kind: reports.TextKind}, "@"},
		{"dates as ISO 8601 has them", reportStyle{kind: reports.DateKind}, "yyyy-mm-dd"},
		{"pieces are whole", reportStyle{kind: reports.QuantityKind}, "#,##0"},
		{"pieces among millilitres leave room for the tenth", reportStyle{kind: reports.QuantityKind, mixed: true}, "#,##0_._0"},
		{"millilitres have a tenth", reportStyle{kind: reports.QuantityKind, decimals: 1, mixed: true}, "#,##0.0"},
		{"euros have cents", reportStyle{kind: reports.MoneyKind, decimals: 2}, "#,##0.00"},
		{"yen have none", reportStyle{kind: reports.MoneyKind}, "#,##0"},
		{"shares are percents", reportStyle{kind: reports.ShareKind, decimals: 1}, "0.0%"},
	}
	for _, r := range rows {
		if got := r.style.numberFormat(); got != r.want {
			t.Errorf("%s: found %q, expected %q", r.rule, got, r.want)
		}
	}
}

func TestWhatAPersonMayChangeIsSeen(t *testing.T) {
	edit := reportStyle{kind: reports.CountKind, edit: true}.excelize()
	plain := reportStyle{kind: reports.CountKind}.excelize()
	if len(edit.Border) <= len(plain.Border) || len(edit.Fill.Color) == 0 || len(plain.Fill.Color) != 0 {
		t.Errorf("found %+v beside %+v, expected a frame and a fill on the first only", edit, plain)
	}
}

func TestEveryStyleNamesItsTypeface(t *testing.T) {
	for role := bodyRole; role <= totalRole; role++ {
		for _, strong := range []bool{false, true} {
			style := reportStyle{role: role, strong: strong}.excelize()
			if style.Font == nil || style.Font.Family != reportFont {
				t.Errorf("role %d: found the font %+v, expected %s: a bold one without a name shows as another face", role, style.Font, reportFont)
			}
		}
	}
}

func TestTheFootTakesNoCommandsFromNames(t *testing.T) {
	rows := []struct{ rule, name, want string }{
		{"a plain name", "Larchfell", " Larchfell"},
		{"an ampersand would begin a command", "Bike & Co &D", " Bike && Co &&D"},
		{"a digit would belong to the size of the font before it", "3 Peaks", " 3 Peaks"},
		{"a long one is cut", strings.Repeat("x", 100), " " + strings.Repeat("x", 60)},
	}
	for _, r := range rows {
		if got := footText(r.name); got != r.want {
			t.Errorf("%s: found %q, expected %q", r.rule, got, r.want)
		}
	}
	p := plans.Plan()
	p.Workshop = strings.Repeat("&", 200)
	foot := regexp.MustCompile(`<oddFooter>([^<]*)</oddFooter>`).FindStringSubmatch(zipParts(t, reorderBytes(t, p))["xl/worksheets/sheet1.xml"])
	if text := strings.NewReplacer("&amp;", "&", "&#34;", `"`).Replace(foot[1]); len(text) > 255 {
		t.Errorf("found a foot of %d characters, expected at most 255", len(text))
	}
}

func TestChartsShareTheWidthOfTheTable(t *testing.T) {
	p := placed("a", "b", "c", "d")
	whole := p.pixels(4)
	for _, want := range []int{0, whole / 3, whole / 2, whole - 1} {
		column, offset := p.at(want)
		if got := p.pixels(column-1) + offset; got != want || offset >= p.pixels(column)-p.pixels(column-1) {
			t.Errorf("pixel %d: found column %d and %d more, which is pixel %d", want, column, offset, got)
		}
	}
}

func TestBandsAreStackedOnAClearPart(t *testing.T) {
	drawn := strings.ReplaceAll(zipParts(t, reorderBytes(t, plans.Plan()))["xl/charts/chart1.xml"], "&#39;", "'")
	areas, lines, found := strings.Cut(drawn, "<lineChart>")
	if !found || !strings.Contains(areas, `<areaChart><grouping val="stacked">`) {
		t.Fatalf("expected stacked areas and then a line, found:\n%s", drawn)
	}
	rows := []struct{ rule, in, mark string }{
		{"the clear part is the low quantile of the first item's eight weeks", areas, "<f>'Demand'!$G$55:$G$62</f>"},
		{"and is seen through", areas, `<a:alpha val="0">`},
		{"the band is the distance to the high one", areas, "<f>'Demand'!$K$55:$K$62</f>"},
		{"the line is the median", lines, "<f>'Demand'!$H$55:$H$62</f>"},
		{"it is named by the head of its column", lines, "<f>'Demand'!$H$54</f>"},
		{"weeks run along the axis", lines, "<f>'Demand'!$E$55:$E$62</f>"},
	}
	for _, r := range rows {
		if !strings.Contains(r.in, r.mark) {
			t.Errorf("%s: expected %s in:\n%s", r.rule, r.mark, r.in)
		}
	}
	if strings.Index(areas, "$G$55") > strings.Index(areas, "$K$55") {
		t.Error("found the band below its clear part")
	}
}
