package reports

import (
	"fmt"
	"slices"
	"strings"

	"circlip/inventory"
	"circlip/reports/lessons"
	"circlip/reports/plan"
)

// Explanation is what is known of one item, unit or service: every figure that
// the plan takes of it, with the book's own, what was seen, and how sure both
// together are.
type Explanation struct {
	workshop string
	asOf     inventory.Date
	learns   bool
	parts    []part
}

// part is a table of figures of one kind.
type part struct {
	name, title string // without a title it stands in the document only
	note        string
	of          string // what tells its figures apart, a heading
	crossed     bool   // a row for each of what tells apart, a column a name
	figures     []figure
}

// figure is one number with what it rests on. Numbers that do not apply are nil.
type figure struct {
	name, of       string
	unit           unit
	book           *float64
	seen           *int
	now, low, high *float64
	words          string
	minor          bool // left out for people
}

// unit is how a figure is written.
type unit struct {
	word     string
	decimals int
	share    bool // of 1, written in percent
}

// The units of figures.
var (
	share     = unit{word: "share", share: true, decimals: 1}
	hours     = unit{word: "h", decimals: 1}
	weeksLong = unit{word: "weeks", decimals: 1}
	monthLong = unit{word: "months", decimals: 1}
	daysLong  = unit{word: "days", decimals: 1}
	jobsWeek  = unit{word: "a week", decimals: 3}
	bare      = unit{decimals: 2}
)

// UnknownCode is a code that is none of the book's items, units or services.
type UnknownCode struct {
	Code  string
	Known []string // all codes that would do
}

func (e UnknownCode) Error() string {
	return fmt.Sprintf("explain: found %q, expected the code of an item, a unit or a service of the book", e.Code)
}

// Explain tells of whatever has the code: of several things, if an item, a
// unit and a service share it. The outlook is that of the same shop.
func Explain(shop inventory.Shop, o *plan.Outlook, code string) (Explanation, error) {
	b := explainer{shop: shop, outlook: o, lessons: o.Lessons()}
	e := Explanation{workshop: shop.Settings.Workshop, asOf: shop.AsOf, learns: b.lessons.On}
	var known []string
	for at, i := range shop.Items {
		known = append(known, i.Code)
		if i.Code == code {
			e.parts = append(e.parts, b.item(at)...)
		}
	}
	for _, u := range shop.Units {
		known = append(known, u.Code)
		if u.Code == code {
			parts, err := b.unit(u)
			if err != nil {
				return Explanation{}, err
			}
			e.parts = append(e.parts, parts...)
		}
	}
	for _, s := range shop.Services {
		known = append(known, s.Code)
		if s.Code == code {
			e.parts = append(e.parts, b.service(s)...)
		}
	}
	if len(e.parts) == 0 {
		return Explanation{}, UnknownCode{code, known}
	}
	return e, nil
}

// explainer is what figures are gathered from.
type explainer struct {
	shop    inventory.Shop // as the book has it
	outlook *plan.Outlook
	lessons *lessons.Lessons
}

// Sheets are the explanation for people.
func (e Explanation) Sheets() []Sheet {
	var sheets []Sheet
	for _, p := range e.parts {
		if p.title == "" {
			continue
		}
		s := p.sheet(titled(p.title, e.workshop, e.asOf))
		if len(sheets) == 0 {
			s.Notes = append(e.reading(), s.Notes...)
		}
		sheets = append(sheets, s)
	}
	return sheets
}

// reading says how the tables are read.
func (e Explanation) reading() []string {
	if !e.learns {
		return []string{"Nothing is learnt from the past: the setting learn is no. The book's own figures stand as they are."}
	}
	return []string{"Book: what the book says. Seen: how many observations speak to it. Now: what the plan takes, from both together. 9 of 10 between: with a chance of nine in ten the truth lies there."}
}

func (p part) sheet(title string) Sheet {
	if p.crossed {
		return p.cross(title)
	}
	s := Sheet{
		Key: p.name, Name: p.name, Title: title,
		Columns: []Column{
			{Name: "Figure", Wrap: true}, {Name: p.of}, {Name: "Book"}, {Name: "Seen", Kind: CountKind},
			{Name: "Now"}, {Name: "9 of 10 between"},
		},
	}
	if p.note != "" {
		s.Notes = []string{p.note}
	}
	for _, f := range p.figures {
		if f.minor {
			continue
		}
		s.Rows = append(s.Rows, Row{Cells: []Cell{
			Words(f.name), Words(f.of), Words(f.unit.write(f.book)), f.count(), Words(f.unit.write(f.now)), Words(f.between()),
		}})
		// That nothing is learnt is said once, above the first table.
		if words := strings.TrimSpace(strings.TrimPrefix(f.words, notLearnt)); words != "" {
			s.Remarks = append(s.Remarks, f.label()+": "+strings.ReplaceAll(words, " %", noBreak+"%"))
		}
	}
	return s
}

// cross sets figures without words side by side: those of one name below each
// other.
func (p part) cross(title string) Sheet {
	s := Sheet{Key: p.name, Name: p.name, Title: title, Notes: []string{p.note}, Columns: []Column{{Name: p.of}}, Empty: "Nothing likely enough to show."}
	rows, columns := map[string]int{}, map[string]int{}
	for _, f := range p.figures {
		if _, known := columns[f.name]; !known && !f.minor {
			columns[f.name] = len(s.Columns)
			s.Columns = append(s.Columns, Column{Name: Plain(f.name), Unit: f.unit.word, Kind: NumberKind})
		}
	}
	for _, f := range p.figures {
		if f.minor {
			continue
		}
		at, known := rows[f.of]
		if !known {
			at = len(s.Rows)
			rows[f.of] = at
			s.Rows = append(s.Rows, Row{Cells: make([]Cell, len(s.Columns))})
			s.Rows[at].Cells[0] = Words(f.of)
		}
		s.Rows[at].Cells[columns[f.name]] = Figure(*f.now, f.unit.decimals)
	}
	slices.SortStableFunc(s.Rows, func(a, b Row) int { return strings.Compare(a.Cells[0].String(), b.Cells[0].String()) })
	return s
}

func (f figure) label() string {
	if f.of == "" {
		return f.name
	}
	return f.name + ", " + f.of
}

func (f figure) count() Cell {
	if f.seen == nil {
		return Cell{}
	}
	return Counted(*f.seen)
}

func (f figure) between() string {
	if f.low == nil || f.high == nil {
		return ""
	}
	plain := unit{decimals: f.unit.decimals, share: f.unit.share}
	low := strings.TrimSuffix(plain.write(f.low), " %")
	return low + " – " + plain.write(f.high)
}

// write is a number as people read it; none is blank.
func (u unit) write(x *float64) string {
	if x == nil {
		return ""
	}
	if u.share {
		return Figure(100**x, u.decimals).String() + " %"
	}
	return strings.TrimSpace(Figure(*x, u.decimals).String() + " " + u.word)
}

// says is a number in a sentence.
func says(x float64, decimals int) string { return Figure(x, decimals).String() }

// within sets the interval that holds nine of ten. One without width is none:
// it says that doubt is left out, not that there is none.
func (f figure) within(low, high float64) figure {
	if low < high {
		f.low, f.high = &low, &high
	}
	return f
}

// tables leaves out parts without figures.
func tables(parts ...part) []part {
	return slices.DeleteFunc(parts, func(p part) bool { return len(p.figures) == 0 })
}
