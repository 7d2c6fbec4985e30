package reports

import (
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"pgregory.net/rapid"
)

func TestPlainTakesOutWhatTerminalsActOn(t *testing.T) {
	rows := []struct{ rule, in, out string }{
		{"an escape that would colour", "\x1b[31mred\x1b[0m", "[31mred[0m"},
		{"an escape that would name the window", "\x1b]0;owned\x07name", "]0;ownedname"},
		{"the one-byte form of an escape", "a\u009b31mb", "a31mb"},
		{"bell, backspace, delete", "a\ab\bc\x7fd", "abcd"},
		{"line ends and tabs become spaces", "two\r\nlines\tand a tab", "two  lines and a tab"},
		{"a right-to-left override", "invoice\u202egnp.exe", "invoicegnp.exe"},
		{"isolates and marks", "\u2066a\u2069\u200eb\u200fc\u061cd", "abcd"},
		{"what cannot be seen", "a\u200bb\ufeffc\u00add", "abcd"},
		{"tags", "a\U000E0041b", "ab"},
		{"bytes that are no text", "a\xff\xfeb", "ab"},
		{"letters of every script stay", "Gabel Ölring 密封圈 שלום सील", "Gabel Ölring 密封圈 שלום सील"},
		{"joined emoji stay joined", "👩\u200d🔧", "👩\u200d🔧"},
		{"blanks around", "  a  ", "a"},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			if got := Plain(r.in); got != r.out {
				t.Errorf("Plain(%q) = %q, expected %q", r.in, got, r.out)
			}
		})
	}
}

func TestPlainIsAlwaysOneLineOfText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Plain(string(rapid.SliceOf(rapid.Byte()).Draw(t, "bytes")) + rapid.String().Draw(t, "text"))
		if !utf8.ValidString(s) || strings.ContainsFunc(s, unicode.IsControl) {
			t.Fatalf("found %q, expected valid text without control characters", s)
		}
		if again := Plain(s); again != s {
			t.Fatalf("Plain(%q) = %q, expected no change the second time", s, again)
		}
	})
}

func TestShortenCutsBetweenCharacters(t *testing.T) {
	rows := []struct {
		rule    string
		in      string
		columns int
		out     string
	}{
		{"what fits stays", "glide ring", 10, "glide ring"},
		{"what does not ends in …", "glide ring", 9, "glide ri…"},
		{"no blank before the …", "glide ring", 7, "glide…"},
		{"wide characters take two columns", "密封圈密封圈", 6, "密封…"},
		{"a letter keeps its accent", "e\u0301e\u0301e\u0301", 2, "e\u0301…"},
		{"a joined emoji is not torn", "👩\u200d🔧👩\u200d🔧", 6, "👩\u200d🔧…"},
		{"room for nothing but the …", "abc", 1, "…"},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			if got := shorten(r.in, r.columns); got != r.out {
				t.Errorf("shorten(%q, %d) = %q, expected %q", r.in, r.columns, got, r.out)
			}
		})
	}
}

func TestWrapKeepsEveryWordAndTheWidth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		words := rapid.SliceOf(rapid.StringMatching(`[a-z密é]{1,9}`)).Draw(t, "words")
		columns := rapid.IntRange(18, 80).Draw(t, "columns")
		lines := wrap(strings.Join(words, " "), columns)
		if got := strings.Join(strings.Fields(strings.Join(lines, " ")), " "); got != strings.Join(words, " ") {
			t.Fatalf("found the words %q, expected %q", got, words)
		}
		for _, l := range lines {
			if width(l) > columns {
				t.Fatalf("line %q takes %d columns, expected at most %d", l, width(l), columns)
			}
		}
	})
}
