package main

import (
	"cmp"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"circlip/inventory"
	"circlip/reports"
	"circlip/reports/plan"
	"circlip/reports/workbook"
)

type orderCommand struct {
	Place   placeCommand   `cmd:"" help:"Place the orders of a reorder workbook as it was changed, and write clean sheets to send."`
	Receive receiveCommand `cmd:"" help:"Put on the shelf what came of an order: all of it, part, more or less."`
	List    chaseCommand   `cmd:"" help:"Show what is on order, and whom to call by when."`
	Sheets  sheetsCommand  `cmd:"" help:"Write the sheets of an order that was placed once more."`
}

type chaseCommand struct{}

// Run shows what is on order, and what of it to call about.
func (chaseCommand) Run(s *session) error {
	var shop inventory.Shop
	p, err := s.plan(func(read inventory.Shop) (plan.Options, error) {
		shop = read
		return plan.Options{}, nil
	})
	if err != nil {
		return err
	}
	if s.opts.JSON {
		return s.print(reports.OnOrderJSON(shop, p))
	}
	return reports.Text(s.out, reports.OnOrder(shop), reports.Chase(p))
}

type sheetsCommand struct {
	Order    string `arg:"" help:"The order's code." placeholder:"ORDER"`
	Supplier string `help:"The lines to that supplier, where the order has lines to several." placeholder:"CODE"`
	Out      string `help:"Folder to write them to. Default: the workshop's, in the home folder." placeholder:"DIR" type:"path"`
}

// Run writes the sheets of an order that was placed once more: the one to send
// as it was ordered, without the notes, and the one to receive with for what is
// still to come.
func (c sheetsCommand) Run(s *session) error {
	shop, err := s.readShop()
	if err != nil {
		return err
	}
	lines, err := c.lines(shop)
	if err != nil {
		return err
	}
	dir, err := s.folder(c.Out, shop.Settings.Workshop)
	if err != nil {
		return err
	}
	order, err := asPlaced(shop, lines)
	if err != nil {
		return err
	}
	p := reports.Placing{Workshop: shop.Settings.Workshop, AsOf: lines[0].PlacedOn, Currency: shop.Settings.Currency}
	o := reports.PlacedOrder{Code: c.Order, Order: order}
	if err := writeOrder(dir, p, &o, lines); err != nil {
		return err
	}
	if s.opts.JSON {
		return s.document(sheetsDocument{s.headOf(p.Workshop), o.Send, o.Delivery})
	}
	fmt.Fprintf(s.out, "To send: %s\nTo receive with: %s\n", o.Send, o.Delivery)
	return nil
}

// lines are those of the order, all to one supplier.
func (c sheetsCommand) lines(shop inventory.Shop) ([]inventory.OrderLine, error) {
	lines := orderOf(shop, c.Order)
	if len(lines) == 0 {
		return nil, notPlaced(c.Order)
	}
	var suppliers []string
	for _, l := range lines {
		suppliers = append(suppliers, l.Supplier)
	}
	slices.Sort(suppliers)
	suppliers = slices.Compact(suppliers)
	switch {
	case c.Supplier == "" && len(suppliers) > 1:
		return nil, fmt.Errorf("order %s has lines to %s: expected one of them behind --supplier, since a sheet is for one", c.Order, strings.Join(suppliers, " and "))
	case c.Supplier != "" && !slices.Contains(suppliers, c.Supplier):
		return nil, fmt.Errorf("--supplier: order %s has no line to %s, expected one of %s", c.Order, c.Supplier, strings.Join(suppliers, ", "))
	}
	return linesOf(lines, cmp.Or(c.Supplier, suppliers[0])), nil
}

