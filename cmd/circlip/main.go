// Circlip plans the parts and consumables of a suspension workshop: from its
// book of services, units, hour meters and booked jobs to what will be used,
// what to order from whom by when, which kit is ready, and where the oil went.
//
// Usage:
//
//	circlip demo                 plan an invented workshop, from load to reorder workbook
//	circlip load PATH            take in a book: a folder of CSV files, or one .xlsx
//	circlip book blank PATH      write an empty book to fill in
//	circlip book save PATH       write the database back out as a book
//	circlip forecast             expected jobs and use, week by week
//	circlip forecast --explain CODE   where the figures of an item, a unit or a service come from
//	circlip plan                 what to order by when, and the reorder workbook
//	circlip order place FILE     place the orders of a reorder workbook as it was changed
//	circlip order receive CODE   put a delivery on the shelf: all, part, more or less
//	circlip order list           what is on order, and whom to call by when
//	circlip order sheets CODE    write the sheets of an order once more
//	circlip lots                 what lies on the shelf, lot by lot
//	circlip lots inspect ITEM LOT   record the inspection by which a lot keeps longer
//	circlip open ITEM            open a kit into its parts, or begin a container
//	circlip alternates           what may stand in for what
//	circlip costs                what stock is worth and where its money went
//	circlip kits [JOB]           each booked job: ready, coming or short
//	circlip kits --try SERVICE MODEL DATE   what a job not yet booked would find
//	circlip kits --papers FILE   pick list and job cards, .xlsx or .html
//	circlip job book|set-aside|take-over|move|close|cancel|correct   a job's life
//	circlip count sheet|read|plan   blind count sheets out and in
//	circlip labels FILE          labels of items or lots, to scan
//	circlip count weigh ITEM     one item on the scale, bottle by bottle
//	circlip oil [ITEM]           what left the bottles against what the jobs account for
//	circlip oil --parts          the same of seals, rings and hardware
//	circlip book revise SERVICE ITEM   another quantity on the bill from a day on
//	circlip disposal [gather|hand-over]   used oil, grease and solvent, for the carrier
//	circlip rehearse             play the past again, beside textbook methods
//	circlip check                prove the database's invariants
//
// Options of every command:
//
//	--as-of DATE      plan as of that day, or moment as 2027-03-01T14:30 (default: now
//	                  in the workshop's time zone)
//	--workshop NAME   which workshop, where the database holds several
//	--json            one JSON document on standard output, nothing else
//	--home DIR        where the private database and outputs live
//	--database URL    use that PostgreSQL (15 or newer) instead; also DATABASE_URL
//
// Messages go to standard error. The exit status is 0 when done, 1 when the
// input or the state does not allow it, 2 for wrong usage, 3 when the database
// cannot be reached.
package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	context.AfterFunc(ctx, stop) // a second Ctrl-C waits for nothing
	status := run(ctx, os.Args[1:], os.Stdout, os.Stderr)
	stop()
	os.Exit(status)
}
