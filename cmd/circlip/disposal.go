package main

import (
	"errors"
	"fmt"
	"io"

	"circlip/db"
	"circlip/inventory"
	"circlip/inventory/audit"
	"circlip/reports"
	"circlip/reports/web"
)

type disposalCommand struct {
	List     disposalListCommand `cmd:"" default:"withargs" help:"Show what was drawn, gathered and handed over, and the record for the carrier."`
	Gather   gatherCommand       `cmd:"" help:"Record used oil, grease or solvent that was gathered."`
	HandOver handOverCommand     `cmd:"" name:"hand-over" help:"Record what a carrier took."`
}

type disposalListCommand struct {
	Page string `help:"Also write a page to print and sign." placeholder:"FILE.html" type:"path"`
}

// Validate refuses a name that does not say what is to be written.
func (c disposalListCommand) Validate() error { return named("--page", c.Page, ".html") }

// Run shows the record of used fluids.
func (c disposalListCommand) Run(s *session) error {
	shop, err := s.readShop()
	if err != nil {
		return err
	}
	spent := audit.Disposed(shop)
	if c.Page != "" {
		record := reports.Disposal(spent, shop)
		if err := writePage(c.Page, func(w io.Writer) error { return web.Disposal(w, record) }); err != nil {
			return err
		}
	}
	if s.opts.JSON {
		return s.print(reports.DisposalJSON(spent, shop))
	}
	if err := reports.Text(s.out, reports.DisposalTables(spent, shop)...); err != nil {
		return err
	}
	if c.Page != "" {
		fmt.Fprintf(s.out, "\nPage to print: %s\n", c.Page)
	}
	return nil
}

// amount is what was gathered or handed over, by volume, by weight, or both.
type amount struct {
	Stream string   `arg:"" enum:"oil,grease,solvent" help:"What it is: oil, grease or solvent." placeholder:"STREAM"`
	ML     *float64 `name:"ml" help:"Its volume in ml." placeholder:"ML"`
	Gross  *float64 `help:"Its weight with the container in g." placeholder:"G"`
	Tare   float64  `help:"The weight of the empty container in g." placeholder:"G"`
	On     string   `help:"The day. Default: the day of --as-of." placeholder:"DATE"`
	Note   string   `help:"What else to remember." placeholder:"TEXT"`
}

// Validate wants one of volume and weight.
func (a amount) Validate() error {
	switch {
	case a.ML == nil && a.Gross == nil:
		return errors.New("found neither --ml nor --gross, expected how much it is")
	case a.Gross == nil && a.Tare != 0:
		return errors.New("--tare: found it without --gross, expected both weights")
	case a.Tare < 0:
		return fmt.Errorf("--tare: found %g g, expected a weight, or 0 where there is none", a.Tare)
	case a.Gross != nil && *a.Gross <= a.Tare:
		return fmt.Errorf("--gross: found %g g, expected more than the %g g of the empty container", *a.Gross, a.Tare)
	case a.ML != nil && *a.ML <= 0:
		return fmt.Errorf("--ml: found %g, expected more than nothing", *a.ML)
	}
	return nil
}

// disposal is the record of it.
func (a amount) disposal(shop inventory.Shop) (inventory.Disposal, error) {
	on, err := dayTyped("--on", a.On, shop.AsOf)
	d := inventory.Disposal{Date: on, Stream: inventory.Stream(a.Stream), VolumeML: a.ML, Note: a.Note}
	if a.Gross != nil {
		net := *a.Gross - a.Tare
		d.WeightG = &net
	}
	if err == nil && on > shop.AsOf {
		err = fmt.Errorf("--on: found %s, expected no day after %s", on, shop.AsOf)
	}
	return d, err
}

type gatherCommand struct {
	amount
}

// Run records what was gathered.
func (c gatherCommand) Run(s *session) error {
	if err := bookTakes("disposals", map[string]string{"note": c.Note}); err != nil {
		return err
	}
	return s.act("Used "+c.Stream+" gathered: recorded.", func(shop inventory.Shop) (db.Act, error) {
		d, err := c.disposal(shop)
		return db.Dispose{Disposal: d}, err
	})
}

type handOverCommand struct {
	amount
	Carrier  string `required:"" help:"Who took it." placeholder:"NAME"`
	Document string `help:"Number of the carrier's paper." placeholder:"NUMBER"`
}

// Run records what a carrier took.
func (c handOverCommand) Run(s *session) error {
	if err := bookTakes("disposals", map[string]string{"note": c.Note, "carrier": c.Carrier, "document": c.Document}); err != nil {
		return err
	}
	beyond := ""
	err := s.act("Used "+c.Stream+" handed over: recorded.", func(shop inventory.Shop) (db.Act, error) {
		d, err := c.disposal(shop)
		d.HandedOver, d.Carrier, d.Document = true, c.Carrier, c.Document
		beyond = reports.BeyondHeld(audit.Disposed(shop), d)
		return db.Dispose{Disposal: d}, err
	})
	if err == nil && beyond != "" {
		say(s.err, "warning: %s", beyond)
	}
	return err
}
