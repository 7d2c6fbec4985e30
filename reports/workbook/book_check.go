package workbook

import (
	"fmt"
	"math"
	"strings"
	"unicode/utf8"

	"github.com/xuri/excelize/v2"

	"circlip/inventory/book"
)

// The most that a message of a cell's check may hold (ISO/IEC 29500-1,
// 18.3.1.32).
const (
	titleChars   = 32
	messageChars = 255
)

// The days a book may hold, as serials: 1970-01-02 to 2199-12-31.
const (
	firstSerial = "25570"
	lastSerial  = "109574"
)

// check lets the spreadsheet program check what is typed into a column, and
// say what is expected once its cell is chosen. A code that its sheet does not
// have yet may stay; everything else is refused there as load would refuse it.
func (b *blank) check(table, letter string, c book.Column) error {
	v := excelize.NewDataValidation(true)
	v.SetSqref(fmt.Sprintf("%s2:%s%d", letter, letter, lastRow))
	message := cut(strings.Join(describe(c), "\n"), messageChars)
	v.SetInput(cut(c.Name, titleChars), message)
	severity, err := rule(v, c)
	if err != nil {
		return err
	}
	if v.Type != "" {
		v.SetError(severity, cut(c.Name, titleChars), message)
	}
	return b.file.AddDataValidation(table, v)
}

// rule sets the check of a column, none where any text will do.
func rule(v *excelize.DataValidation, c book.Column) (severity excelize.DataValidationErrorStyle, err error) {
	stop := excelize.DataValidationErrorStyleStop
	switch c.Kind {
	case book.YesNo:
		return stop, v.SetDropList([]string{"yes", "no"})
	case book.Code:
		if c.Refers != "" {
			v.SetSqrefDropList(codesOf(c.Refers))
			return excelize.DataValidationErrorStyleWarning, nil
		}
		return stop, v.SetRange(0, book.MaxCode, excelize.DataValidationTypeTextLength, excelize.DataValidationOperatorBetween)
	case book.Date:
		return stop, v.SetRange(firstSerial, lastSerial, excelize.DataValidationTypeDate, excelize.DataValidationOperatorBetween)
	case book.Integer:
		return stop, numberRule(v, c, excelize.DataValidationTypeWhole)
	case book.Decimal, book.Quantity, book.Money, book.UnitCost:
		return stop, numberRule(v, c, excelize.DataValidationTypeDecimal)
	}
	if len(c.OneOf) > 0 {
		return stop, v.SetDropList(c.OneOf)
	}
	return stop, nil
}

// codesOf lists the codes that a sheet has at the moment: its first column
// below the head, which is its key. The list grows with the sheet; a fixed
// range would offer blanks.
func codesOf(table string) string {
	return fmt.Sprintf("OFFSET(%s!$A$2,0,0,MAX(1,COUNTA(%s!$A:$A)-1),1)", table, table)
}

// numberRule bounds a number. The format has no rule for "above, and at most":
// there the bound itself passes here and is refused by load.
func numberRule(v *excelize.DataValidation, c book.Column, kind excelize.DataValidationType) error {
	least, most, above := c.Bounds()
	switch {
	case above && math.IsInf(most, 1):
		return v.SetRange(least, 0, kind, excelize.DataValidationOperatorGreaterThan)
	case math.IsInf(most, 1):
		return v.SetRange(math.Max(least, -math.MaxFloat32), 0, kind, excelize.DataValidationOperatorGreaterThanOrEqual)
	}
	return v.SetRange(math.Max(least, -math.MaxFloat32), most, kind, excelize.DataValidationOperatorBetween)
}

// cut shortens a text to so many characters, counted as UTF-16 does for all
// that our texts hold.
func cut(text string, most int) string {
	if utf8.RuneCountInString(text) <= most {
		return text
	}
	return string([]rune(text)[:most-1]) + "…"
}
