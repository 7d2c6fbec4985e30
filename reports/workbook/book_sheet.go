package workbook

import (
	"bytes"
	"errors"
	"io/fs"
	"slices"
	"strconv"

	"circlip/inventory/book"
)

const (
	mainNamespace   = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
	strictNamespace = "http://purl.oclc.org/ooxml/spreadsheetml/main"

	lastColumn = 16384   // XFD
	lastRow    = 1048576 // of the file format
)

// sheet reads the rows of one worksheet part, in one pass.
type sheet struct {
	*part
	name  string
	texts []string // the texts that sheets share
	lim   limits

	row, col int  // where we are, from 1; col 0 is before the first cell
	rows     int  // rows seen
	behind   bool // past the last row
	numbered bool // rows and cells say where they are: all of them, or none
	cells    []cell
	inline   []byte // the row's own texts, one after the other
	out      []book.Cell
	look     *looks // kept where it matters how the sheet looks
}

// cell is a cell of the row at hand: its text is a shared one or lies in
// sheet.inline[start:end].
type cell struct {
	col        int
	shared     string
	start, end int
	book.Cell
}

// each hands every row that holds anything to yield until that says false or
// the sheet ends or fails. What it handed out before a failure is no part of a
// book: the caller must drop it.
func (s *sheet) each(yield func(book.Row) bool) error {
	if !s.root("worksheet", mainNamespace, strictNamespace) {
		return s.failure()
	}
	data := false
	for name, ok := s.child(); ok; name, ok = s.child() {
		switch {
		case s.look != nil && string(name) != "sheetData":
			s.looksOf(string(name))
		case string(name) != "sheetData":
			s.skip()
		case data:
			s.fail("found <sheetData> twice")
		default:
			if data = true; !s.data(yield) {
				return s.failure()
			}
			s.behind = true
		}
	}
	if s.finish(); s.err == nil && !data {
		s.fail("found no <sheetData>, expected the rows of a sheet")
	}
	return s.failure()
}

// failure is the first failure with its place: a fault of the book, unless the
// file itself could not be read.
func (s *sheet) failure() error {
	var disk *fs.PathError
	if s.err == nil || errors.As(s.err, &disk) {
		return s.err
	}
	fault := book.Fault{Table: s.name, Row: s.row, Problem: s.err.Error()}
	switch {
	case s.behind:
		fault.Column = "behind the last row"
	case s.col > 0:
		fault.Column = cellName(s.col, s.row)
	}
	return fault
}

// data reads <sheetData>; false ends the reading.
func (s *sheet) data(yield func(book.Row) bool) bool {
	for name, ok := s.child(); ok; name, ok = s.child() {
		if string(name) != "row" {
			return s.fail("found <%s> among the rows", name)
		}
		if !s.place() || !s.readRow() {
			return false
		}
		if len(s.cells) > 0 && !yield(s.take()) {
			return false
		}
	}
	return s.err == nil
}

// place moves to the row whose <row> was just read.
func (s *sheet) place() bool {
	where := s.attr("r")
	number := s.row + 1
	s.col = 0
	if s.rows++; s.rows == 1 {
		s.numbered = where != nil
	}
	if where != nil {
		var ok bool
		if number, ok = digits(where); !ok || number <= s.row {
			return s.fail("found the row number %.12q, expected one above %d", where, s.row)
		}
	}
	if number > s.lim.rows {
		return s.reject("found more than %d rows, expected at most so many", s.lim.rows)
	}
	s.row = number
	if s.look != nil {
		s.look.hiddenRow = isTrue(s.attr("hidden")) || string(s.attr("ht")) == "0"
	}
	return s.sameNumbering(where) && s.knownAttrs("r", "spans", "s", "customFormat", "ht", "hidden", "customHeight", "outlineLevel", "collapsed", "thickTop", "thickBot", "ph")
}

