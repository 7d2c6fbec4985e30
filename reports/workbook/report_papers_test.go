package workbook

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/reports"
	"circlip/testdata/golden/plans"

	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"
)

func benchPapers(shop inventory.Shop) reports.Papers {
	return reports.PapersOfDay(shop, inventory.Kits(shop), shop.AsOf)
}

func benchBytes(t interface{ Fatal(...any) }, p reports.Papers) []byte {
	var out bytes.Buffer
	if err := EncodeBench(&out, p); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// textsOf are all texts of a tab, from left to right and top to bottom.
func textsOf(t *testing.T, f *excelize.File, tab string) []string {
	t.Helper()
	rows, err := f.GetRows(tab)
	if err != nil {
		t.Fatal(err)
	}
	var texts []string
	for _, r := range rows {
		for _, text := range r {
			if text != "" {
				texts = append(texts, text)
			}
		}
	}
	return texts
}

func TestEveryJobHasItsCardOnATab(t *testing.T) {
	p := benchPapers(plans.Bench())
	f := reorderFile(t, benchBytes(t, p))
	if got, want := f.GetSheetList(), []string{"Pick list", "Job J201", "Job J204", "Job J205", "Job J206"}; !slices.Equal(got, want) {
		t.Fatalf("found the tabs %q, expected %q", got, want)
	}
	for _, c := range p.Cards {
		var want []string
		add := func(texts ...string) {
			want = append(want, slices.DeleteFunc(texts, func(s string) bool { return s == "" })...)
		}
		add(c.Title)
		for _, fact := range c.Facts {
			add(fact.Label, strings.TrimSpace(fact.Value.String()+" "+fact.Unit))
		}
		add("Before anything is opened")
		for _, caution := range c.Cautions {
			add("– " + caution)
		}
		for _, s := range slices.Concat(c.Tables, c.Forms) {
			add(s.Title)
			add(s.Notes...)
			if len(s.Rows) == 0 {
				add(s.Empty)
				continue
			}
			for _, column := range s.Columns {
				add(column.Name)
			}
			for _, r := range s.Rows {
				for _, cell := range r.Cells {
					add(cell.String())
				}
			}
		}
		got := textsOf(t, f, "Job "+c.Job)
		for i := range got {
			got[i] = strings.TrimSpace(got[i]) // whole numbers keep the room of a tenth
		}
		if !slices.Equal(got, want) {
			t.Errorf("job %s: found\n%q\nexpected\n%q", c.Job, got, want)
		}
	}
}

func TestTheSamePapersGiveTheSameBytes(t *testing.T) {
	p := benchPapers(plans.Bench())
	if first := benchBytes(t, p); !bytes.Equal(first, benchBytes(t, p)) {
		t.Error("found other bytes the second time")
	}
}

// A card that is lost half on a second page is worse than a small one; a long
// job takes as many pages as it needs.
func TestACardFitsOnAPageWhereItStaysReadable(t *testing.T) {
	p := benchPapers(plans.Bench())
	long := p.Cards[0]
	long.Job = "long"
	for range 5 {
		long.Tables = slices.Concat(long.Tables, long.Tables[:1])
	}
	long.Tables[0].Rows = slices.Repeat(long.Tables[0].Rows, 20)
	p.Cards = []reports.Card{p.Cards[0], long}
	f := reorderFile(t, benchBytes(t, p))
	for tab, want := range map[string]int{"Job J201": 1, "Job long": 0} {
		layout, err := f.GetPageLayout(tab)
		if err != nil {
			t.Fatal(err)
		}
		if *layout.FitToHeight != want || *layout.FitToWidth != 1 || *layout.Size != 9 || *layout.Orientation != "portrait" {
			t.Errorf("%s: found %d pages high, %d wide, paper %d, %s", tab, *layout.FitToHeight, *layout.FitToWidth, *layout.Size, *layout.Orientation)
		}
	}
}

var mergedRange = regexp.MustCompile(`<mergeCell ref="([A-Z]+[0-9]+):([A-Z]+[0-9]+)"`)

// joinedCells fails where joined cells of a tab's part overlap, which
// spreadsheets call damage, or leave the grid. It reads the part itself: the
// library joins what overlaps.
func joinedCells(part string) (n int, err error) {
	taken := map[[2]int]string{}
	for _, m := range mergedRange.FindAllStringSubmatch(part, -1) {
		left, row, _ := excelize.CellNameToCoordinates(m[1])
		right, bottom, _ := excelize.CellNameToCoordinates(m[2])
		if bottom != row || right <= left || right > gridColumns {
			return n, fmt.Errorf("joined %s to %s", m[1], m[2])
		}
		for column := left; column <= right; column++ {
			if other := taken[[2]int{row, column}]; other != "" {
				return n, fmt.Errorf("%s and %s overlap", other, m[1])
			}
			taken[[2]int{row, column}] = m[1]
		}
		n++
	}
	return n, nil
}

// Whatever people call things: the parts of the file are sound, each job has a
// tab, no joined cells overlap, no text is a formula.
func TestPapersWithAnyNamesAreSound(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		shop := plans.Bench()
		name := rapid.OneOf(rapid.String(), rapid.SampledFrom([]string{"=1+1", "'", "[]:*?/\\", "history", "Pick list", "Job", strings.Repeat("ä", 300), "</t>", "_x0041_", "a\nb"}))
		for i := range shop.Jobs {
			shop.Jobs[i].Code = name.Draw(rt, "job") + fmt.Sprint(i)
			shop.Jobs[i].Unit = name.Draw(rt, "unit")
		}
		for i := range shop.Items {
			shop.Items[i].Name, shop.Items[i].Bin = name.Draw(rt, "item"), name.Draw(rt, "bin")
		}
		shop.Settings.Workshop = name.Draw(rt, "workshop")
		shop.Setups[0].Note = name.Draw(rt, "note")
		p := benchPapers(shop)
		written := benchBytes(rt, p)
		for part, content := range zipParts(t, written) {
			if err := sound(content); err != nil {
				rt.Fatalf("%s: %v", part, err)
			}
			if strings.Contains(content, "<f>") {
				rt.Fatalf("%s holds a formula", part)
			}
			if n, err := joinedCells(content); err != nil || (n < 20 && strings.HasPrefix(part, "xl/worksheets/sheet") && part != "xl/worksheets/sheet1.xml") {
				rt.Fatalf("%s: %d joined cells, %v", part, n, err)
			}
		}
		f, err := excelize.OpenReader(bytes.NewReader(written))
		if err != nil {
			rt.Fatal(err)
		}
		defer f.Close()
		tabs := f.GetSheetList()
		if len(tabs) != 1+len(p.Cards) {
			rt.Fatalf("found the tabs %q for %d cards", tabs, len(p.Cards))
		}
	})
}

