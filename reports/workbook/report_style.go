package workbook

import (
	"strings"

	"circlip/reports"

	"github.com/xuri/excelize/v2"
)

// One typeface, two weights, one grey; the two pale fills always stand beside
// a word that says the same.
const (
	reportFont       = "Arial"
	inkColor         = "1F2328"
	quietColor       = "57606A"
	ruleColor        = "8C959F"
	hairColor        = "D8DEE4"
	reportHeadFill   = "F0F2F4"
	reportEditFill   = "FFF8DC" // of cells to be changed
	reportStrongFill = "FBEFE3" // of rows not to be overlooked
)

// reportRole is what a cell is for.
type reportRole int

const (
	bodyRole reportRole = iota
	titleRole
	noteRole
	factRole
	valueRole
	headRole
	totalRole
)

// reportStyle is all that tells one style from another.
type reportStyle struct {
	role     reportRole
	kind     reports.Kind
	decimals int
	mixed    bool // whole numbers stand beside tenths in the column
	strong   bool
	edit     bool
	wrap     bool
	indent   bool // away from the number at its left
	last     bool // of several totals
}

// style returns the number of a style, made when first asked for.
func (b *reportBook) style(s reportStyle) (int, error) {
	if id, known := b.styles[s]; known {
		return id, nil
	}
	id, err := b.file.NewStyle(s.excelize())
	if err == nil {
		b.styles[s] = id
	}
	return id, err
}

// excelize says the style in the library's words.
func (s reportStyle) excelize() *excelize.Style {
	style := &excelize.Style{
		Font:      &excelize.Font{Family: reportFont, Size: 10, Color: inkColor},
		Alignment: &excelize.Alignment{Vertical: "center", Horizontal: "right"},
	}
	if s.kind == reports.TextKind || s.kind == reports.DateKind {
		style.Alignment.Horizontal = "left"
	}
	if s.indent && style.Alignment.Horizontal == "left" {
		style.Alignment.Indent = 1
	}
	style.Alignment.WrapText = s.wrap
	if format := s.numberFormat(); format != "" {
		style.CustomNumFmt = &format
	}
	line := func(side, color string, weight int) {
		style.Border = append(style.Border, excelize.Border{Type: side, Color: color, Style: weight})
	}
	fill := func(color string) { style.Fill = excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{color}} }
	switch s.role {
	case titleRole:
		style.Font.Size, style.Font.Bold = 14, true
	case noteRole, factRole:
		style.Font.Color = quietColor
	case valueRole:
		style.Font.Bold = true
	case headRole:
		style.Font.Bold = true
		style.Alignment.WrapText, style.Alignment.Vertical = true, "bottom"
		fill(reportHeadFill)
		line("bottom", ruleColor, 1)
	case totalRole:
		style.Font.Bold = s.last
		line("top", ruleColor, 1)
	case bodyRole:
		line("bottom", hairColor, 1)
		if s.strong {
			fill(reportStrongFill)
		}
		if s.edit {
			fill(reportEditFill)
			for _, side := range []string{"left", "right", "top", "bottom"} {
				line(side, ruleColor, 1)
			}
		}
	}
	return style
}

// numberFormat keeps whole numbers under the ones of tenths, with the room of
// a point and a digit behind them.
func (s reportStyle) numberFormat() string {
	switch s.kind {
	case reports.TextKind:
		return "@"
	case reports.DateKind:
		return "yyyy-mm-dd"
	}
	format := "#,##0"
	if s.kind == reports.ShareKind {
		format = "0"
	}
	if s.decimals > 0 {
		format += "." + strings.Repeat("0", s.decimals)
	} else if s.mixed {
		format += "_._0"
	}
	if s.kind == reports.ShareKind {
		format += "%"
	}
	return format
}
