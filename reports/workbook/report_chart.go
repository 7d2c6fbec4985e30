package workbook

import (
	"fmt"
	"strings"

	"circlip/reports"
	"circlip/reports/chart"

	"github.com/xuri/excelize/v2"
)

// Colours of charts: a dark line on a pale band, told apart by shape and by
// lightness, so that a grey print shows both.
const (
	lineColor   = "1F4E79"
	bandColor   = "B8C7D9"
	markedColor = "B35900"
	limitColor  = "6B7280"
)

// thinColors are of the groups of lines that stand behind; the lines of a group
// differ by their dashes.
var (
	thinColors = []string{markedColor, limitColor, "2E7D32", "8E3B8E", "B3261E"}
	thinDashes = []excelize.LineDashType{excelize.LineDashSolid, excelize.LineDashDash, excelize.LineDashSysDot}
)

// Pixels of a column: seven a character of its width and five around them.
const (
	characterPixels = 7
	paddingPixels   = 5
	chartGap        = 10
	widestChart     = 760

	// excelize places charts as if rows were 18 pixels high; what counts is the
	// row that it reckons a chart to end in
	reckonedRow = 18
)

// addChart draws the n-th chart of a sheet over its cells, in a grid as wide as
// the table.
func (b *reportBook) addChart(p *placedSheet, c chart.Chart, n int) error {
	across := min(len(p.Charts), chartsAbove)
	pixels := p.pixels(len(p.widths)) / across
	column, offset := p.at(pixels * (n % across))
	at, err := excelize.CoordinatesToCellName(column, p.chartRow+n/across*chartRows)
	if err != nil {
		return err
	}
	g := &excelize.GraphicOptions{AltText: reports.Plain(c.Alt), Name: fmt.Sprintf("Chart %d", n+1), OffsetX: offset}
	size := excelize.ChartDimension{Width: uint(min(pixels-chartGap, widestChart)), Height: (chartRows - 1) * reckonedRow}
	switch {
	case c.Numbers:
		return b.file.AddChart(p.tab, at, b.path(p, c, *g, size))
	case c.Signed:
		return b.file.AddChart(p.tab, at, b.control(p, c, *g, size))
	}
	draw := b.fan
	if c.Layers[0].Form == chart.Upright {
		draw = b.bars
	}
	base, line := draw(p, c, *g, size)
	return b.file.AddChart(p.tab, at, base, line)
}

// pixels is how many the first columns take.
func (p *placedSheet) pixels(columns int) int {
	sum := 0
	for _, w := range p.widths[:columns] {
		sum += int(w*characterPixels) + paddingPixels
	}
	return sum
}

// at is the column that a number of pixels from the left lies in, and how far.
func (p *placedSheet) at(pixels int) (column, offset int) {
	column = 1
	for column < len(p.widths) && p.pixels(column) <= pixels {
		column++
	}
	return column, pixels - p.pixels(column-1)
}

// fan is the stacked areas and, over them, the line. In a combined chart the
// axes of the second part win: both get the same.
func (b *reportBook) fan(p *placedSheet, c chart.Chart, g excelize.GraphicOptions, size excelize.ChartDimension) (areas, lines *excelize.Chart) {
	areas = b.frame(c, excelize.AreaStacked, g, size)
	lines = b.frame(c, excelize.Line, g, size)
	for _, l := range c.Layers {
		series := excelize.ChartSeries{
			Name: p.headOf(l.Column), Categories: p.rangeOf(c.X, c.Rows), Values: p.rangeOf(l.Column, c.Rows),
			Fill: solid(bandColor), Line: excelize.LineOptions{Type: excelize.LineNone},
		}
		switch l.Form {
		case chart.Clear:
			series.Fill.Transparency = 100
			areas.Series = append(areas.Series, series)
		case chart.Area:
			areas.Series = append(areas.Series, series)
		default:
			series.Fill = solid(lineColor) // the colour of a line comes from its fill
			series.Line = excelize.LineOptions{Type: excelize.LineSolid, Width: 2}
			series.Marker = excelize.ChartMarker{Symbol: "none"}
			lines.Series = append(lines.Series, series)
		}
	}
	return areas, lines
}

// control is lines on either side of zero before thin dashed limits. The first
// line has marks and the others have none, so that a grey print tells them apart.
func (b *reportBook) control(p *placedSheet, c chart.Chart, g excelize.GraphicOptions, size excelize.ChartDimension) *excelize.Chart {
	drawn := b.frame(c, excelize.Line, g, size)
	marked := false
	for _, l := range c.Layers {
		series := excelize.ChartSeries{
			Name: p.nameOf(c, l), Categories: p.rangeOf(c.X, c.Rows), Values: p.rangeOf(l.Column, layerRows(c, l)),
			Fill: solid(lineColor), Line: excelize.LineOptions{Type: excelize.LineSolid, Width: 2}, Marker: excelize.ChartMarker{Symbol: "none"},
		}
		switch {
		case l.Group > 0:
			series.Fill = solid(limitColor)
			series.Line = excelize.LineOptions{Type: excelize.LineSolid, Width: 1, Dash: excelize.LineDashDash}
		case !marked:
			marked = true
			series.Fill, series.Line.Width = solid(markedColor), 1
			series.Marker = excelize.ChartMarker{Symbol: "circle", Size: 4, Fill: solid(markedColor), Border: excelize.LineOptions{Type: excelize.LineNone}}
		}
		drawn.Series = append(drawn.Series, series)
	}
	drawn.XAxis.Title = excelize.ChartTitle{}                  // a day says that it is one, and the lines need the room
	drawn.XAxis.TickLabelPosition = excelize.ChartTickLabelLow // not across the lines
	drawn.XAxis.TickLabelSkip = max(1, (c.Rows.Count+mostDays-1)/mostDays)
	drawn.XAxis.Alignment = excelize.Alignment{TextRotation: slant}
	drawn.XAxis.NumFmt = excelize.ChartNumFmt{CustomNumFmt: "yyyy-mm-dd"}
	return drawn
}