// For any table that finds room: its columns share the grid without a rest, and
// none is too narrow for its numbers.
func TestATablesColumnsShareTheGrid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := reports.Sheet{Columns: []reports.Column{{Name: "Item"}}, Rows: []reports.Row{{Cells: []reports.Cell{reports.Words("x")}}}}
		for range rapid.IntRange(0, 6).Draw(t, "columns") {
			c := reports.Column{Name: rapid.StringMatching(`[a-z ]{1,20}`).Draw(t, "name"), Edit: rapid.Bool().Draw(t, "edit")}
			cell := reports.Words(rapid.StringMatching(`[a-z ]{0,60}`).Draw(t, "text"))
			if numbers := rapid.Bool().Draw(t, "numbers"); numbers && len(s.Columns) < 3 {
				c.Kind, c.Name, cell = reports.QuantityKind, "Qty", reports.Measured(inventory.Quantity(rapid.IntRange(0, 1e6).Draw(t, "qty")), inventory.Millilitre)
			}
			s.Columns, s.Rows[0].Cells = append(s.Columns, c), append(s.Rows[0].Cells, cell)
		}
		sum := 0
		for i, span := range gridSpans(placeSheet(s, "")) {
			sum += span
			if width := float64(len(s.Rows[0].Cells[i].String())); span < leastSpan || (s.Columns[i].Kind == reports.QuantityKind && float64(span)*gridWidth < width) {
				t.Fatalf("column %q has %d columns of the grid for %q", s.Columns[i].Name, span, s.Rows[0].Cells[i])
			}
		}
		if sum != gridColumns {
			t.Fatalf("found %d columns of the grid dealt out, expected %d", sum, gridColumns)
		}
	})
}

func TestBenchPapersTakeTheirPlaceWhenTheyAreWhole(t *testing.T) {
	folder := t.TempDir()
	path := filepath.Join(folder, "bench.xlsx")
	p := benchPapers(plans.Bench())
	if err := WriteBench(path, p); err != nil {
		t.Fatal(err)
	}
	got, err := os.ReadFile(path)
	if err != nil || !bytes.Equal(got, benchBytes(t, p)) {
		t.Errorf("found %d bytes, %v", len(got), err)
	}
	if left, _ := os.ReadDir(folder); len(left) != 1 {
		t.Errorf("found %v beside it", left)
	}
	if err := WriteBench(filepath.Join(folder, "none", "bench.xlsx"), p); err == nil {
		t.Error("expected an error where there is no folder")
	}
}

func TestLibreOfficeReadsEveryCard(t *testing.T) {
	p := benchPapers(plans.Bench())
	written := benchBytes(t, p)
	own, theirs := reorderFile(t, written), recalculated(t, written)[0]
	for _, tab := range own.GetSheetList() {
		if got, want := textsOf(t, theirs, tab), textsOf(t, own, tab); !slices.Equal(got, want) {
			t.Errorf("%s: LibreOffice reads\n%q\nexpected\n%q", tab, got, want)
		}
	}
}
