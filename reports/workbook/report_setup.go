package workbook

import (
	"fmt"

	"circlip/reports"

	"github.com/xuri/excelize/v2"
)

// setUp makes a tab ready for paper and for hands: A4, one page wide, the head
// of the table on every page, the foot, and checks on what may be changed.
func (b *reportBook) setUp(p *placedSheet) error {
	last, err := excelize.CoordinatesToCellName(len(p.Columns), p.last)
	if err != nil {
		return err
	}
	if err := b.file.SetSheetDimension(p.tab, "A1:"+last); err != nil {
		return err
	}
	if err := b.columns(p); err != nil {
		return err
	}
	if err := b.page(p); err != nil {
		return err
	}
	if len(p.Rows) == 0 {
		return nil
	}
	if err := b.file.SetDefinedName(&excelize.DefinedName{
		Name: "_xlnm.Print_Titles", Scope: p.tab, RefersTo: fmt.Sprintf("%s!$%d:$%d", quotedTab(p.tab), p.head, p.head),
	}); err != nil {
		return err
	}
	for _, c := range p.Columns {
		if c.Edit {
			if err := b.editable(p, c); err != nil {
				return err
			}
		}
	}
	return nil
}

// columns sets the widths from the last to the first: excelize puts each before
// the others, and a streamed sheet leaves them so; the file format wants them
// from left to right.
func (b *reportBook) columns(p *placedSheet) error {
	for i := len(p.widths) - 1; i >= 0; i-- {
		letter, err := excelize.ColumnNumberToName(i + 1)
		if err != nil {
			return err
		}
		if err := b.file.SetColWidth(p.tab, letter, letter, p.widths[i]); err != nil {
			return err
		}
	}
	return nil
}

// page is how the tab prints: wide tables lie across the sheet, and what is
// still wider is made smaller, never cut into two pages side by side.
func (b *reportBook) page(p *placedSheet) error {
	fit, a4, wide, high, orientation := true, 9, 1, 0, "portrait"
	if p.width() > portrait {
		orientation = "landscape"
	}
	if err := b.file.SetSheetProps(p.tab, &excelize.SheetPropsOptions{FitToPage: &fit}); err != nil {
		return err
	}
	if err := b.file.SetPageLayout(p.tab, &excelize.PageLayoutOptions{
		Size: &a4, Orientation: &orientation, FitToWidth: &wide, FitToHeight: &high,
	}); err != nil {
		return err
	}
	side, end, foot := 0.6, 0.7, 0.3
	if err := b.file.SetPageMargins(p.tab, &excelize.PageLayoutMarginsOptions{
		Left: &side, Right: &side, Top: &end, Bottom: &end, Footer: &foot,
	}); err != nil {
		return err
	}
	face := `&"` + reportFont + `,Regular"&8`
	return b.file.SetHeaderFooter(p.tab, &excelize.HeaderFooterOptions{
		OddFooter: "&L" + face + footText(b.workshop) + "&C" + face + footText(b.day) + "&R" + face + " Page &P of &N",
	})
}

// mostPacks bounds what a person may type into an order.
const mostPacks = 100_000

// editable lets only whole numbers into a column and says what they do.
func (b *reportBook) editable(p *placedSheet, c reports.Column) error {
	check := excelize.NewDataValidation(true)
	check.Sqref = p.ref(c.Name, p.first) + ":" + p.ref(c.Name, p.first+len(p.Rows)-1)
	if err := check.SetRange(0, mostPacks, excelize.DataValidationTypeWhole, excelize.DataValidationOperatorBetween); err != nil {
		return err
	}
	check.SetInput("Packs to order", "Quantities and totals follow. The price stays that of the packs planned: price breaks do not follow.")
	check.SetError(excelize.DataValidationErrorStyleStop, "Packs", fmt.Sprintf("Expected a whole number of packs from 0 to %d.", mostPacks))
	return b.file.AddDataValidation(p.tab, check)
}
