package workbook

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"strings"
	"testing"
	"time"

	"circlip/inventory"
)

// entries is a zip file of entries, some of which tell lies.
func entries(headers ...zip.FileHeader) []byte {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for _, h := range headers {
		if _, err := z.CreateRaw(&h); err != nil {
			panic(err)
		}
	}
	z.Close()
	return out.Bytes()
}

// bomb is the workbook p with one part in which a text comes so many times.
func bomb(p parts, name, before, text string, times int, behind string) []byte {
	var out bytes.Buffer
	z := zip.NewWriter(&out)
	for other, content := range p {
		if other != name {
			w, _ := z.Create(other)
			io.WriteString(w, content)
		}
	}
	w, _ := z.Create(name)
	io.WriteString(w, before)
	many := strings.Repeat(text, 1+min(times, 1<<16/len(text)))
	for left := times * len(text); left > 0; left -= len(many) {
		io.WriteString(w, many[:min(left, len(many))])
	}
	io.WriteString(w, behind)
	z.Close()
	return out.Bytes()
}

// manyTexts is a workbook that shares so many texts of 32 bytes.
func manyTexts(n int) []byte {
	var texts strings.Builder
	texts.WriteString(`<sst xmlns="` + mainNamespace + `">`)
	for i := range n {
		fmt.Fprintf(&texts, "<si><t>%032d</t></si>", i*7919)
	}
	return minimal("").with(parts{textsPart: texts.String() + "</sst>"}).pack()
}

// forged is file with the declared unpacked size of one part changed, in the
// local header's descriptor and in the directory.
func forged(file []byte, name string, size uint32) []byte {
	z, err := zip.NewReader(bytes.NewReader(file), int64(len(file)))
	if err != nil {
		panic(err)
	}
	for _, f := range z.File {
		if f.Name == name {
			file = bytes.ReplaceAll(file, binary.LittleEndian.AppendUint32(nil, uint32(f.UncompressedSize64)), binary.LittleEndian.AppendUint32(nil, size))
		}
	}
	return file
}

func utf16le(text string) string {
	return "\xff\xfe" + string(wide(text))
}

