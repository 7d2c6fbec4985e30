package workbook

import (
	"bytes"
	"context"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"
	"time"

	"circlip/inventory"
	"circlip/reports/plan"
	"circlip/testdata/golden/plans"

	"github.com/xuri/excelize/v2"
)

// LibreOffice is the judge of formulas: an engine that is not ours. Before it
// sees a workbook every value beside a formula is taken out, so that what it
// hands back is what it worked out.

// recalculated are workbooks as LibreOffice works them out.
func recalculated(t *testing.T, workbooks ...[]byte) []*excelize.File {
	t.Helper()
	office, err := exec.LookPath("soffice")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("no soffice: LibreOffice must judge the formulas where CI=true")
		}
		t.Skip("NOT CHECKED: no soffice in PATH; apt-get install libreoffice-calc-nogui and run again")
	}
	folder := t.TempDir()
	arguments := []string{"-env:UserInstallation=file://" + filepath.Join(folder, "profile"), "--headless", "--convert-to", "xlsx", "--outdir", filepath.Join(folder, "out")}
	for i, workbook := range workbooks {
		path := filepath.Join(folder, strconv.Itoa(i)+".xlsx")
		if err := os.WriteFile(path, withoutValues(t, workbook), 0o600); err != nil {
			t.Fatal(err)
		}
		arguments = append(arguments, path)
	}
	ctx, cancel := context.WithTimeout(t.Context(), 2*time.Minute)
	defer cancel()
	if out, err := exec.CommandContext(ctx, office, arguments...).CombinedOutput(); err != nil {
		t.Fatalf("soffice: %v\n%s", err, out)
	}
	var files []*excelize.File
	for i := range workbooks {
		content, err := os.ReadFile(filepath.Join(folder, "out", strconv.Itoa(i)+".xlsx"))
		if err != nil {
			t.Fatal(err)
		}
		files = append(files, reorderFile(t, content))
	}
	return files
}

var valueOfFormula = regexp.MustCompile(`(</f>)<v>[^<]*</v>`)

func withoutValues(t *testing.T, workbook []byte) []byte {
	t.Helper()
	parts := zipParts(t, workbook)
	var out bytes.Buffer
	z := newSortedZip(&out)
	for name, part := range parts {
		w, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := w.Write([]byte(valueOfFormula.ReplaceAllString(part, "$1"))); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func valueAt(t *testing.T, f *excelize.File, tab, cell string) float64 {
	t.Helper()
	text, err := f.GetCellValue(tab, cell, excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	value, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatalf("%s!%s: found %q, expected a number", tab, cell, text)
	}
	return value
}

// changed is the workbook after a person typed another number of packs.
func changed(t *testing.T, workbook []byte, tab, cell string, packs int) []byte {
	t.Helper()
	f := reorderFile(t, workbook)
	if err := f.SetCellInt(tab, cell, int64(packs)); err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := f.Write(&out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func TestLibreOfficeWorksOutTheProgramsOwnFigures(t *testing.T) {
	yen := plans.Plan()
	yen.Currency = inventory.Currency{Code: "JPY"}
	none := plan.Plan{AsOf: plans.AsOf, Currency: yen.Currency}
	own := reorderBytes(t, plans.Plan())
	written := [][]byte{own, reorderBytes(t, poisonedPlan()), reorderBytes(t, yen), reorderBytes(t, none)}
	books := recalculated(t, append(written,
		changed(t, own, "Quillon Seals", "D9", 4),  // 59.15 + 18.40 = 77.55, and carriage
		changed(t, own, "Quillon Seals", "D9", 10), // 187.95: carriage is free from 150.00
		changed(t, own, "Tarn Works", "D8", 0))...) // nothing ordered, nothing to pay
	for i, least := range []int{30, 30, 30, 0} {
		if n := sameFigures(t, reorderFile(t, written[i]), books[i]); n < least {
			t.Errorf("workbook %d: found %d formulas, expected at least %d", i, n, least)
		}
	}
	if tabs := books[3].GetSheetList(); len(tabs) != 11 {
		t.Errorf("without orders: found the sheets %v, expected ten and the hidden one", tabs)
	}
	if got := valueAt(t, books[2], "Quillon Seals", "I14"); got != 6605 {
		t.Errorf("a currency without decimals: found a total of %v, expected 6605", got)
	}
	rows := []struct {
		rule      string
		book      int
		tab, cell string
		want      float64
	}{
		{"another pack, another quantity", 4, "Quillon Seals", "F9", 40},
		{"the line follows", 4, "Quillon Seals", "I9", 73.60},
		{"the goods follow", 4, "Quillon Seals", "I12", 77.55},
		{"carriage stays below the free amount", 4, "Quillon Seals", "I13", 6.90},
		{"the order's total follows", 4, "Quillon Seals", "I14", 84.45},
		{"the summary follows the order", 4, "Summary", "G15", 84.45},
		{"and its total the suppliers", 4, "Summary", "G18", 234.05},
		{"carriage is free from the supplier's amount on", 5, "Quillon Seals", "I13", 0},
		{"nothing ordered costs nothing", 6, "Tarn Works", "I11", 0},
	}
	for _, r := range rows {
		if got := valueAt(t, books[r.book], r.tab, r.cell); math.Abs(got-r.want) > 1e-9 {
			t.Errorf("%s: %s!%s = %v, expected %v", r.rule, r.tab, r.cell, got, r.want)
		}
	}
}

// sameFigures compares every formula's value with what the other engine made
// of it, and counts them.
func sameFigures(t *testing.T, written, judged *excelize.File) int {
	t.Helper()
	count := 0
	for _, tab := range written.GetSheetList() {
		rows, err := written.GetRows(tab)
		if err != nil {
			t.Fatal(err)
		}
		for r, row := range rows {
			for c := range row {
				cell, err := excelize.CoordinatesToCellName(c+1, r+1)
				if err != nil {
					t.Fatal(err)
				}
				if formula, err := written.GetCellFormula(tab, cell); err != nil || formula == "" {
					if formula, err := judged.GetCellFormula(tab, cell); err != nil || formula != "" {
						t.Errorf("%s!%s: LibreOffice took %q for the formula %q (%v)", tab, cell, row[c], formula, err)
					}
					continue
				}
				count++
				if ours, theirs := valueAt(t, written, tab, cell), valueAt(t, judged, tab, cell); math.Abs(ours-theirs) > 1e-9 {
					t.Errorf("%s!%s: the program says %v, LibreOffice %v", tab, cell, ours, theirs)
				}
			}
		}
	}
	return count
}
