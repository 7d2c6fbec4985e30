package web

import (
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"math"
	"slices"
	"strings"

	"circlip/reports"
	"circlip/reports/chart"
)

//go:embed audit.css
var auditStyle string

//go:embed audit.html
var auditMarkup string

// sheetsPage shows sheets below each other, with their charts; facts and tables
// are those of every page.
var sheetsPage = template.Must(template.Must(page.Clone()).New("sheets").Funcs(template.FuncMap{
	"sheetcss": func() template.CSS { return template.CSS(style + auditStyle) }, // our own files
	"drawn":    drawn,
	"across":   across,
	"called":   called,
	"recent":   recent,
}).Parse(auditMarkup))

// Audit writes an audit as a page, whose first sheet says its sentences first.
func Audit(w io.Writer, sheets []reports.Sheet, title string) error {
	return sheetsPage.Execute(w, struct {
		Title  string
		Sheets []reports.Sheet
	}{title, sheets})
}

// called is what a section is headed with: its subject, which the title of its
// sheet names before the workshop and the day. The first is under them already.
func called(at int, s reports.Sheet) string {
	if subject, _, _ := strings.Cut(s.Title, " · "); at > 0 && subject != "" {
		return subject
	}
	return s.Name
}

// Disposal writes what was gathered of used fluids, and the record for their
// carrier with room to sign, as a page under the title of the first sheet.
func Disposal(w io.Writer, sheets []reports.Sheet) error {
	title := "Used fluids"
	if len(sheets) > 0 {
		title = sheets[0].Title
	}
	return Audit(w, sheets, title)
}

// mostPeriods is how many periods of an item a page tells: half a year of weekly
// counts. Its charts show all.
const mostPeriods = 26

// recent is a sheet with the latest periods of each item, and a remark where
// that leaves any out. Rows of an item stand together, by time; a sheet without
// the end of a period is no list of periods, and whole.
func recent(s reports.Sheet) reports.Sheet {
	if !slices.ContainsFunc(s.Columns, func(c reports.Column) bool { return c.Name == "Until" }) {
		return s
	}
	var kept []reports.Row
	behind := map[string]int{} // rows of an item from the end
	for _, r := range slices.Backward(s.Rows) {
		of := ""
		if s.Columns[0].Kind == reports.TextKind {
			of = r.Cells[0].String()
		}
		if behind[of]++; behind[of] <= mostPeriods {
			kept = append(kept, r)
		}
	}
	if left := len(s.Rows) - len(kept); left > 0 {
		slices.Reverse(kept)
		s.Rows, s.Totals = kept, nil
		s.Remarks = append(slices.Clone(s.Remarks), fmt.Sprintf("The latest %d rows of each; the workbook has %d more.", mostPeriods, left))
	}
	return s
}

// What finds room across a page: so many columns, those of lower ranks first.
const mostAcross, secondRank = 16, 4

// across is a sheet's table as it finds room: whole, or in two tables, of which
// the second has the columns of higher ranks beside those that say what a row is
// of. Columns that say nothing in any row are left out.
func across(s reports.Sheet) []reports.Sheet {
	if len(s.Rows) > 0 {
		s = picked(s, func(at int) bool {
			return slices.ContainsFunc(s.Rows, func(r reports.Row) bool { return !r.Cells[at].Blank() })
		})
	}
	if len(s.Columns) <= mostAcross {
		return []reports.Sheet{s}
	}
	numbered := false
	first := picked(s, func(at int) bool { return s.Columns[at].Rank < secondRank })
	second := picked(s, func(at int) bool {
		c := s.Columns[at]
		numbered = numbered || isNumber(c.Kind)
		return (c.Rank == 0 && !numbered) || (c.Rank >= secondRank && isNumber(c.Kind))
	})
	second.Name += ", further figures"
	for i := range second.Columns {
		second.Columns[i].Rank = 0 // a narrow screen leaves out the higher ones, which here are all
	}
	return []reports.Sheet{first, second}
}

// picked is a sheet with some of its columns, by where they stand.
func picked(s reports.Sheet, wanted func(at int) bool) reports.Sheet {
	some := s
	some.Columns, some.Rows = nil, make([]reports.Row, len(s.Rows))
	for i, r := range s.Rows {
		some.Rows[i].Strong = r.Strong
	}
	for at, c := range s.Columns {
		if !wanted(at) {
			continue
		}
		some.Columns = append(some.Columns, c)
		for i, r := range s.Rows {
			some.Rows[i].Cells = append(some.Rows[i].Cells, r.Cells[at])
		}
	}
	return some
}

// drawn is a chart of a sheet as an element. Its texts are escaped where it is
// drawn.
func drawn(s reports.Sheet, c chart.Chart) (template.HTML, error) {
	rows := s.Rows[c.Rows.First : c.Rows.First+c.Rows.Count]
	names, values := make([]string, len(rows)), map[string][]float64{}
	for at, column := range s.Columns {
		numbers := make([]float64, len(rows))
		for i, r := range rows {
			if column.Name == c.X {
				names[i] = reports.Plain(r.Cells[at].String())
			}
			numbers[i] = math.NaN()
			if cell := r.Cells[at]; isNumber(cell.Kind) && !cell.Blank() {
				numbers[i] = cell.Number()
			}
		}
		values[column.Name] = numbers
	}
	c.Title, c.Alt = reports.Plain(c.Title), reports.Plain(c.Alt)
	svg, err := c.SVG(names, values)
	return template.HTML(svg), err
}
