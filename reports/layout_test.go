package reports

import (
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// numbers and texts are columns with cells of so many characters.
func numbers(name string, wide, rank int) column {
	return column{Column: Column{Name: name, Kind: CountKind, Rank: rank}, tight: wide, natural: wide}
}

func texts(name string, wide, rank int) column {
	return column{Column: Column{Name: name, Rank: rank}, tight: wide, natural: wide}
}

func TestTheLineIsSharedOut(t *testing.T) {
	rows := []struct {
		rule    string
		columns []column
		widths  string // of those shown, in columns of the terminal
		left    string
	}{
		{"all fits", []column{texts("a", 30, 0), numbers("b", 10, 3)}, "30 10", ""},
		{"the longest text gives way", []column{texts("a", 60, 0), texts("b", 30, 0)}, "48 30", ""},
		{"down to the other, then both", []column{texts("a", 60, 0), texts("b", 60, 0)}, "39 39", ""},
		{"numbers never do", []column{texts("a", 60, 0), numbers("b", 30, 0)}, "48 30", ""},
		{"what does not fit at its least goes, the highest rank first", []column{texts("a", 40, 0), numbers("b", 30, 1), numbers("c", 30, 2)}, "40 30", "c"},
		{"of one rank the last goes first", []column{texts("a", 40, 0), numbers("b", 30, 1), numbers("c", 30, 1)}, "40 30", "c"},
		{"those left out are named in their order", []column{texts("a", 70, 0), numbers("b", 70, 1), numbers("c", 40, 2)}, "70", "b c"},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			shown, left := fit(r.columns)
			var got []string
			for _, c := range shown {
				got = append(got, Counted(c.width).String())
			}
			if strings.Join(got, " ") != r.widths || strings.Join(left, " ") != r.left {
				t.Errorf("found the widths %v and %v left out, expected %s and %q", got, left, r.widths, r.left)
			}
		})
	}
}

func TestSharingOutNeverTakesMoreThanTheLine(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var columns []column
		for range rapid.IntRange(1, 12).Draw(t, "columns") {
			wide, rank := rapid.IntRange(1, 60).Draw(t, "wide"), rapid.IntRange(0, 4).Draw(t, "rank")
			if rapid.Bool().Draw(t, "number") {
				columns = append(columns, numbers("n", wide, rank))
			} else {
				columns = append(columns, texts("t", wide, rank))
			}
		}
		shown, left := fit(columns)
		if len(shown)+len(left) != len(columns) {
			t.Fatalf("found %d columns shown and %d left out of %d", len(shown), len(left), len(columns))
		}
		total := -columnGap
		for _, c := range shown {
			total += c.width + columnGap
			if c.Kind.number() && c.width < c.tight {
				t.Fatalf("a number of %d columns got %d", c.tight, c.width)
			}
		}
		if total > lineWidth && tightest(shown) <= lineWidth {
			t.Fatalf("found %d columns of the terminal taken where %d would do", total, tightest(shown))
		}
	})
}

func TestHeadsAreBrokenIntoFewLines(t *testing.T) {
	s := Sheet{
		Columns: []Column{{Name: "Item"}, {Name: "More than the line above", Unit: "EUR", Kind: MoneyKind}},
		Rows:    []Row{{Cells: []Cell{Words("wiper"), Amount(1, euro)}}},
	}
	columns := layOut(s)
	fitted, _ := fit(columns)
	if head := fitted[1].head(); len(head) != headLines+1 || head[len(head)-1] != "EUR" {
		t.Errorf("found the head %q, expected %d lines and the unit", head, headLines)
	}
}

func TestTotalsStandUnderTheirColumn(t *testing.T) {
	s := Sheet{
		Title:   "Totals",
		Columns: []Column{{Name: "Item"}, {Name: "Qty", Kind: CountKind}, {Name: "Total", Kind: MoneyKind}},
		Rows:    []Row{{Cells: []Cell{Words("wiper"), Counted(3), Amount(1000, euro)}}},
		Totals:  []Total{{"Goods", "Total", Amount(1000, euro)}, {"Pieces", "Qty", Counted(3)}},
	}
	lines := strings.Split(textOf(t, s), "\n")
	ends := map[string]int{}
	for _, l := range lines {
		first, _, _ := strings.Cut(l, " ")
		ends[first] = width(l)
	}
	if ends["Goods"] != ends["wiper"] || ends["Pieces"] != strings.Index(strings.Join(lines, "\n"), "Qty")+3-strings.Index(strings.Join(lines, "\n"), "Item") {
		t.Errorf("expected each total under its column, found:\n%s", strings.Join(lines, "\n"))
	}
}
