package main

import (
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/google/uuid"

	"circlip/db"
	"circlip/inventory"
	"circlip/reports"
	"circlip/reports/workbook"
)

type receiveCommand struct {
	What    string            `arg:"" help:"The order's code, or the delivery sheet that was filled in." placeholder:"ORDER|FILE.xlsx"`
	Lines   []string          `arg:"" optional:"" help:"What came, where it is not all that is outstanding: ITEM=PACKS." placeholder:"ITEM=PACKS"`
	On      string            `help:"The day it came. Default: the day of --as-of." placeholder:"DATE"`
	Close   bool              `help:"What is missing of these lines, or without lines of the whole order, will not come."`
	Price   map[string]string `help:"The price of a pack as charged, where it is not as ordered." placeholder:"ITEM=AMOUNT"`
	Lot     map[string]string `help:"The lot's own code. Default: named after the order." placeholder:"ITEM=LOT"`
	Cure    map[string]string `help:"The cure mark: a quarter such as 3Q24, or a day." placeholder:"ITEM=MARK"`
	Expires map[string]string `help:"The first day it may no longer be used, as printed." placeholder:"ITEM=DATE"`
}

// Run puts a delivery on the shelf, by one act, and tells what is not as
// ordered.
func (c receiveCommand) Run(s *session) error {
	var received reports.Receiving
	err := s.with(func(store opened) error {
		workshop, err := store.Workshop(s.ctx, s.opts.Workshop)
		if err != nil {
			return err
		}
		shop, err := s.shop(store)
		if err != nil {
			return err
		}
		delivery, err := c.delivery(shop)
		if err != nil {
			return err
		}
		act, told, err := receiving(shop, delivery)
		if err != nil {
			return err
		}
		done, err := store.Do(s.ctx, workshop.ID, parcelKey(shop, act), act)
		received = told
		nameLots(&received, done)
		return err
	})
	if err != nil {
		return err
	}
	if s.opts.JSON {
		return s.print(reports.ReceivedJSON(received))
	}
	return reports.Text(s.out, reports.Received(received))
}

// parcelKey is the same for everybody who takes in the same parcel at the same
// moment: by one key the ledger moves it once.
func parcelKey(shop inventory.Shop, act db.Deliver) uuid.UUID {
	var lots []inventory.Lot
	for _, l := range shop.Lots {
		if slices.ContainsFunc(act.Lines, func(d db.DeliverLine) bool { return d.Item == l.Item }) {
			lots = append(lots, l)
		}
	}
	return uuid.NewSHA1(uuid.NameSpaceOID, fmt.Appendf(nil, "%+v %+v %+v", act, orderOf(shop, act.Order), lots))
}

// delivery is what came, from the sheet or from the command line.
func (c receiveCommand) delivery(shop inventory.Shop) (inventory.Delivery, error) {
	if strings.EqualFold(filepath.Ext(c.What), ".xlsx") {
		return c.fromSheet(shop)
	}
	lines := orderOf(shop, c.What)
	if len(lines) == 0 {
		return inventory.Delivery{}, notPlaced(c.What)
	}
	on, err := dayTyped("--on", c.On, shop.AsOf)
	d := inventory.Delivery{Order: c.What, Supplier: lines[0].Supplier, On: on, Closed: c.Close}
	if err != nil {
		return d, err
	}
	came, err := c.came(shop, lines)
	if err != nil {
		return d, err
	}
	if err := c.named(came); err != nil {
		return d, err
	}
	for _, l := range lines {
		packs, told := came[l.Item]
		if !told {
			continue
		}
		line := inventory.DeliveredLine{Item: l.Item, Packs: packs, Lot: c.Lot[l.Item]}
		if err := c.marks(shop, &line); err != nil {
			return d, err
		}
		d.Lines = append(d.Lines, line)
	}
	return d, nil
}

// fromSheet reads a delivery sheet; options that only a command line needs are
// refused beside it.
func (c receiveCommand) fromSheet(shop inventory.Shop) (inventory.Delivery, error) {
	if len(c.Lines)+len(c.Price)+len(c.Lot)+len(c.Cure)+len(c.Expires) > 0 || c.On != "" || c.Close {
		return inventory.Delivery{}, fmt.Errorf("found lines or marks beside the sheet %s, expected them in it", filepath.Base(c.What))
	}
	d, faults, err := workbook.ReadDelivery(c.What)
	if err == nil && len(faults) > 0 {
		err = sheetFaults(faults)
	}
	if err == nil && d.Workshop != shop.Settings.Workshop {
		err = fmt.Errorf("the sheet is of workshop %q, expected %q; nothing was recorded", d.Workshop, shop.Settings.Workshop)
	}
	if err != nil {
		return d, err
	}
	lines := linesOf(orderOf(shop, d.Order), d.Supplier)
	if len(lines) == 0 {
		return d, notPlaced(d.Order)
	}
	if err := unspent(lines, d); err != nil {
		return d, err
	}
	if d.Closed {
		d.Lines = append(d.Lines, missing(lines, d.Lines)...)
	}
	return d, nil
}

