package inventory

import (
	"errors"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// scanned is a shop of items with codes and numbers of every sort.
func scannedShop() Shop {
	return Shop{AsOf: NewDate(2026, 11, 28), Items: []Item{
		{Code: "WIP-35", GTIN: "6291041500213"},
		{Code: "SEA 35/A", GTIN: "036000241457"},
		{Code: "oil-10%", GTIN: "40987650000223"},
		{Code: "ü漢", GTIN: "96385074"},
		{Code: "12345670"},                       // a code that is a GTIN too
		{Code: "73000110"},                       // a code of eight digits that is none
		{Code: "twin-a", GTIN: "8904000210037"},  // of two items
		{Code: "twin-b", GTIN: "08904000210037"}, // the same number, padded
		{Code: "7300011000017"},                  // a code that is the number of another
		{Code: "other", GTIN: "07300011000017"},  //
		{Code: "]C1odd"}, {Code: "circlip:odd"}, {Code: "zero", GTIN: "00000000"},
	}}
}

func TestWhatIsScannedNamesAnItem(t *testing.T) {
	const gs = "\x1d"
	rows := []struct{ rule, text, item, lot string }{
		{"a code", "WIP-35", "WIP-35", ""},
		{"a code with the scanner's line end", " WIP-35\r\n", "WIP-35", ""},
		{"a code of digits that could be a GTIN", "12345670", "12345670", ""},
		{"a code of digits that could not", "73000110", "73000110", ""},
		{"a code that looks like a symbology's mark", "]C1odd", "]C1odd", ""},
		{"a code that looks like a label of ours", "circlip:odd", "circlip:odd", ""},
		{"a code behind a symbology's mark", "]Q3WIP-35", "WIP-35", ""},
		{"our label of an item", "circlip:WIP-35", "WIP-35", ""},
		{"our label of a lot", "circlip:WIP-35/L-77", "WIP-35", "L-77"},
		{"our label behind a symbology's mark", "]Q1circlip:WIP-35/L-77", "WIP-35", "L-77"},
		{"a slash and a space in a code", "circlip:SEA%2035%2FA/3Q24%2F1", "SEA 35/A", "3Q24/1"},
		{"a percent sign in a code", "circlip:oil-10%25", "oil-10%", ""},
		{"other alphabets", "circlip:%C3%BC%E6%BC%A2/%E6%BC%A2", "ü漢", "漢"},
		{"a GTIN-13", "6291041500213", "WIP-35", ""},
		{"the same as GTIN-14", "06291041500213", "WIP-35", ""},
		{"a GTIN-12", "036000241457", "SEA 35/A", ""},
		{"the same with a zero before it", "0036000241457", "SEA 35/A", ""},
		{"a GTIN-14", "40987650000223", "oil-10%", ""},
		{"a GTIN-8", "96385074", "ü漢", ""},
		{"the same as GTIN-14", "00000096385074", "ü漢", ""},
		{"a GTIN behind a symbology's mark", "]E06291041500213", "WIP-35", ""},
		{"a label as printed", "(01)06291041500213(17)270731(10)AB-12", "WIP-35", "AB-12"},
		{"a label as printed, with spaces", "(01) 06291041500213 (17) 270731 (10) AB-12", "WIP-35", "AB-12"},
		{"a label without brackets", "01062910415002131727073110AB-12", "WIP-35", "AB-12"},
		{"a label as a scanner sends it", "]d2010629104150021310AB-12" + gs + "17270731", "WIP-35", "AB-12"},
		{"the mark of FNC1 before it", gs + "010629104150021310AB-12" + gs + "17270731", "WIP-35", "AB-12"},
		{"the GTIN behind other elements", "10AB-12" + gs + "17270731" + "0106291041500213", "WIP-35", "AB-12"},
		{"dates before the GTIN, no separator", "11260731" + "0106291041500213", "WIP-35", ""},
		{"day 00", "(01)06291041500213(17)270200", "WIP-35", ""},
		{"no lot", "(01)06291041500213", "WIP-35", ""},
		{"a lot in brackets of its own", "(01)06291041500213(10)A(1)", "WIP-35", "A(1)"},
	}
	for _, r := range rows {
		item, lot, err := ParseScan(r.text, scannedShop())
		if err != nil || item != r.item || lot != r.lot {
			t.Errorf("%s: %q: found %q, %q, %v, expected %q, %q", r.rule, r.text, item, lot, err, r.item, r.lot)
		}
	}
}

func TestWhatCannotBeScannedIsTold(t *testing.T) {
	rows := []struct {
		rule, text string
		kind       error
		told       string
	}{
		{"nothing", " \n", ErrNotFound, `found "", expected the code of an item`},
		{"an unknown code", "WIP-36", ErrNotFound, `found "WIP-36", expected the code of an item, a label of it, or the number under its bar code`},
		{"small letters are another code", "wip-35", ErrNotFound, `found "wip-35"`},
		{"a number with a digit misread", "6291041500214", ErrNotFound, "the last digit of a GTIN to be 3"},
		{"a number of nine digits", "629104150", ErrNotFound, `found "629104150"`},
		{"a number that no item has", "4006381333931", ErrNotFound, "add it to the item or type the code"},
		{"a number of two items", "8904000210037", ErrConflict, "with the items twin-a and twin-b"},
		{"a code that is the number of another", "7300011000017", ErrConflict, "the GTIN of other"},
		{"zeros, though an item has them", "00000000", ErrNotFound, `found "00000000", expected the code of an item, a label`},
		{"our label of an item that is not here", "circlip:WIP-36", ErrNotFound, `found a label of the item "WIP-36"`},
		{"our label without an item", "circlip:", ErrInvalid, "print it again"},
		{"our label with a slash and no lot", "circlip:WIP-35/", ErrInvalid, "print it again"},
		{"our label of three parts", "circlip:WIP-35/A/B", ErrInvalid, "print it again"},
		{"our label cut in an escape", "circlip:oil-10%2", ErrInvalid, "print it again"},
		{"our label cut in an escape of its lot", "circlip:WIP-35/%", ErrInvalid, "print it again"},
		{"a supplier's label of another item", "(01)04006381333931(10)A", ErrNotFound, "the GTIN 04006381333931"},
		{"a supplier's label with a digit misread", "(01)06291041500214(10)A", ErrInvalid, "behind (01)"},
		{"the same without brackets", "010629104150021410A", ErrInvalid, "behind (01)"},
		{"a supplier's label without a GTIN", "(10)A(17)270731", ErrInvalid, "without a GTIN"},
		{"a carton's label", "(02)06291041500213(37)10", ErrInvalid, "without a GTIN"},
	}
	for _, r := range rows {
		item, lot, err := ParseScan(r.text, scannedShop())
		if !errors.Is(err, r.kind) || !strings.Contains(err.Error(), r.told) {
			t.Errorf("%s: %q: found %v, expected %v with %q", r.rule, r.text, err, r.kind, r.told)
		}
		if item != "" || lot != "" {
			t.Errorf("%s: %q: found %q, %q beside a fault", r.rule, r.text, item, lot)
		}
	}
}

func TestALabelOfOursReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		code := rapid.StringMatching(`[\x21-\x7eäß漢🔩][\x20-\x7eäß漢🔩]{0,30}`)
		item, lot := strings.TrimSpace(code.Draw(t, "item")), ""
		if rapid.Bool().Draw(t, "of a lot") {
			lot = strings.TrimSpace(code.Draw(t, "lot"))
		}
		text := LabelText(item, lot)
		for _, b := range []byte(text) {
			if b <= ' ' || b > '~' {
				t.Fatalf("%q holds %q, expected plain ASCII without spaces", text, b)
			}
		}
		gotItem, gotLot, err := ParseScan(text, Shop{Items: []Item{{Code: item}}})
		if err != nil || gotItem != item || gotLot != lot {
			t.Fatalf("%q: found %q, %q, %v, expected %q, %q", text, gotItem, gotLot, err, item, lot)
		}
	})
}

