package main

// What is printed where: results on standard output; "circlip: …" and
// "hint: …" on standard error, lower case, no full stop; progress on standard
// error, only where that is a terminal.

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	"github.com/schollz/progressbar/v3"
	"golang.org/x/term"

	"circlip/db"
	"circlip/inventory"
	"circlip/inventory/book"
)

// The exit statuses.
const (
	statusDone        = 0
	statusRefused     = 1
	statusUsage       = 2
	statusUnreachable = 3
)

// say writes one message.
func say(w io.Writer, format string, args ...any) {
	fmt.Fprintf(w, "circlip: "+format+"\n", args...)
}

// fail tells the error, with a hint where there is one, and returns the exit
// status that it means.
func fail(w io.Writer, err error) int {
	var faults db.Faults
	if errors.As(err, &faults) {
		for _, f := range faults {
			fmt.Fprintln(w, f.Error())
		}
		say(w, "%s, nothing was loaded", plural(len(faults), "fault"))
		return statusRefused
	}
	var sheet sheetFaults
	if errors.As(err, &sheet) {
		for _, f := range sheet {
			fmt.Fprintln(w, f.Error())
		}
	}
	say(w, "%v", err)
	var database unreachable
	if errors.As(err, &database) || errors.Is(err, inventory.ErrUnavailable) {
		return statusUnreachable
	}
	return statusRefused
}

// progress counts rows on a terminal and is silent in a pipe.
func progress(w io.Writer, what string) (add func(rows int), done func()) {
	file, ok := w.(*os.File)
	visible := ok && term.IsTerminal(int(file.Fd()))
	bar := progressbar.NewOptions(-1,
		progressbar.OptionSetWriter(w),
		progressbar.OptionSetVisibility(visible),
		progressbar.OptionSetDescription(what),
		progressbar.OptionThrottle(100*time.Millisecond),
		progressbar.OptionShowCount(),
		progressbar.OptionClearOnFinish(),
	)
	return func(rows int) { _ = bar.Add(rows) }, func() { _ = bar.Finish() }
}

// plural writes "1 job", "2 jobs".
func plural(n int, one string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %ss", n, strings.TrimSuffix(one, "s"))
}

// sheetFaults is a workbook that came back and cannot be taken as it is.
type sheetFaults []book.Fault

func (f sheetFaults) Error() string {
	return fmt.Sprintf("%s, nothing was recorded", plural(len(f), "fault"))
}
