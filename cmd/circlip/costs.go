package main

import (
	"fmt"

	"circlip/inventory/cost"
	"circlip/reports"
	"circlip/reports/workbook"
)

type costsCommand struct {
	Out string `help:"Also write a workbook." placeholder:"FILE.xlsx" type:"path"`
}

// Run accounts for the money in stock.
func (c costsCommand) Run(s *session) error {
	var account cost.Account
	err := s.with(func(store opened) error {
		workshop, err := store.Workshop(s.ctx, s.opts.Workshop)
		if err != nil {
			return err
		}
		shop, err := s.shop(store)
		if err != nil {
			return err
		}
		records, err := store.Spending(s.ctx, workshop.ID, shop.AsOf)
		if err != nil {
			return err
		}
		account, err = cost.Of(shop, records)
		return err
	})
	if err != nil {
		return err
	}
	if c.Out != "" {
		if err := workbook.WriteCosts(c.Out, account); err != nil {
			return err
		}
	}
	if s.opts.JSON {
		return s.print(reports.CostsJSON(account))
	}
	if err := reports.Text(s.out, reports.CostTables(account)...); err != nil {
		return err
	}
	if c.Out != "" {
		fmt.Fprintf(s.out, "\nWorkbook of costs: %s\n", c.Out)
	}
	return nil
}