// sameNumbering refuses a sheet in which some rows or cells leave their place
// to be counted and others do not: a damaged place would be counted, too.
func (s *sheet) sameNumbering(where []byte) bool {
	return s.numbered == (where != nil) || s.fail("found some rows and cells with their place and some without")
}

// knownAttrs refuses attributes that no row or cell has: a damaged name would
// change what the others mean.
func (s *sheet) knownAttrs(names ...string) bool {
	for _, a := range s.attrs {
		if !prefixed(a.name) && !slices.ContainsFunc(names, func(name string) bool { return name == string(a.name) }) {
			return s.fail("found the unknown attribute %s", a.name)
		}
	}
	return true
}

// readRow reads the cells of a row into s.cells, the blank ones left out.
func (s *sheet) readRow() bool {
	s.cells, s.inline = s.cells[:0], s.inline[:0]
	for name, ok := s.child(); ok; name, ok = s.child() {
		switch string(name) {
		case "c":
			if !s.readCell() {
				return false
			}
		case "extLst":
			s.skip()
		default:
			return s.fail("found <%s> among the cells", name)
		}
	}
	return s.err == nil
}

// readCell reads one <c>. Its parts are <f>, <v> or <is>, and <extLst>, each
// at most once.
func (s *sheet) readCell() bool {
	kind, ok := s.placeCell()
	if !ok {
		return false
	}
	c := cell{col: s.col, start: len(s.inline), end: len(s.inline)}
	var value, rich bool
	for name, more := s.child(); more; name, more = s.child() {
		switch {
		case string(name) == "f" && !c.Formula && !value && !rich:
			c.Formula = true
			s.text()
		case string(name) == "v" && !value && !rich && kind != inlineText:
			value = true
			if !s.value(&c, kind) {
				return false
			}
		case string(name) == "is" && !value && !rich && kind == inlineText:
			rich = true
			s.inline = s.appendRich(s.inline)
			c.end = len(s.inline)
		case string(name) == "extLst":
			s.skip()
		default:
			return s.fail("found <%s> in a cell of the type %q", name, kind)
		}
	}
	return s.err == nil && s.keep(c)
}

// keep adds a cell that holds something to the row. Formatted blank cells, of
// which a sheet may have thousands a row, cost nothing but the reading.
func (s *sheet) keep(c cell) bool {
	size := c.end - c.start + len(c.shared)
	switch {
	case size > book.MaxCell && s.tooLong(c):
		return s.reject("found a text of more than %d characters, the most a cell may hold", book.MaxCell)
	case size == 0 && !c.Formula:
		return true
	case c.col > s.lim.columns:
		return s.reject("found a filled cell in column %d, expected at most %d columns", c.col, s.lim.columns)
	}
	s.cells = append(s.cells, c)
	return true
}

func (s *sheet) tooLong(c cell) bool {
	return units(string(s.inline[c.start:c.end]))+units(c.shared) > book.MaxCell
}

// The types of a cell (ISO/IEC 29500-1, 18.18.11).
type cellType string

const (
	number      cellType = "n"
	sharedText  cellType = "s"
	formulaText cellType = "str"
	inlineText  cellType = "inlineStr"
	boolean     cellType = "b"
	errorValue  cellType = "e"
	isoDate     cellType = "d"
)

// placeCell moves to the cell whose <c> was just read, and says its type.
func (s *sheet) placeCell() (kind cellType, ok bool) {
	where := s.attr("r")
	if where == nil {
		if s.col++; s.col > lastColumn {
			return "", s.fail("found more than %d cells in a row", lastColumn)
		}
	} else {
		col, row, valid := parseCellName(where)
		if !valid || row != s.row || col <= s.col {
			return "", s.fail("found a cell that says it is %.12q, expected one of row %d right of the last", where, s.row)
		}
		s.col = col
	}
	if kind = knownType(s.attr("t")); kind == "" {
		return "", s.fail("found the cell type %.20q, expected n, s, str, inlineStr, b, e or d", s.attr("t"))
	}
	if format := s.attr("s"); format != nil {
		if _, ok := digits(format); !ok {
			return "", s.fail("found the cell format %.20q, expected a number", format)
		}
	}
	return kind, s.sameNumbering(where) && s.knownAttrs("r", "s", "t", "cm", "vm", "ph")
}

