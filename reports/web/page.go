// Package web is what people look at in a browser: pages that hold all they
// need, for a screen and for paper. It knows how to show sheets and computes
// nothing: a page says what the terminal and the workbook say.
//
// Text that people typed reaches a page only through the template, which
// escapes it for where it stands. No page has a script, and each forbids itself
// to load anything.
//
//	papers := reports.PapersOfDay(shop, inventory.Kits(shop), day)
//	err := web.Cards(file, papers)
package web

import (
	_ "embed"
	"html/template"
	"io"
	"unicode/utf8"

	"circlip/reports"
)

//go:embed page.css
var style string

//go:embed page.html
var markup string

var page = template.Must(template.New("page").Funcs(template.FuncMap{
	"plain": reports.Plain,
	"css":   func() template.CSS { return template.CSS(style) }, // our own file
	"head":  head,
	"look":  look,
}).Parse(markup))

func isNumber(k reports.Kind) bool { return k != reports.TextKind && k != reports.DateKind }

// keptWhole is how long a code may be that is not broken at a hyphen.
const keptWhole = 14

// spared is the rank from which on a column is left out on a narrow screen.
const spared = 3

// head is the class of a column's name.
func head(column reports.Column) string {
	class := "text"
	if isNumber(column.Kind) {
		class = "number"
	}
	return class + rank(column)
}

// look is the class of a cell: how it is set, by what it is for.
func look(column reports.Column, cell reports.Cell) string {
	class := "text"
	switch {
	case column.Edit && cell.Blank():
		class = "pen"
	case isNumber(column.Kind):
		class = "number"
	case !column.Wrap && utf8.RuneCountInString(cell.String()) <= keptWhole:
		class = "keep"
	}
	return class + rank(column)
}

func rank(column reports.Column) string {
	if column.Rank >= spared {
		return " spared"
	}
	return ""
}

// document is one page: a sheet, or cards.
type document struct {
	Title string
	Sheet *reports.Sheet
	Cards []reports.Card
	Empty string // instead of cards
}

// PickList writes the pick list as a page.
func PickList(w io.Writer, p reports.Papers) error {
	return page.Execute(w, document{Title: p.PickList.Title, Sheet: &p.PickList})
}

// Cards writes the cards of all jobs as a page, each on paper of its own.
func Cards(w io.Writer, p reports.Papers) error {
	return page.Execute(w, document{
		Title: "Job cards · " + p.Workshop + " · " + p.On.String(), Cards: p.Cards,
		Empty: "No job is booked for this day, so that there is no card.",
	})
}
