package main

import (
	"circlip/inventory/oring"
	"circlip/reports"
)

type standCommand struct {
	Item string `arg:"" optional:"" help:"For that item alone." placeholder:"ITEM"`
}

// Run lists the book's alternates by rank, and below them O-rings that agree in
// material and size, which nothing promises before a person has looked.
func (c standCommand) Run(s *session) error {
	shop, err := s.readShop()
	if err != nil {
		return err
	}
	item, _, err := scanned(shop, c.Item)
	if err != nil {
		return err
	}
	proposals := oring.Propose(shop.Items, shop.Grooves, shop.Alternates)
	if s.opts.JSON {
		return s.print(reports.AlternatesJSON(shop, proposals, item.Code))
	}
	return reports.Text(s.out, reports.Alternates(shop, item.Code), reports.SameSize(proposals, item.Code))
}
