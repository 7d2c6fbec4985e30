package book

import (
	"encoding/csv"
	"errors"
	"io"
	"strings"
	"testing"
	"testing/fstest"
	"testing/iotest"

	"circlip/inventory"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// wantIn is want for a property.
func wantIn[T any](t *rapid.T, got, expected T) {
	t.Helper()
	if diff := cmp.Diff(expected, got); diff != "" {
		t.Fatalf("-expected +found\n%s", diff)
	}
}

// parsed is the records of a text, with their lines' numbers, up to the error.
type parsed struct {
	Lines []int
	Rows  [][]string
	Err   string
}

func parse(in io.Reader) parsed {
	var p parsed
	r := newRecords(in, "t")
	err := r.begin()
	for err == nil {
		var row Row
		if row, err = r.next(); err != nil {
			break
		}
		cells := []string{}
		for _, c := range row.Cells {
			cells = append(cells, c.Text)
		}
		p.Lines, p.Rows = append(p.Lines, row.Number), append(p.Rows, cells)
	}
	if !errors.Is(err, io.EOF) {
		p.Err = err.Error()
	}
	return p
}

// The rules of RFC 4180, section 2, by number, and what else files hold.
func TestCSVRules(t *testing.T) {
	for _, c := range []struct {
		rule, text string
		found      parsed
	}{
		{"1: a record a line, CR LF", "aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", parsed{Lines: []int{1, 2}, Rows: [][]string{{"aaa", "bbb", "ccc"}, {"zzz", "yyy", "xxx"}}}},
		{"2: no line end at the end", "aaa,bbb\r\nzzz,yyy", parsed{Lines: []int{1, 2}, Rows: [][]string{{"aaa", "bbb"}, {"zzz", "yyy"}}}},
		{"4: blanks are part of a cell", " a , b", parsed{Lines: []int{1}, Rows: [][]string{{" a ", " b"}}}},
		{"5: cells in quotes", `"aaa","bbb",ccc`, parsed{Lines: []int{1}, Rows: [][]string{{"aaa", "bbb", "ccc"}}}},
		{"6: line ends and commas in quotes", "\"aaa\",\"b,\r\nbb\",\"ccc\"\r\nzzz", parsed{Lines: []int{1, 3}, Rows: [][]string{{"aaa", "b,\r\nbb", "ccc"}, {"zzz"}}}},
		{"7: doubled quotes", `"aaa","b""bb","ccc"`, parsed{Lines: []int{1}, Rows: [][]string{{"aaa", `b"bb`, "ccc"}}}},
		{"LF alone ends a line", "a\nb\n", parsed{Lines: []int{1, 2}, Rows: [][]string{{"a"}, {"b"}}}},
		{"empty lines are skipped and counted", "\n\r\na\n\n\nb", parsed{Lines: []int{3, 6}, Rows: [][]string{{"a"}, {"b"}}}},
		{"a blank cell in quotes is a row", "\"\"\n", parsed{Lines: []int{1}, Rows: [][]string{{""}}}},
		{"blank cells", ",\n,,", parsed{Lines: []int{1, 2}, Rows: [][]string{{"", ""}, {"", "", ""}}}},
		{"nothing", "", parsed{}},
		{"a byte order mark", "\uFEFFa,b", parsed{Lines: []int{1}, Rows: [][]string{{"a", "b"}}}},
		{"a byte order mark alone", "\uFEFF", parsed{}},
		{"ragged rows are left to the table", "a,b\nc\n", parsed{Lines: []int{1, 2}, Rows: [][]string{{"a", "b"}, {"c"}}}},
		{"a guard before a formula is taken off", "'=1+1,'-5,''=x,'=", parsed{Lines: []int{1}, Rows: [][]string{{"=1+1", "-5", "'=x", "="}}}},
		{"an apostrophe elsewhere stays", "'tis,'',it's", parsed{Lines: []int{1}, Rows: [][]string{{"'tis", "''", "it's"}}}},

		{"a quote in a plain cell", "a\nb,c\"d\n", parsed{Lines: []int{1}, Rows: [][]string{{"a"}},
			Err: `t:2: a quote inside a cell that does not begin with one, found "c\"", expected the cell in quotes and its own quotes doubled`}},
		{"text after a closing quote", "\"a\nb\" x,c\n", parsed{Err: `t:2: text after a closing quote, found "a\nb\" ", expected a comma or the end of the line, or the quote doubled`}},
		{"a quote never closed is told where it opens", "a\nb,\"c\nd\ne\n", parsed{Lines: []int{1}, Rows: [][]string{{"a"}},
			Err: `t:2: a quote that is never closed, found "c\nd\ne\n", expected a second quote at the end of the cell`}},
		{"CR alone", "a\rb", parsed{Err: `t:1: a carriage return without a line feed, expected lines that end with LF or CR LF`}},
		{"NUL", "a\nb\x00c", parsed{Lines: []int{1}, Rows: [][]string{{"a"}}, Err: `t:2: a NUL byte, found "b\x00c", expected UTF-8 text; is the file UTF-16?`}},
		{"UTF-16 with its mark, little end first", "\xFF\xFEa\x00", parsed{Err: `t:1: the file is UTF-16, expected UTF-8`}},
		{"UTF-16 with its mark, big end first", "\xFE\xFF\x00a", parsed{Err: `t:1: the file is UTF-16, expected UTF-8`}},
		{"UTF-16 without its mark", "a\x00,\x00", parsed{Err: `t:1: a NUL byte, found "a\x00", expected UTF-8 text; is the file UTF-16?`}},
		{"Latin-1", "a\nD\xE4mpfer,x\n", parsed{Lines: []int{1}, Rows: [][]string{{"a"}},
			Err: `t:2: the byte 0xe4 is not UTF-8, found "D\xe4mpfer", expected a file saved as UTF-8 throughout`}},
		{"mixed encodings, in a cell of several lines", "Dämpfer\n\"x\nDämpfer\nD\xE4mpfer\"\n", parsed{Lines: []int{1}, Rows: [][]string{{"Dämpfer"}},
			Err: `t:4: the byte 0xe4 is not UTF-8, found "x\nDämpfer\nD\xe4mpfer", expected a file saved as UTF-8 throughout`}},
		{"after a cell of several lines", "\"x\ny\",D\xE4mpfer\n", parsed{
			Err: `t:2: the byte 0xe4 is not UTF-8, found "D\xe4mpfer", expected a file saved as UTF-8 throughout`}},
		{"half a surrogate pair", "\xED\xA0\x80", parsed{Err: `t:1: the byte 0xed is not UTF-8, found "\xed\xa0\x80", expected a file saved as UTF-8 throughout`}},
		{"the sign for a lost character is text", "a\uFFFDb", parsed{Lines: []int{1}, Rows: [][]string{{"a\uFFFDb"}}}},
	} {
		want(t, c.rule, parse(strings.NewReader(c.text)), c.found)
		want(t, c.rule+", byte by byte", parse(iotest.OneByteReader(strings.NewReader(c.text))), c.found)
	}
}

func TestAFailingDiskIsNotAFault(t *testing.T) {
	broken := errors.New("disk gone")
	for _, text := range []string{"a,b\nc", "a,\"b", "a,\"b\"", "a\r"} {
		if p := parse(io.MultiReader(strings.NewReader(text), iotest.ErrReader(broken))); p.Err != "disk gone" {
			t.Errorf("after %q: found %q, expected the disk's error", text, p.Err)
		}
	}
}

// The standard library's reader is the outside check: on text without CR both
// read the same, or both refuse.
func TestTheStandardLibraryReadsTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := strings.Join(rapid.SliceOf(rapid.SampledFrom([]string{"a", "ä", ",", "\n", `"`, `""`, "\n\"", " ", "x"})).Draw(t, "text"), "")
		r := csv.NewReader(strings.NewReader(text))
		r.FieldsPerRecord = -1
		rows, err := r.ReadAll()
		ours := parse(strings.NewReader(text))
		if (err != nil) != (ours.Err != "") {
			t.Fatalf("the standard library says %v, we say %q", err, ours.Err)
		}
		if err == nil {
			wantIn(t, ours.Rows, rows)
		}
	})
}