func hostileFiles(t *testing.T) []struct {
	rule string
	file []byte
	want string
} {
	item := `<row r="1"><c r="A1" t="s"><v>0</v></c></row>`
	good := minimal(item)
	sheetStart, sheetEnd := `<worksheet xmlns="`+mainNamespace+`"><sheetData>`, `</sheetData></worksheet>`
	stored := func(name string) zip.FileHeader { return zip.FileHeader{Name: name, Method: zip.Store} }
	huge := stored("xl/worksheets/sheet2.xml")
	huge.Method, huge.CompressedSize64, huge.UncompressedSize64 = zip.Deflate, 10<<20, 10<<30
	dense := stored("xl/media/image1.png")
	dense.Method, dense.CompressedSize64, dense.UncompressedSize64 = zip.Deflate, 50<<10, 50<<20
	link := stored("xl/link")
	link.SetMode(os.ModeSymlink | 0o777)
	locked := stored("xl/workbook.xml")
	locked.Flags = 1
	packed := stored("xl/workbook.xml")
	packed.Method = 12
	var many []zip.FileHeader
	for i := range 60_000 {
		many = append(many, stored(fmt.Sprintf("xl/%d", i)))
	}
	nested := minimal(item).with(parts{"xl/embedded.zip": string(bomb(parts{}, "a", "", "0", 1<<20, ""))})
	return []struct {
		rule string
		file []byte
		want string
	}{
		{"an empty file", nil, "found an empty file, expected .xlsx"},
		{"a CSV file", []byte("item,name\no-ring-20,O-ring\n"), "found a text file, expected .xlsx; a book of CSV files is loaded by naming its folder"},
		{"a web page", []byte("\n<HTML><table>"), "found a web page, expected .xlsx; open it in the spreadsheet program and save it as .xlsx"},
		{"an XML file", []byte("<?xml version='1.0'?><Workbook/>"), "found an XML file, expected .xlsx; open it in the spreadsheet program and save it as .xlsx"},
		{"a PDF document", []byte("%PDF-1.7 "), "found a PDF document, expected .xlsx"},
		{"a gzip file", []byte("\x1f\x8b\x08\x00"), "found a gzip file, expected .xlsx; unpack it first"},
		{"noise", []byte("\x00\x01\x02\x03\x04"), "found a file that begins with 00 01 02 03, expected .xlsx"},
		{"an old .xls", []byte(compound + strings.Repeat("\x00", 600) + string(wide("Workbook"))), "found an old .xls workbook, expected .xlsx; open it and save it as .xlsx"},
		{"a workbook with a password", []byte(compound + strings.Repeat("\x00", 600) + string(wide("EncryptedPackage"))), "found a workbook encrypted with a password; save it without one"},
		{"an old document", []byte(compound + strings.Repeat("\x00", 600)), "found an old office document, expected .xlsx"},
		{"a renamed .zip", parts{"items.csv": "item,name\n"}.pack(), "found a zip file that holds no workbook, expected a book saved as .xlsx; a zip of CSV files is loaded by unpacking it and naming its folder"},
		{"an empty .zip", parts{}.pack(), "found an empty zip file, expected .xlsx"},
		{"an .ods", parts{"mimetype": "application/vnd.oasis.opendocument.spreadsheet", "content.xml": "<a/>"}.pack(), "found an OpenDocument spreadsheet (.ods), expected .xlsx; open it and save it as Excel 2007-365 (.xlsx)"},
		{"a .docx", good.replaced("_rels/.rels", "xl/workbook.xml", "word/document.xml").with(parts{"word/document.xml": `<w:document xmlns:w="x"/>`, "word/_rels/document.xml.rels": good["xl/_rels/workbook.xml.rels"]}).pack(),
			"workbook: damaged XML: found the root element <w:document>, expected <workbook>"},
		{"an .xlsb", good.replaced("_rels/.rels", "workbook.xml", "workbook.bin").with(parts{"xl/workbook.bin": "\x83\x01"}).pack(), "found a binary workbook (.xlsb), expected .xlsx; open it and save it as .xlsx"},

		{"a file cut in the middle", good.pack()[:900], "found a damaged or cut zip container (zip: not a valid zip file), expected a whole .xlsx; take the file from its source again"},
		{"a part of 10 GiB", entries(stored("[Content_Types].xml"), huge), `found the part "xl/worksheets/sheet2.xml" of 10240 MiB unpacked, expected at most 512 MiB`},
		{"a part packed 1024 to 1", entries(stored("[Content_Types].xml"), dense), `found the part "xl/media/image1.png" packed 1024 to 1, expected at most 100 to 1: a zip bomb`},
		{"sizes that overlap", entries(zip.FileHeader{Name: "a", CompressedSize64: 4000, UncompressedSize64: 4000}), "found parts that overlap each other"},
		{"a sheet of blanks", bomb(good, sheetPart1, sheetStart, " ", 50<<20, sheetEnd), `found the part "xl/worksheets/sheet1.xml" packed 1026 to 1, expected at most 100 to 1: a zip bomb`},
		{"60,000 parts", entries(many...), "found a list of parts longer than 1024 KiB, expected at most 200 parts"},
		{"201 parts", entries(many[:201]...), "found 201 parts, expected at most 200"},
		{"a zip in the zip is no part of the book", nested.pack(), ""},
		{"a symbolic link", entries(link), `found a symbolic link, "xl/link"`},
		{"a part above the folder", parts{"../evil": "a"}.pack(), `found a part of the name "../evil", which leads out of the file`},
		{"a part from the root", parts{"/etc/passwd": "a"}.pack(), `found a part of the name "/etc/passwd", which leads out of the file`},
		{"a part on another drive", parts{`C:\evil`: "a"}.pack(), `found a part of the name "C:\\evil", which leads out of the file`},
		{"two parts of one name", good.with(parts{"XL/Workbook.xml": "a"}).pack(), `found the part "xl/workbook.xml" twice`},
		{"a part with a password", entries(locked), `found the part "xl/workbook.xml" encrypted; save the book without a password`},
		{"a part packed by another method", entries(packed), `found the part "xl/workbook.xml" packed by method 12, expected deflate`},
		{"no list of references", good.with(parts{"_rels/.rels": ""}).pack(), "found a workbook without its list of parts; save the book again from the spreadsheet program"},
		{"no workbook part", good.with(parts{workbookPart: ""}).pack(), "found no workbook part in the file, expected a book saved as .xlsx"},
		{"no sheet part", good.with(parts{sheetPart1: ""}).pack(), `workbook: sheet items: found no part "xl/worksheets/sheet1.xml" in the file that should hold it`},
		{"no references of the workbook", good.with(parts{"xl/_rels/workbook.xml.rels": ""}).pack(), `list of references: found no part "xl/_rels/workbook.xml.rels" in the file`},
		{"a sheet of no reference", good.replaced(workbookPart, `r:id="b"`, `r:id="x"`).pack(), `workbook: damaged XML: sheet items: found no worksheet behind the reference "x"`},
		{"a reference out of the file", good.replaced("xl/_rels/workbook.xml.rels", "worksheets/sheet1.xml", "../../../etc/passwd").pack(), `list of references: found a reference to "../../../etc/passwd" outside of the file`},
		{"a reference to the network", good.replaced("xl/_rels/workbook.xml.rels", "worksheets/sheet1.xml", "http://example.org/a.xml").pack(), `list of references: found a reference to "http://example.org/a.xml" outside of the file`},
		{"an external sheet", good.replaced("xl/_rels/workbook.xml.rels", `Target="worksheets`, `TargetMode="External" Target="worksheets`).pack(), `workbook: sheet items: found no part "" in the file that should hold it`},
		{"two sheets of one name", good.replaced(workbookPart, "</sheets>", `<sheet name="ITEMS" r:id="b"/></sheets>`).pack(), `workbook: found two sheets named "ITEMS", expected one`},
		{"no sheets", good.replaced(workbookPart, `<sheet name="items" sheetId="1" r:id="b"/>`, "").pack(), "workbook: damaged XML: found no sheets"},
		{"a date system of no kind", good.replaced(workbookPart, "<sheets>", `<workbookPr date1904="maybe"/><sheets>`).pack(), `workbook: damaged XML: found date1904="maybe", expected 0 or 1`},

		{"a document type in the texts", good.with(parts{textsPart: `<!DOCTYPE sst [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;">]><sst xmlns="` + mainNamespace + `"><si><t>&b;</t></si></sst>`}).pack(), "shared texts: damaged XML: found a DOCTYPE, which a workbook never has"},
		{"a million and one texts", manyTexts(standard.texts + 1), "shared texts: shared text number 1000000: found more than 1000000 texts that sheets share"},
		{"an endless text", bomb(good, textsPart, `<sst xmlns="`+mainNamespace+`"><si><t>`, "a", 3<<20, "</t></si></sst>"), "shared texts: shared text number 1: damaged XML: found a text or tag of more than 524288 bytes"},
		{"texts cut short", good.with(parts{textsPart: `<sst xmlns="` + mainNamespace + `"><si><t>zero</t></si><si><t>o`}).pack(), "shared texts: shared text number 2: damaged XML: the part ends inside <t>"},

		{"a part that unpacks to more than it says", forged(bomb(good, sheetPart1, sheetStart+item, "<!-- -->", 200, sheetEnd), sheetPart1, 500), "items: the part cannot be unpacked: zip: not a valid zip file"},
		{"a part that unpacks to less than it says", forged(bomb(good, sheetPart1, sheetStart+item, "<!-- -->", 200, sheetEnd), sheetPart1, 5000), "items: the part cannot be unpacked: unexpected EOF"},
	}
}

