package book

import (
	"bytes"
	"encoding/csv"
	"errors"
	"io"
	"iter"
	"strings"
	"testing"

	"circlip/inventory"

	"pgregory.net/rapid"
)

// cellsOf is rows of cells that end with an error, if there is one.
func cellsOf(rows [][]string, err error) iter.Seq2[[]string, error] {
	return func(yield func([]string, error) bool) {
		for _, row := range rows {
			if !yield(row, nil) {
				return
			}
		}
		if err != nil {
			yield(nil, err)
		}
	}
}

var twoTexts = Table{"two", "", []Column{{Name: "a", Kind: Text}, {Name: "b", Kind: Text}}}

func TestWrittenCells(t *testing.T) {
	table := Table{"t", "", []Column{{Name: "text", Kind: Text}, {Name: "number", Kind: Decimal}}}
	for _, c := range []struct{ rule, text, number, line string }{
		{"plain", "abc", "1.5", "abc,1.5\n"},
		{"a negative number is no formula", "x", "-1.5", "x,-1.5\n"},
		{"a text like a negative number is guarded", "-1.5", "1", "'-1.5,1\n"},
		{"what is no number is guarded in a column of numbers too", "x", "-1+cmd", "x,'-1+cmd\n"},
		{"equals sign", "=1+1", "", "'=1+1,\n"},
		{"plus", "+1", "", "'+1,\n"},
		{"at sign", "@SUM(A1)", "", "'@SUM(A1),\n"},
		{"TAB", "\t=1", "", "'\t=1,\n"},
		{"CR", "\r=1", "", "\"'\r=1\",\n"},
		{"a guard of the text's own", "'=1", "", "''=1,\n"},
		{"an apostrophe before letters", "'tis", "", "'tis,\n"},
		{"comma, quote, line end", "a,\"b\"\nc", "", "\"a,\"\"b\"\"\nc\",\n"},
	} {
		var out bytes.Buffer
		if err := WriteTable(&out, table, cellsOf([][]string{{c.text, c.number}}, nil)); err != nil {
			t.Fatal(err)
		}
		want(t, c.rule, out.String(), "text,number\n"+c.line)
	}
}

// The guard is put on and taken off for every text, with NUL as well, which no
// file may hold.
func TestGuardedTextsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.OneOf(rapid.String(), hostileText()).Draw(t, "text")
		guarded := guard(text)
		if unguard(guarded) != text {
			t.Fatalf("%q became %q and %q", text, guarded, unguard(guarded))
		}
		if guarded != "" && strings.IndexByte(formulaLeads, guarded[0]) >= 0 {
			t.Fatalf("%q begins like a formula", guarded)
		}
	})
}

func hostileText() *rapid.Generator[string] {
	return rapid.Custom(func(t *rapid.T) string {
		return strings.Join(rapid.SliceOf(rapid.SampledFrom([]string{"'", "=", "+", "-", "@", "\t", "\r", "\n", "\r\n", "\x00", `"`, ",", ";", " ", "a", "ä", "\uFEFF", "\u202e"})).Draw(t, "parts"), "")
	})
}

func TestEveryTextWrittenIsReadBack(t *testing.T) {
	text := rapid.OneOf(rapid.String(), hostileText()).Filter(func(s string) bool { return !strings.Contains(s, "\x00") })
	rapid.Check(t, func(t *rapid.T) {
		width := rapid.IntRange(1, 4).Draw(t, "width")
		table := Table{Name: "t"}
		for i := range width {
			table.Columns = append(table.Columns, Column{Name: string(rune('a' + i)), Kind: Text})
		}
		rows := rapid.SliceOf(rapid.SliceOfN(text, width, width)).Draw(t, "rows")
		var out bytes.Buffer
		if err := WriteTable(&out, table, cellsOf(rows, nil)); err != nil {
			t.Fatal(err)
		}
		back := parse(bytes.NewReader(out.Bytes()))
		if back.Err != "" {
			t.Fatal(back.Err)
		}
		wantIn(t, back.Rows[1:], append([][]string{}, rows...))
	})
}

// The standard library's reader is the outside check of what we write; it
// turns CR LF in quotes into LF, so texts hold no CR here.
func TestTheStandardLibraryReadsWhatWeWrite(t *testing.T) {
	text := rapid.String().Filter(func(s string) bool { return !strings.ContainsAny(s, "\x00\r") })
	rapid.Check(t, func(t *rapid.T) {
		rows := rapid.SliceOf(rapid.SliceOfN(text, 2, 2)).Draw(t, "rows")
		var out bytes.Buffer
		if err := WriteTable(&out, twoTexts, cellsOf(rows, nil)); err != nil {
			t.Fatal(err)
		}
		expected := [][]string{{"a", "b"}}
		for _, row := range rows {
			expected = append(expected, []string{guard(row[0]), guard(row[1])})
		}
		found, err := csv.NewReader(&out).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		wantIn(t, found, expected)
	})
}

func TestWhatNoFileMayHoldIsRefused(t *testing.T) {
	for _, text := range []string{"a\x00b", "D\xE4mpfer"} {
		err := WriteTable(io.Discard, twoTexts, cellsOf([][]string{{"x", text}}, nil))
		if !errors.Is(err, inventory.ErrInvalid) || !strings.HasPrefix(err.Error(), "invalid: column b: found ") {
			t.Errorf("%q: found %v, expected it to be refused", text, err)
		}
	}
}

func TestFormatWithoutMeasureOrCurrencyCannotBeRead(t *testing.T) {
	kits := mustTable(t, "kits")
	cells := kits.Format([]any{"K", "NEW", inventory.Quantity(5)}, &Context{})
	want(t, "cells", cells, []string{"K", "NEW", "5 of unknown measure or currency"})
}
