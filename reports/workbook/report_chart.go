package workbook

import (
	"fmt"

	"circlip/reports"
	"circlip/reports/chart"

	"github.com/xuri/excelize/v2"
)

// Colours of charts: a dark line on a pale band, told apart by shape and by
// lightness, so that a grey print shows both.
const (
	lineColor = "1F4E79"
	bandColor = "B8C7D9"
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
	if c.Numbers {
		return b.file.AddChart(p.tab, at, b.path(p, c, *g, size))
	}
	base, line := b.fan(p, c, *g, size)
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

// path is a line through marked points of two numbers.
func (b *reportBook) path(p *placedSheet, c chart.Chart, g excelize.GraphicOptions, size excelize.ChartDimension) *excelize.Chart {
	drawn := b.frame(c, excelize.Scatter, g, size)
	for _, l := range c.Layers {
		drawn.Series = append(drawn.Series, excelize.ChartSeries{
			Name: p.headOf(l.Column), Categories: p.rangeOf(c.X, c.Rows), Values: p.rangeOf(l.Column, c.Rows),
			Fill: solid(lineColor), Line: excelize.LineOptions{Type: excelize.LineSolid, Width: 1.5},
			Marker: excelize.ChartMarker{Symbol: "circle", Size: 5, Fill: solid(lineColor)},
		})
	}
	drawn.XAxis.NumFmt = excelize.ChartNumFmt{CustomNumFmt: "#,##0"}
	return drawn
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