func TestGTINsOfEveryLengthName(t *testing.T) {
	for _, row := range published(t, "gtin.csv") {
		number, shop := row["gtin"], Shop{Items: []Item{{Code: "it", GTIN: row["gtin"]}}}
		for _, text := range []string{number, row["gtin14_zero_padded"], "01" + row["gtin14_zero_padded"], "(01)" + row["gtin14_zero_padded"]} {
			item, _, err := ParseScan(text, shop)
			if zeros := strings.Trim(number, "0") == ""; zeros != (err != nil) || (!zeros && item != "it") {
				t.Errorf("%s: found %q, %v", text, item, err)
			}
		}
		for at := range number { // one digit misread: the check digit tells
			wrong := []byte(number)
			wrong[at] = '0' + (wrong[at]-'0'+1)%10
			if item, _, err := ParseScan(string(wrong), shop); err == nil {
				t.Errorf("%s for %s: found %s", wrong, number, item)
			}
		}
	}
}

// Which texts are dates is tested by GS1 itself: testdata/published/standards/gs1_dates.csv.
func TestDatesOfLabels(t *testing.T) {
	for _, row := range published(t, "gs1_dates.csv") {
		year, err := strconv.Atoi(row["year"])
		if err != nil {
			t.Fatal(err)
		}
		label, err := ParsePackLabel("(01)06291041500213(17)"+row["yymmdd"], NewDate(year, 6, 15))
		if got := label.Expires.String(); got != row["day"] || (err != nil) != (row["day"] == "") {
			t.Errorf("%s read in %d: found %q, %v, expected %q", row["yymmdd"], year, got, err, row["day"])
		}
	}
}

