package db

import (
	"fmt"

	"circlip/inventory"
)

// maxPacks bounds the packs of one line, as the book does.
const maxPacks = 1_000_000

// Place records an order of packs from a supplier under a code that no other
// order has. Of a sheet that carries a proposal one order is placed: whoever
// places it again, at the same time or later, is refused with the order that
// stands. It moves no stock.
type Place struct {
	Sheet           string // inventory.Proposal.ID of the sheet; empty: an order written by hand
	Order, Supplier string
	On              inventory.Date
	Lines           []PlaceLine // each item once
}

// PlaceLine is one item of an order.
type PlaceLine struct {
	Item    string
	Packs   int
	PackQty inventory.Quantity // that a pack holds
	Price   inventory.Money    // a pack
	Due     inventory.Date     // zero: not known
}

// Deliver puts on the shelf what came of an order and brings the order's lines
// along: less than was ordered, all, or more. A closed delivery is the last:
// what is missing of its lines is given up, or of the whole order where it has
// no lines.
type Deliver struct {
	Order  string
	On     inventory.Date
	Closed bool
	Lines  []DeliverLine
}

// DeliverLine is what came of one item; several lines of an item are several
// lots. No packs, in a closed delivery: none came and none will.
type DeliverLine struct {
	Item     string
	Lot      string // empty: the order's code, or code-2, code-3, … beside lots with another expiry or cost
	Packs    int
	Qty      inventory.Quantity // what was in them; at most what the packs hold
	Expires  inventory.Date     // zero: it does not age
	UnitCost inventory.UnitCost // zero: not stated
}

func (Place) kind() string   { return "place" }
func (Deliver) kind() string { return "deliver" }

func (p Place) request() map[string]any {
	lines := make([]map[string]any, len(p.Lines))
	for i, l := range p.Lines {
		lines[i] = map[string]any{"item": l.Item, "packs": l.Packs, "pack_qty": l.PackQty, "price": l.Price}
		setDate(lines[i], "due", l.Due)
	}
	return map[string]any{"sheet": p.Sheet, "order": p.Order, "supplier": p.Supplier, "on": p.On.String(), "lines": lines}
}

func (d Deliver) request() map[string]any {
	lines := make([]map[string]any, len(d.Lines))
	for i, l := range d.Lines {
		lines[i] = map[string]any{"item": l.Item, "lot": l.Lot, "packs": l.Packs, "qty": l.Qty, "unit_cost": l.UnitCost}
		setDate(lines[i], "expires", l.Expires)
	}
	return map[string]any{"order": d.Order, "on": d.On.String(), "closed": d.Closed, "lines": lines}
}

// setDate leaves a date that is not stated out of a request.
func setDate(request map[string]any, name string, date inventory.Date) {
	if !date.IsZero() {
		request[name] = date.String()
	}
}

func (p Place) check() error {
	if err := checkOrder(p.Order, p.On); err != nil {
		return err
	}
	switch {
	case p.Supplier == "":
		return fmt.Errorf("%w: order %s: no supplier named", inventory.ErrInvalid, p.Order)
	case len(p.Lines) == 0:
		return fmt.Errorf("%w: order %s: no lines, expected at least one", inventory.ErrInvalid, p.Order)
	}
	seen := map[string]bool{}
	for _, line := range p.Lines {
		if seen[line.Item] {
			return fmt.Errorf("%w: order %s: item %s twice, expected one line of it", inventory.ErrInvalid, p.Order, line.Item)
		}
		seen[line.Item] = true
		if err := line.check(p.On); err != nil {
			return fmt.Errorf("order %s: %w", p.Order, err)
		}
	}
	return nil
}

func (l PlaceLine) check(on inventory.Date) error {
	switch {
	case l.Packs < 1 || l.Packs > maxPacks:
		return fmt.Errorf("%w: item %s: found %d packs, expected 1 to %d", inventory.ErrInvalid, l.Item, l.Packs, maxPacks)
	case l.Price < 0:
		return fmt.Errorf("%w: item %s: found price %d, expected none below zero", inventory.ErrInvalid, l.Item, l.Price)
	case !l.Due.IsZero() && l.Due < on:
		return fmt.Errorf("%w: item %s: found due %s, expected no day before it is placed, %s", inventory.ErrInvalid, l.Item, l.Due, on)
	}
	return checkLine(Line{Item: l.Item, Qty: l.PackQty}, on)
}

func (d Deliver) check() error {
	if err := checkOrder(d.Order, d.On); err != nil {
		return err
	}
	if len(d.Lines) == 0 && !d.Closed {
		return fmt.Errorf("%w: order %s: no lines, expected at least one or a closed delivery", inventory.ErrInvalid, d.Order)
	}
	for _, line := range d.Lines {
		if err := line.check(d.On, d.Closed); err != nil {
			return fmt.Errorf("order %s: %w", d.Order, err)
		}
	}
	return nil
}

func (l DeliverLine) check(on inventory.Date, closed bool) error {
	least := 1
	if closed {
		least = 0
	}
	switch {
	case l.Packs < least || l.Packs > maxPacks:
		return fmt.Errorf("%w: item %s: found %d packs, expected %d to %d", inventory.ErrInvalid, l.Item, l.Packs, least, maxPacks)
	case l.Packs == 0 && l.Qty != 0:
		return fmt.Errorf("%w: item %s: found quantity %d in no packs, expected none", inventory.ErrInvalid, l.Item, l.Qty)
	case l.UnitCost < 0:
		return fmt.Errorf("%w: item %s: found unit cost %d, expected none below zero", inventory.ErrInvalid, l.Item, l.UnitCost)
	case l.Packs == 0:
		return checkLine(Line{Item: l.Item, Qty: 1}, on)
	}
	return checkLine(Line{Item: l.Item, Qty: l.Qty}, on)
}

func checkOrder(order string, on inventory.Date) error {
	if order == "" {
		return fmt.Errorf("%w: no order named", inventory.ErrInvalid)
	}
	if on.IsZero() {
		return fmt.Errorf("%w: order %s: no date", inventory.ErrInvalid, order)
	}
	return nil
}
