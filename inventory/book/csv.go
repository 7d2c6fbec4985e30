package book

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// records reads CSV as RFC 4180 has it and nothing looser: cells between
// commas, a cell in quotes may hold commas, line ends and doubled quotes, a
// record ends with LF or CR LF. Unlike encoding/csv it keeps what stands
// between quotes byte by byte, bounds the memory a cell can take, and refuses
// text that is not UTF-8.
type records struct {
	in    *bufio.Reader
	table string
	line  int    // being read
	text  []byte // the record's cells one after the other
	ends  []int  // where each ends in text
	cells []Cell
}

// maxCellBytes is kept of a cell: enough to see that it is longer than
// MaxCell whatever its characters.
const maxCellBytes = 4*MaxCell + 8

// newRecords reads from in; faults are told as of the table.
func newRecords(in io.Reader, table string) *records {
	return &records{in: bufio.NewReaderSize(in, 64<<10), table: table, line: 1}
}

// delimiter is what ended a cell.
type delimiter int

const (
	comma delimiter = iota
	lineEnd
	fileEnd
)

// begin skips a byte order mark and refuses other encodings by theirs.
func (r *records) begin() error {
	head, _ := r.in.Peek(3)
	switch {
	case strings.HasPrefix(string(head), "\xEF\xBB\xBF"):
		_, err := r.in.Discard(3)
		return err
	case strings.HasPrefix(string(head), "\xFF\xFE"), strings.HasPrefix(string(head), "\xFE\xFF"):
		return r.fault(1, "the file is UTF-16", "", "UTF-8")
	}
	return nil
}

// next is the next record that is not an empty line, with its line's number;
// io.EOF after the last.
func (r *records) next() (Row, error) {
	for {
		start := r.line
		ended, quoted, err := r.record()
		if err != nil {
			return Row{}, err
		}
		if len(r.ends) == 1 && r.ends[0] == 0 && !quoted {
			if ended == fileEnd {
				return Row{}, io.EOF
			}
			continue
		}
		return r.row(start)
	}
}

// record reads the cells of one record into text and ends. Cells beyond the
// limit are read past and forgotten: one more than allowed shows that there
// were too many.
func (r *records) record() (ended delimiter, quoted bool, err error) {
	r.text, r.ends = r.text[:0], r.ends[:0]
	for {
		ended, quoted, err = r.cell()
		if err != nil {
			return 0, false, err
		}
		if len(r.ends) <= MaxCells { // one more shows that there are too many
			r.ends = append(r.ends, len(r.text))
		} else {
			r.text = r.text[:r.ends[MaxCells]]
		}
		if ended != comma {
			return ended, quoted, nil
		}
	}
}

// cell reads one cell with what ended it. Only its first character decides
// whether it is in quotes: RFC 4180 knows no quotes inside a plain cell, and
// guessing what one means has cost many a reader half a file.
func (r *records) cell() (ended delimiter, quoted bool, err error) {
	b, err := r.in.ReadByte()
	if err == nil && b == '"' {
		ended, err = r.quoted()
		return ended, true, err
	}
	start := len(r.text)
	for ; err == nil; b, err = r.in.ReadByte() {
		switch b {
		case ',':
			return comma, false, nil
		case '\n', '\r':
			ended, err = r.endOfLine(b)
			return ended, false, err
		case '"':
			return 0, false, r.fault(r.line, "a quote inside a cell that does not begin with one", string(r.text[start:])+`"`, "the cell in quotes and its own quotes doubled")
		}
		r.keep(start, b)
	}
	ended, err = endOfFile(err)
	return ended, false, err
}

// quoted reads on behind an opening quote, up to what ends the cell.
func (r *records) quoted() (delimiter, error) {
	start, line := len(r.text), r.line
	for {
		b, err := r.in.ReadByte()
		if errors.Is(err, io.EOF) {
			return 0, r.fault(line, "a quote that is never closed", string(r.text[start:]), "a second quote at the end of the cell")
		}
		if err != nil {
			return 0, err
		}
		if b == '"' {
			if b, err = r.in.ReadByte(); err != nil || b != '"' {
				return r.afterQuote(b, err, start)
			}
		}
		if b == '\n' {
			r.line++
		}
		r.keep(start, b)
	}
}

