package main

import (
	"fmt"
	"path/filepath"

	"circlip/inventory/book"
	"circlip/reports"
	"circlip/reports/plan"
	"circlip/testdata/demo"
)

type demoCommand struct{}

// Run loads the demo book into a home of its own, so that it never mixes with
// a workshop's own data, and plans it as of the day on which it ends.
func (demoCommand) Run(s *session) error {
	if err := s.demoHome(); err != nil {
		return err
	}
	if s.opts.AsOf == "" {
		s.opts.AsOf = demo.AsOf
	}
	source, err := book.Folder(demo.Book)
	if err != nil {
		return err
	}
	defer source.Close()
	report, err := s.load(source)
	if err != nil {
		return err
	}
	s.opts.Workshop = report.Workshop.Name
	p, err := s.plan(always(plan.Options{}))
	if err != nil {
		return err
	}
	path, err := s.writeWorkbook(p, "")
	if err != nil {
		return err
	}
	if s.opts.JSON {
		say(s.err, "reorder workbook: %s", path)
		return s.print(reports.PlanJSON(p))
	}
	fmt.Fprint(s.out, reports.Page(p))
	fmt.Fprintf(s.out, "\nThis workshop, its makers, suppliers and riders are invented.\nReorder workbook: %s\n", path)
	if s.opts.Database == "" {
		fmt.Fprintf(s.out, "Look further:     circlip kits --home %s --as-of %s\n", s.opts.Home, s.opts.AsOf)
	}
	return nil
}

// demoHome moves the default home aside for the demo, each edition of its book
// by itself.
func (s *session) demoHome() error {
	if s.opts.Home != "" || s.opts.Database != "" {
		return nil
	}
	home, err := s.home()
	if err != nil {
		return err
	}
	edition, err := demo.Edition()
	s.opts.Home = filepath.Join(home, "demo", edition)
	return err
}
