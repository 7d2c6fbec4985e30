package workbook

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf16"

	"circlip/inventory"
	"circlip/reports"
	"circlip/reports/plan"
	"circlip/testdata/golden/plans"

	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"
)

func reorderBytes(t testing.TB, p plan.Plan) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := EncodeReorder(&out, p); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// zipParts are the parts of a workbook by name.
func zipParts(t testing.TB, workbook []byte) map[string]string {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(workbook), int64(len(workbook)))
	if err != nil {
		t.Fatal(err)
	}
	parts := map[string]string{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		content, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		parts[f.Name] = string(content)
	}
	return parts
}

// reorderFile is the workbook as excelize reads it.
func reorderFile(t testing.TB, workbook []byte) *excelize.File {
	t.Helper()
	f, err := excelize.OpenReader(bytes.NewReader(workbook))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = f.Close() })
	return f
}

func TestTheWorkbookHasItsSheetsInOrder(t *testing.T) {
	got := strings.Join(reorderFile(t, reorderBytes(t, plans.Plan())).GetSheetList(), "|")
	if want := "Summary|Quillon Seals|Ostermark Fluids & Greases|Tarn Works|Limits|Bring forward|Kits|Chase|Ageing|Why|Oil|Demand|Curve|circlip"; got != want {
		t.Errorf("found %s, expected %s", got, want)
	}
}