func TestAHugeCellTakesLittleMemory(t *testing.T) {
	for _, fill := range []string{"a", "ä", "油", "🛠"} {
		text := io.MultiReader(strings.NewReader("week,factor\n7,1\n\""), io.LimitReader(repeated(fill), 64<<20), strings.NewReader("\",1\n8,1\n"))
		r := newRecords(text, "season")
		o := readAll(t, mustTable(t, "season"), rowsOf(r), nil)
		if len(o.Records) != 2 || len(o.Faults) != 1 || !strings.HasPrefix(o.Faults[0], "season:3:week: longer than 32767 characters") {
			t.Errorf("cell of %s: found %d records, %.200v", fill, len(o.Records), o.Faults)
		}
		if cap(r.text) > 1<<20 {
			t.Errorf("cell of %s: found a buffer of %d bytes, expected less than a MiB", fill, cap(r.text))
		}
	}
}

func TestAnEndlessRowTakesLittleMemory(t *testing.T) {
	text := io.MultiReader(strings.NewReader("week,factor\n7,1"), io.LimitReader(repeated(",abcdefgh"), 16<<20), strings.NewReader("\n8,1\n"))
	r := newRecords(text, "season")
	o := readAll(t, mustTable(t, "season"), rowsOf(r), nil)
	want(t, "faults", o.Faults, []string{"season:2: more than 200 cells"})
	if len(o.Records) != 1 || cap(r.text) > 1<<20 {
		t.Errorf("found %d records and a buffer of %d bytes", len(o.Records), cap(r.text))
	}
}

