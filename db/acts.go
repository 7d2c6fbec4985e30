package db

import (
	"fmt"

	"circlip/inventory"
)

// Line asks for a quantity of an item: of one lot, or of whichever expires
// first when Lot is empty.
type Line struct {
	Item string             `json:"item"`
	Lot  string             `json:"lot,omitempty"`
	Qty  inventory.Quantity `json:"qty,omitempty"`
}

// Receive puts a delivery on the shelf, as a new lot or as more of one that
// has the same expiry and unit cost.
type Receive struct {
	Item, Lot string
	Qty       inventory.Quantity
	Order     string             // the order it answers, or empty
	On        inventory.Date     // the day it came
	Expires   inventory.Date     // zero: it does not age
	UnitCost  inventory.UnitCost // zero: not stated
}

// Take takes parts for a job, all lines or none: first what is set aside for
// it, then what is free. Expired lots are taken only by name.
type Take struct {
	Job   string
	On    inventory.Date
	Lines []Line
}

// SetAside keeps free stock for a job, all lines or none.
type SetAside struct {
	Job   string
	On    inventory.Date
	Lines []Line
}

// Release gives back what was set aside for a job: the lines, of which one
// without a quantity means all of its item; or everything when there are none.
type Release struct {
	Job   string
	On    inventory.Date
	Lines []Line
}

// Waste takes off the shelf what was spilled, torn or has expired: of a lot,
// or of whichever expires first. If only stock that is set aside is left, the
// job that came last loses it.
type Waste struct {
	Item, Lot string
	Qty       inventory.Quantity
	Ref       string // why, or empty
	On        inventory.Date
}

// Count says what was found on the shelf of an item, expired lots included, or
// of one lot. The difference is booked: what is too much to the newest lot,
// what is missing as Waste takes it.
//
// What was found of the whole item is kept as its count of the day, with or
// without a difference, and with the containers that it was found in. Counted
// again on the same day, the later count stands; where a book told of a count of
// that day, that one stands and this one is refused.
type Count struct {
	Item, Lot string
	Found     inventory.Quantity
	Parts     []inventory.CountPart // of Item and On, numbered 1, 2, 3, adding up to Found; none with Lot
	Ref       string
	On        inventory.Date
}

// Reverse undoes a wrong movement by its mirror, once. A count by an act of which
// a movement is undone was wrong: it is no longer kept.
type Reverse struct {
	Item, Lot string
	Seq       int64
	On        inventory.Date
}

func (Receive) kind() string  { return "receive" }
func (Take) kind() string     { return "take" }
func (SetAside) kind() string { return "set aside" }
func (Release) kind() string  { return "release" }
func (Waste) kind() string    { return "waste" }
func (Count) kind() string    { return "count" }
func (Reverse) kind() string  { return "reverse" }

func (r Receive) request() map[string]any {
	request := map[string]any{"item": r.Item, "lot": r.Lot, "qty": r.Qty, "order": r.Order, "on": r.On.String()}
	if !r.Expires.IsZero() {
		request["expires"] = r.Expires.String()
	}
	if r.UnitCost != 0 {
		request["unit_cost"] = r.UnitCost
	}
	return request
}

func (t Take) request() map[string]any     { return jobRequest(t.Job, t.On, t.Lines) }
func (s SetAside) request() map[string]any { return jobRequest(s.Job, s.On, s.Lines) }
func (r Release) request() map[string]any  { return jobRequest(r.Job, r.On, r.Lines) }

func jobRequest(job string, on inventory.Date, lines []Line) map[string]any {
	return map[string]any{"job": job, "on": on.String(), "lines": append([]Line{}, lines...)}
}

func (w Waste) request() map[string]any {
	return map[string]any{"item": w.Item, "lot": w.Lot, "qty": w.Qty, "ref": w.Ref, "on": w.On.String()}
}

func (c Count) request() map[string]any {
	request := map[string]any{"item": c.Item, "lot": c.Lot, "found": c.Found, "ref": c.Ref, "on": c.On.String()}
	if len(c.Parts) > 0 {
		request["parts"] = partsRequest(c.Parts)
	}
	return request
}

func (r Reverse) request() map[string]any {
	return map[string]any{"item": r.Item, "lot": r.Lot, "seq": r.Seq, "on": r.On.String()}
}

func (r Receive) check() error {
	if r.Lot == "" {
		return fmt.Errorf("%w: item %s: no lot named", inventory.ErrInvalid, r.Item)
	}
	if r.UnitCost < 0 {
		return fmt.Errorf("%w: item %s lot %s: found unit cost %d, expected none below zero", inventory.ErrInvalid, r.Item, r.Lot, r.UnitCost)
	}
	return checkLine(Line{r.Item, r.Lot, r.Qty}, r.On)
}

func (t Take) check() error     { return checkLines(t.Job, t.On, t.Lines) }
func (s SetAside) check() error { return checkLines(s.Job, s.On, s.Lines) }

func (r Release) check() error {
	for _, line := range r.Lines {
		line.Qty = max(line.Qty, 1) // zero: all of it
		if err := checkLine(line, r.On); err != nil {
			return err
		}
	}
	return checkJob(r.Job, r.On)
}

func (w Waste) check() error { return checkLine(Line{w.Item, w.Lot, w.Qty}, w.On) }

func (c Count) check() error {
	if c.Found < 0 {
		return fmt.Errorf("%w: item %s: found a count of %d steps, expected none below zero", inventory.ErrInvalid, c.Item, c.Found)
	}
	if err := c.checkParts(); err != nil {
		return err
	}
	return checkLine(Line{c.Item, c.Lot, max(c.Found, 1)}, c.On)
}

func (r Reverse) check() error {
	if r.Lot == "" || r.Seq < 1 {
		return fmt.Errorf("%w: item %s lot %q movement %d, expected a lot and a number from 1", inventory.ErrInvalid, r.Item, r.Lot, r.Seq)
	}
	return checkLine(Line{r.Item, r.Lot, 1}, r.On)
}

func checkLines(job string, on inventory.Date, lines []Line) error {
	if len(lines) == 0 {
		return fmt.Errorf("%w: job %s: no lines, expected at least one", inventory.ErrInvalid, job)
	}
	for _, line := range lines {
		if err := checkLine(line, on); err != nil {
			return err
		}
	}
	return checkJob(job, on)
}

func checkJob(job string, on inventory.Date) error {
	if job == "" {
		return fmt.Errorf("%w: no job named", inventory.ErrInvalid)
	}
	if on.IsZero() {
		return fmt.Errorf("%w: job %s: no date", inventory.ErrInvalid, job)
	}
	return nil
}

func checkLine(line Line, on inventory.Date) error {
	switch {
	case line.Item == "":
		return fmt.Errorf("%w: no item named", inventory.ErrInvalid)
	case line.Qty < 1 || line.Qty > inventory.MaxQuantity:
		return fmt.Errorf("%w: item %s: found quantity %d, expected 1 to %d steps", inventory.ErrInvalid, line.Item, line.Qty, inventory.MaxQuantity)
	case on.IsZero():
		return fmt.Errorf("%w: item %s: no date", inventory.ErrInvalid, line.Item)
	}
	return nil
}
