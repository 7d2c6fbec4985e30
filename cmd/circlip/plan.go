package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"circlip/inventory"
	"circlip/reports"
	"circlip/reports/plan"
	"circlip/reports/workbook"
)

type planCommand struct {
	Readiness *float64 `help:"Aim at that share of jobs ready, for example 0.95, instead of the workshop's setting." placeholder:"SHARE"`
	Budget    string   `help:"Spend at most that, carriage included, for example 400, instead of the workshop's setting." placeholder:"AMOUNT"`
	Out       string   `help:"Where to write the reorder workbook. Default: in the home folder." placeholder:"FILE.xlsx" type:"path"`
}

// Validate holds the share to what the setting readiness may be.
func (c planCommand) Validate() error {
	if c.Readiness != nil && !(*c.Readiness >= 0.5 && *c.Readiness <= 0.9999) {
		return fmt.Errorf("--readiness: found %v, expected a share from 0.5 to 0.9999", *c.Readiness)
	}
	return nil
}

// options are those given, the budget in the workshop's currency.
func (c planCommand) options(shop inventory.Shop) (plan.Options, error) {
	var o plan.Options
	if c.Readiness != nil {
		o.Readiness = *c.Readiness
	}
	if c.Budget == "" {
		return o, nil
	}
	budget, err := shop.Settings.Currency.Parse(c.Budget)
	if err == nil && budget < 0 {
		err = fmt.Errorf("found %s, expected an amount not below zero", c.Budget)
	}
	if err != nil {
		return o, fmt.Errorf("--budget: %w", err)
	}
	o.Budget = &budget
	return o, nil
}

func (c planCommand) Run(s *session) error {
	p, err := s.plan(c.options)
	if err != nil {
		return err
	}
	path, err := s.writeWorkbook(p, c.Out)
	if err != nil {
		return err
	}
	if s.opts.JSON {
		say(s.err, "reorder workbook: %s", path)
		return s.print(reports.PlanJSON(p))
	}
	fmt.Fprint(s.out, reports.Page(p))
	if len(p.Orders) > 0 {
		fmt.Fprintln(s.out)
	}
	if err := reports.Text(s.out, reports.OrderTables(p)...); err != nil {
		return err
	}
	fmt.Fprintf(s.out, "\nReorder workbook: %s\n", path)
	return nil
}

type forecastCommand struct {
	Explain *string `help:"Tell where the figures of an item, a unit or a service come from: what the book says, what was seen, and what is taken from both." placeholder:"CODE"`
}

func (c forecastCommand) Run(s *session) error {
	if c.Explain != nil {
		return s.explain(*c.Explain)
	}
	return s.show(reports.ForecastJSON, func(p plan.Plan) []reports.Sheet {
		return []reports.Sheet{reports.Arrivals(p), reports.DemandTable(p)}
	})
}

// show plans and prints one part of the plan, as JSON or as sheets.
func (s *session) show(document func(plan.Plan) ([]byte, error), sheets func(plan.Plan) []reports.Sheet) error {
	p, err := s.plan(always(plan.Options{EveryWeek: s.opts.JSON}))
	if err != nil {
		return err
	}
	if s.opts.JSON {
		return s.print(document(p))
	}
	return reports.Text(s.out, sheets(p)...)
}

// print writes a document to standard output.
func (s *session) print(document []byte, err error) error {
	if err != nil {
		return err
	}
	_, err = s.out.Write(document)
	return err
}

// writeWorkbook writes the reorder workbook to path, or below home under a
// name that tells the workshop and the day.
func (s *session) writeWorkbook(p plan.Plan, path string) (string, error) {
	if path == "" {
		home, err := s.home()
		if err != nil {
			return "", err
		}
		if err := os.MkdirAll(home, 0o755); err != nil {
			return "", err
		}
		path = filepath.Join(home, fmt.Sprintf("reorder-%s-%s.xlsx", fileWord(p.Workshop), p.AsOf))
	}
	return path, workbook.WriteReorder(path, p)
}

// fileWord keeps letters and digits, and joins the rest by hyphens.
func fileWord(name string) string {
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool {
		return (r < 'a' || r > 'z') && (r < '0' || r > '9')
	})
	return strings.Join(words, "-")
}