// Every sort of element is passed over in its own length.
func TestElementsAreTakenApart(t *testing.T) {
	const gs, gtin, lot = "\x1d", "0106291041500213", "10LOT"
	for _, row := range published(t, "gs1_identifiers.csv") {
		length, err := strconv.Atoi(row["length"])
		if err != nil {
			t.Fatal(err)
		}
		ai, value, end := row["identifier"], "06291041500213", ""
		if ai != "01" {
			value = strings.Repeat("1", max(length, 5))[:max(length, 5*(1-min(1, length)))]
		}
		if ai == "11" || ai == "13" || ai == "15" || ai == "17" {
			value = "261130"
		}
		if length == 0 {
			end = gs
		}
		found, err := elements(ai + value + end + lot)
		if err != nil || len(found) != 2 || found[0] != (element{ai, value}) || found[1] != (element{"10", "LOT"}) {
			t.Errorf("(%s) of %d: found %v, %v", ai, length, found, err)
		}
		if ai == "10" {
			continue
		}
		label, err := ParsePackLabel(gtin+ai+value+end+lot, NewDate(2026, 11, 28))
		if err != nil || label.Lot != "LOT" || label.GTIN != gtin[2:] {
			t.Errorf("(%s) of %d: found %+v, %v", ai, length, label, err)
		}
	}
}

func TestALabelSaysAllOfItself(t *testing.T) {
	day := func(text string) Date { return mustDate(t, text) }
	got, err := ParsePackLabel("(01)06291041500213(11)240801(13)240900(15)290228(17)300600(10)3Q24/7(21)S-1", day("2026-11-28"))
	want := PackLabel{
		GTIN: "06291041500213", Lot: "3Q24/7", Serial: "S-1",
		Made: day("2024-08-01"), Packed: day("2024-09-30"), BestBefore: day("2029-02-28"), Expires: day("2030-06-30"),
	}
	if err != nil || got != want {
		t.Errorf("found %+v, %v, expected %+v", got, err, want)
	}
}

func TestLabelsThatAreNoneAreTold(t *testing.T) {
	const gs, gtin = "\x1d", "0106291041500213"
	rows := []struct{ rule, text, told string }{
		{"nothing", "", "without a GTIN"},
		{"letters for an identifier", "xy" + gtin, "expected an application identifier"},
		{"one digit left over", gtin + "1", `found "1" on a label`},
		{"a date cut short", gtin + "1727073", `expected more behind (17)`},
		{"a separator inside a date", gtin + "1727" + gs + "0731", `expected more behind (17)`},
		{"nothing behind a lot", gtin + "10", `expected more behind (10)`},
		{"nothing behind a lot, a separator", gtin + "10" + gs + "17270731", `expected more behind (10)`},
		{"nothing behind a lot as printed", "(01)06291041500213(10)", "found 0 characters behind (10)"},
		{"an identifier cut short", gtin + "24", `expected more behind (24)`},
		{"a lot of 21 characters", gtin + "10" + strings.Repeat("x", 21), "found 21 characters behind (10), expected 1 to 20"},
		{"a letter that GS1 does not allow", gtin + "10ä", "GS1's set 82"},
		{"a space in a lot", gtin + "10A B", "GS1's set 82"},
		{"two GTINs", gtin + "0104006381333931", "found (01) twice"},
		{"two lots", gtin + "10A" + gs + "10B", "found (10) twice"},
		{"no such day", gtin + "17270230", `found "270230" behind (17)`},
		{"no such month", gtin + "17271301", `found "271301" behind (17)`},
		{"zeros for a GTIN", "0100000000000000", "behind (01)"},
		{"a GTIN too short", "(01)6291041500213", "behind (01)"},
		{"brackets of letters", "(ab)12", "expected it to begin with"},
	}
	for _, r := range rows {
		got, err := ParsePackLabel(r.text, NewDate(2026, 11, 28))
		if !errors.Is(err, ErrInvalid) || !strings.Contains(err.Error(), r.told) {
			t.Errorf("%s: found %v, expected %q", r.rule, err, r.told)
		}
		if got != (PackLabel{}) {
			t.Errorf("%s: found %+v beside a fault", r.rule, got)
		}
	}
	same := gtin + "10A" + gs + gtin + "10A"
	if _, err := ParsePackLabel(same, NewDate(2026, 11, 28)); err != nil {
		t.Errorf("the same twice: found %v, expected it to be taken", err)
	}
}

// Whatever a scanner sends, what is read from it is an item of the shop or a
// fault.
func FuzzParseScan(f *testing.F) {
	for _, text := range []string{"WIP-35", "circlip:WIP-35/%41", "]C1010629104150021310A\x1d17270731", "(01)06291041500213(10)A", "6291041500213", "24", "10\x1d"} {
		f.Add(text)
	}
	shop := scannedShop()
	f.Fuzz(func(t *testing.T, text string) {
		item, lot, err := ParseScan(text, shop)
		if err == nil && !shop.hasItem(item) {
			t.Errorf("%q: found the item %q", text, item)
		}
		if err != nil && (item != "" || lot != "") {
			t.Errorf("%q: found %q, %q beside %v", text, item, lot, err)
		}
	})
}
