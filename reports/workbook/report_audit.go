package workbook

import (
	"io"

	"circlip/inventory/audit"
	"circlip/reports"
)

// WriteAudit writes the workbook of an audit to a file, which takes its place
// when it is whole.
func WriteAudit(path string, a audit.Audit) error {
	return writeWhole(path, "audit", func(w io.Writer) error { return EncodeAudit(w, a) })
}

// EncodeAudit writes that workbook: a sentence on every item first, then who
// takes it, what the bill of materials should say, what explains a period, every
// period with its differences as formulas, a tab of charts an item, and how each
// figure is reckoned. The same audit gives the same bytes.
func EncodeAudit(w io.Writer, a audit.Audit) error {
	title := "Oil audit"
	if a.Scope == audit.Parts {
		title = "Parts audit"
	}
	return encodeSheets(w, title, a.Workshop, a.AsOf, reports.OilSheets(a), nil)
}