// What is set after a stream's end is lost without a word: each of these was
// seen in the written file.
func TestNothingThatBelongsToASheetIsLost(t *testing.T) {
	parts := zipParts(t, reorderBytes(t, plans.Plan()))
	var sheets strings.Builder
	for name, part := range parts {
		if strings.HasPrefix(name, "xl/worksheets/sheet") {
			sheets.WriteString(part)
			if err := xml.Unmarshal([]byte(part), new(struct{ XMLName xml.Name })); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
	rows := []struct {
		what, mark string
		in         string
		count      int
	}{
		{"checks on what may be changed, three an order", "<dataValidation ", sheets.String(), 9},
		{"sheets with charts", "<drawing ", sheets.String(), 2},
		{"heads that stay in sight: all sheets but those that begin with charts, and the summary", "<pane ", sheets.String(), 10},
		{"A4", `paperSize="9"`, sheets.String(), 13},
		{"one page wide", `fitToWidth="1"`, sheets.String(), 13},
		{"as many pages high as needed", `fitToHeight="0"`, sheets.String(), 13},
		{"fitted to the page", `fitToPage="true"`, sheets.String(), 13},
		{"foot with page numbers", "Page &amp;P of &amp;N", sheets.String(), 13},
		{"foot with the day", " 2027-03-01&amp;R", sheets.String(), 13},
		{"foot with the workshop", " Larchfell Bike Park&amp;C", sheets.String(), 13},
		{"heads repeated on every page", "_xlnm.Print_Titles", parts["xl/workbook.xml"], 13},
		{"recalculation when opened", `fullCalcOnLoad="true"`, parts["xl/workbook.xml"], 1},
		{"charts drawn", "<xdr:graphicFrame", parts["xl/drawings/drawing1.xml"] + parts["xl/drawings/drawing2.xml"], 7},
		{"charts told in words", "descr=", parts["xl/drawings/drawing1.xml"] + parts["xl/drawings/drawing2.xml"], 7},
	}
	for _, r := range rows {
		if got := strings.Count(r.in, r.mark); got != r.count {
			t.Errorf("%s: found %q %d times, expected %d", r.what, r.mark, got, r.count)
		}
	}
	if regexp.MustCompile(`<dimension ref="A1"`).MatchString(sheets.String()) {
		t.Error("found a sheet that says it is one cell wide: some readers would see no more")
	}
}

func TestColumnsStandFromLeftToRight(t *testing.T) {
	columns := regexp.MustCompile(`<col min="(\d+)"`)
	for name, part := range zipParts(t, reorderBytes(t, plans.Plan())) {
		for i, found := range columns.FindAllStringSubmatch(part, -1) {
			if want := excelizeNumber(i + 1); found[1] != want {
				t.Fatalf("%s: column %s stands where %s was expected", name, found[1], want)
			}
		}
	}
}

func excelizeNumber(n int) string {
	return strings.TrimLeft(string([]byte{byte('0' + n/10), byte('0' + n%10)}), "0")
}

func TestTheSamePlanGivesTheSameBytes(t *testing.T) {
	first := reorderBytes(t, plans.Plan())
	for range 10 { // the library hands over streamed sheets in a random order
		if !bytes.Equal(first, reorderBytes(t, plans.Plan())) {
			t.Fatal("found other bytes for the same plan")
		}
	}
}

// ownFormula is all that a formula of this workbook may be made of.
var ownFormula = regexp.MustCompile(`^(SUM\([A-Z]+\d+:[A-Z]+\d+\)|IF\(|[A-Z]+\d+|'[^\[\]:*?/\\]+'!|[-+*=>,()]|\d+(\.\d+)?)+$`)

func TestTextOfPeopleIsNeverAFormula(t *testing.T) {
	p := poisonedPlan()
	workbook := reorderBytes(t, p)
	formulas := regexp.MustCompile(`<c r="([A-Z]+\d+)"[^>]*><f>([^<]*)</f>`)
	found := 0
	for name, part := range zipParts(t, workbook) {
		for _, f := range formulas.FindAllStringSubmatch(part, -1) {
			found++
			text := strings.NewReplacer("&gt;", ">", "&lt;", "<", "&#39;", "'", "&amp;", "&").Replace(f[2])
			if !ownFormula.MatchString(text) {
				t.Errorf("%s %s: found the formula %q", name, f[1], text)
			}
		}
	}
	want := 0
	for _, s := range sheetsOf(p) {
		for _, r := range s.Rows {
			for _, c := range r.Cells {
				if c.Formula != nil {
					want++
				}
			}
		}
		for _, total := range s.Totals {
			if total.Value.Formula != nil {
				want++
			}
		}
	}
	if found != want {
		t.Errorf("found %d formulas, expected the program's own %d", found, want)
	}
}

func TestTextOfPeopleComesBackAsItWasTyped(t *testing.T) {
	p := poisonedPlan()
	f := reorderFile(t, reorderBytes(t, p))
	for i, o := range p.Orders {
		tab := f.GetSheetList()[i+1]
		rows, err := f.GetRows(tab)
		if err != nil {
			t.Fatal(err)
		}
		text := map[string]bool{}
		for _, row := range rows {
			for _, cell := range row {
				text[cell] = true
			}
		}
		for _, l := range o.Lines {
			for _, want := range []string{reports.Plain(l.SupplierCode), reports.Plain(l.Item.Name)} {
				if !text[want] {
					t.Errorf("sheet %q: expected a cell that holds %q", tab, want)
				}
			}
		}
	}
}

// sheetsOf are the sheets that the workbook shows.
func sheetsOf(p plan.Plan) []reports.Sheet {
	sheets := []reports.Sheet{reports.Summary(p), reports.Kits(p), reports.Why(p), reports.Oil(p.Oil), reports.Demand(p), reports.Curve(p)}
	sheets = append(sheets, reports.Limits(p), reports.Forward(p), reports.Chase(p), reports.Ageing(p))
	sheets = append(sheets, reports.OrderSheets(p)...)
	return sheets
}

// poisonedPlan has in every text what spreadsheets and page feet could take
// for a command.
func poisonedPlan() plan.Plan {
	hostile := []string{
		"=cmd|'/c calc'!A1", "+1", "-1+1", "@SUM(A1)", "]O'Neill's[*?/\\:", "\x1b[31mred", "a\u202egnp.exe", "👩\u200d🔧🔩 spanner",
		strings.Repeat("x", 300), "_x0041_", "<b>&amp;</b>", "'quoted'", "&D &P &T",
	}
	p := plans.Plan()
	n := 0
	next := func() string {
		n++
		return hostile[n%len(hostile)]
	}
	p.Workshop = "3&D =1+1 " + strings.Repeat("long ", 80)
	for i := range p.Items {
		p.Items[i].Item.Name = next()
	}
	for i := range p.Orders {
		o := &p.Orders[i]
		o.Supplier.Name = next()
		for j := range o.Lines {
			o.Lines[j].SupplierCode, o.Lines[j].Item.Name = next(), next()
		}
	}
	for i := range p.Kits {
		p.Kits[i].Job, p.Kits[i].Unit, p.Kits[i].Services = next(), next(), []string{next()}
	}
	for i := range p.Limits {
		p.Limits[i].Of, p.Limits[i].Allowed, p.Limits[i].Wanted, p.Limits[i].Cut[0].Item.Name = next(), next(), next(), next()
	}
	for i := range p.Forward {
		p.Forward[i].Supplier.Name, p.Forward[i].Why, p.Forward[i].Lines[0].Item.Name = next(), next(), next()
	}
	for i := range p.Chase {
		p.Chase[i].Order, p.Chase[i].Why, p.Chase[i].Jobs = next(), next(), []string{next()}
	}
	for i := range p.Expiring {
		p.Expiring[i].Lot.Code, p.Expiring[i].Item.Name, p.Expiring[i].Jobs = next(), next(), []string{next()}
	}
	p.Warnings = hostile
	return p
}

func TestTabsGetNamesThatSpreadsheetsAccept(t *testing.T) {
	rows := []struct{ rule, supplier, tab string }{
		{"a plain name stays", "Quillon Seals", "Quillon Seals"},
		{"what no tab may hold becomes a space", `a[b]c:d*e?f/g\h`, "a b c d e f g h"},
		{"no quote at either end", "'tis O'Neill's'", "tis O'Neill's"},
		{"nothing left is an order", "[]:*?/\\", "Order"},
		{"no name is an order", "", "Order"},
		{"the word that is taken by history itself", "History", "History (2)"},
		{"names of the program's own tabs give way", "kits", "kits (2)"},
		{"at most 31 characters", strings.Repeat("long", 10), strings.Repeat("long", 7) + "lon"},
		{"characters of two units count twice and stay whole", strings.Repeat("🔩", 20), strings.Repeat("🔩", 15)},
		{"no quote at the end after cutting", strings.Repeat("x", 30) + "'s", strings.Repeat("x", 30)},
		{"control characters and overrides are gone", "a\x1b\u202eb", "ab"},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			p := plan.Plan{AsOf: plans.AsOf}
			o := plan.Order{Supplier: inventory.Supplier{Name: r.supplier}}
			names := tabNames([]reports.Sheet{reports.Summary(p), reports.SupplierOrder(p, o), reports.Kits(p)})
			if names[1] != r.tab {
				t.Errorf("found %q, expected %q", names[1], r.tab)
			}
		})
	}
}

