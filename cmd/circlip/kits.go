package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"circlip/inventory"
	"circlip/reports"
	"circlip/reports/plan"
	"circlip/reports/web"
	"circlip/reports/workbook"
)

type kitsCommand struct {
	Names  []string `arg:"" optional:"" help:"Show that job's kit line by line; with --try a service (or several with ; between), a model and a day." placeholder:"JOB"`
	Try    bool     `help:"Instead, what a job not yet booked would find: kits --try SERVICE MODEL DATE."`
	Papers string   `help:"Also write the pick list and the job cards of a day, or of that job: an .xlsx, or .html pages to print." placeholder:"FILE" type:"path"`
	Day    string   `help:"The day of the papers. Default: the day of --as-of." placeholder:"DATE"`
}

// Validate holds the names to what is asked for.
func (c kitsCommand) Validate() error {
	switch {
	case c.Try && len(c.Names) != 3:
		return fmt.Errorf("--try: found %q, expected a service, a model and a day", strings.Join(c.Names, " "))
	case !c.Try && len(c.Names) > 1:
		return fmt.Errorf("found %q, expected one job at most", strings.Join(c.Names, " "))
	case c.Try && c.Papers != "":
		return errors.New("--papers: found --try, expected a job that is booked: there are no papers of one that is not")
	case c.Day != "" && (c.Papers == "" || c.job() != ""):
		return errors.New("--day: it is the day of the papers, expected --papers FILE and no job")
	}
	return nil
}

// job is the one asked for, if any.
func (c kitsCommand) job() string { return strings.Join(c.Names, "") }

// Run shows the kits of the booked jobs, the benches' calendar, one kit line by
// line, or what a job not yet booked would find.
func (c kitsCommand) Run(s *session) error {
	if c.Try {
		return c.try(s)
	}
	var shop inventory.Shop
	p, err := s.plan(func(read inventory.Shop) (plan.Options, error) {
		shop = read
		return plan.Options{}, nil
	})
	if err != nil {
		return err
	}
	if c.job() != "" {
		if _, err := openJob(shop, c.job()); err != nil {
			return err
		}
	}
	paths, err := c.papers(shop, p)
	if err != nil {
		return err
	}
	if s.opts.JSON {
		for _, path := range paths {
			say(s.err, "bench papers: %s", path)
		}
		if c.job() != "" {
			return s.print(reports.KitJSON(p, c.job()))
		}
		return s.print(reports.KitsJSON(p))
	}
	sheets := []reports.Sheet{reports.KitTable(p), reports.Calendar(p)}
	if c.job() != "" {
		sheets = []reports.Sheet{reports.KitLines(p, c.job())}
	}
	if err := reports.Text(s.out, sheets...); err != nil {
		return err
	}
	if len(paths) > 0 {
		fmt.Fprintf(s.out, "\nBench papers: %s\n", strings.Join(paths, ", "))
	}
	return nil
}

// try answers for a job that is not booked.
func (c kitsCommand) try(s *session) error {
	on, err := inventory.ParseDate(c.Names[2])
	if err != nil {
		return fmt.Errorf("--try: %w", err)
	}
	shop, err := s.readShop()
	if err != nil {
		return err
	}
	tried, err := inventory.Try(plan.Taught(shop), strings.Split(c.Names[0], ";"), c.Names[1], on)
	if err != nil {
		return err
	}
	if s.opts.JSON {
		return s.print(reports.TryJSON(shop, tried))
	}
	return reports.Text(s.out, reports.Try(shop, tried))
}

// papers writes the bench papers where they are asked for, and says where.
func (c kitsCommand) papers(shop inventory.Shop, p plan.Plan) ([]string, error) {
	if c.Papers == "" {
		return nil, nil
	}
	day, err := dayTyped("--day", c.Day, shop.AsOf)
	if err != nil {
		return nil, err
	}
	papers := reports.PapersOfDay(shop, p.Kits, day)
	if c.job() != "" {
		papers, _ = reports.PapersOfJob(shop, p.Kits, c.job())
	}
	switch ext := strings.ToLower(filepath.Ext(c.Papers)); ext {
	case ".xlsx":
		return []string{c.Papers}, workbook.WriteBench(c.Papers, papers)
	case ".html":
		return pages(c.Papers, papers)
	default:
		return nil, fmt.Errorf("--papers: found a name that ends in %q, expected .xlsx or .html", ext)
	}
}

// pages writes the cards to a file, and the pick list beside it.
func pages(path string, papers reports.Papers) ([]string, error) {
	list := strings.TrimSuffix(path, filepath.Ext(path)) + "-pick-list.html"
	if err := writePage(path, func(w io.Writer) error { return web.Cards(w, papers) }); err != nil {
		return nil, err
	}
	return []string{path, list}, writePage(list, func(w io.Writer) error { return web.PickList(w, papers) })
}

// writePage writes a page to a file.
func writePage(path string, write func(io.Writer) error) error {
	page, err := os.Create(path)
	if err != nil {
		return err
	}
	return errors.Join(write(page), page.Close())
}
