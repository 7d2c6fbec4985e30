package reports

import (
	"io"
	"slices"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"
)

// lineWidth is the width of the terminal that sheets are set for.
const lineWidth = 80

// Text writes sheets for a terminal of 80 columns. Long texts end in …;
// columns that find no room are left out, highest rank first, and named below.
// A sheet whose first columns alone find no room is written row by row.
func Text(w io.Writer, sheets ...Sheet) error {
	var out strings.Builder
	for i, s := range sheets {
		if i > 0 {
			out.WriteString("\n\n")
		}
		writeSheet(&out, s)
	}
	_, err := io.WriteString(w, out.String())
	return err
}

// writeSheet sets the parts of a sheet below each other, as every form of it
// has them: title, notes, facts, table or what to do next, remarks.
func writeSheet(out *strings.Builder, s Sheet) {
	rule := 0
	for _, line := range titleLines(Plain(s.Title)) {
		out.WriteString(line + "\n")
		rule = max(rule, width(line))
	}
	out.WriteString(strings.Repeat("═", rule) + "\n")
	paragraphs(out, "", s.Notes)
	writeFacts(out, s.Facts)
	if len(s.Rows) > 0 {
		out.WriteString("\n")
		writeRows(out, s)
	} else if s.Empty != "" {
		out.WriteString("\n")
		paragraphs(out, "", []string{s.Empty})
	}
	if len(s.Remarks) > 0 {
		out.WriteString("\n")
		paragraphs(out, "- ", s.Remarks)
	}
}

// titleLines sets a title that is too long for one line on several: what the
// sheet is first, of whom and of which day below it.
func titleLines(title string) []string {
	if width(title) <= lineWidth {
		return []string{title}
	}
	what, rest, _ := strings.Cut(title, " · ")
	return append(wrap(what, lineWidth), wrap(rest, lineWidth)...)
}

// paragraphs writes each text wrapped, the first line behind the mark and the
// others indented as far.
func paragraphs(out *strings.Builder, mark string, texts []string) {
	for _, t := range texts {
		lead := mark
		for _, line := range wrap(Plain(t), lineWidth-width(mark)) {
			out.WriteString(lead + line + "\n")
			lead = strings.Repeat(" ", width(mark))
		}
	}
}

// writeFacts aligns numbers under each other and puts the unit behind.
func writeFacts(out *strings.Builder, facts []Fact) {
	if len(facts) == 0 {
		return
	}
	out.WriteString("\n")
	labels, numbers := 0, 0
	for _, f := range facts {
		labels = max(labels, width(f.Label))
		if f.Value.Kind.number() {
			numbers = max(numbers, width(f.Value.String()))
		}
	}
	for _, f := range facts {
		value := shorten(Plain(f.Value.String()), lineWidth-labels-columnGap)
		if f.Value.Kind.number() {
			value = strings.Repeat(" ", numbers-width(value)) + value
		}
		line := text.Pad(f.Label, labels+columnGap, ' ') + value + " " + f.Unit
		out.WriteString(strings.TrimRight(line, " ") + "\n")
	}
}

// writeRows chooses the form: a table where its columns of rank 0 find room,
// else records.
func writeRows(out *strings.Builder, s Sheet) {
	columns := layOut(s)
	shown, left := fit(columns)
	if tightest(shown) > lineWidth {
		writeRecords(out, s, columns)
		return
	}
	writeTable(out, s, shown)
	if len(left) > 0 {
		paragraphs(out, "", []string{"Not shown at this width: " + strings.Join(left, ", ") + "."})
	}
}

// writeTable leaves alignment and rules to go-pretty, which counts wide
// characters right; the cells come to it already cut to their columns.
func writeTable(out *strings.Builder, s Sheet, shown []column) {
	t := table.NewWriter()
	t.SetStyle(plainStyle())
	var configs []table.ColumnConfig
	var head table.Row
	for i, c := range shown {
		align := text.AlignLeft
		if c.Kind.number() {
			align = text.AlignRight
		}
		configs = append(configs, table.ColumnConfig{Number: i + 1, Align: align, AlignHeader: align, AlignFooter: align})
		head = append(head, strings.Join(c.head(), "\n"))
	}
	t.SetColumnConfigs(configs)
	t.AppendHeader(head)
	for i := range s.Rows {
		t.AppendRow(tableRow(shown, func(c column) string { return c.cells[i] }))
	}
	for i, total := range s.Totals {
		if !slices.ContainsFunc(shown, func(c column) bool { return c.Name == total.Column }) {
			continue
		}
		t.AppendFooter(tableRow(shown, func(c column) string { return c.totals[i] }))
	}
	for line := range strings.Lines(t.Render()) {
		line = strings.TrimRight(line, " \n")
		if strings.Trim(line, "─") == "" { // the rule runs on under the last gap
			line = strings.TrimSuffix(line, strings.Repeat("─", columnGap))
		}
		out.WriteString(line + "\n")
	}
}

// plainStyle has rules below the head and above the totals, and nothing else.
func plainStyle() table.Style {
	style := table.Style{Name: "plain", Box: table.StyleBoxLight}
	style.Box.PaddingLeft, style.Box.PaddingRight = "", strings.Repeat(" ", columnGap)
	style.Options = table.Options{SeparateHeader: true, SeparateFooter: true}
	return style
}

// tableRow cuts or breaks each cell to the width of its column.
func tableRow(shown []column, cell func(column) string) table.Row {
	var row table.Row
	for _, c := range shown {
		if c.Wrap {
			row = append(row, strings.Join(wrap(cell(c), c.width), "\n"))
		} else {
			row = append(row, shorten(cell(c), c.width))
		}
	}
	return row
}

// writeRecords writes a paragraph a row: the first column's text, and below it
// every other value behind its column's name.
func writeRecords(out *strings.Builder, s Sheet, columns []column) {
	for i := range s.Rows {
		out.WriteString(shorten(columns[0].cells[i], lineWidth) + "\n")
		var values []string
		for _, c := range columns[1:] {
			if value := strings.TrimSpace(c.cells[i]); value != "" {
				values = append(values, strings.ReplaceAll(strings.TrimSpace(c.Name+" "+value+" "+c.Unit), " ", noBreak))
			}
		}
		paragraphs(out, "   ", []string{strings.Join(values, noBreak+"· ")})
	}
	for i, t := range s.Totals {
		value := columns[s.column(t.Column)].totals[i]
		paragraphs(out, "", []string{t.Name + " " + strings.TrimSpace(value)})
	}
}
