package workbook

import (
	"fmt"
	"io"
	"strings"

	"circlip/reports"

	"github.com/xuri/excelize/v2"
)

// Labels stand three beside each other on an upright page, each in two cells:
// its code at the left, its words at the right. Lines to cut along are dashed.
// The page for a browser keeps to millimetres, which a spreadsheet does not.
const (
	labelsAcross   = 3
	labelsTab      = "Labels"
	labelHeight    = 108.0 // points, 38 mm
	codeColumn     = 16.0  // characters
	wordsColumn    = 20.0
	codePixels     = 113.4 // 30 mm at 96 dots an inch, its quiet zone included
	modulePixels   = 6     // of the picture that is scaled to that
	labelTextSize  = 8
	labelTitleSize = 9
)

// WriteLabels writes labels to a file, which takes its place when it is whole.
func WriteLabels(path string, l reports.Labels) error {
	return writeWhole(path, "labels", func(w io.Writer) error { return EncodeLabels(w, l) })
}

// EncodeLabels writes that workbook. The same labels give the same bytes.
func EncodeLabels(w io.Writer, l reports.Labels) error {
	return encodeSheets(w, "Labels", l.Workshop, l.On, nil, nil, func(b *reportBook) error { return b.labels(l) })
}

// labels fills the one tab.
func (b *reportBook) labels(l reports.Labels) error {
	if err := b.file.SetSheetName("Sheet1", labelsTab); err != nil {
		return err
	}
	if err := b.labelPage(); err != nil {
		return err
	}
	if len(l.Labels) == 0 {
		return b.file.SetCellStr(labelsTab, "A1", "There is no label to print.")
	}
	for n, label := range l.Labels {
		if err := b.label(n, label); err != nil {
			return fmt.Errorf("label of %s %s: %w", label.Item, label.Lot, err)
		}
	}
	return nil
}

// labelPage is how the tab prints: nothing but labels, close to the edge.
func (b *reportBook) labelPage() error {
	for n := range labelsAcross {
		for column, width := range []float64{codeColumn, wordsColumn} {
			letter, err := excelize.ColumnNumberToName(2*n + column + 1)
			if err != nil {
				return err
			}
			if err := b.file.SetColWidth(labelsTab, letter, letter, width); err != nil {
				return err
			}
		}
	}
	fit, a4, wide, high, orientation := true, 9, 1, 0, "portrait"
	if err := b.file.SetSheetProps(labelsTab, &excelize.SheetPropsOptions{FitToPage: &fit}); err != nil {
		return err
	}
	if err := b.file.SetPageLayout(labelsTab, &excelize.PageLayoutOptions{Size: &a4, Orientation: &orientation, FitToWidth: &wide, FitToHeight: &high}); err != nil {
		return err
	}
	edge, none, middle := 0.35, 0.0, true
	return b.file.SetPageMargins(labelsTab, &excelize.PageLayoutMarginsOptions{
		Left: &edge, Right: &edge, Top: &edge, Bottom: &edge, Header: &none, Footer: &none, Horizontally: &middle,
	})
}

// label writes the n-th label.
func (b *reportBook) label(n int, l reports.Label) error {
	row, column := n/labelsAcross+1, 2*(n%labelsAcross)+1
	code, err := excelize.CoordinatesToCellName(column, row)
	if err != nil {
		return err
	}
	words, err := excelize.CoordinatesToCellName(column+1, row)
	if err != nil {
		return err
	}
	if err := b.file.SetRowHeight(labelsTab, row, labelHeight); err != nil {
		return err
	}
	if err := b.labelStyle(code, words); err != nil {
		return err
	}
	runs := []excelize.RichTextRun{{Text: l.Heading(), Font: &excelize.Font{Family: reportFont, Size: labelTitleSize, Bold: true, Color: inkColor}}}
	if lines := l.Words(); len(lines) > 0 {
		runs = append(runs, excelize.RichTextRun{Text: "\n" + strings.Join(lines, "\n"), Font: &excelize.Font{Family: reportFont, Size: labelTextSize, Color: inkColor}})
	}
	if err := b.file.SetCellRichText(labelsTab, words, runs); err != nil {
		return err
	}
	return b.codePicture(code, l)
}

// labelStyle frames both cells of a label with lines to cut along.
func (b *reportBook) labelStyle(code, words string) error {
	const dashed = 3
	for i, cell := range []string{code, words} {
		side := []string{"left", "right"}[i]
		style := &excelize.Style{Alignment: &excelize.Alignment{WrapText: true, Vertical: "center", Horizontal: "left"}}
		for _, edge := range []string{"top", "bottom", side} {
			style.Border = append(style.Border, excelize.Border{Type: edge, Color: ruleColor, Style: dashed})
		}
		id, err := b.file.NewStyle(style)
		if err != nil {
			return err
		}
		if err := b.file.SetCellStyle(labelsTab, cell, cell, id); err != nil {
			return err
		}
	}
	return nil
}

// codePicture puts the code over its cell.
func (b *reportBook) codePicture(cell string, l reports.Label) error {
	picture, err := l.Code.PNG(modulePixels)
	if err != nil {
		return err
	}
	scale := codePixels / float64(l.Code.Size()*modulePixels)
	return b.file.AddPictureFromBytes(labelsTab, cell, &excelize.Picture{
		Extension: ".png", File: picture,
		Format: &excelize.GraphicOptions{
			AltText: reports.Plain("Code of " + l.Code.Text), ScaleX: scale, ScaleY: scale, OffsetX: 2, OffsetY: 15, Positioning: "oneCell", LockAspectRatio: true,
		},
	})
}
