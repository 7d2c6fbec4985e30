// Package chart says what a picture shows, apart from who draws it: which
// columns of a sheet's rows run along the axis, which are drawn as a line and
// which as a band. A spreadsheet draws it as a chart of its own over the same
// cells, so that the picture follows the numbers.
//
// Words: a layer is one thing drawn. A band is drawn as two areas stacked on
// each other, the lower one clear, since that is how every spreadsheet can
// draw it. A stack that starts below zero folds over itself: Stack clamps.
//
//	demand := chart.Fan("Dust wiper", "pieces a week", chart.Rows{First: 0, Count: 26},
//		"From", "p10", "p10 to p90", "p50")
package chart

// Chart is one picture over some rows of a sheet.
type Chart struct {
	Title, Alt     string // Alt says in words what the picture shows
	XTitle, YTitle string
	Rows           Rows
	X              string  // column along the axis
	Layers         []Layer // drawn in this order
	Numbers        bool    // X holds numbers to scale, not names
	Share          bool    // the layers are shares from 0 to 1
	Legend         bool    // names every layer beside the picture
	XMost          float64 // where the axis of numbers ends; 0: where they do
	YLeast         float64 // where the upright axis begins
	Signed         bool    // values may lie below zero: the upright axis goes as far as they do
}

// Rows is a run of a sheet's rows, counted from 0.
type Rows struct{ First, Count int }

// Layer is one column drawn; a legend calls it by the column's name. Where
// several layers share their columns, each has Rows of its own and is called by
// what stands in the column Named in the first of them. Points with a Group are
// thin lines behind the ones that matter, those of a group alike in colour; Mark
// draws them as diamonds that stand out.
type Layer struct {
	Column string
	Form   Form
	Rows   Rows
	Named  string
	Group  int
	Mark   bool
}

// Form is how a layer is drawn.
type Form int

// Clear and Area are stacked in the order of the layers; a Line, Points and
// Upright bars stand on the axis.
const (
	Line Form = iota
	Clear
	Area
	Points
	Upright
)

// Fan is a line with the band in which four values of five will lie: the
// columns hold the 10 % quantile, the distance from there to the 90 % quantile,
// and the median.
func Fan(title, unit string, rows Rows, x, low, band, middle string) Chart {
	return Chart{
		Title:  title,
		Alt:    title + ": the line is the median, the grey band runs from the 10 % to the 90 % quantile",
		XTitle: "week that begins on", YTitle: unit, Rows: rows, X: x,
		Layers: []Layer{
			{Column: low, Form: Clear}, {Column: band, Form: Area}, {Column: middle, Form: Line},
		},
	}
}

// Path is a line through points of two numbers, each marked.
func Path(title, alt string, rows Rows, x, xTitle, y, yTitle string) Chart {
	return Chart{
		Title: title, Alt: alt, XTitle: xTitle, YTitle: yTitle, Rows: rows, X: x,
		Layers:  []Layer{{Column: y, Form: Points}},
		Numbers: true, Share: true,
	}
}

// Bars stand beside each other, with a line across them that they should reach.
func Bars(title, alt string, rows Rows, x, y, yTitle, line string) Chart {
	return Chart{
		Title: title, Alt: alt, XTitle: x, YTitle: yTitle, Rows: rows, X: x,
		Layers: []Layer{{Column: y, Form: Upright}, {Column: line, Form: Line}},
	}
}

// Control is lines over time that may lie on either side of zero, and limits
// that they should stay within, drawn thin behind them. A legend names all.
func Control(title, alt string, rows Rows, x, yTitle string, lines, limits []string) Chart {
	c := Chart{Title: title, Alt: alt, XTitle: x, YTitle: yTitle, Rows: rows, X: x, Legend: true, Signed: true}
	for _, limit := range limits {
		c.Layers = append(c.Layers, Layer{Column: limit, Form: Line, Group: 1})
	}
	for _, line := range lines {
		c.Layers = append(c.Layers, Layer{Column: line, Form: Line})
	}
	return c
}

// Stack turns two quantiles into what is stacked: the clear part from zero and
// the band on it. What lies below zero is cut off, and a band is never
// negative.
func Stack(low, high float64) (clear, band float64) {
	clear = max(0, low)
	return clear, max(0, high-clear)
}
