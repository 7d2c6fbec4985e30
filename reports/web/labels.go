package web

import (
	_ "embed"
	"html/template"
	"io"

	"circlip/reports"
)

//go:embed labels.css
var labelsStyle string

//go:embed labels.html
var labelsMarkup string

var labelsPage = template.Must(template.New("labels").Funcs(template.FuncMap{
	"plain": reports.Plain,
	"css":   func() template.CSS { return template.CSS(labelsStyle) }, // our own file
}).Parse(labelsMarkup))

// Labels writes labels as a page: on paper three across and seven down, in
// millimetres, as sheets of ready cut labels commonly are (common practice, no
// source). Codes are drawn as lines, not as pictures, so that every printer
// shows them sharp. They are dark on light on a dark screen, too: few scanners
// read the other way.
func Labels(w io.Writer, l reports.Labels) error {
	return labelsPage.Execute(w, struct {
		Title  string
		Labels []reports.Label
	}{"Labels · " + reports.Plain(l.Workshop) + " · " + l.On.String(), l.Labels})
}