// unspent refuses a sheet when something of an item on it was received since it
// was written: one sheet is one parcel, however often it is sent in.
func unspent(lines []inventory.OrderLine, d inventory.Delivery) error {
	for _, l := range lines {
		comes := slices.ContainsFunc(d.Lines, func(c inventory.DeliveredLine) bool { return c.Item == l.Item })
		if was, now := d.Due[l.Item], outstandingPacks(l); comes && was != now {
			return fmt.Errorf("the sheet is stale: %s of %s outstanding when it was written, now %d; nothing was recorded; circlip order sheets %s writes it as it is now",
				plural(was, "pack"), l.Item, now, d.Order)
		}
	}
	return nil
}

// outstandingPacks is the packs of a line that are still to come.
func outstandingPacks(l inventory.OrderLine) int { return int(l.Outstanding() / l.PackQty) }

// notPlaced is an order that is in no book and was never placed.
func notPlaced(order string) error {
	return fmt.Errorf("order %s: %w: expected one that was placed; circlip order list shows them", order, inventory.ErrNotFound)
}

// linesOf are the lines of an order that one supplier sends.
func linesOf(lines []inventory.OrderLine, supplier string) []inventory.OrderLine {
	return slices.DeleteFunc(slices.Clone(lines), func(l inventory.OrderLine) bool { return l.Supplier != supplier })
}

// missing is a line without packs for each that is outstanding and of which
// nothing came: in a closed delivery it is given up.
func missing(lines []inventory.OrderLine, came []inventory.DeliveredLine) []inventory.DeliveredLine {
	var none []inventory.DeliveredLine
	for _, l := range lines {
		came := slices.ContainsFunc(came, func(d inventory.DeliveredLine) bool { return d.Item == l.Item })
		if !came && l.Outstanding() > 0 {
			none = append(none, inventory.DeliveredLine{Item: l.Item})
		}
	}
	return none
}

// came is the packs of each item: as told, or all that is outstanding.
func (c receiveCommand) came(shop inventory.Shop, lines []inventory.OrderLine) (map[string]int, error) {
	came := map[string]int{}
	for _, text := range c.Lines {
		named, count, _ := cutLast(text, "=")
		item := named
		if read, _, err := inventory.ParseScan(named, shop); err == nil { // what it is not is told below, as typed
			item = read
		}
		packs, err := strconv.Atoi(count)
		if err != nil || packs < 0 {
			return nil, fmt.Errorf("found %q, expected ITEM=PACKS with a whole number of packs, 0 or more", text)
		}
		if !slices.ContainsFunc(lines, func(l inventory.OrderLine) bool { return l.Item == item }) {
			return nil, fmt.Errorf("order %s has no line of %q, expected one of %s", c.What, item, strings.Join(itemsOf(lines), ", "))
		}
		if _, twice := came[item]; twice {
			return nil, fmt.Errorf("item %s is told twice, expected each item once; two lots of it go by the delivery sheet", item)
		}
		came[item] = packs
	}
	if len(c.Lines) > 0 {
		return came, nil
	}
	for _, l := range lines {
		switch packs := max(0, l.Packs-l.ReceivedPacks); {
		case l.Outstanding() == 0:
		case c.Close:
			came[l.Item] = 0
		default:
			came[l.Item] = packs
		}
	}
	return came, nil
}

// named refuses marks of items that do not come.
func (c receiveCommand) named(came map[string]int) error {
	for option, marks := range map[string]map[string]string{"price": c.Price, "lot": c.Lot, "cure": c.Cure, "expires": c.Expires} {
		for item := range marks {
			if came[item] == 0 {
				return fmt.Errorf("--%s: nothing of item %q comes, expected an item of this delivery", option, item)
			}
		}
	}
	return nil
}

// marks reads what is marked on the parts and the price charged.
func (c receiveCommand) marks(shop inventory.Shop, l *inventory.DeliveredLine) (err error) {
	if text, told := c.Cure[l.Item]; told {
		if l.Cure, err = inventory.ParseCure(text); err != nil {
			return fmt.Errorf("--cure: item %s: %w", l.Item, err)
		}
	}
	if text, told := c.Expires[l.Item]; told {
		if l.Expires, err = inventory.ParseDate(text); err != nil {
			return fmt.Errorf("--expires: item %s: %w", l.Item, err)
		}
	}
	if text, told := c.Price[l.Item]; told {
		price, err := shop.Settings.Currency.Parse(text)
		if err != nil {
			return fmt.Errorf("--price: item %s: %w", l.Item, err)
		}
		l.Price = &price
	}
	return nil
}

