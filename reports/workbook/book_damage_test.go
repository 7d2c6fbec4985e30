package workbook

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"

	"circlip/inventory"
	"circlip/inventory/book"
)

const hostile = "../../testdata/hostile/xlsx"

// stride is how many bytes lie between the damaged ones: a prime, so that it
// meets every place of a row in time.
const stride = 97

// harms are the ways in which one byte of a part is damaged. An illegal one
// makes no workbook; a legal one may make another book, with one other cell.
var harms = []struct {
	name    string
	illegal bool
	harm    func(part []byte, at int) []byte
}{
	{"zeroed", true, func(p []byte, at int) []byte { p[at] = 0; return p }},
	{"made a tag", true, func(p []byte, at int) []byte { p[at] = '<'; return p }},
	{"made no UTF-8", true, func(p []byte, at int) []byte { p[at] = 0xFF; return p }},
	{"made a blank", false, func(p []byte, at int) []byte { p[at] = ' '; return p }},
	{"one bit off", false, func(p []byte, at int) []byte { p[at] ^= 1; return p }},
	{"another bit off", false, func(p []byte, at int) []byte { p[at] ^= 4; return p }},
	{"lost", false, func(p []byte, at int) []byte { return slices.Delete(p, at, at+1) }},
	{"doubled", false, func(p []byte, at int) []byte { return slices.Insert(p, at, p[at]) }},
}

// repacked is file with one part replaced, its checksum right, and without
// those that are not read.
func repacked(t testing.TB, file *zip.Reader, name string, part []byte) []byte {
	t.Helper()
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, f := range file.File {
		if read := !strings.Contains(f.Name, "comments") && !strings.Contains(f.Name, "drawing") && !strings.Contains(f.Name, "sheets/_rels"); read && f.Name != name {
			if err := z.Copy(f); err != nil {
				t.Fatal(err)
			}
		}
	}
	w, err := z.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Store})
	if err != nil {
		t.Fatal(err)
	}
	w.Write(part)
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// specimen is a real book with the part to damage and the tables to read.
type specimen struct {
	name, part string
	tables     []string
	file       []byte
	all        bool // every harm at every place, else in turn
}

func specimens(t *testing.T) []specimen {
	t.Helper()
	c := demo(t)
	c["readings"] = c["readings"][:1000]
	c["items"] = c["items"][:30]
	var ours bytes.Buffer
	if err := writeBook(&ours, c.tables()); err != nil {
		t.Fatal(err)
	}
	theirs, err := os.ReadFile(filepath.Join(hostile, "libreoffice.xlsx"))
	if err != nil {
		t.Fatal(err)
	}
	items, both := []string{"items"}, []string{"items", "counts"}
	return []specimen{
		{"our sheet of items", tablePart("items"), items, ours.Bytes(), true},
		{"our sheet of 1,000 readings", tablePart("readings"), []string{"readings"}, ours.Bytes(), false},
		{"LibreOffice's sheet of items", "xl/worksheets/sheet4.xml", items, theirs, false},
		{"LibreOffice's shared texts", "xl/sharedStrings.xml", both, theirs, false},
		{"LibreOffice's list of sheets", "xl/workbook.xml", both, theirs, true},
		{"LibreOffice's references", "xl/_rels/workbook.xml.rels", both, theirs, true},
	}
}

// tablesOf reads tables of a file, or none and the error.
func tablesOf(file []byte, tables []string) (map[string][]book.Row, error) {
	read := map[string][]book.Row{}
	for _, name := range tables {
		rows, err := rowsOf(file, name)
		if err != nil && !errors.Is(err, inventory.ErrNotFound) {
			return nil, err
		}
		read[name] = rows
	}
	return read, nil
}

func equal(a, b map[string][]book.Row) bool {
	return maps.EqualFunc(a, b, func(a, b []book.Row) bool {
		return slices.EqualFunc(a, b, func(a, b book.Row) bool { return a.Number == b.Number && slices.Equal(a.Cells, b.Cells) })
	})
}

// apart says how two readings of a book differ: not at all, in one text or the
// place of one cell, or in more, which a single byte must not do unseen.
func apart(want, got map[string][]book.Row) string {
	texts := map[string]int{} // what is left of the one, and of the other below zero
	for name := range want {
		if len(want[name]) != len(got[name]) {
			return fmt.Sprintf("%d rows of %s became %d", len(want[name]), name, len(got[name]))
		}
		for i, row := range want[name] {
			if row.Number != got[name][i].Number {
				return fmt.Sprintf("row %d of %s became row %d", row.Number, name, got[name][i].Number)
			}
			count(texts, row, 1)
			count(texts, got[name][i], -1)
		}
	}
	maps.DeleteFunc(texts, func(_ string, n int) bool { return n == 0 })
	if len(texts) > 2 {
		return fmt.Sprintf("more than one cell differs: %v", texts)
	}
	return ""
}

// count counts the cells of a row by row and text, the blank ones left out.
func count(texts map[string]int, row book.Row, n int) {
	for _, c := range row.Cells {
		if c != (book.Cell{}) {
			texts[fmt.Sprintf("%d %v", row.Number, c)] += n
		}
	}
}

