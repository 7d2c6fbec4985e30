package reports

import (
	"strings"
	"unicode"

	"github.com/jedib0t/go-pretty/v6/text"
	"github.com/rivo/uniseg"
)

// Plain makes a text safe to show on one line: control characters, marks that
// turn the direction of writing, and characters that cannot be seen or are not
// UTF-8 are taken out; line ends and tabs become spaces. Terminals act on such
// characters, and a name that shows in another order than it is kept can
// deceive (Unicode Technical Report 36, 2.8 and 3.5).
func Plain(s string) string {
	clean := func(r rune) rune {
		switch {
		case r == '\n', r == '\r', r == '\t', r == '\u2028', r == '\u2029':
			return ' '
		case unicode.IsControl(r), r == unicode.ReplacementChar, hidden(r):
			return -1
		}
		return r
	}
	return strings.TrimSpace(strings.Map(clean, s))
}

// hidden reports characters that show nothing but change what others show. The
// joiners U+200C and U+200D stay: names in several scripts need them.
func hidden(r rune) bool {
	switch {
	case r >= 0x202A && r <= 0x202E, r >= 0x2066 && r <= 0x2069, // embeddings, overrides, isolates
		r == 0x200E, r == 0x200F, r == 0x061C, // direction marks
		r == 0x200B, r == 0xFEFF, r == 0x00AD, // of no width
		r >= 0xE0000 && r <= 0xE007F: // tags
		return true
	}
	return false
}

// width is the number of terminal columns that s takes.
func width(s string) int { return text.StringWidthWithoutEscSequences(s) }

// shorten cuts s between characters as people see them, so that with its … it
// takes no more than so many columns.
func shorten(s string, columns int) string {
	if width(s) <= columns {
		return s
	}
	var kept strings.Builder
	used := 0
	for g := uniseg.NewGraphemes(s); g.Next(); {
		w := width(g.Str())
		if used+w > columns-1 {
			break
		}
		kept.WriteString(g.Str())
		used += w
	}
	return strings.TrimRight(kept.String(), " ") + "…"
}

// noBreak is a space at which wrap does not break.
const noBreak = "\u00a0"

// wrap breaks s at spaces into lines of no more than so many columns; a word
// longer than a line is shortened.
func wrap(s string, columns int) []string {
	var lines []string
	line := ""
	for word := range strings.SplitSeq(s, " ") {
		word = strings.ReplaceAll(shorten(word, columns), noBreak, " ")
		switch {
		case word == "":
		case line == "":
			line = word
		case width(line)+1+width(word) <= columns:
			line += " " + word
		default:
			lines = append(lines, line)
			line = word
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}