func knownType(t []byte) cellType {
	switch string(t) {
	case "", "n":
		return number
	case "s":
		return sharedText
	case "str":
		return formulaText
	case "inlineStr":
		return inlineText
	case "b":
		return boolean
	case "e":
		return errorValue
	case "d":
		return isoDate
	}
	return ""
}

// value reads <v> into c. Numbers stay the text they are: what it means, a day
// say, is for the table's column to tell, and not for the cell's format.
func (s *sheet) value(c *cell, kind cellType) bool {
	preserve := s.preserves()
	text := s.text()
	switch kind {
	case sharedText:
		i, ok := digits(text)
		if !ok || i >= len(s.texts) {
			return s.fail("found the shared text number %.20q, expected one below %d", text, len(s.texts))
		}
		c.shared = s.texts[i]
		return true
	case number:
		if !isNumber(text) {
			return len(text) == 0 || s.fail("found %.40q, expected a number", text)
		}
		c.Numeric = true
	case boolean:
		switch string(text) {
		case "0":
			text = []byte("no")
		case "1":
			text = []byte("yes")
		default:
			return s.fail("found %.20q, expected 0 or 1", text)
		}
	case isoDate:
		text = bytes.TrimSuffix(text, []byte("T00:00:00"))
	case errorValue:
		c.Formula = true // only a formula makes one, even where just its value was pasted
	default:
		text = s.unescape(text, preserve)
	}
	s.inline = append(s.inline, text...)
	c.end = len(s.inline)
	return true
}

// take is the row at hand as the book sees it. Its texts are the caller's to
// keep, its cells are used again for the next row.
func (s *sheet) take() book.Row {
	last := s.cells[len(s.cells)-1].col
	s.out = slices.Grow(s.out[:0], last)[:last]
	clear(s.out)
	inline := string(s.inline)
	for _, c := range s.cells {
		c.Text = c.shared
		if c.end > c.start {
			c.Text = inline[c.start:c.end]
		}
		s.out[c.col-1] = c.Cell
	}
	return book.Row{Number: s.row, Cells: s.out}
}

// prefixed reports whether an attribute is of another namespace, and so none
// of those that say what a cell holds.
func prefixed(name []byte) bool {
	return bytes.IndexByte(name, ':') > 0 || bytes.Equal(name, []byte("xmlns"))
}

// digits reads a whole number of at most nine digits and nothing else.
func digits(b []byte) (n int, ok bool) {
	if len(b) == 0 || len(b) > 9 {
		return 0, false
	}
	for _, c := range b {
		if c < '0' || c > '9' {
			return 0, false
		}
		n = n*10 + int(c-'0')
	}
	return n, true
}

// parseCellName reads a place such as AB12.
func parseCellName(b []byte) (col, row int, ok bool) {
	letters := 0
	for letters < len(b) && letters < 4 && b[letters] >= 'A' && b[letters] <= 'Z' {
		col = col*26 + int(b[letters]-'A') + 1
		letters++
	}
	if letters == 0 || letters > 3 || col > lastColumn || letters == len(b) || b[letters] == '0' {
		return 0, 0, false
	}
	row, ok = digits(b[letters:])
	return col, row, ok && row <= lastRow
}

// cellName writes a place such as AB12.
func cellName(col, row int) string {
	var letters []byte
	for ; col > 0; col = (col - 1) / 26 {
		letters = append([]byte{byte('A' + (col-1)%26)}, letters...)
	}
	return string(letters) + strconv.Itoa(row)
}