func TestADamagedByteShowsOrChangesOneCell(t *testing.T) {
	for _, s := range specimens(t) {
		t.Run(s.name, func(t *testing.T) {
			t.Parallel()
			file, err := zip.NewReader(bytes.NewReader(s.file), int64(len(s.file)))
			if err != nil {
				t.Fatal(err)
			}
			whole := []byte(unpack(t, s.file)[s.part])
			want, err := tablesOf(s.file, s.tables)
			if err != nil {
				t.Fatal(err)
			}
			refused, same, other := 0, 0, 0
			for n, at := 0, 0; at < len(whole); n, at = n+1, at+stride {
				for i, h := range harms {
					if !s.all && i != n%len(harms) {
						continue
					}
					got, err := tablesOf(repacked(t, file, s.part, h.harm(bytes.Clone(whole), at)), s.tables)
					switch {
					case err != nil:
						refused++
					case equal(want, got):
						same++
					default:
						other++
						if h.illegal {
							t.Errorf("byte %d %s is taken: …%s…", at, h.name, whole[max(0, at-20):min(len(whole), at+20)])
						}
						if strings.HasPrefix(s.part, "xl/worksheets/") {
							if how := apart(want, got); how != "" {
								t.Errorf("byte %d %s: %s: …%s…", at, h.name, how, whole[max(0, at-20):min(len(whole), at+20)])
							}
						}
					}
				}
			}
			t.Logf("%d bytes, every %dth damaged: %d refused, %d without effect, %d another cell", len(whole), stride, refused, same, other)
		})
	}
}

func TestACutSheetIsRefusedWhereverItIsCut(t *testing.T) {
	for _, s := range specimens(t) {
		t.Run(s.name, func(t *testing.T) {
			t.Parallel()
			file, err := zip.NewReader(bytes.NewReader(s.file), int64(len(s.file)))
			if err != nil {
				t.Fatal(err)
			}
			whole := bytes.TrimSpace([]byte(unpack(t, s.file)[s.part]))
			step := stride
			if !s.all {
				step *= 11
			}
			for at := 0; at < len(whole); at += step {
				if _, err := tablesOf(repacked(t, file, s.part, whole[:at]), s.tables); err == nil {
					t.Errorf("cut at byte %d of %d it is taken", at, len(whole))
				}
			}
		})
	}
}

// The same harm and the same judge find that the library alone gives parts of
// a sheet and no error: without that the two tests above would show nothing.
func TestTheJudgeFindsThePartsTheLibraryGives(t *testing.T) {
	s := specimens(t)[0]
	file, err := zip.NewReader(bytes.NewReader(s.file), int64(len(s.file)))
	if err != nil {
		t.Fatal(err)
	}
	whole := []byte(unpack(t, s.file)[s.part])
	want := libraryRows(s.file)
	if len(want["items"]) != 31 {
		t.Fatalf("of the undamaged sheet the library gives %d rows, expected 31", len(want["items"]))
	}
	tried, found := 0, 0
	for at := 0; at < len(whole); at += 5 * stride {
		tried++
		if got := libraryRows(repacked(t, file, s.part, harms[1].harm(bytes.Clone(whole), at))); got != nil && apart(want, got) != "" {
			found++
		}
	}
	t.Logf("%d of %d damaged sheets came in part and without an error", found, tried)
	if found == 0 {
		t.Error("the library gave no part of any damaged sheet: it has changed, or the judge sees nothing")
	}
}

// libraryRows are the rows of the items as the library gives them, nil with an
// error.
func libraryRows(file []byte) map[string][]book.Row {
	f, err := excelize.OpenReader(bytes.NewReader(file), excelize.Options{RawCellValue: true})
	if err != nil {
		return nil
	}
	defer f.Close()
	rows, err := f.Rows("items")
	if err != nil {
		return nil
	}
	defer rows.Close()
	var all []book.Row
	for n := 1; rows.Next(); n++ {
		columns, err := rows.Columns()
		if err != nil {
			return nil
		}
		all = append(all, book.Row{Number: n, Cells: text(columns...)})
	}
	if rows.Error() != nil {
		return nil
	}
	return map[string][]book.Row{"items": all}
}

// What other programs wrote: the file, or why it is none.
func TestFilesOfOtherPrograms(t *testing.T) {
	for file, want := range map[string]string{
		"old.xls":       "found an old .xls workbook, expected .xlsx; open it and save it as .xlsx",
		"open.ods":      "found an OpenDocument spreadsheet (.ods), expected .xlsx; open it and save it as Excel 2007-365 (.xlsx)",
		"password.xlsx": "found a workbook encrypted with a password; save it without one",
	} {
		path := filepath.Join(hostile, file)
		sameFailure(t, failureOf(path), want, path)
	}
	rows, err := allRows(opened(t, filepath.Join(hostile, "libreoffice.xlsx")), "counts")
	if err != nil || len(rows) != 41 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	want := []book.Cell{{Text: "oil-lower"}, {Text: "45667", Numeric: true}, {}, {Text: "1047.9", Numeric: true}}
	if diff := cmp.Diff(want, rows[1].Cells[:4]); diff != "" {
		t.Error(diff)
	}
}
