package workbook

import (
	"errors"
	"io"

	"circlip/reports"
	"circlip/reports/rehearsal"
)

// errNothing is told where there is no rehearsal to write.
var errNothing = errors.New("found no rehearsal, expected at least one")

// WriteRehearsal writes a workbook of one or several rehearsals to a file,
// which takes its place when it is whole.
func WriteRehearsal(path string, trials ...rehearsal.Report) error {
	return writeWhole(path, "rehearsal", func(w io.Writer) error { return EncodeRehearsal(w, trials...) })
}

// EncodeRehearsal writes that workbook: the summary, every point of every way
// of ordering with readiness drawn against money, what the forecasts were
// worth, and how what came lay within them. The same rehearsals give the same
// bytes.
func EncodeRehearsal(w io.Writer, trials ...rehearsal.Report) error {
	if len(trials) == 0 {
		return errNothing
	}
	last := trials[len(trials)-1]
	summary := reports.Rehearsal(last)
	if len(trials) > 1 {
		summary = reports.Trials(trials)
	}
	sheets := []reports.Sheet{summary, reports.Methods(trials), reports.Scores(trials), reports.Calibration(trials)}
	return encodeSheets(w, "Rehearsal", last.Workshop, last.AsOf, sheets, nil)
}
