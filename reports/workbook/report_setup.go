package workbook

import (
	"fmt"
	"strings"
	"unicode/utf16"

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
	if err := b.editable(p); err != nil {
		return err
	}
	if len(p.Rows) == 0 {
		return nil
	}
	return b.file.SetDefinedName(&excelize.DefinedName{
		Name: "_xlnm.Print_Titles", Scope: p.tab, RefersTo: fmt.Sprintf("%s!$%d:$%d", quotedTab(p.tab), p.head, p.head),
	})
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

// mostPacks bounds what a person may type into an order, as the book does.
const mostPacks = 1_000_000

// editable checks what is typed into the fields and the columns that a person
// may fill, and says what is expected.
func (b *reportBook) editable(p *placedSheet) error {
	for i, f := range p.Fields {
		at, err := excelize.CoordinatesToCellName(p.factColumn()+1, p.fields+i)
		if err != nil {
			return err
		}
		if err := b.checkTyped(p.tab, at, f); err != nil {
			return err
		}
	}
	for _, c := range p.Columns {
		if !c.Edit || len(p.Rows) == 0 {
			continue
		}
		cells := p.ref(c.Name, p.first) + ":" + p.ref(c.Name, p.first+len(p.Rows)-1)
		if err := b.checkTyped(p.tab, cells, reports.Field{Label: c.Name, Kind: c.Kind, OneOf: c.OneOf, Hint: c.Hint}); err != nil {
			return err
		}
	}
	return nil
}

// checkTyped lets only what a field is for into some cells.
func (b *reportBook) checkTyped(tab, cells string, f reports.Field) error {
	check := excelize.NewDataValidation(true)
	check.Sqref = cells
	check.SetInput(cut(f.Label, titleChars), cut(f.Hint, messageChars))
	expected, err := "", error(nil)
	switch {
	case fitsList(f.OneOf):
		expected, err = strings.Join(f.OneOf, " or "), check.SetDropList(f.OneOf)
	case f.Kind == reports.CountKind:
		expected = fmt.Sprintf("a whole number from 0 to %d", mostPacks)
		err = check.SetRange(0, mostPacks, excelize.DataValidationTypeWhole, excelize.DataValidationOperatorBetween)
	case f.Kind == reports.MoneyKind || f.Kind == reports.QuantityKind:
		expected = "an amount of 0 or more"
		err = check.SetRange(0, 0, excelize.DataValidationTypeDecimal, excelize.DataValidationOperatorGreaterThanOrEqual)
	case f.Kind == reports.DateKind:
		expected = "a day"
		err = check.SetRange(firstSerial, lastSerial, excelize.DataValidationTypeDate, excelize.DataValidationOperatorBetween)
	}
	if err != nil {
		return err
	}
	if expected != "" {
		check.SetError(excelize.DataValidationErrorStyleStop, cut(f.Label, titleChars), "Expected "+expected+".")
	}
	return b.file.AddDataValidation(tab, check)
}

// mostListed is how many UTF-16 units a list of words may have, commas included.
const mostListed = 255

// fitsList reports whether words can be offered as a list. Where they cannot
// anything may be typed, and whoever reads the sheet back tells what is wrong.
func fitsList(words []string) bool {
	list := strings.Join(words, ",")
	plain := !strings.HasPrefix(list, "=") && !strings.Contains(list, `"`) && strings.Count(list, ",") == len(words)-1
	return len(words) > 0 && plain && len(utf16.Encode([]rune(list))) <= mostListed
}
