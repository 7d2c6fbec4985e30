package main

import (
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/google/uuid"

	"circlip/db"
	"circlip/inventory"
	"circlip/reports"
)

type lotsCommand struct {
	List    lotsListCommand    `cmd:"" default:"withargs" help:"Show what lies on the shelf, lot by lot, first expired first."`
	Inspect lotsInspectCommand `cmd:"" help:"Record the inspection by which a lot of rubber goes on beyond its storage period, once."`
}

type lotsListCommand struct {
	Item string `arg:"" optional:"" help:"Of that item alone." placeholder:"ITEM"`
}

// Run lists the lots of the shelf.
func (c lotsListCommand) Run(s *session) error {
	shop, err := s.readShop()
	if err != nil {
		return err
	}
	item, _, err := scanned(shop, c.Item)
	if err != nil {
		return err
	}
	if s.opts.JSON {
		return s.print(reports.LotsJSON(shop, item.Code))
	}
	return reports.Text(s.out, reports.Lots(shop, item.Code))
}

type lotsInspectCommand struct {
	Item string `arg:"" help:"Item of the lot." placeholder:"ITEM"`
	Lot  string `arg:"" optional:"" help:"Its code, where the label scanned does not say it." placeholder:"LOT"`
	By   string `required:"" help:"Who looked at it." placeholder:"NAME"`
	Note string `help:"What was found." placeholder:"TEXT"`
}

// Run extends a lot as ISO 2230 allows: once, by the years of its material's
// group, from the day on which it would have expired.
func (c lotsInspectCommand) Run(s *session) error {
	return s.act("", func(shop inventory.Shop) (db.Act, error) {
		item, code, err := scanned(shop, c.Item)
		if err != nil {
			return nil, err
		}
		code = cmp.Or(c.Lot, code)
		if _, err := lotOf(shop, item.Code, code+inventory.InspectedMark); err == nil {
			code += inventory.InspectedMark // it goes on under that name; told twice it is refused as such
		}
		lot, err := lotOf(shop, item.Code, code)
		if err != nil {
			return nil, err
		}
		until, err := inspectedUntil(shop, item, lot)
		if err != nil {
			return nil, err
		}
		return db.Extend{Item: item.Code, Lot: lot.Code, Until: until, By: strings.TrimSpace(c.By), Note: c.Note, On: shop.AsOf}, nil
	})
}

// inspectedUntil is how long a lot keeps after its one inspection, or why it
// gets none.
func inspectedUntil(shop inventory.Shop, item inventory.Item, lot inventory.Lot) (inventory.Date, error) {
	life := inventory.LifeOf(item, inventory.PartsOf(shop, item.Code))
	until := life.Inspected(lot)
	switch {
	case !until.IsZero():
		return until, nil
	case lot.Expires.IsZero():
		return 0, fmt.Errorf("item %s lot %s does not age: there is nothing to extend", lot.Item, lot.Code)
	case life.ShelfMonths > 0:
		return 0, fmt.Errorf("item %s keeps as its supplier says, %d months, and not as %s; ask the supplier", lot.Item, life.ShelfMonths, shop.Settings.ShelfLifeStandard)
	case life.Group.Years == 0:
		return 0, fmt.Errorf("item %s: %s gives no extension to the material %q", lot.Item, shop.Settings.ShelfLifeStandard, item.Material)
	}
	return 0, fmt.Errorf("item %s lot %s was inspected before: %s allows it once", lot.Item, lot.Code, shop.Settings.ShelfLifeStandard)
}

type openCommand struct {
	Item string `arg:"" help:"A kit to take apart, or a container to begin." placeholder:"ITEM"`
	Qty  string `help:"How many kits, or how much the container holds. Default: one kit, or one pack." placeholder:"QTY"`
	Lot  string `help:"Of that lot. Default: what expires first." placeholder:"LOT"`
}