// afterQuote judges what follows a quote that is not doubled: it must be the
// end of the cell.
func (r *records) afterQuote(b byte, err error, start int) (delimiter, error) {
	switch {
	case err != nil:
		return endOfFile(err)
	case b == ',':
		return comma, nil
	case b == '\n' || b == '\r':
		return r.endOfLine(b)
	}
	return 0, r.fault(r.line, "text after a closing quote", string(r.text[start:])+`"`+string([]byte{b}), "a comma or the end of the line, or the quote doubled")
}

// endOfLine takes LF, or CR with its LF. A CR alone is the line end of very
// old programs; taken as text it would join all lines into one.
func (r *records) endOfLine(b byte) (delimiter, error) {
	if b == '\r' {
		next, err := r.in.ReadByte()
		if err != nil {
			return endOfFile(err)
		}
		if next != '\n' {
			return 0, r.fault(r.line, "a carriage return without a line feed", "", "lines that end with LF or CR LF")
		}
	}
	r.line++
	return lineEnd, nil
}

// endOfFile tells the end of the file from a failure to read it.
func endOfFile(err error) (delimiter, error) {
	if errors.Is(err, io.EOF) {
		return fileEnd, nil
	}
	return 0, err
}

// keep adds a byte to the cell that starts there, within the limit.
func (r *records) keep(start int, b byte) {
	if len(r.text)-start < maxCellBytes {
		r.text = append(r.text, b)
	}
}

// row makes cells of the record's text and looks for what is not text.
func (r *records) row(line int) (Row, error) {
	text := string(r.text)
	r.cells = r.cells[:0]
	start := 0
	for _, end := range r.ends {
		cell := text[start:end]
		if len(cell) == maxCellBytes {
			cell = wholeCharacters(cell)
		}
		if !utf8.ValidString(cell) || strings.IndexByte(cell, 0) >= 0 {
			return Row{}, r.notText(line+strings.Count(text[:start], "\n"), cell)
		}
		r.cells = append(r.cells, Cell{Text: unguard(cell)})
		start = end
	}
	return Row{Number: line, Cells: r.cells}, nil
}

// wholeCharacters drops the last character, which may have been cut.
func wholeCharacters(cell string) string {
	end := len(cell) - 1
	for end > len(cell)-utf8.UTFMax && !utf8.RuneStart(cell[end]) {
		end--
	}
	return cell[:end]
}

// notText is the fault of the first byte of the cell that is not text, shown
// with what stands around it.
func (r *records) notText(line int, cell string) error {
	for i, c := range cell {
		around := cell[max(0, i-20):min(len(cell), i+20)]
		switch {
		case c == '\n':
			line++
		case c == 0:
			return r.fault(line, "a NUL byte", around, "UTF-8 text; is the file UTF-16?")
		case c == utf8.RuneError && !strings.HasPrefix(cell[i:], "\uFFFD"):
			return r.fault(line, fmt.Sprintf("the byte %#x is not UTF-8", cell[i]), around, "a file saved as UTF-8 throughout")
		}
	}
	return nil
}

// fault is a flaw of the file at a line.
func (r *records) fault(line int, problem, found, expected string) error {
	return Fault{Table: r.table, Row: line, Problem: problem, Found: found, Expected: expected}
}

// A cell that begins like a formula would be run by a spreadsheet that opens
// the file. The writer guards it with a leading ', and also one whose leading
// ' stand before such a sign, so that reading takes off exactly what writing
// put on (the practice of OWASP's page on CSV injection).

const formulaLeads = "=+-@\t\r\x00"

// guard puts the apostrophe on.
func guard(cell string) string {
	if leads(strings.TrimLeft(cell, "'")) {
		return "'" + cell
	}
	return cell
}

// unguard takes off what guard put on, and nothing else.
func unguard(cell string) string {
	if cell != "" && cell[0] == '\'' && leads(strings.TrimLeft(cell, "'")) {
		return cell[1:]
	}
	return cell
}

// leads reports whether a spreadsheet would take the text for a formula.
func leads(text string) bool {
	return text != "" && strings.IndexByte(formulaLeads, text[0]) >= 0
}
