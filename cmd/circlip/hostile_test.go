package main

import (
	"archive/zip"
	"bytes"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/google/go-cmp/cmp"
)

// Every bad book is the small one with a supplier more, which is good, and one
// thing wrong. It is loaded where the small book is in already: nothing may
// change, not even the supplier may come in.
const freshSupplier = "fresh,Fresh Fluids,mon,,3,,,\n"

func smallFiles(t *testing.T) files {
	t.Helper()
	read := files{}
	for name, text := range folderOf(t, "../../testdata/cli/small") {
		read[name] = text
	}
	read["suppliers.csv"] += freshSupplier
	return read
}

// The parts of the sheets that are damaged.
const (
	itemsPart     = "xl/worksheets/sheet5.xml"
	stockPart     = "xl/worksheets/sheet20.xml"
	suppliersPart = "xl/worksheets/sheet3.xml"
)

// cell gives a cell of a sheet other content.
func (f files) cell(t *testing.T, part, ref, content string) files {
	t.Helper()
	whole := regexp.MustCompile(`<c r="` + ref + `"[^>]*>.*?</c>`).FindString(f[part])
	if whole == "" {
		t.Fatalf("%s has no cell %s", part, ref)
	}
	return f.with(t, part, whole, fmt.Sprintf(`<c r="%s"%s</c>`, ref, content))
}

func text(s string) string { return ` t="inlineStr"><is><t>` + s + `</t></is>` }

// badBook is a book with one thing wrong and how it is written; make returns
// the path to load.
type badBook struct {
	rule string
	make func(t *testing.T) string
}

func badFolders(t *testing.T) []badBook {
	t.Helper()
	good := smallFiles(t)
	changed := func(rule, name, old, replacement string) badBook {
		return badBook{rule, func(t *testing.T) string { return good.with(t, name, old, replacement).folder(t) }}
	}
	return []badBook{
		changed("a wrong date", "stock.csv", "R1,30,2026-01-01", "R1,30,2026-02-30"),
		changed("a date that two countries read differently", "stock.csv", "R1,30,2026-01-01", "R1,30,01/02/2026"),
		changed("a negative quantity", "stock.csv", "R1,30", "R1,-30"),
		changed("an unknown code", "bom.csv", "fork-full,fell-150,seal-kit-35", "fork-full,fell-150,seal-kit-53"),
		changed("a duplicate key", "items.csv", "foam-35,Foam ring 35 mm", "wiper-35,Foam ring 35 mm"),
		changed("text where a number belongs", "offers.csv", "HO-F35,10,1,1,6.20", "HO-F35,ten,1,1,6.20"),
		changed("a decimal comma", "offers.csv", "HO-F35,10,1,1,6.20", `HO-F35,10,1,1,"6,20"`),
		changed("a formula in a cell", "stock.csv", "R1,30", "R1,=15+15"),
		changed("a huge cell", "items.csv", "Post grease", strings.Repeat("grease ", 200_000)),
		changed("a bell and a line of its own in a code", "items.csv", "\n007,", "\n\"00\a7\ncirclip: all is well\","),
		changed("mixed encodings", "items.csv", "Post grease", "Gr\xfcne grease, fell-150 \u00fc"),
		changed("an empty file", "items.csv", good["items.csv"], ""),
		changed("a quote that is never closed", "items.csv", "Post grease", `"Post grease`),
		changed("semicolons between the cells", "season.csv", good["season.csv"], "week;factor\n1;0.5\n"),
		changed("a meter that falls", "readings.csv", "rental-01,2026-02-02,212", "rental-01,2026-02-02,180"),
		{"many faults at once", func(t *testing.T) string {
			return good.with(t, "stock.csv", "R1,30,2026-01-01", "R1,-30,2026-13-01").
				with(t, "units.csv", "rental-02,fell-150", "rental-02,fell-15").
				with(t, "jobs.csv", "J6,race-01", "J6,race-10").folder(t)
		}},
		{"a missing path", func(t *testing.T) string { return filepath.Join(t.TempDir(), "nowhere") }},
		{"a folder without tables", func(t *testing.T) string { return t.TempDir() }},
		{"a folder of other tables", func(t *testing.T) string { return files{"stok.csv": "item,qty\n"}.folder(t) }},
		{"two files of one table", func(t *testing.T) string {
			f := maps.Clone(good)
			f["ITEMS.CSV"] = f["items.csv"]
			return f.folder(t)
		}},
	}
}