func TestTabNamesAreLegalAndUnlike(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := plan.Plan{AsOf: plans.AsOf}
		sheets := []reports.Sheet{reports.Summary(p), reports.Kits(p)}
		name := rapid.OneOf(rapid.String(), rapid.StringMatching(`(?i)(kits|summary|history|order)( \(2\))?`), rapid.StringMatching(`[a-b\[\]:*?/\\']{28,40}`))
		for range rapid.IntRange(1, 12).Draw(t, "suppliers") {
			sheets = append(sheets, reports.SupplierOrder(p, plan.Order{Supplier: inventory.Supplier{Name: name.Draw(t, "name")}}))
		}
		taken := map[string]bool{"history": true}
		for _, tab := range tabNames(sheets) {
			key := strings.ToLower(tab)
			if taken[key] || tab == "" || len(utf16.Encode([]rune(tab))) > 31 || strings.ContainsAny(tab, `[]:*?/\`) || strings.Trim(tab, "'") != tab {
				t.Fatalf("found the tab %q", tab)
			}
			taken[key] = true
		}
	})
}

func TestTwoSuppliersOfOneNameGetATabEach(t *testing.T) {
	p := plans.Plan()
	for i := range p.Orders {
		p.Orders[i].Supplier.Name = "O'Neill & Sons"
	}
	f := reorderFile(t, reorderBytes(t, p))
	if got := strings.Join(f.GetSheetList()[1:4], "|"); got != "O'Neill & Sons|O'Neill & Sons (2)|O'Neill & Sons (3)" {
		t.Errorf("found %s", got)
	}
	formula, err := f.GetCellFormula("Summary", "G16")
	if err != nil || !strings.HasPrefix(formula, "'O''Neill & Sons (2)'!") {
		t.Errorf("found the formula %q (%v), expected it to look at the second tab", formula, err)
	}
}

func TestAnEmptyPlanIsStillAWorkbook(t *testing.T) {
	p := plan.Plan{AsOf: plans.AsOf, Currency: inventory.Currency{Code: "EUR", Decimals: 2}}
	f := reorderFile(t, reorderBytes(t, p))
	rows, err := f.GetRows("Summary")
	if err != nil {
		t.Fatal(err)
	}
	if last := rows[len(rows)-1]; !strings.HasPrefix(last[0], "Nothing to order") {
		t.Errorf("found %q at the end of the summary, expected what to do next", last)
	}
}

func TestTheFileTakesItsPlaceOnlyWhenItIsWhole(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "reorder.xlsx")
	if err := os.WriteFile(path, []byte("the old one"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := WriteReorder(path, plans.Plan()); err != nil {
		t.Fatal(err)
	}
	content, err := os.ReadFile(path)
	if err != nil || !bytes.Equal(content, reorderBytes(t, plans.Plan())) {
		t.Errorf("found %d bytes (%v), expected the workbook", len(content), err)
	}
	taken := filepath.Join(folder, "taken.xlsx")
	if err := os.Mkdir(taken, 0o755); err != nil {
		t.Fatal(err)
	}
	if err := WriteReorder(taken, plans.Plan()); err == nil || !strings.Contains(err.Error(), "taken.xlsx") {
		t.Errorf("found the error %v, expected one that names the file", err)
	}
	if err := WriteReorder(filepath.Join(folder, "nowhere", "r.xlsx"), plans.Plan()); err == nil {
		t.Error("expected an error for a folder that is not there")
	}
	left, err := filepath.Glob(filepath.Join(folder, ".reorder-*"))
	if err != nil || len(left) > 0 {
		t.Errorf("found %v left behind (%v)", left, err)
	}
}

func TestLinesAreCountedAsTheyBreak(t *testing.T) {
	rows := []struct {
		rule  string
		text  string
		width float64
		lines int
	}{
		{"what fits is one line", "two words", 9, 1},
		{"what does not is two", "two words", 8, 2},
		{"nothing is one line", "", 8, 1},
		{"a word longer than the line goes over several", strings.Repeat("x", 25), 10, 3},
		{"wide characters count twice", "密封圈 密封圈", 7, 2},
	}
	for _, r := range rows {
		if got := linesOf(r.text, r.width); got != r.lines {
			t.Errorf("%s: found %d, expected %d", r.rule, got, r.lines)
		}
	}
}
