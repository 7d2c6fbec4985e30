package main

import (
	"errors"
	"fmt"
	"slices"
	"strings"

	"github.com/google/uuid"

	"circlip/db"
	"circlip/inventory"
	"circlip/reports"
	"circlip/reports/plan"
	"circlip/reports/workbook"
)

type placeCommand struct {
	Path     string   `arg:"" help:"The reorder workbook, with packs changed or lines struck as you like." type:"path" placeholder:"FILE.xlsx"`
	Supplier []string `help:"Place the order to that supplier alone; may be given several times." placeholder:"CODE"`
	DryRun   bool     `help:"Tell what would be placed and record nothing."`
	Stale    bool     `help:"Place it although things have changed since the sheet was written."`
	Out      string   `help:"Folder for the sheets to send and to receive with. Default: the workshop's, in the home folder." placeholder:"DIR" type:"path"`
}

// Run reads the sheets back, tells what differs from the proposal and what that
// does to readiness, and records each order once.
func (c placeCommand) Run(s *session) error {
	answers, faults, err := workbook.ReadAnswers(c.Path)
	if err != nil {
		return err
	}
	if len(faults) > 0 {
		return sheetFaults(faults)
	}
	var placing reports.Placing
	err = s.with(func(store opened) error {
		workshop, err := store.Workshop(s.ctx, s.opts.Workshop)
		if err != nil {
			return err
		}
		shop, err := s.shop(store)
		if err != nil {
			return err
		}
		chosen, err := c.chosen(shop, answers)
		if err != nil {
			return err
		}
		open, err := s.notYetPlaced(store, workshop.ID, answers, chosen)
		if err != nil {
			return err
		}
		if placing, err = c.decide(shop, open, chosen); err != nil || c.DryRun {
			return err
		}
		return c.record(s, store, workshop.ID, &placing)
	})
	if err != nil {
		return err
	}
	if s.opts.JSON {
		return s.print(reports.PlacedJSON(placing))
	}
	return placed(s, placing)
}

// decide works out which orders are to be placed and what they come to.
func (c placeCommand) decide(shop inventory.Shop, answers, chosen []inventory.Answer) (reports.Placing, error) {
	made := reports.Placing{Workshop: shop.Settings.Workshop, AsOf: shop.AsOf, Currency: shop.Settings.Currency}
	p, outlook, err := plan.MakeWith(shop, plan.Options{})
	if err != nil {
		return made, err
	}
	if made.Warnings, err = c.fresh(shop, p, chosen); err != nil {
		return made, err
	}
	asProposed, asChanged := picks(answers, nil), picks(answers, chosen)
	proposed, err := outlook.Judge(plan.Options{}, asProposed)
	if err != nil {
		return made, err
	}
	now, err := outlook.Judge(plan.Options{}, asChanged)
	if err != nil {
		return made, err
	}
	made.Proposed, made.Now = proposed.Readiness, now.Readiness
	made.Warnings = append(made.Warnings, now.Broken...)
	for _, a := range chosen {
		at := slices.IndexFunc(now.Orders, func(o plan.Order) bool { return o.Supplier.Code == a.Supplier })
		if at < 0 {
			made.Struck = append(made.Struck, a.Supplier)
			continue
		}
		made.Orders = append(made.Orders, reports.PlacedOrder{Code: orderCode(shop, a.Supplier), Order: now.Orders[at], Answer: a})
	}
	return made, nil
}

// chosen are the answers to place, all of this workshop.
func (c placeCommand) chosen(shop inventory.Shop, answers []inventory.Answer) ([]inventory.Answer, error) {
	var chosen []inventory.Answer
	var suppliers []string
	for _, a := range answers {
		if a.Workshop != shop.Settings.Workshop {
			return nil, fmt.Errorf("the workbook is of workshop %q, expected %q; nothing was recorded", a.Workshop, shop.Settings.Workshop)
		}
		suppliers = append(suppliers, a.Supplier)
		if len(c.Supplier) == 0 || slices.Contains(c.Supplier, a.Supplier) {
			chosen = append(chosen, a)
		}
	}
	for _, wanted := range c.Supplier {
		if !slices.Contains(suppliers, wanted) {
			return nil, fmt.Errorf("--supplier: the workbook has no order to %s, expected one of %s", wanted, strings.Join(suppliers, ", "))
		}
	}
	if len(chosen) == 0 {
		return nil, errors.New("the workbook proposes no order; nothing was recorded")
	}
	return chosen, nil
}

