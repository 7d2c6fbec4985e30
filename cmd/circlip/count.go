package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/google/uuid"

	"circlip/db"
	"circlip/inventory"
	"circlip/reports"
	"circlip/reports/workbook"
)

type countCommand struct {
	Sheet countSheetCommand `cmd:"" help:"Write a blind count sheet: of the whole shelf, a bin, or what is due."`
	Plan  countPlanCommand  `cmd:"" help:"Show what is to be counted when, and why."`
	Weigh weighCommand      `cmd:"" help:"Weigh one item, bottle by bottle; with --post book it as a count."`
	Read  countReadCommand  `cmd:"" help:"Show what a count comes to; with --post book the differences."`
}

type countSheetCommand struct {
	Path string   `arg:"" help:"The .xlsx to write." type:"path" placeholder:"FILE.xlsx"`
	Bin  string   `help:"Of that bin alone." placeholder:"BIN" xor:"of"`
	Due  bool     `help:"Of what is due by the plan of counts alone." xor:"of"`
	Item []string `help:"Of these items alone." placeholder:"ITEM" xor:"of"`
}

// Run writes a count sheet that does not say what is expected.
func (c countSheetCommand) Run(s *session) error {
	if !strings.EqualFold(filepath.Ext(c.Path), ".xlsx") {
		return fmt.Errorf("found the name %q, expected one that ends in .xlsx", c.Path)
	}
	shop, err := s.readShop()
	if err != nil {
		return err
	}
	due, err := c.due(shop)
	if err != nil {
		return err
	}
	if err := workbook.WriteCount(c.Path, due); err != nil {
		return err
	}
	if s.opts.JSON {
		return s.document(fileDocument{s.headOf(shop.Settings.Workshop), c.Path})
	}
	fmt.Fprintf(s.out, "Count sheet of %s: %s\nFill it in, then: circlip count read %s\n", plural(len(due.Lines), "item"), c.Path, filepath.Base(c.Path))
	return nil
}

// due is what the sheet is of.
func (c countSheetCommand) due(shop inventory.Shop) (reports.CountDue, error) {
	var items []string
	for _, text := range c.Item {
		item, _, err := inventory.ParseScan(text, shop)
		if err != nil {
			return reports.CountDue{}, err
		}
		items = append(items, item)
	}
	if c.Due {
		for _, d := range inventory.CountPlan(shop) {
			if d.IsDue(shop.AsOf) {
				items = append(items, d.Item.Code)
			}
		}
		if len(items) == 0 {
			return reports.CountDue{}, errors.New("nothing is due to be counted; circlip count plan shows when")
		}
	}
	if len(items) > 0 {
		return reports.CountOf(shop, items)
	}
	return reports.CountAll(shop, c.Bin)
}

type countPlanCommand struct {
	All bool `help:"Also what is not due yet."`
}

// Run shows the plan of counts.
func (c countPlanCommand) Run(s *session) error {
	shop, err := s.readShop()
	if err != nil {
		return err
	}
	due := inventory.CountPlan(shop)
	if s.opts.JSON {
		return s.print(reports.CountPlanJSON(shop, due))
	}
	return reports.Text(s.out, reports.CountPlan(shop, due, c.All))
}

type countReadCommand struct {
	Path string `arg:"" help:"The count sheet that was filled in." type:"path" placeholder:"FILE.xlsx"`
	Post bool   `help:"Book the differences; without it they are only shown."`
}

// Run tells what a count comes to, with its money, and books it where asked.
func (c countReadCommand) Run(s *session) error {
	if !strings.EqualFold(filepath.Ext(c.Path), ".xlsx") {
		return fmt.Errorf("found %q, expected a count sheet that ends in .xlsx", filepath.Base(c.Path))
	}
	taken, faults, err := workbook.ReadCount(c.Path)
	if err != nil {
		return err
	}
	if len(faults) > 0 {
		return sheetFaults(faults)
	}
	return s.tally(c.Post, "circlip count read "+filepath.Base(c.Path)+" --post", func(inventory.Shop) (inventory.Stocktake, error) {
		return taken, nil
	}, reports.Tally)
}

// tally tells what a count comes to, and books it where asked; again says how to
// do that.
func (s *session) tally(post bool, again string, count func(inventory.Shop) (inventory.Stocktake, error), sheets ...func(inventory.Shop, inventory.Tallied) reports.Sheet) error {
	var shop inventory.Shop
	var tallied inventory.Tallied
	err := s.with(func(store opened) error {
		workshop, err := store.Workshop(s.ctx, s.opts.Workshop)
		if err != nil {
			return err
		}
		if shop, err = s.shop(store); err != nil {
			return err
		}
		taken, err := count(shop)
		if err != nil {
			return err
		}
		if taken.Workshop != shop.Settings.Workshop {
			return fmt.Errorf("the sheet is of workshop %q, expected %q; nothing was recorded", taken.Workshop, shop.Settings.Workshop)
		}
		if tallied, err = inventory.Tally(shop, taken); err != nil || !post {
			return err
		}
		return s.post(store, workshop.ID, tallied)
	})
	if err != nil {
		return err
	}
	if s.opts.JSON {
		return s.print(reports.TallyJSON(shop, tallied, post))
	}
	var told []reports.Sheet
	for _, sheet := range sheets {
		told = append(told, sheet(shop, tallied))
	}
	if err := reports.Text(s.out, told...); err != nil {
		return err
	}
	if post {
		fmt.Fprintf(s.out, "\nBooked: %s counted.\n", plural(len(tallied.Lines), "item"))
	} else {
		fmt.Fprintf(s.out, "\nNothing is booked yet: %s\n", again)
	}
	return nil
}

// countKeys names a count by its item and day, what was found in which containers
// and what the ledger held, so that a sheet that is sent in twice at once is
// booked once.
var countKeys = uuid.NewSHA1(uuid.NameSpaceURL, []byte("circlip:count"))

// post books every item counted, each by one act.
func (s *session) post(store opened, workshop int64, t inventory.Tallied) error {
	for _, l := range t.Lines {
		key := uuid.NewSHA1(countKeys, fmt.Appendf(nil, "%s\x1f%s\x1f%d\x1f%d%s", l.Item, t.On, l.Expected, l.Found, containersOf(l)))
		act := db.Count{Item: l.Item, Found: l.Found, Ref: "count " + t.On.String(), On: t.On, Parts: l.Parts}
		if _, err := store.Do(s.ctx, workshop, key, act); err != nil {
			return err
		}
	}
	return nil
}

// containersOf is what tells the containers of a count apart, as text.
func containersOf(l inventory.Discrepancy) string {
	var text strings.Builder
	for _, p := range l.Parts {
		fmt.Fprintf(&text, "\x1e%s\x1f%d\x1f%s", p.Container, p.Qty, p.OpenedOn)
		if w := p.Weighed; w != nil {
			fmt.Fprintf(&text, "\x1f%g\x1f%g", w.GrossG, w.TareG)
			if w.TempC != nil {
				fmt.Fprintf(&text, "\x1f%g", *w.TempC)
			}
		}
	}
	return text.String()
}
