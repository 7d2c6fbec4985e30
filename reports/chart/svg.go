package chart

import (
	"fmt"
	"html"
	"math"
	"strconv"
	"strings"
)

// Sizes of a drawing, in its own units: it is as wide as whoever shows it wants.
const (
	svgWide, svgHigh          = 520.0, 260.0
	svgLeft, svgRight         = 44.0, 14.0
	svgTop, svgBottom         = 22.0, 62.0
	svgLetter                 = 6.0 // a letter of its small texts, roughly
	svgTicks, svgMostDayNames = 5, 6
)

// drawing is a chart while it is drawn.
type drawing struct {
	strings.Builder
	chart     Chart
	names     []string             // along the axis
	values    map[string][]float64 // of the columns; NaN: none
	low, high float64              // of the upright axis
	step      float64              // from tick to tick
}

// SVG draws a chart of lines as an element to stand in a page: what the rows are
// called along the axis, and the values of the layers' columns in the same rows.
// What is not finite, or beyond svgMost, is left out. It bears classes and no
// colours, so that the page's style says how it looks on a light screen, a dark
// one and on paper; title and description say in words what it shows. Charts that
// hold anything but lines over names are refused.
func (c Chart) SVG(names []string, values map[string][]float64) (string, error) {
	for _, l := range c.Layers {
		if l.Form != Line || l.Named != "" || l.Rows.Count > 0 || c.Numbers {
			return "", fmt.Errorf("chart %q: found a layer %q that is no line over names, expected lines alone", c.Title, l.Column)
		}
	}
	d := &drawing{chart: c, names: names, values: values}
	d.scale()
	d.printf(`<svg class="chart" viewBox="0 0 %g %g" role="img">`, svgWide, svgHigh)
	d.printf("<title>%s</title><desc>%s</desc>", html.EscapeString(c.Title), html.EscapeString(c.Alt))
	d.axes()
	d.layers()
	d.legend()
	d.WriteString("</svg>")
	return d.String(), nil
}

func (d *drawing) printf(format string, a ...any) { fmt.Fprintf(d, format, a...) }

// scale chooses where the upright axis begins and ends: on ticks of 1, 2 or 5
// times a power of ten, zero among them.
func (d *drawing) scale() {
	for _, l := range d.chart.Layers {
		for _, v := range d.values[l.Column] {
			if finite(v) {
				d.low, d.high = min(d.low, v), max(d.high, v)
			}
		}
	}
	if !d.chart.Signed {
		d.low = 0
	}
	if d.high-d.low < svgLeast {
		d.high = d.low + 1
	}
	rough := (d.high - d.low) / svgTicks
	power := math.Pow(10, math.Floor(math.Log10(rough)))
	for _, times := range []float64{1, 2, 5, 10} {
		if d.step = times * power; d.step >= rough {
			break
		}
	}
	d.low, d.high = math.Floor(d.low/d.step)*d.step, math.Ceil(d.high/d.step)*d.step
}

// Values that a picture can show: beyond svgMost they are as good as infinite,
// within svgLeast of each other they are the same.
const svgMost, svgLeast = 1e15, 1e-12

func finite(x float64) bool { return math.Abs(x) <= svgMost }

// x is where a row stands across, y where a value stands upright.
func (d *drawing) x(row int) float64 {
	return svgLeft + (svgWide-svgLeft-svgRight)*(float64(row)+0.5)/float64(max(1, len(d.names)))
}

func (d *drawing) y(value float64) float64 {
	return svgTop + (svgHigh-svgTop-svgBottom)*(d.high-value)/(d.high-d.low)
}

// axes are the ticks with their numbers, the line of zero, and the names of some
// rows, as many as find room.
func (d *drawing) axes() {
	ticks := int(math.Round((d.high - d.low) / d.step))
	for i := 0; i <= ticks; i++ {
		value := d.low + float64(i)*d.step
		class, at := "grid", d.y(value)
		if math.Abs(value) < d.step/2 {
			class, value = "zero", 0
		}
		d.printf(`<path class="%s" d="M%g %.1fH%g"/>`, class, svgLeft, at, svgWide-svgRight)
		d.printf(`<text class="number" x="%g" y="%.1f">%s</text>`, svgLeft-6, at+4, d.number(value))
	}
	d.printf(`<text x="%g" y="12">%s</text>`, svgLeft, html.EscapeString(d.chart.YTitle))
	every := max(1, (len(d.names)+svgMostDayNames-1)/svgMostDayNames)
	for row := 0; row < len(d.names); row += every {
		d.printf(`<text class="name" x="%.1f" y="%g">%s</text>`, d.x(row), svgHigh-svgBottom+16, html.EscapeString(d.names[row]))
	}
}

// number is a tick with the decimals of the step.
func (d *drawing) number(value float64) string {
	decimals := max(0, int(math.Ceil(-math.Log10(d.step)-1e-9)))
	return strconv.FormatFloat(value, 'f', decimals, 64)
}

// layers are the lines, each with its class: limits are thin, the lines before
// them are numbered.
func (d *drawing) layers() {
	n := 0
	for _, l := range d.chart.Layers {
		path, dots := d.path(d.values[l.Column])
		d.printf(`<path class="%s" d="%s"/>`, d.class(l, &n), path)
		if l.Group == 0 && n == 1 {
			d.WriteString(dots)
		}
	}
}

// class is how a layer is called by styles; n counts those that are no limits.
func (d *drawing) class(l Layer, n *int) string {
	if l.Group > 0 {
		return "limit"
	}
	*n++
	return "line line" + strconv.Itoa(*n)
}

// path is a line through values, broken where one is missing, and a dot at each.
// One that stands alone is a line of no length, which round ends show.
func (d *drawing) path(values []float64) (path, dots string) {
	var line, marks strings.Builder
	for row := range d.names {
		if row >= len(values) || !finite(values[row]) {
			continue
		}
		pen, end := "L", ""
		if row == 0 || !finite(values[row-1]) {
			pen, end = "M", "h0"
		}
		fmt.Fprintf(&line, "%s%.1f %.1f%s", pen, d.x(row), d.y(values[row]), end)
		fmt.Fprintf(&marks, `<circle class="dot" cx="%.1f" cy="%.1f" r="2.5"/>`, d.x(row), d.y(values[row]))
	}
	return line.String(), marks.String()
}

// legend names every line below the picture, beside a piece of it.
func (d *drawing) legend() {
	const piece, gap = 22.0, 14.0
	across, down, n := svgLeft, svgHigh-svgBottom+36, 0
	for _, l := range d.chart.Layers {
		wide := piece + 4 + svgLetter*float64(len([]rune(l.Column))) + gap
		if across > svgLeft && across+wide > svgWide {
			across, down = svgLeft, down+15
		}
		class := d.class(l, &n)
		d.printf(`<path class="%s" d="M%.1f %.1fh%g"/>`, class, across, down, piece)
		if l.Group == 0 && n == 1 {
			d.printf(`<circle class="dot" cx="%.1f" cy="%.1f" r="2.5"/>`, across+piece/2, down)
		}
		d.printf(`<text x="%.1f" y="%.1f">%s</text>`, across+piece+4, down+4, html.EscapeString(l.Column))
		across += wide
	}
}
