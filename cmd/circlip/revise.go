package main

import (
	"cmp"
	"fmt"
	"strings"

	"circlip/db"
	"circlip/inventory"
	"circlip/inventory/audit"
	"circlip/reports"
)

type reviseCommand struct {
	Service string `arg:"" help:"Service of the line." placeholder:"SERVICE"`
	Item    string `arg:"" help:"Item of the line." placeholder:"ITEM"`
	Qty     string `arg:"" optional:"" help:"How much one job takes from then on. Default: what the audit suggests." placeholder:"QTY"`
	Model   string `default:"*" help:"Model of the line, where it is not of all." placeholder:"MODEL"`
	From    string `help:"First day it holds. Default: the day of --as-of." placeholder:"DATE"`
	Note    string `help:"Why. Default: the evidence of the audit, where it suggests the change." placeholder:"TEXT"`
}

// Run has a line of the bill of materials say another quantity from a day on;
// the old line stays for the days before.
func (c reviseCommand) Run(s *session) error {
	if err := bookTakes("bom", map[string]string{"note": c.Note}); err != nil {
		return err
	}
	var item inventory.Item
	var act db.ReviseBill
	err := s.act("", func(shop inventory.Shop) (db.Act, error) {
		var err error
		if item, _, err = scanned(shop, c.Item); err != nil {
			return nil, err
		}
		act = db.ReviseBill{Service: c.Service, Model: c.Model, Item: item.Code, Note: c.Note, On: shop.AsOf}
		if act.From, err = dayTyped("--from", c.From, shop.AsOf); err != nil {
			return nil, err
		}
		if c.Qty != "" {
			act.Qty, err = item.Measure.ParseQuantity(c.Qty)
			return act, err
		}
		change, err := c.suggested(shop, item)
		if err != nil {
			return nil, err
		}
		act.Qty, act.Note = change.Qty, cmp.Or(c.Note, reports.ChangeEvidence(change, item, shop.AsOf))
		return act, nil
	})
	if err == nil && !s.opts.JSON {
		fmt.Fprintf(s.out, "From %s on %s takes %s %s of %s.\nWhat was done before is held to the old line.\n",
			act.From, c.service(), item.Measure.Format(act.Qty), item.Measure, item.Code)
	}
	return err
}

// service is the service with its model, where the line is of one.
func (c reviseCommand) service() string {
	if c.Model == inventory.AnyModel {
		return c.Service
	}
	return c.Service + " on " + c.Model
}

// suggested is what the audit would have the line say.
func (c reviseCommand) suggested(shop inventory.Shop, item inventory.Item) (audit.Change, error) {
	var others []string
	for _, of := range audit.Of(shop, scopeOf(item)).Items {
		for _, change := range of.Changes {
			switch line := change.Line; {
			case of.Item.Code != item.Code || line.Service != c.Service:
			case line.Model == c.Model:
				return change, nil
			case line.Model == inventory.AnyModel:
				others = append(others, "without --model")
			default:
				others = append(others, "--model "+line.Model)
			}
		}
	}
	instead := ""
	if len(others) > 0 {
		instead = "one that it suggests (" + strings.Join(others, ", ") + "), or "
	}
	return audit.Change{}, fmt.Errorf("%s: found that the audit suggests no change of what it takes of %s; expected %sthe quantity, as in circlip book revise %s %s 25", c.service(), item.Code, instead, c.Service, item.Code)
}
