package workbook

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"sort"

	"circlip/inventory"
	"circlip/reports"
	"circlip/reports/plan"

	"github.com/xuri/excelize/v2"
)

// WriteReorder writes the reorder workbook to a file. It is written beside the
// file first and takes its place when it is whole: whoever has the old one
// keeps it until then.
func WriteReorder(path string, p plan.Plan) error {
	return writeWhole(path, "reorder", func(w io.Writer) error { return EncodeReorder(w, p) })
}

// EncodeReorder writes the reorder workbook of a plan: the summary, an order a
// supplier for a person to look over, what limits cut and what is worth bringing
// forward, booked jobs, what to chase and what ages out, why this much, where the
// oil went, expected use, and what readiness costs; and, hidden, what was
// proposed, for ReadAnswers. The same plan gives the same bytes.
//
// Every figure that follows from others is a formula with its value beside it,
// so that readers without an engine see the program's figures and those with
// one compute the same.
func EncodeReorder(w io.Writer, p plan.Plan) error {
	sheets := append([]reports.Sheet{reports.Summary(p)}, reports.OrderSheets(p)...)
	sheets = append(sheets, reports.Limits(p), reports.Forward(p), reports.Kits(p), reports.Chase(p), reports.Ageing(p))
	sheets = append(sheets, reports.Why(p), reports.Oil(p.Oil), reports.Demand(p), reports.Curve(p))
	return encodeSheets(w, "Reorder sheet", p.Workshop, p.AsOf, sheets, proposals(p, orderTabs(sheets)))
}

// writeWhole writes a workbook of that name beside the file, and in its place
// when it is whole.
func writeWhole(path, name string, encode func(io.Writer) error) (err error) {
	beside, err := os.CreateTemp(filepath.Dir(path), "."+name+"-*.xlsx")
	if err != nil {
		return fmt.Errorf("writing the %s workbook: %w", name, err)
	}
	defer func() {
		if err != nil {
			_ = beside.Close()
			_ = os.Remove(beside.Name())
			err = fmt.Errorf("writing the %s workbook %s: %w", name, path, err)
		}
	}()
	if err = encode(beside); err != nil {
		return err
	}
	if err = beside.Chmod(0o644); err != nil {
		return err
	}
	if err = beside.Close(); err != nil {
		return err
	}
	return os.Rename(beside.Name(), path)
}

// encodeSheets writes a workbook of sheets, about a workshop on a day, with what
// it must remember; nil: nothing. What is more than sheets writes its own tabs
// behind them.
func encodeSheets(w io.Writer, title, workshop string, day inventory.Date, sheets []reports.Sheet, m *memory, more ...func(*reportBook) error) (err error) {
	b := &reportBook{
		file:     excelize.NewFile(excelize.Options{TmpDir: os.TempDir()}),
		styles:   map[reportStyle]int{},
		workshop: reports.Plain(workshop),
		day:      day.String(),
	}
	defer func() {
		if closing := b.file.Close(); err == nil {
			err = closing
		}
	}()
	b.file.SetZipWriter(newSortedZip)
	if err := b.properties(title, day); err != nil {
		return err
	}
	if err := b.place(sheets); err != nil {
		return err
	}
	if err := b.placeMemory(m); err != nil {
		return fmt.Errorf("the hidden sheet: %w", err)
	}
	for _, s := range b.sheets {
		if err := b.write(s); err != nil {
			return fmt.Errorf("sheet %s: %w", s.tab, err)
		}
	}
	for _, write := range more {
		if err := write(b); err != nil {
			return err
		}
	}
	if err := b.remember(m); err != nil {
		return fmt.Errorf("the hidden sheet: %w", err)
	}
	types := b.file.ContentTypes.Defaults // excelize takes them from a map, in random order
	sort.Slice(types, func(i, j int) bool { return types[i].Extension < types[j].Extension })
	return b.file.Write(w)
}

// reportBook is a workbook being written.
type reportBook struct {
	file          *excelize.File
	sheets        []*placedSheet
	byKey         map[string]*placedSheet
	styles        map[reportStyle]int
	workshop, day string // for the foot of every page
}

// properties are those of the document. Its times are the day it tells of, not
// the clock's, for the sake of the same bytes.
func (b *reportBook) properties(title string, day inventory.Date) error {
	if err := b.file.SetDefaultFont(reportFont); err != nil {
		return err
	}
	at := day.Time().Format("2006-01-02T15:04:05Z")
	if err := b.file.SetDocProps(&excelize.DocProperties{
		Title: title + " of " + b.day, Creator: "circlip", LastModifiedBy: "circlip", Created: at, Modified: at, Language: "en-GB",
	}); err != nil {
		return err
	}
	recalculate := true
	return b.file.SetCalcProps(&excelize.CalcPropsOptions{FullCalcOnLoad: &recalculate})
}

// place names the tabs and decides where on its tab every part of a sheet
// stands, before any formula is written: formulas look ahead.
func (b *reportBook) place(sheets []reports.Sheet) error {
	tabs := tabNames(sheets)
	b.byKey = make(map[string]*placedSheet, len(sheets))
	for i, s := range sheets {
		var err error
		if i == 0 {
			err = b.file.SetSheetName("Sheet1", tabs[i])
		} else {
			_, err = b.file.NewSheet(tabs[i])
		}
		if err != nil {
			return fmt.Errorf("naming a sheet %q: %w", tabs[i], err)
		}
		placed := placeSheet(s, tabs[i])
		b.sheets = append(b.sheets, placed)
		b.byKey[s.Key] = placed
	}
	return nil
}