// failureOf is what is wrong with a file, read to its end.
func failureOf(path string) error {
	b, err := OpenBook(path)
	if err != nil {
		return err
	}
	defer b.Close()
	for _, name := range b.Tables() {
		if _, err := allRows(b, name); err != nil {
			return err
		}
	}
	return nil
}

func TestBadFilesAreNamedFastAndInLittleMemory(t *testing.T) {
	folder := t.TempDir()
	for i, test := range hostileFiles(t) {
		t.Run(test.rule, func(t *testing.T) {
			path := filepath.Join(folder, fmt.Sprintf("%d.xlsx", i))
			if err := os.WriteFile(path, test.file, 0o600); err != nil {
				t.Fatal(err)
			}
			start := time.Now()
			err := failureOf(path)
			if spent := time.Since(start); spent > 2*time.Second {
				t.Errorf("took %s", spent)
			}
			sameFailure(t, err, test.want, path)
		})
	}
	peak := peakOf(t, folder)
	t.Logf("at its peak %d MiB", peak>>10)
	if peak > 256<<10 {
		t.Errorf("took %d MiB of memory at its peak, expected less than 256", peak>>10)
	}
}

const readAlone = "CIRCLIP_TEST_READ"

// TestReadAlone is no test but what peakOf runs, in a process of its own.
func TestReadAlone(t *testing.T) {
	folder := os.Getenv(readAlone)
	if folder == "" {
		t.Skip("only run by TestBadFilesAreNamedFastAndInLittleMemory")
	}
	files, err := os.ReadDir(folder)
	if err != nil || len(files) == 0 {
		t.Fatal("nothing to read", err)
	}
	for _, f := range files {
		failureOf(filepath.Join(folder, f.Name()))
	}
	status, err := os.ReadFile("/proc/self/status")
	if err != nil {
		t.Fatal(err)
	}
	fmt.Printf("%s\n", status)
}

