package main

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"circlip/inventory"
	"circlip/inventory/audit"
	"circlip/reports"
	"circlip/reports/web"
	"circlip/reports/workbook"
)

type oilCommand struct {
	Item  string `arg:"" optional:"" help:"That item alone, with all its periods, charts and findings." placeholder:"ITEM"`
	Parts bool   `help:"Of parts counted by pieces instead of fluids and greases."`
	Out   string `help:"Also write the audit workbook." placeholder:"FILE.xlsx" type:"path"`
	Page  string `help:"Also write a page to print." placeholder:"FILE.html" type:"path"`
}

// Validate refuses names that do not say what is to be written.
func (c oilCommand) Validate() error {
	return errors.Join(named("--out", c.Out, ".xlsx"), named("--page", c.Page, ".html"))
}

// named refuses a file whose name does not end as what is to be written.
func named(option, path, ext string) error {
	if path != "" && !strings.EqualFold(filepath.Ext(path), ext) {
		return fmt.Errorf("%s: found the name %q, expected one that ends in %s", option, filepath.Base(path), ext)
	}
	return nil
}

// Run audits what left the shelf against the jobs done.
func (c oilCommand) Run(s *session) error {
	shop, err := s.readShop()
	if err != nil {
		return err
	}
	audited, err := c.audit(shop)
	if err != nil {
		return err
	}
	if err := c.files(audited); err != nil {
		return err
	}
	if s.opts.JSON {
		for _, path := range []string{c.Out, c.Page} {
			if path != "" {
				say(s.err, "audit: %s", path)
			}
		}
		return s.print(reports.OilJSON(audited))
	}
	tables := reports.OilTables(audited)
	if c.Item != "" {
		tables = reports.OilItemTables(audited)
	}
	if err := reports.Text(s.out, tables...); err != nil {
		return err
	}
	if c.Out != "" {
		fmt.Fprintf(s.out, "\nAudit workbook: %s\n", c.Out)
	}
	if c.Page != "" {
		fmt.Fprintf(s.out, "\nPage to print: %s\n", c.Page)
	}
	return nil
}

// audit is of one scope, or of the one item that is asked for.
func (c oilCommand) audit(shop inventory.Shop) (audit.Audit, error) {
	if c.Item == "" {
		scope := audit.Fluids
		if c.Parts {
			scope = audit.Parts
		}
		return audit.Of(shop, scope), nil
	}
	item, _, err := scanned(shop, c.Item)
	if err != nil {
		return audit.Audit{}, err
	}
	all := audit.Of(shop, scopeOf(item))
	all.Items = slices.DeleteFunc(all.Items, func(i audit.ItemAudit) bool { return i.Item.Code != item.Code })
	all.Once = slices.DeleteFunc(all.Once, func(code string) bool { return code != item.Code })
	return all, nil
}

// scopeOf is the scope in which an item is audited.
func scopeOf(item inventory.Item) audit.Scope {
	if item.Measure == inventory.Each {
		return audit.Parts
	}
	return audit.Fluids
}

func (c oilCommand) files(a audit.Audit) error {
	if c.Out != "" {
		if err := workbook.WriteAudit(c.Out, a); err != nil {
			return err
		}
	}
	if c.Page == "" {
		return nil
	}
	sheets := reports.OilSheets(a)
	return writePage(c.Page, func(w io.Writer) error { return web.Audit(w, sheets, sheets[0].Title) })
}