// Run opens a kit into its parts, their cost shared out, or a container that
// keeps less long from then on.
func (c openCommand) Run(s *session) error {
	return s.act("", func(shop inventory.Shop) (db.Act, error) {
		item, code, err := scanned(shop, c.Item)
		if err != nil {
			return nil, err
		}
		c.Item, c.Lot = item.Code, cmp.Or(c.Lot, code)
		lot, err := c.lot(shop)
		if err != nil {
			return nil, err
		}
		if parts := inventory.Contents(shop, c.Item); len(parts) > 0 {
			return c.kit(shop, item, lot, parts)
		}
		return c.container(shop, item, lot)
	})
}

// lot is the one named, or the free one that expires first.
func (c openCommand) lot(shop inventory.Shop) (inventory.Lot, error) {
	if c.Lot != "" {
		return lotOf(shop, c.Item, c.Lot)
	}
	var free []inventory.Lot
	for _, l := range shop.Lots {
		if l.Item == c.Item && l.UsableOn(shop.AsOf) && l.Free() > 0 && !strings.Contains(l.Code, " opened ") {
			free = append(free, l)
		}
	}
	if len(free) == 0 {
		return inventory.Lot{}, fmt.Errorf("item %s: %w: found none free on the shelf and still good, expected one to open", c.Item, inventory.ErrShort)
	}
	return slices.MinFunc(free, inventory.FirstExpiredFirst), nil
}

// kit opens so many kits of a lot.
func (c openCommand) kit(shop inventory.Shop, item inventory.Item, lot inventory.Lot, parts []inventory.Content) (db.Act, error) {
	qty, err := item.Measure.ParseQuantity(cmp.Or(c.Qty, "1"))
	if err != nil {
		return nil, fmt.Errorf("--qty: %w", err)
	}
	act := db.OpenKit{Kit: c.Item, Lot: lot.Code, Qty: qty, On: shop.AsOf}
	value := inventory.Value(qty, item.Measure, lot.UnitCost)
	for i, share := range inventory.ShareCost(value, qty, parts) {
		act.Parts = append(act.Parts, db.KitShare{Item: share.Item, Qty: parts[i].Qty, UnitCost: share.Unit})
	}
	return act, nil
}

// container begins a container of a lot.
func (c openCommand) container(shop inventory.Shop, item inventory.Item, lot inventory.Lot) (db.Act, error) {
	if item.OpenedMonths == 0 {
		return nil, fmt.Errorf("item %s is no kit, and opened it keeps as long as before: there is nothing to record; give it opened_months in the book where that is not so", c.Item)
	}
	qty := lot.Free()
	if c.Qty != "" {
		var err error
		if qty, err = item.Measure.ParseQuantity(c.Qty); err != nil {
			return nil, fmt.Errorf("--qty: %w", err)
		}
	} else if pack := packOf(shop, c.Item); pack > 0 {
		qty = min(qty, pack)
	}
	until := inventory.LifeOf(item, nil).OpenedUntil(shop.AsOf, lot.Expires)
	return db.OpenContainer{Item: c.Item, Lot: lot.Code, Qty: qty, Until: until, On: shop.AsOf}, nil
}

// packOf is the smallest pack an item is sold in.
func packOf(shop inventory.Shop, item string) inventory.Quantity {
	least := inventory.Quantity(0)
	for _, o := range shop.Offers {
		if o.Item == item && (least == 0 || o.PackQty < least) {
			least = o.PackQty
		}
	}
	return least
}

// act reads the shop, makes an act of it, does it, and tells what it did; said is
// told of an act that moves and keeps nothing.
func (s *session) act(said string, make func(inventory.Shop) (db.Act, error)) error {
	var shop inventory.Shop
	var done db.Done
	err := s.with(func(store opened) error {
		workshop, err := store.Workshop(s.ctx, s.opts.Workshop)
		if err != nil {
			return err
		}
		if shop, err = s.shop(store); err != nil {
			return err
		}
		act, err := make(shop)
		if err != nil {
			return err
		}
		done, err = store.Do(s.ctx, workshop.ID, uuid.New(), act)
		return err
	})
	if err != nil {
		return err
	}
	if s.opts.JSON {
		return s.document(s.movedDocument(shop, done))
	}
	if said != "" {
		fmt.Fprintln(s.out, said)
	}
	for _, line := range didLines(shop, done) {
		fmt.Fprintln(s.out, line)
	}
	return nil
}