// notYetPlaced are the answers of a file of which no order stands; it refuses
// where one of those to be placed is not among them.
func (s *session) notYetPlaced(store opened, workshop int64, answers, chosen []inventory.Answer) (open []inventory.Answer, err error) {
	var placed []string
	for _, a := range answers {
		order, on, err := store.SheetPlaced(s.ctx, workshop, a.ID())
		if err != nil {
			return nil, err
		}
		switch {
		case order == "":
			open = append(open, a)
		case slices.ContainsFunc(chosen, func(c inventory.Answer) bool { return c.Supplier == a.Supplier }):
			placed = append(placed, fmt.Sprintf("the sheet to %s was placed on %s, as order %s", a.Supplier, on, order))
		}
	}
	if len(placed) > 0 {
		return nil, fmt.Errorf("%s; nothing was recorded; --supplier places one of the others", strings.Join(placed, "\n"))
	}
	return open, nil
}

// fresh refuses sheets that no longer tell of the shelf, or warns of them where
// that was asked for.
func (c placeCommand) fresh(shop inventory.Shop, p plan.Plan, chosen []inventory.Answer) ([]string, error) {
	var stale []string
	for _, a := range chosen {
		for _, why := range p.Stale(shop, a.Proposal) {
			stale = append(stale, fmt.Sprintf("the sheet to %s is stale: %s", a.Supplier, why))
		}
	}
	if len(stale) == 0 || c.Stale {
		return stale, nil
	}
	return nil, fmt.Errorf("%s\nnothing was recorded; make the plan again, or place it all the same with --stale", strings.Join(stale, "\n"))
}

// picks are the orders of a file: those chosen as they were changed, the others
// as they were proposed.
func picks(answers, chosen []inventory.Answer) []plan.Pick {
	var all []plan.Pick
	for _, a := range answers {
		packs := map[string]int{}
		for _, l := range a.Lines {
			packs[l.Item] += l.Packs
		}
		changed := slices.ContainsFunc(chosen, func(c inventory.Answer) bool { return c.Supplier == a.Supplier })
		for _, l := range a.Proposal.Lines {
			pick := plan.Pick{Supplier: a.Supplier, Item: l.Item, Packs: l.Packs, PackQty: l.PackQty}
			if changed {
				pick.Packs = packs[l.Item]
			}
			all = append(all, pick)
		}
	}
	return all
}

// orderCode names an order after its supplier and day, the next one of the same
// day with a number.
func orderCode(shop inventory.Shop, supplier string) string {
	taken := map[string]bool{}
	for _, o := range shop.Orders {
		taken[o.Order] = true
	}
	first := supplier + "-" + shop.AsOf.String()
	code := first
	for n := 2; taken[code]; n++ {
		code = fmt.Sprintf("%s-%d", first, n)
	}
	return code
}

// record places the orders, each by one act, and writes the sheets that go with
// them.
func (c placeCommand) record(s *session, store opened, workshop int64, placing *reports.Placing) error {
	dir, err := s.folder(c.Out, placing.Workshop)
	if err != nil {
		return err
	}
	placing.Recorded = true
	for i := range placing.Orders {
		o := &placing.Orders[i]
		if _, err := store.Do(s.ctx, workshop, uuid.New(), placeAct(placing.AsOf, *o)); err != nil {
			return fmt.Errorf("order to %s: %w%s", o.Order.Supplier.Code, err, already(placing.Orders[:i]))
		}
		if err := writeOrder(dir, *placing, o, nil); err != nil {
			return fmt.Errorf("order %s is placed, its sheets are not written: %w; circlip order sheets %s writes them, without the notes", o.Code, err, o.Code)
		}
	}
	return nil
}

// already says which orders of the same file stand all the same.
func already(placed []reports.PlacedOrder) string {
	if len(placed) == 0 {
		return ""
	}
	var codes []string
	for _, o := range placed {
		codes = append(codes, o.Code)
	}
	return "; placed before that: " + strings.Join(codes, ", ")
}

// placeAct is the act that records an order.
func placeAct(on inventory.Date, o reports.PlacedOrder) db.Place {
	act := db.Place{Sheet: o.Answer.ID(), Order: o.Code, Supplier: o.Order.Supplier.Code, On: on}
	for _, l := range o.Order.Lines {
		act.Lines = append(act.Lines, db.PlaceLine{Item: l.Item.Code, Packs: l.Packs, PackQty: l.PackQty, Price: l.Price, Due: l.ExpectedOn})
	}
	return act
}

// placed tells what was placed and where the sheets are.
func placed(s *session, p reports.Placing) error {
	if err := reports.Text(s.out, reports.PlacedTables(p)...); err != nil {
		return err
	}
	for _, o := range p.Orders {
		if o.Send != "" {
			fmt.Fprintf(s.out, "\nTo send: %s\nTo receive with: %s\n", o.Send, o.Delivery)
		}
	}
	return nil
}