// badWorkbooks damage a workbook that the program itself saved.
func badWorkbooks(t *testing.T, saved string) []badBook {
	t.Helper()
	whole, err := os.ReadFile(saved)
	if err != nil {
		t.Fatal(err)
	}
	good := unzipped(t, saved)
	file := func(rule string, content []byte) badBook {
		return badBook{rule, func(t *testing.T) string {
			path := filepath.Join(t.TempDir(), "book.xlsx")
			if err := os.WriteFile(path, content, 0o600); err != nil {
				t.Fatal(err)
			}
			return path
		}}
	}
	with := func(rule, part, ref, content string) badBook {
		return file(rule, good.cell(t, part, ref, content).zipped(t))
	}
	part := func(rule, name string, change func(string) string) badBook {
		f := maps.Clone(good)
		f[name] = change(f[name])
		return file(rule, f.zipped(t))
	}
	wide := utf16.Encode([]rune(strings.Replace(good[itemsPart], "UTF-8", "UTF-16", 1)))
	hostile := func(name string) badBook {
		return badBook{name, func(*testing.T) string { return "../../testdata/hostile/xlsx/" + name }}
	}
	return []badBook{
		with("a wrong date", stockPart, "D3", text("2026-02-30")),
		with("a day before all days", stockPart, "D3", "><v>-5</v>"),
		with("a negative quantity", stockPart, "C3", "><v>-30</v>"),
		with("an unknown code", stockPart, "A3", text("leg-oli")),
		with("a duplicate key", itemsPart, "A3", text("007")),
		with("text where a number belongs", stockPart, "C3", text("thirty")),
		with("a formula in a cell", stockPart, "C3", "><f>15+15</f><v>30</v>"),
		with("an error for a value", stockPart, "C3", ` t="e"><v>#DIV/0!</v>`),
		with("a huge cell", itemsPart, "B3", text(strings.Repeat("grease ", 10_000))),
		with("a cell of a megabyte", itemsPart, "B3", text(strings.Repeat("grease ", 200_000))),
		with("mixed encodings", itemsPart, "B3", text("Gr\xfcne grease, fell-150 \u00fc")),
		part("a sheet in UTF-16", itemsPart, func(string) string {
			var b strings.Builder
			b.WriteString("\xff\xfe")
			for _, u := range wide {
				b.WriteByte(byte(u))
				b.WriteByte(byte(u >> 8))
			}
			return b.String()
		}),
		part("a sheet whose XML is cut", itemsPart, func(s string) string { return s[:len(s)/2] }),
		part("a sheet whose XML has a tag too many", itemsPart, func(s string) string { return strings.Replace(s, "</c>", "</c></c>", 1) }),
		part("a sheet with an entity that holds others", itemsPart, func(s string) string {
			return strings.Replace(s, "?>", `?><!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;">]>`, 1)
		}),
		part("a zip bomb", itemsPart, func(s string) string {
			return strings.Replace(s, "<sheetData>", "<sheetData>"+strings.Repeat(" ", 64<<20), 1)
		}),
		file("a byte of a sheet changed", flipped(t, whole, itemsPart)),
		file("a file that is cut", whole[:len(whole)*2/3]),
		file("a renamed .zip", smallFiles(t).zipped(t)),
		file("a renamed .csv", []byte(smallFiles(t)["items.csv"])),
		file("an empty file", nil),
		{"a device", func(*testing.T) string { return os.DevNull }},
		{"a missing file", func(t *testing.T) string { return filepath.Join(t.TempDir(), "book.xlsx") }},
		hostile("old.xls"), hostile("open.ods"), hostile("password.xlsx"),
	}
}