// peakOf is the most memory, in KiB, that a process takes which reads all files
// of a folder, one after the other, and does nothing else.
func peakOf(t *testing.T, folder string) int {
	t.Helper()
	if runtime.GOOS != "linux" {
		return 0 // measured where /proc tells
	}
	alone := exec.Command(os.Args[0], "-test.run=^TestReadAlone$")
	alone.Env = append(os.Environ(), readAlone+"="+folder)
	out, err := alone.Output()
	if err != nil {
		t.Fatal(err)
	}
	_, peak, _ := strings.Cut(string(out), "VmHWM:")
	var kib int
	if _, err := fmt.Sscan(peak, &kib); err != nil {
		t.Fatal(err)
	}
	return kib
}

var atByte = regexp.MustCompile(`, at byte \d+ of the part$`)

// sameFailure compares an error's text without the file's own name and the
// byte, which TestPartRefusesWhatIsNoWorkbookXML looks at, and wants
// every refusal to wrap inventory.ErrInvalid.
func sameFailure(t *testing.T, err error, want, path string) {
	t.Helper()
	if err == nil {
		if want != "" {
			t.Errorf("taken, want: %s", want)
		}
		return
	}
	got := atByte.ReplaceAllString(strings.TrimPrefix(err.Error(), "invalid: book "+path+": "), "")
	if got != want {
		t.Errorf("got  %s\nwant %s", got, want)
	}
	if !errors.Is(err, inventory.ErrInvalid) {
		t.Errorf("%v does not wrap %v", err, inventory.ErrInvalid)
	}
}