// mostDays is how many days find room below a chart; upright ones overlap in
// some programs.
const (
	mostDays = 10
	slant    = -45
)

// rows are a layer's own, or the chart's.
func layerRows(c chart.Chart, l chart.Layer) chart.Rows {
	if l.Rows.Count > 0 {
		return l.Rows
	}
	return c.Rows
}

// nameOf is the cell that names a layer: charts take names from cells only.
func (p *placedSheet) nameOf(c chart.Chart, l chart.Layer) string {
	if l.Named == "" {
		return p.headOf(l.Column)
	}
	first := layerRows(c, l)
	cell := p.rangeOf(l.Named, chart.Rows{First: first.First, Count: 1})
	return cell[:strings.LastIndex(cell, ":")]
}

// path is lines through marked points of two numbers, one a layer.
func (b *reportBook) path(p *placedSheet, c chart.Chart, g excelize.GraphicOptions, size excelize.ChartDimension) *excelize.Chart {
	drawn := b.frame(c, excelize.Scatter, g, size)
	members := map[int]int{} // of each group
	for _, l := range c.Layers {
		color, width, dash := lineColor, 1.5, excelize.LineDashUnset
		marker := excelize.ChartMarker{Symbol: "circle", Size: 5, Fill: solid(lineColor)}
		if l.Group > 0 {
			color, dash = thinColors[(l.Group-1)%len(thinColors)], thinDashes[members[l.Group]%len(thinDashes)]
			width, marker = 1, excelize.ChartMarker{Symbol: "none"}
			members[l.Group]++
		}
		if l.Mark {
			marker = excelize.ChartMarker{Symbol: "diamond", Size: 12, Fill: solid(inkColor)}
		}
		rows := layerRows(c, l)
		drawn.Series = append(drawn.Series, excelize.ChartSeries{
			Name: p.nameOf(c, l), Categories: p.rangeOf(c.X, rows), Values: p.rangeOf(l.Column, rows),
			Fill: solid(color), Line: excelize.LineOptions{Type: excelize.LineSolid, Dash: dash, Fill: solid(color), Width: width}, Marker: marker,
		})
	}
	drawn.XAxis.NumFmt = excelize.ChartNumFmt{CustomNumFmt: "#,##0"}
	if c.XMost > 0 {
		zero := 0.0
		drawn.XAxis.Minimum, drawn.XAxis.Maximum = &zero, &c.XMost
	}
	return drawn
}

// bars is upright bars and, over them, a line, on the same axes.
func (b *reportBook) bars(p *placedSheet, c chart.Chart, g excelize.GraphicOptions, size excelize.ChartDimension) (bars, lines *excelize.Chart) {
	bars = b.frame(c, excelize.Col, g, size)
	lines = b.frame(c, excelize.Line, g, size)
	for _, l := range c.Layers {
		series := excelize.ChartSeries{
			Name: p.nameOf(c, l), Categories: p.rangeOf(c.X, c.Rows), Values: p.rangeOf(l.Column, c.Rows), Fill: solid(bandColor),
		}
		if l.Form == chart.Upright {
			bars.Series = append(bars.Series, series)
			continue
		}
		series.Fill = solid(lineColor)
		series.Line = excelize.LineOptions{Type: excelize.LineSolid, Width: 2}
		series.Marker = excelize.ChartMarker{Symbol: "none"}
		lines.Series = append(lines.Series, series)
	}
	return bars, lines
}

// frame is what every chart has: title, axes, one typeface.
func (b *reportBook) frame(c chart.Chart, kind excelize.ChartType, g excelize.GraphicOptions, size excelize.ChartDimension) *excelize.Chart {
	label := func(text string, points float64, bold bool) excelize.ChartTitle {
		return excelize.ChartTitle{Paragraph: []excelize.RichTextRun{{
			Text: reports.Plain(text), Font: &excelize.Font{Family: reportFont, Size: points, Bold: bold, Color: inkColor},
		}}}
	}
	small := excelize.Font{Family: reportFont, Size: 8, Color: inkColor}
	zero, oneColor := 0.0, false
	drawn := &excelize.Chart{
		Type: kind, Format: g, Dimension: size, VaryColors: &oneColor,
		Title:  label(c.Title, 11, true),
		Legend: excelize.ChartLegend{Position: "none"}, // it would name the clear area; the note above says what is what
		XAxis:  excelize.ChartAxis{Font: small, Title: label(c.XTitle, 8, false)},
		YAxis:  excelize.ChartAxis{Font: small, Title: label(c.YTitle, 8, false), MajorGridLines: true, Minimum: &zero},
	}
	if c.YLeast > 0 {
		drawn.YAxis.Minimum = &c.YLeast
	}
	if c.Legend {
		drawn.Legend = excelize.ChartLegend{Position: "right", Font: &small}
	}
	if c.Signed {
		drawn.YAxis.Minimum, drawn.Legend.Position = nil, "bottom"
	}
	if c.Share {
		one := 1.0
		drawn.YAxis.Maximum, drawn.YAxis.NumFmt = &one, excelize.ChartNumFmt{CustomNumFmt: "0%"}
	}
	return drawn
}

// solid is a fill of one colour.
func solid(color string) excelize.Fill {
	return excelize.Fill{Type: "pattern", Pattern: 1, Color: []string{color}}
}
