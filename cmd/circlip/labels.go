package main

import (
	"fmt"
	"strings"

	"circlip/inventory"
	"circlip/reports"
	"circlip/reports/workbook"
)

type labelsCommand struct {
	Path string   `arg:"" help:"The .xlsx to write." type:"path" placeholder:"FILE.xlsx"`
	Item []string `help:"Of these items alone." placeholder:"ITEM"`
	Lots bool     `help:"Labels of the lots on the shelf, with the day each expires, instead of items."`
}

// Run writes labels to print and stick on bins and bags.
func (c labelsCommand) Run(s *session) error {
	shop, err := s.readShop()
	if err != nil {
		return err
	}
	wanted := map[string]bool{}
	for _, text := range c.Item {
		item, _, err := scanned(shop, text)
		if err != nil {
			return err
		}
		wanted[item.Code] = true
	}
	is := func(item string) bool { return len(wanted) == 0 || wanted[item] }
	labels, err := reports.ItemLabels(shop, func(i inventory.Item) bool { return is(i.Code) })
	if c.Lots {
		labels, err = reports.LotLabels(shop, func(l inventory.Lot) bool { return is(l.Item) })
	}
	if err != nil {
		return err
	}
	if !strings.HasSuffix(strings.ToLower(c.Path), ".xlsx") {
		return fmt.Errorf("found the name %q, expected one that ends in .xlsx", c.Path)
	}
	if err := workbook.WriteLabels(c.Path, labels); err != nil {
		return err
	}
	if s.opts.JSON {
		return s.document(fileDocument{s.headOf(shop.Settings.Workshop), c.Path})
	}
	fmt.Fprintf(s.out, "%s: %s\n", plural(len(labels.Labels), "label"), c.Path)
	return nil
}