func TestDamagedSheetsAreNamedWithTheirPlace(t *testing.T) {
	long := strings.Repeat("x", 32768)
	text := func(s string) string {
		return `<row r="7"><c r="C7" t="inlineStr"><is><t>` + s + `</t></is></c></row>`
	}
	for _, test := range []struct{ rule, rows, want string }{
		{"a huge cell", text(long), `items:7:C7: found a text of more than 32767 characters, the most a cell may hold`},
		{"a cell of half as many pairs", text(strings.Repeat("\U0001F600", 16384)), `items:7:C7: found a text of more than 32767 characters, the most a cell may hold`},
		{"a text in Latin-1", text("M\xfcller"), `items:7:C7: damaged XML: found the byte 0xfc, which is not UTF-8`},
		{"half a character", text("_xD83D_x"), `items:7:C7: damaged XML: found half of a character, "_xD83D_x"`},
		{"an entity bomb", text("&lol9;"), `items:7:C7: damaged XML: found "&lol9;", expected a character reference`},
		{"a shared text that is not there", `<row r="7"><c r="C7" t="s"><v>1000000000</v></c></row>`, `items:7:C7: damaged XML: found the shared text number "1000000000", expected one below 3`},
		{"a negative shared text", `<row r="7"><c r="C7" t="s"><v>-1</v></c></row>`, `items:7:C7: damaged XML: found the shared text number "-1", expected one below 3`},
		{"text where a number is stored", `<row r="7"><c r="C7"><v>twelve</v></c></row>`, `items:7:C7: damaged XML: found "twelve", expected a number`},
		{"a number that is none", `<row r="7"><c r="C7"><v>NaN</v></c></row>`, `items:7:C7: damaged XML: found "NaN", expected a number`},
		{"a yes or no that is neither", `<row r="7"><c r="C7" t="b"><v>2</v></c></row>`, `items:7:C7: damaged XML: found "2", expected 0 or 1`},
		{"a type of no kind", `<row r="7"><c r="C7" t="x"><v>2</v></c></row>`, `items:7:C7: damaged XML: found the cell type "x", expected n, s, str, inlineStr, b, e or d`},
		{"a format that is no number", `<row r="7"><c r="C7" s="x"/></row>`, `items:7:C7: damaged XML: found the cell format "x", expected a number`},
		{"an attribute of no meaning", `<row r="7"><c r="C7" u="s"/></row>`, `items:7:C7: damaged XML: found the unknown attribute u`},
		{"two values", `<row r="7"><c r="C7"><v>1</v><v>2</v></c></row>`, `items:7:C7: damaged XML: found <v> in a cell of the type "n"`},
		{"a text in a number", `<row r="7"><c r="C7"><is><t>1</t></is></c></row>`, `items:7:C7: damaged XML: found <is> in a cell of the type "n"`},
		{"a value in a text", `<row r="7"><c r="C7" t="inlineStr"><v>1</v></c></row>`, `items:7:C7: damaged XML: found <v> in a cell of the type "inlineStr"`},
		{"an element in a value", `<row r="7"><c r="C7"><v><b/>1</v></c></row>`, `items:7:C7: damaged XML: found <b> inside a text`},
		{"text between the cells", `<row r="7"><c r="C7"/>1</row>`, `items:7:C7: damaged XML: found the text "1" between the elements`},
		{"an element between the cells", `<row r="7"><c r="C7"/><d/></row>`, `items:7:C7: damaged XML: found <d> among the cells`},
		{"an element between the rows", `<row r="7"/><rov r="8"/>`, `items:7: damaged XML: found <rov> among the rows`},
		{"an attribute of no meaning at a row", `<row r="7" q="1"/>`, `items:7: damaged XML: found the unknown attribute q`},
		{"rows that go back", `<row r="7"/><row r="6"/>`, `items:7: damaged XML: found the row number "6", expected one above 7`},
		{"a row twice", `<row r="7"/><row r="7"/>`, `items:7: damaged XML: found the row number "7", expected one above 7`},
		{"row 0", `<row r="0"/>`, `items: damaged XML: found the row number "0", expected one above 0`},
		{"a row beyond the sheet", `<row r="1048577"/>`, `items: found more than 1048576 rows, expected at most so many`},
		{"cells that go back", `<row r="7"><c r="C7"/><c r="B7"/></row>`, `items:7:C7: damaged XML: found a cell that says it is "B7", expected one of row 7 right of the last`},
		{"a cell twice", `<row r="7"><c r="C7"/><c r="C7"/></row>`, `items:7:C7: damaged XML: found a cell that says it is "C7", expected one of row 7 right of the last`},
		{"a cell of another row", `<row r="7"><c r="C8"/></row>`, `items:7: damaged XML: found a cell that says it is "C8", expected one of row 7 right of the last`},
		{"a cell in no column", `<row r="7"><c r="c7"/></row>`, `items:7: damaged XML: found a cell that says it is "c7", expected one of row 7 right of the last`},
		{"a cell beyond the last column", `<row r="7"><c r="XFE7"/></row>`, `items:7: damaged XML: found a cell that says it is "XFE7", expected one of row 7 right of the last`},
		{"a filled cell far out", `<row r="7"><c r="XFD7"><v>1</v></c></row>`, `items:7:XFD7: found a filled cell in column 16384, expected at most 200 columns`},
		{"some places missing", `<row r="7"><c r="C7"/><c/></row>`, `items:7:D7: damaged XML: found some rows and cells with their place and some without`},
		{"an end tag too many", `<row r="7"></row></row>`, `items:7: damaged XML: found </row>, expected the end of <sheetData>`},
		{"an odd xml:space", `<row r="7"><c r="C7" xml:space="reserve"/></row>`, `items:7:C7: damaged XML: found xml:space="reserve", expected preserve or default`},
	} {
		t.Run(test.rule, func(t *testing.T) {
			_, err := rowsOf(minimal(test.rows).pack(), "items")
			sameFailure(t, err, test.want, "")
		})
	}
}

