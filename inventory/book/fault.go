package book

import (
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"

	"circlip/inventory"
)

// Fault is one thing wrong with the input. Row 0 means the whole table, an
// empty Column the whole row. Found is the text as it stood in the book; empty
// where nothing was. Faults wrap inventory.ErrInvalid.
type Fault struct {
	Table                            string
	Row                              int
	Column, Problem, Found, Expected string
}

const shownFound = 60 // characters of Found that are shown

// Error is "table:row:column: what is wrong, found …, expected …". What was
// found is quoted and cut, so that hostile text cannot reach a terminal.
func (f Fault) Error() string {
	var b strings.Builder
	b.WriteString(f.Table)
	if f.Row > 0 {
		fmt.Fprintf(&b, ":%d", f.Row)
	}
	if f.Column != "" {
		b.WriteString(":" + f.Column)
	}
	b.WriteString(": " + f.Problem)
	if f.Found != "" {
		b.WriteString(", found " + quote(f.Found))
	}
	if f.Expected != "" {
		b.WriteString(", expected " + f.Expected)
	}
	return b.String()
}

// Unwrap makes errors.Is(fault, inventory.ErrInvalid) true.
func (f Fault) Unwrap() error { return inventory.ErrInvalid }

// UnknownCode is the fault of a cell whose code the table it refers to does
// not have; the nearest of the known codes is suggested.
func UnknownCode(at Fault, refers string, known []string) Fault {
	at.Problem = "unknown code"
	at.Expected = "one of the table " + refers
	if near, ok := Nearest(at.Found, known); ok {
		at.Expected += "; is it " + quote(near) + "?"
	}
	return at
}

// quote shows text safely: escapes instead of control characters, and cut to
// a length that a line of a terminal holds.
func quote(text string) string {
	if utf8.RuneCountInString(text) <= shownFound {
		return strconv.Quote(text)
	}
	kept := 0
	for i := range text {
		if kept++; kept > shownFound {
			return strconv.Quote(text[:i]) + "…"
		}
	}
	return strconv.Quote(text)
}
