package workbook

import (
	"io"

	"circlip/inventory/cost"
	"circlip/reports"
)

// WriteCosts writes the workbook of an account to a file, which takes its place
// when it is whole.
func WriteCosts(path string, a cost.Account) error {
	return writeWhole(path, "costs", func(w io.Writer) error { return EncodeCosts(w, a) })
}

// EncodeCosts writes that workbook: what stock is worth, how that came about,
// spend by supplier and by service, and what the parts of a job cost. Totals
// are formulas. The same account gives the same bytes.
func EncodeCosts(w io.Writer, a cost.Account) error {
	return encodeSheets(w, "Costs", a.Workshop, a.AsOf, reports.Costs(a), nil)
}