// receiving is the act of a delivery, and what is told of it.
func receiving(shop inventory.Shop, d inventory.Delivery) (db.Deliver, reports.Receiving, error) {
	told := reports.Receiving{Workshop: shop.Settings.Workshop, AsOf: shop.AsOf, Currency: shop.Settings.Currency, Order: d.Order, On: d.On, Supplier: supplierOf(shop, d.Supplier)}
	act := db.Deliver{Order: d.Order, On: d.On, Closed: d.Closed}
	if d.On > shop.AsOf {
		return act, told, fmt.Errorf("order %s: found the day %s, expected none after %s: nothing has come before it came", d.Order, d.On, shop.AsOf)
	}
	for _, line := range orderOf(shop, d.Order) {
		lots := 0
		for _, l := range d.Lines {
			if l.Item != line.Item || l.Packs == 0 && !d.Closed {
				continue
			}
			lots++
			came, row, err := delivered(shop, d, line, l)
			if err != nil {
				return act, told, err
			}
			act.Lines = append(act.Lines, came)
			told.Lines = append(told.Lines, row)
			line.ReceivedPacks += l.Packs
			if life := row.Expires; !life.IsZero() && life <= d.On {
				told.Warnings = append(told.Warnings, fmt.Sprintf("%s: what came is past its day, %s: send it back, nothing will be promised from it", l.Item, life))
			}
		}
		if lots == 0 && line.Outstanding() > 0 {
			row, err := rowOf(shop, line, false)
			if err != nil {
				return act, told, err
			}
			told.Lines = append(told.Lines, row)
		}
	}
	switch {
	case len(act.Lines) > 0:
		return act, told, nil
	case len(told.Lines) > 0:
		return act, told, fmt.Errorf("order %s: found that nothing came, expected packs that did; --close gives up what is missing", d.Order)
	}
	return act, told, fmt.Errorf("order %s: nothing of it is outstanding, expected lines of what came", d.Order)
}

// nameLots puts the lots that the ledger chose into what is told: those that the
// delivery named are theirs already.
func nameLots(r *reports.Receiving, done db.Done) {
	chosen := map[string][]string{}
	for _, m := range done.Moved {
		named := slices.ContainsFunc(r.Lines, func(l reports.ReceivedLine) bool { return l.Item.Code == m.Item && l.Lot == m.Lot })
		if !named {
			chosen[m.Item] = append(chosen[m.Item], m.Lot)
		}
	}
	for i := range r.Lines {
		l := &r.Lines[i]
		if lots := chosen[l.Item.Code]; l.Now > 0 && l.Lot == "" && len(lots) > 0 {
			l.Lot, chosen[l.Item.Code] = lots[0], lots[1:]
		}
	}
}

// delivered is one line that came, as the ledger takes it and as it is told.
func delivered(shop inventory.Shop, d inventory.Delivery, line inventory.OrderLine, l inventory.DeliveredLine) (db.DeliverLine, reports.ReceivedLine, error) {
	row, err := rowOf(shop, line, d.Closed)
	if err != nil {
		return db.DeliverLine{}, row, err
	}
	if l.Cure.From > d.On {
		return db.DeliverLine{}, row, fmt.Errorf("order %s: item %s: found a cure mark that begins on %s, expected one of %s or before, when it came", d.Order, l.Item, l.Cure.From, d.On)
	}
	row.Lot, row.Now, row.Qty = l.Lot, l.Packs, inventory.Quantity(l.Packs)*line.PackQty
	if l.Price != nil {
		row.Charged = *l.Price
	}
	row.Expires = inventory.LifeOf(row.Item, inventory.PartsOf(shop, l.Item)).Expires(l.Expires, l.Cure, d.On)
	return db.DeliverLine{
		Item: l.Item, Lot: l.Lot, Packs: l.Packs, Qty: row.Qty, Expires: row.Expires,
		UnitCost: inventory.CostOf(row.Charged, line.PackQty, row.Item.Measure),
	}, row, nil
}

// rowOf is a line of which nothing came.
func rowOf(shop inventory.Shop, line inventory.OrderLine, closed bool) (reports.ReceivedLine, error) {
	item, err := itemOf(shop, line.Item)
	return reports.ReceivedLine{
		Item: item, Supplier: supplierOf(shop, line.Supplier), Ordered: line.Packs, Before: line.ReceivedPacks, Asked: line.Price, Charged: line.Price, Closed: closed,
	}, err
}

// orderOf is the lines of an order.
func orderOf(shop inventory.Shop, code string) []inventory.OrderLine {
	var lines []inventory.OrderLine
	for _, o := range shop.Orders {
		if o.Order == code {
			lines = append(lines, o)
		}
	}
	return lines
}

func itemsOf(lines []inventory.OrderLine) []string {
	var items []string
	for _, l := range lines {
		items = append(items, l.Item)
	}
	return items
}

// supplierOf is the supplier of a code, or one that has no more than that.
func supplierOf(shop inventory.Shop, code string) inventory.Supplier {
	at := slices.IndexFunc(shop.Suppliers, func(s inventory.Supplier) bool { return s.Code == code })
	if at < 0 {
		return inventory.Supplier{Code: code}
	}
	return shop.Suppliers[at]
}