// repeated is a text without end.
func repeated(text string) io.Reader {
	long := strings.Repeat(text, 64<<10/len(text))
	return readFunc(func(p []byte) (int, error) { return copy(p, long), nil })
}

type readFunc func([]byte) (int, error)

func (f readFunc) Read(p []byte) (int, error) { return f(p) }

func rowsOf(r *records) func(func(Row, error) bool) {
	return func(yield func(Row, error) bool) {
		for {
			row, err := r.next()
			if errors.Is(err, io.EOF) || !yield(row, err) || err != nil {
				return
			}
		}
	}
}

func TestFolderFindsTables(t *testing.T) {
	files := fstest.MapFS{
		"Items.CSV": {Data: []byte("item\n")}, "notes.txt": {}, ".hidden.csv": {}, ".csv": {}, "old/units.csv": {}, "bin.csv/x": {},
		"oil notes.csv": {},
	}
	source, err := Folder(files)
	if err != nil {
		t.Fatal(err)
	}
	defer source.Close()
	want(t, "tables", source.Tables(), []string{"items", "oil notes"})
	o := readAll(t, mustTable(t, "items"), source.Rows("items"), nil)
	want(t, "header", o.Faults, []string{
		"items:1:kind: the column is missing, expected a column of this name in the header row",
		"items:1:unit: the column is missing, expected a column of this name in the header row",
	})
}

func TestFoldersThatAreNoBook(t *testing.T) {
	for _, c := range []struct {
		rule     string
		files    fstest.MapFS
		expected string
	}{
		{"no CSV file", fstest.MapFS{"a.txt": {}}, "read the book's folder: invalid: found no CSV file, expected settings.csv and others"},
		{"one table twice", fstest.MapFS{"items.csv": {}, "ITEMS.csv": {}}, `items: two files of one table, found "ITEMS.csv and items.csv", expected one of them`},
	} {
		_, err := Folder(c.files)
		if !errors.Is(err, inventory.ErrInvalid) || err.Error() != c.expected {
			t.Errorf("%s: found %v, expected %s", c.rule, err, c.expected)
		}
	}
	source, err := Folder(fstest.MapFS{"items.csv": {}})
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := Read(mustTable(t, "units"), source.Rows("units"), nil, nil); err == nil {
		t.Error("a table that is not there: found no error")
	}
}

func TestFilesWithOtherSigns(t *testing.T) {
	for _, c := range []struct{ rule, text, fault string }{
		{"an empty file", "", "season: empty, without even a header row, expected the columns week, factor"},
		{"blank lines only", "\n\n", "season: empty, without even a header row, expected the columns week, factor"},
		{"semicolons", "week;factor\n7;1,5\n", `season:1: semicolons between the cells, found "week;factor", expected commas`},
		{"tabs", "week\tfactor\n", `season:1: tabs between the cells, found "week\tfactor", expected commas`},
		{"a decimal comma makes a cell too many", "week,factor\n7,1,5\n", `season:2: more cells than the header has, found "5", expected at most 2`},
		{"a header in Latin-1", "week,f\xE4ctor\n", `season:1: the byte 0xe4 is not UTF-8, found "f\xe4ctor", expected a file saved as UTF-8 throughout`},
		{"a picture", "\x89PNG\r\n\x1a\n\x00", `season:1: the byte 0x89 is not UTF-8, found "\x89PNG", expected a file saved as UTF-8 throughout`},
	} {
		source, err := Folder(fstest.MapFS{"season.csv": {Data: []byte(c.text)}})
		if err != nil {
			t.Fatal(err)
		}
		want(t, c.rule, readAll(t, mustTable(t, "season"), source.Rows("season"), nil), outcome{Faults: []string{c.fault}})
	}
}