func TestDamagedPartsOfASheetAreNamed(t *testing.T) {
	good := minimal(`<row r="1"><c r="A1" t="s"><v>0</v></c></row>`)
	sheet := good[sheetPart1]
	for _, test := range []struct{ rule, sheet, want string }{
		{"no rows at all", strings.NewReplacer("<sheetData>", "<sheetDate>", "</sheetData>", "</sheetDate>").Replace(sheet), `items: damaged XML: found no <sheetData>, expected the rows of a sheet`},
		{"rows twice", strings.Replace(sheet, "</sheetData>", "</sheetData><sheetData/>", 1), `items:1:behind the last row: damaged XML: found <sheetData> twice`},
		{"a sheet of another kind", strings.ReplaceAll(sheet, "worksheet", "chartsheet"), `items: damaged XML: found the root element <chartsheet>, expected <worksheet>`},
		{"another namespace", strings.Replace(sheet, "/main", "/mine", 1), `items: damaged XML: found <worksheet> of the namespace "http://schemas.openxmlformats.org/spreadsheetml/2006/mine", expected "http://schemas.openxmlformats.org/spreadsheetml/2006/main"`},
		{"a namespace changed inside", strings.Replace(sheet, "<sheetData>", `<sheetData xmlns="x">`, 1), `items: damaged XML: found another namespace declared at <sheetData>`},
		{"damage behind the rows", strings.Replace(sheet, "</worksheet>", "<a></b></worksheet>", 1), `items:1:behind the last row: damaged XML: found </b>, expected the end of <a>`},
		{"text behind the end", sheet + "x", `items:1:behind the last row: damaged XML: found text behind the last element`},
		{"UTF-16", utf16le(sheet), `items: damaged XML: found the encoding UTF-16, expected UTF-8`},
		{"another encoding", `<?xml version="1.0" encoding="windows-1252"?>` + sheet, `items: damaged XML: found the encoding "windows-1252", expected UTF-8`},
		{"a document type", `<!DOCTYPE worksheet SYSTEM "file:///etc/passwd">` + sheet, `items: damaged XML: found a DOCTYPE, which a workbook never has`},
		{"an empty sheet part", " ", `items: damaged XML: found no element, expected <worksheet>`},
	} {
		t.Run(test.rule, func(t *testing.T) {
			_, err := rowsOf(good.with(parts{sheetPart1: test.sheet}).pack(), "items")
			sameFailure(t, err, test.want, "")
		})
	}
}

// A checksum that does not fit shows only at the end of a part.
func TestAWrongChecksumIsAFault(t *testing.T) {
	p := minimal(`<row r="1"><c r="A1" t="s"><v>0</v></c></row>`)
	sum := binary.LittleEndian.AppendUint32(nil, crc32.ChecksumIEEE([]byte(p[sheetPart1])))
	file := bytes.ReplaceAll(p.pack(), sum, []byte{1, 2, 3, 4})
	_, err := rowsOf(file, "items")
	sameFailure(t, err, "items: the part cannot be unpacked: zip: checksum error", "")
}

// What a file may ask for is bounded also where ratio does not tell.
func TestSharedTextsAreCountedAndWeighed(t *testing.T) {
	lim := standard
	lim.texts, lim.textBytes = 2, 100
	file := minimal("").pack()
	_, err := openBook(bytes.NewReader(file), int64(len(file)), lim)
	if want := "shared texts: shared text number 2: found more than 2 texts that sheets share"; err == nil || err.Error() != want {
		t.Errorf("got %v\nwant %s", err, want)
	}
	lim.texts, lim.textBytes = 3, 6
	_, err = openBook(bytes.NewReader(file), int64(len(file)), lim)
	if want := "shared texts: shared text number 2: found texts of more than 0 MiB together"; err == nil || err.Error() != want {
		t.Errorf("got %v\nwant %s", err, want)
	}
}