// flipped is a workbook with one bit of what a part was packed to changed.
func flipped(t *testing.T, whole []byte, part string) []byte {
	t.Helper()
	z, err := zip.NewReader(bytes.NewReader(whole), int64(len(whole)))
	if err != nil {
		t.Fatal(err)
	}
	changed := bytes.Clone(whole)
	for _, f := range z.File {
		if f.Name == part {
			at, err := f.DataOffset()
			if err != nil {
				t.Fatal(err)
			}
			changed[at+int64(f.CompressedSize64)/2] ^= 0x10
		}
	}
	return changed
}

// What is said of each bad book is in testdata/cli/golden, word by word. Nothing
// of any is stored.
func TestABadBookIsRefusedWhole(t *testing.T) {
	t.Parallel()
	better := database(t, "small")
	before := saved(t, better)
	done(t, "load", smallFiles(t).folder(t), "--database", better)
	if cmp.Equal(before, saved(t, better)) {
		t.Fatal("the good part of the bad books would not show")
	}
	workbook := filepath.Join(t.TempDir(), "good.xlsx")
	done(t, "book", "save", workbook, "--database", better)
	for kind, bad := range map[string][]badBook{"folders": badFolders(t), "workbooks": badWorkbooks(t, workbook)} {
		t.Run(kind, func(t *testing.T) {
			t.Parallel()
			dsn := database(t, "small")
			var told strings.Builder
			for _, b := range bad {
				t.Run(b.rule, func(t *testing.T) {
					fmt.Fprintf(&told, "== %s\n%s", b.rule, refused(t, dsn, b.make(t)))
					if diff := cmp.Diff(before, saved(t, dsn)); diff != "" {
						t.Errorf("it was stored in part: %s", diff)
					}
				})
			}
			golden(t, "bad-"+kind+".txt", told.String())
		})
	}
}

// refused loads a bad book and returns what was said, without the folder.
func refused(t *testing.T, dsn, path string) string {
	t.Helper()
	o := circlip(t, "load", path, "--database", dsn)
	if o.status != statusRefused || o.out != "" {
		t.Errorf("exit status %d and %q, expected 1 and no output", o.status, o.out)
	}
	for _, said := range strings.Split(strings.TrimSuffix(o.err, "\n"), "\n") {
		if len(said) > 400 {
			t.Errorf("a message of %d bytes: %.200s…", len(said), said)
		}
	}
	if strings.ContainsFunc(o.err, func(r rune) bool { return r < ' ' && r != '\n' && r != '\t' }) {
		t.Errorf("a message with control characters: %q", o.err)
	}
	folder, err := filepath.Abs(filepath.Dir(path))
	if err != nil {
		t.Fatal(err)
	}
	return strings.ReplaceAll(o.err, folder, "$DIR")
}

// The program tells of the bad books of testdata/hostile/csv what reading them
// finds, and refuses those with faults; the others have only warnings.
func TestWhatReadingFindsIsTold(t *testing.T) {
	t.Parallel()
	dirs, err := filepath.Glob("../../testdata/hostile/csv/*")
	if err != nil || len(dirs) < 20 {
		t.Fatalf("%d bad books, %v", len(dirs), err)
	}
	dsn := database(t, "empty")
	statuses := map[int]int{}
	for _, dir := range dirs {
		t.Run(filepath.Base(dir), func(t *testing.T) {
			o := circlip(t, "load", dir, "--database", dsn)
			expected, err := os.ReadFile(filepath.Join(dir, "expected.txt"))
			if err != nil {
				t.Fatal(err)
			}
			want := statusDone
			for line := range strings.Lines(string(expected)) {
				switch {
				case strings.Contains("\n"+o.err, "\n"+line):
					want = statusRefused
				case !strings.Contains(o.err, "circlip: warning: "+line):
					t.Errorf("found %s, expected the line %s", o.err, line)
				}
			}
			if o.status != want {
				t.Errorf("exit status %d, expected %d", o.status, want)
			}
			statuses[o.status]++
		})
	}
	if statuses[statusDone] == 0 || statuses[statusRefused] < 20 {
		t.Errorf("books by exit status: %v", statuses)
	}
}