// didLines tell what came to the shelf and left it, what was set aside and given
// back, and what it did not go for.
func didLines(shop inventory.Shop, done db.Done) []string {
	amount := func(item string, q inventory.Quantity) string {
		measure := inventory.Each
		if i, err := itemOf(shop, item); err == nil {
			measure = i.Measure
		}
		return fmt.Sprintf("%s %s of %s", measure.Format(q), measure, item)
	}
	var lines []string
	for _, m := range done.Moved {
		sign := "+"
		if m.From == inventory.Shelf {
			sign = "−"
		}
		lines = append(lines, fmt.Sprintf("%s%s, lot %s", sign, amount(m.Item, m.Qty), m.Lot))
	}
	for _, k := range done.Kept {
		if k.Qty > 0 {
			lines = append(lines, fmt.Sprintf("%s: %s set aside, lot %s", k.Job, amount(k.Item, k.Qty), k.Lot))
		} else {
			lines = append(lines, fmt.Sprintf("%s: %s no longer set aside, lot %s", k.Job, amount(k.Item, -k.Qty), k.Lot))
		}
	}
	for _, l := range done.Short {
		lines = append(lines, fmt.Sprintf("%s: %s short", l.Job, amount(l.Item, l.Expected-l.Found)))
	}
	return lines
}

// movedDocument is what an act did to the shelf.
func (s *session) movedDocument(shop inventory.Shop, done db.Done) actDocument {
	d := actDocument{documentHead: s.headOf(shop.Settings.Workshop), Movements: []movementJSON{}, SetAside: []keptJSON{}}
	d.AsOf = shop.AsOf.String()
	number := func(item string, q inventory.Quantity) float64 {
		measure := inventory.Each
		if i, err := itemOf(shop, item); err == nil {
			measure = i.Measure
		}
		return measure.Number(q)
	}
	for _, m := range done.Moved {
		d.Movements = append(d.Movements, movementJSON{m.Item, m.Lot, string(m.From), string(m.To), m.Ref, number(m.Item, m.Qty), m.HappenedOn.String()})
	}
	for _, k := range done.Kept {
		d.SetAside = append(d.SetAside, keptJSON{k.Item, k.Lot, k.Job, number(k.Item, k.Qty)})
	}
	return d
}

// scanned is the item that was typed or read by a scanner, with the lot where
// its label says one; nothing typed is no item.
func scanned(shop inventory.Shop, text string) (inventory.Item, string, error) {
	if text == "" {
		return inventory.Item{}, "", nil
	}
	code, lot, err := inventory.ParseScan(text, shop)
	if err != nil {
		return inventory.Item{}, "", err
	}
	item, err := itemOf(shop, code)
	return item, lot, err
}

// itemOf finds an item by its code.
func itemOf(shop inventory.Shop, code string) (inventory.Item, error) {
	at := slices.IndexFunc(shop.Items, func(i inventory.Item) bool { return i.Code == code })
	if at < 0 {
		return inventory.Item{}, fmt.Errorf("item %s: %w: expected one of the workshop's %d items", code, inventory.ErrNotFound, len(shop.Items))
	}
	return shop.Items[at], nil
}

// lotOf finds a lot that is on the shelf.
func lotOf(shop inventory.Shop, item, code string) (inventory.Lot, error) {
	var codes []string
	for _, l := range shop.Lots {
		if l.Item == item {
			if l.Code == code {
				return l, nil
			}
			codes = append(codes, l.Code)
		}
	}
	if len(codes) == 0 {
		return inventory.Lot{}, errors.New("item " + item + ": nothing of it is on the shelf")
	}
	return inventory.Lot{}, fmt.Errorf("item %s lot %s: %w: expected one of %s", item, code, inventory.ErrNotFound, strings.Join(codes, ", "))
}