// asPlaced is an order as its lines were placed, with the supplier's carriage of
// today.
func asPlaced(shop inventory.Shop, lines []inventory.OrderLine) (plan.Order, error) {
	order := plan.Order{Supplier: supplierOf(shop, lines[0].Supplier), PlaceBy: lines[0].PlacedOn}
	for _, l := range lines {
		item, err := itemOf(shop, l.Item)
		if err != nil {
			return order, err
		}
		at := slices.IndexFunc(shop.Offers, func(o inventory.Offer) bool { return o.Item == l.Item && o.Supplier == l.Supplier })
		code := ""
		if at >= 0 {
			code = shop.Offers[at].SupplierCode
		}
		total := l.Price * inventory.Money(l.Packs)
		order.Goods += total
		order.Lines = append(order.Lines, plan.Line{
			Item: item, SupplierCode: code, Packs: l.Packs, PackQty: l.PackQty, Qty: l.PackQty * inventory.Quantity(l.Packs),
			Price: l.Price, Total: total, ExpectedOn: l.DueOn,
		})
	}
	if s := order.Supplier; !s.HasFreeCarriage || order.Goods < s.CarriageFreeFrom {
		order.Carriage = s.Carriage
	}
	order.Total = order.Goods + order.Carriage
	return order, nil
}

// folder is where the sheets go: by default one of the workshop's own, since
// workshops that share suppliers give orders of one day the same code.
func (s *session) folder(out, workshop string) (string, error) {
	if out == "" {
		home, err := s.home()
		if err != nil {
			return "", err
		}
		out = filepath.Join(home, fileWord(workshop))
	}
	return out, takesFiles(out)
}

// takesFiles makes a folder and tries it, before an order is recorded whose
// sheets, with their notes, would then have nowhere to go.
func takesFiles(dir string) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	trial, err := os.CreateTemp(dir, ".circlip-*")
	if err != nil {
		return fmt.Errorf("found that no file can be written to %s, expected a folder for the sheets: %w", dir, errors.Unwrap(err))
	}
	return errors.Join(trial.Close(), os.Remove(trial.Name()))
}

// writeOrder writes the sheet to send and the one to receive with, and notes
// where they are. Of earlier lines what has come is no longer due.
func writeOrder(dir string, p reports.Placing, o *reports.PlacedOrder, earlier []inventory.OrderLine) error {
	send, due := toSend(p, *o), reports.DeliveryDue{
		Order: o.Code, Workshop: p.Workshop, Supplier: o.Order.Supplier, Currency: p.Currency, PlacedOn: p.AsOf,
	}
	for _, l := range o.Order.Lines {
		send.ExpectedBy = max(send.ExpectedBy, l.ExpectedOn)
		still := l.Packs
		for _, e := range earlier {
			if e.Item == l.Item.Code {
				still = outstandingPacks(e)
			}
		}
		due.Lines = append(due.Lines, reports.LineDue{Item: l.Item, Packs: l.Packs, Outstanding: still, PackQty: l.PackQty, Price: l.Price})
	}
	due.ExpectedBy = send.ExpectedBy
	o.Send, o.Delivery = filepath.Join(dir, fileWord(o.Code)+"-order.xlsx"), filepath.Join(dir, fileWord(o.Code)+"-delivery.xlsx")
	if err := workbook.WriteOrder(o.Send, send); err != nil {
		return err
	}
	return workbook.WriteDelivery(o.Delivery, due)
}

// toSend is the order as the supplier gets it, with the notes written for it.
func toSend(p reports.Placing, o reports.PlacedOrder) reports.OrderToSend {
	notes := map[string]string{}
	for _, l := range o.Answer.Lines {
		notes[l.Item] = l.Note
	}
	send := reports.OrderToSend{
		Order: o.Code, Workshop: p.Workshop, Supplier: o.Order.Supplier, Currency: p.Currency, PlacedOn: p.AsOf,
		Note: o.Answer.Note, Carriage: o.Order.Carriage,
	}
	for _, l := range o.Order.Lines {
		send.Lines = append(send.Lines, reports.LineToSend{
			Item: l.Item, SupplierCode: l.SupplierCode, Packs: l.Packs, PackQty: l.PackQty, Price: l.Price, Note: notes[l.Item.Code],
		})
	}
	return send
}
