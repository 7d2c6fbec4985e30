package db

import (
	"fmt"

	"circlip/inventory"
)

// OpenKit takes kits apart: free ones leave the shelf, and their parts come to
// it in lots named like the kits', good for as long as these at most. Of whole
// kits only what their parts list holds may come.
type OpenKit struct {
	Kit, Lot string             // Lot empty: first expired first, and none that has expired
	Qty      inventory.Quantity // kits
	On       inventory.Date
	Parts    []KitShare // each item once
}

// KitShare is one part of a kit that is opened.
type KitShare struct {
	Item     string
	Qty      inventory.Quantity // of one kit
	Expires  inventory.Date     // zero, or later than the kit's: with the kit
	UnitCost inventory.UnitCost // zero: not stated
}

// Extend records the inspection by which a lot that ages goes on beyond its
// storage period (ISO 2230), once: all of it goes on under the lot's code with
// "inspected" after it, and what was set aside of it stays with its jobs.
type Extend struct {
	Item, Lot string
	Until     inventory.Date // the first day it is no longer good; later than the lot's
	By, Note  string         // who looked, and what was found
	On        inventory.Date
}

// OpenContainer takes a free quantity of a lot, one container, on under the
// lot's code with "opened" and the day after it. It keeps until a day of its
// own, or the lot's where that is earlier.
type OpenContainer struct {
	Item, Lot string
	Qty       inventory.Quantity
	Until     inventory.Date // the first day it is no longer good
	On        inventory.Date
}

func (OpenKit) kind() string       { return "open kit" }
func (Extend) kind() string        { return "extend" }
func (OpenContainer) kind() string { return "open container" }

func (k OpenKit) request() map[string]any {
	parts := make([]map[string]any, len(k.Parts))
	for i, p := range k.Parts {
		parts[i] = map[string]any{"item": p.Item, "qty": p.Qty, "unit_cost": p.UnitCost}
		setDate(parts[i], "expires", p.Expires)
	}
	return map[string]any{"kit": k.Kit, "lot": k.Lot, "qty": k.Qty, "on": k.On.String(), "parts": parts}
}

func (e Extend) request() map[string]any {
	return map[string]any{"item": e.Item, "lot": e.Lot, "until": e.Until.String(), "by": e.By, "note": e.Note, "on": e.On.String()}
}

func (o OpenContainer) request() map[string]any {
	return map[string]any{"item": o.Item, "lot": o.Lot, "qty": o.Qty, "until": o.Until.String(), "on": o.On.String()}
}

func (k OpenKit) check() error {
	if err := checkLine(Line{Item: k.Kit, Qty: k.Qty}, k.On); err != nil {
		return err
	}
	if len(k.Parts) == 0 {
		return fmt.Errorf("%w: kit %s: no parts, expected at least one", inventory.ErrInvalid, k.Kit)
	}
	seen := map[string]bool{}
	for _, part := range k.Parts {
		if seen[part.Item] {
			return fmt.Errorf("%w: kit %s: part %s twice, expected it once", inventory.ErrInvalid, k.Kit, part.Item)
		}
		seen[part.Item] = true
		if part.UnitCost < 0 {
			return fmt.Errorf("%w: kit %s: part %s: found unit cost %d, expected none below zero", inventory.ErrInvalid, k.Kit, part.Item, part.UnitCost)
		}
		if err := checkLine(Line{Item: part.Item, Qty: part.Qty}, k.On); err != nil {
			return fmt.Errorf("kit %s: %w", k.Kit, err)
		}
	}
	return nil
}

func (e Extend) check() error {
	if e.By == "" {
		return fmt.Errorf("%w: item %s lot %s: nobody named who inspected it", inventory.ErrInvalid, e.Item, e.Lot)
	}
	return checkGoingOn(Line{e.Item, e.Lot, 1}, e.On, e.Until)
}

func (o OpenContainer) check() error { return checkGoingOn(Line{o.Item, o.Lot, o.Qty}, o.On, o.Until) }

func checkGoingOn(line Line, on, until inventory.Date) error {
	if err := checkLine(line, on); err != nil {
		return err
	}
	if line.Lot == "" {
		return fmt.Errorf("%w: item %s: no lot named", inventory.ErrInvalid, line.Item)
	}
	if until <= on {
		return fmt.Errorf("%w: item %s lot %s: found until %s, expected a day after %s", inventory.ErrInvalid, line.Item, line.Lot, until, on)
	}
	return nil
}
