package workbook

import (
	"context"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"circlip/inventory/book"
	bookfolder "circlip/inventory/book/folder"
)

// LibreOffice is the judge of the files we write, and the program that people
// open a book with. Where it is not installed its tests are skipped, aloud,
// but not where the project's own checks run (CI=true).

// How LibreOffice must be told to open and save a CSV file so that codes and
// days stay what they are; the tokens are those of its "Filter Options for CSV
// Filter". Opening: comma, quotes, UTF-8 (76), from line 1, and every column as
// text (2); a person chooses in the dialog "Text Import" the character set
// Unicode (UTF-8), the separator comma alone, and for all columns the type
// Text. Without the last, tried with LibreOffice 7.4, 007 becomes 7, 1e5
// becomes 100000 and =1+1 becomes 2. Saving: UTF-8 and commas ("Keep current
// format"); which cells are quoted makes no difference.
const (
	csvColumns = 60
	csvSaved   = "csv:Text - txt - csv (StarCalc):44,34,76,1"
)

func csvOpened() string {
	columns := make([]string, csvColumns)
	for i := range columns {
		columns[i] = strconv.Itoa(i+1) + "/2"
	}
	return "--infilter=CSV:44,34,76,1," + strings.Join(columns, "/") + ",0,false,false"
}

// convert lets LibreOffice open files and save them in a format to a folder.
func convert(t *testing.T, folder, format string, files ...string) {
	t.Helper()
	soffice, err := exec.LookPath("soffice")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("LibreOffice is not installed, and CI=true")
		}
		t.Skip("SKIPPED: LibreOffice (soffice) is not installed: nothing here was checked against it")
	}
	ctx, cancel := context.WithTimeout(t.Context(), 2*time.Minute)
	defer cancel()
	arguments := []string{"-env:UserInstallation=file://" + t.TempDir(), "--headless", "--convert-to", format, "--outdir", folder}
	if strings.HasSuffix(files[0], ".csv") {
		arguments = append(arguments, csvOpened())
	}
	office := exec.CommandContext(ctx, soffice, append(arguments, files...)...)
	if out, err := office.CombinedOutput(); err != nil {
		t.Fatalf("LibreOffice: %v\n%s", err, out)
	}
}

// tricky are names that programs like to take for something else. One more,
// _x0041_x0042_, LibreOffice 7.4 loses by itself: of two escapes that overlap
// it writes only the first. TestEveryTextComesBack has it.
var tricky = []string{"007", "=1+1", "+1", "-1", "@sum", "-1+3", `=HYPERLINK("a")`, "'quoted", "TRUE", "1e5", "1/2", "2027-03-01", "12:30", "_x0041_", "_x005F_",
	"two\nlines", "a\tb", `say "hi"`, "a;b,c", "<&>", "#N/A", "12345678901234567890", "0.1", "ä 油 \U0001F600", "\u202Eleft", "no\u00a0break", strings.Repeat("long ", 6553)}

// trickyBook is the demo's book with an item for each of the tricky names, as
// it is once it has been read.
func trickyBook(t *testing.T) contents {
	c := demo(t)
	for i, name := range tricky {
		c["items"] = append(c["items"], []string{"x" + strconv.Itoa(i), name, "oil", "ml", "", "", "no", "", "", "", "", "", "", "0012"})
	}
	c["items"] = append(c["items"], []string{"00012", "a code of digits", "oil", "ml"})
	path := filepath.Join(t.TempDir(), "book.xlsx")
	if err := WriteBook(path, c.tables()); err != nil {
		t.Fatal(err)
	}
	return contentsOf(t, opened(t, path))
}

// No text may be taken for a formula either: LibreOffice would compute it.
func TestABookSavedByLibreOfficeIsTheSame(t *testing.T) {
	t.Parallel()
	want := trickyBook(t)
	folder := t.TempDir()
	ours, blank, theirs := filepath.Join(folder, "book.xlsx"), filepath.Join(folder, "blank.xlsx"), filepath.Join(folder, "saved")
	if err := errors.Join(WriteBook(ours, want.tables()), WriteBlank(blank)); err != nil {
		t.Fatal(err)
	}
	convert(t, theirs, "xlsx", ours, blank)
	got := contentsOf(t, opened(t, filepath.Join(theirs, "book.xlsx")))
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	again := filepath.Join(folder, "again.xlsx")
	if err := WriteBook(again, got.tables()); err != nil {
		t.Fatal(err)
	}
	first, _ := os.ReadFile(ours)
	if second, _ := os.ReadFile(again); string(first) != string(second) {
		t.Error("saved again the book has other bytes")
	}
	stillChecks(t, filepath.Join(theirs, "blank.xlsx"))
}

// What the blank book checks and explains must survive LibreOffice.
func stillChecks(t *testing.T, path string) {
	t.Helper()
	file, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	p := unpack(t, file)
	for i, table := range book.Tables {
		sheet := p["xl/worksheets/sheet"+strconv.Itoa(i+2)+".xml"]
		if got := strings.Count(sheet, "<dataValidation "); got != len(table.Columns) {
			t.Errorf("sheet %s has %d checks, expected %d", table.Name, got, len(table.Columns))
		}
		if !strings.Contains(sheet, "<legacyDrawing") { // frozen panes it keeps only where it has a window
			t.Errorf("sheet %s has lost its notes", table.Name)
		}
	}
	if rows, err := allRows(opened(t, path), "items"); err != nil || len(rows) != 1 {
		t.Errorf("the items have %d rows, expected the header; %v", len(rows), err)
	}
}

func TestAFolderSavedByLibreOfficeIsTheSame(t *testing.T) {
	t.Parallel()
	want := trickyBook(t)
	folder := t.TempDir()
	ours, theirs := filepath.Join(folder, "book"), filepath.Join(folder, "saved")
	if err := bookfolder.Write(ours, want.tables()); err != nil {
		t.Fatal(err)
	}
	files, err := filepath.Glob(filepath.Join(ours, "*.csv"))
	if err != nil || len(files) != len(want) {
		t.Fatal(files, err)
	}
	convert(t, theirs, csvSaved, files...)
	source, err := book.Folder(os.DirFS(theirs))
	if err != nil {
		t.Fatal(err)
	}
	defer source.Close()
	if diff := cmp.Diff(want, contentsOf(t, source)); diff != "" {
		t.Error(diff)
	}
}
