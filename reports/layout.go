package reports

import (
	"slices"
	"strings"
)

// How the terminal's columns share the line.
const (
	columnGap = 2
	leastText = 18 // a text gives way no further while other columns can go
	headLines = 2  // that a column's name should take, where there is room
)

// column is one column of the terminal's table, ready to be set.
type column struct {
	Column
	cells   []string
	totals  []string
	tight   int // columns that the widest cell and the longest word of the head take
	natural int // columns that it takes with a head of few lines
	width   int // columns that it gets
}

// number reports whether cells of the kind are set flush right.
func (k Kind) number() bool { return k != TextKind && k != DateKind }

// layOut takes a sheet apart into columns of strings. Columns that hold
// nothing at all are left out.
func layOut(s Sheet) []column {
	var columns []column
	for i, c := range s.Columns {
		col := column{Column: c}
		for _, r := range s.Rows {
			col.cells = append(col.cells, Plain(r.Cells[i].String()))
		}
		for _, t := range s.Totals {
			col.totals = append(col.totals, totalText(s, t, i))
		}
		alignDecimals(c.Kind, col.cells, col.totals)
		for _, cell := range slices.Concat(col.cells, col.totals) {
			col.tight = max(col.tight, width(cell))
		}
		if col.tight == 0 && i > 0 {
			continue
		}
		for word := range strings.FieldsSeq(c.Name + " " + c.Unit) {
			col.tight = max(col.tight, width(word))
		}
		col.natural = col.tight
		for len(wrap(c.Name, col.natural)) > headLines {
			col.natural++
		}
		columns = append(columns, col)
	}
	return columns
}

// totalText is what the total's line shows in column i: its name in the first
// column, its value in its own.
func totalText(s Sheet, t Total, i int) string {
	switch i {
	case s.column(t.Column):
		return t.Value.String()
	case 0:
		return t.Name
	}
	return ""
}

// alignDecimals puts room behind whole numbers where others of the column have
// a decimal, so that ones stand under ones.
func alignDecimals(kind Kind, groups ...[]string) {
	if kind != QuantityKind {
		return
	}
	mixed := slices.ContainsFunc(slices.Concat(groups...), func(c string) bool { return strings.Contains(c, ".") })
	for _, cells := range groups {
		for i, c := range cells {
			if mixed && c != "" && !strings.Contains(c, ".") {
				cells[i] = c + "  "
			}
		}
	}
}

// fit leaves out what finds no room and gives each column its width.
func fit(columns []column) (shown []column, left []string) {
	shown = slices.Clone(columns)
	for tightest(shown) > lineWidth {
		worst := 0
		for i, c := range shown {
			if c.Rank >= shown[worst].Rank {
				worst = i
			}
		}
		if shown[worst].Rank == 0 {
			break
		}
		left = append(left, strings.TrimSpace(shown[worst].Name+" "+shown[worst].Unit))
		shown = slices.Delete(shown, worst, worst+1)
	}
	slices.Reverse(left)
	shareOut(shown)
	return shown, left
}

// tightest is the least width of the columns together.
func tightest(columns []column) int {
	sum := -columnGap
	for _, c := range columns {
		sum += c.least() + columnGap
	}
	return sum
}

// shareOut starts from what each column would like. Heads are broken into
// more lines first, then texts give way, the longest first.
func shareOut(columns []column) {
	total := -columnGap
	for i := range columns {
		columns[i].width = columns[i].natural
		total += columns[i].natural + columnGap
	}
	for ; total > lineWidth; total-- {
		widest := -1
		for i, c := range columns {
			if c.width > c.least() && (widest < 0 || c.slack() > columns[widest].slack()) {
				widest = i
			}
		}
		if widest < 0 {
			return
		}
		columns[widest].width--
	}
}

// least is how narrow the column may become: below that a text is of no use,
// and another column has to go.
func (c column) least() int {
	if c.Kind == TextKind {
		return min(c.tight, leastText)
	}
	return c.tight
}

// slack says how willingly a column gives way: one that is wider than its
// cells need before any other, then the widest text.
func (c column) slack() int {
	if c.width > c.tight {
		return 1000 + c.width - c.tight
	}
	return c.width
}

// head is the column's name broken to its width, its unit on a line of its
// own.
func (c column) head() []string {
	lines := wrap(c.Name, c.width)
	if c.Unit != "" {
		lines = append(lines, c.Unit)
	}
	return lines
}
