package main

import (
	"fmt"
	"slices"
	"strings"

	"circlip/db"
	"circlip/inventory"
	"circlip/reports/plan"
)

type jobCommand struct {
	Book     jobBookCommand     `cmd:"" help:"Book a job for a bench day."`
	Move     jobMoveCommand     `cmd:"" help:"Put a booked job on another day; what is set aside for it is free again."`
	SetAside jobSetAsideCommand `cmd:"" name:"set-aside" help:"Keep parts for a job, or for all jobs of the coming days in order of their day."`
	TakeOver jobTakeOverCommand `cmd:"" name:"take-over" help:"Give what is set aside for one job to another with a better claim."`
	Close    jobCloseCommand    `cmd:"" help:"Close a job with what it really took; only what differs is typed."`
	Cancel   jobCancelCommand   `cmd:"" help:"Call a job off, or say that it did not turn up."`
	Correct  jobCorrectCommand  `cmd:"" help:"Say what a closed job took more or less than was told."`
}

// seen is what is noted of a unit when it comes or leaves: its hour meter and
// how it is set.
type seen struct {
	Hours       *float64 `help:"What the hour meter shows." placeholder:"HOURS"`
	Reset       bool     `help:"The meter was replaced and counts from zero."`
	Air         *float64 `help:"Air pressure in bar." placeholder:"BAR"`
	Rebound     *int     `help:"Rebound clicks from closed." placeholder:"CLICKS"`
	Compression string   `help:"Compression position or clicks." placeholder:"TEXT"`
	Spacers     *int     `help:"Volume spacers." placeholder:"N"`
	Note        string   `help:"What else to remember of its settings." placeholder:"TEXT"`
}

// reading is nil where the meter was not read.
func (n seen) reading() *inventory.Reading {
	if n.Hours == nil {
		return nil
	}
	return &inventory.Reading{Hours: *n.Hours, Reset: n.Reset}
}

// setup is nil where no setting was noted.
func (n seen) setup() *inventory.Setup {
	s := inventory.Setup{AirBar: n.Air, ReboundClicks: n.Rebound, Compression: n.Compression, VolumeSpacers: n.Spacers, Note: n.Note}
	if s == (inventory.Setup{}) {
		return nil
	}
	return &s
}

type jobBookCommand struct {
	Job     string   `arg:"" help:"Number of the job." placeholder:"JOB"`
	Service []string `arg:"" help:"What is to be done." placeholder:"SERVICE"`
	Bench   string   `required:"" help:"The day it is on the bench." placeholder:"DATE"`
	Unit    string   `help:"The unit, where the book knows it." placeholder:"UNIT"`
	Model   string   `help:"Its model, where the book does not know the unit." placeholder:"MODEL"`
	seen
}

func (c jobBookCommand) Run(s *session) error {
	if err := bookTakes("jobs", map[string]string{"job": c.Job, "service": strings.Join(c.Service, ";")}); err != nil {
		return err
	}
	if err := c.check(); err != nil {
		return err
	}
	bench, err := inventory.ParseDate(c.Bench)
	if err != nil {
		return fmt.Errorf("--bench: %w", err)
	}
	return s.act("Job "+c.Job+" is booked for "+bench.String()+".", func(shop inventory.Shop) (db.Act, error) {
		return db.BookJob{
			Job: c.Job, Unit: c.Unit, Model: c.Model, Services: c.Service, On: shop.AsOf, Bench: bench, Reading: c.reading(), Before: c.setup(),
		}, nil
	})
}

type jobMoveCommand struct {
	Job   string `arg:"" help:"Number of the job." placeholder:"JOB"`
	Bench string `arg:"" help:"Its new day on the bench." placeholder:"DATE"`
}

func (c jobMoveCommand) Run(s *session) error {
	bench, err := inventory.ParseDate(c.Bench)
	if err != nil {
		return err
	}
	return s.act("Job "+c.Job+" is on the bench on "+bench.String()+".", func(shop inventory.Shop) (db.Act, error) {
		return db.MoveJob{Job: c.Job, On: shop.AsOf, Bench: bench}, nil
	})
}

type jobCancelCommand struct {
	Job    string `arg:"" help:"Number of the job." placeholder:"JOB"`
	NoShow bool   `help:"It did not turn up."`
}

func (c jobCancelCommand) Run(s *session) error {
	return s.act("Job "+c.Job+" is off.", func(shop inventory.Shop) (db.Act, error) {
		return db.CancelJob{Job: c.Job, NoShow: c.NoShow, On: shop.AsOf}, nil
	})
}

type jobSetAsideCommand struct {
	Job   []string `arg:"" optional:"" help:"Jobs to keep parts for. Default: all of the days until --until." placeholder:"JOB"`
	Until string   `help:"The last day of those jobs. Default: a week from the day of --as-of." placeholder:"DATE"`
	Line  []string `help:"By hand, for one job: that much of an item, or of one of its lots as ITEM/LOT=QTY." placeholder:"ITEM=QTY"`
}

// Validate holds what is set aside by hand to one job.
func (c jobSetAsideCommand) Validate() error {
	if len(c.Line) > 0 && len(c.Job) != 1 {
		return fmt.Errorf("--line: found %s, expected the one job that the parts are for", plural(len(c.Job), "job"))
	}
	return nil
}

// Run keeps what the kits promise from the free shelf: the plan, the kits and
// the trays tell the same.
func (c jobSetAsideCommand) Run(s *session) error {
	return s.act("", func(shop inventory.Shop) (db.Act, error) {
		until, err := dayTyped("--until", c.Until, shop.AsOf+7)
		if err != nil {
			return nil, err
		}
		for _, job := range c.Job {
			if _, err := openJob(shop, job); err != nil {
				return nil, err
			}
		}
		if len(c.Line) > 0 {
			lines, err := countedLines(shop, c.Line)
			return db.SetAside{Job: c.Job[0], On: shop.AsOf, Lines: lines}, err
		}
		act := db.SetAsideAll{On: shop.AsOf}
		for _, kit := range inventory.Kits(plan.Taught(shop)) {
			wanted := slices.Contains(c.Job, kit.Job) || len(c.Job) == 0 && kit.BenchDate <= until
			if lines := promised(kit); wanted && len(lines) > 0 {
				act.Jobs = append(act.Jobs, db.JobLines{Job: kit.Job, Lines: lines})
			}
		}
		if len(act.Jobs) == 0 {
			return nil, fmt.Errorf("nothing to set aside: the jobs meant have all that is free for them already")
		}
		return act, nil
	})
}

// promised is what a kit is promised from the free shelf for certain.
func promised(kit inventory.JobKit) []db.Line {
	var lines []db.Line
	for _, l := range kit.Lines {
		if l.FromFree > 0 && l.Probability >= 1 {
			lines = append(lines, db.Line{Item: l.Item, Qty: l.FromFree})
		}
	}
	return lines
}

type jobTakeOverCommand struct {
	Job    string   `arg:"" help:"The job with the better claim." placeholder:"JOB"`
	From   string   `arg:"" help:"The job that gives." placeholder:"FROM"`
	Lines  []string `arg:"" optional:"" help:"What it takes, where that is not all: ITEM=QTY." placeholder:"ITEM=QTY"`
	Reason string   `required:"" help:"Why its claim is better." placeholder:"TEXT"`
}

func (c jobTakeOverCommand) Run(s *session) error {
	return s.act("", func(shop inventory.Shop) (db.Act, error) {
		lines, err := typedLines(shop, c.Lines)
		return db.TakeOver{From: c.From, Job: c.Job, Reason: c.Reason, On: shop.AsOf, Lines: lines}, err
	})
}

type jobCloseCommand struct {
	Job   string   `arg:"" help:"Number of the job." placeholder:"JOB"`
	Lines []string `arg:"" optional:"" help:"What was used otherwise than the bill of materials has it: ITEM=QTY, 0 for nothing." placeholder:"ITEM=QTY"`
	Waste []string `help:"What was spoilt beside what was used." placeholder:"ITEM=QTY"`
	Back  []string `help:"What was taken out before and goes back to the shelf." placeholder:"ITEM=QTY"`
	On    string   `help:"The day it was done. Default: the day of --as-of." placeholder:"DATE"`
	Unit  string   `help:"The unit on the bench, to be compared with the job's." placeholder:"UNIT"`
	By    string   `help:"Who did it at the bench, for the audit of what jobs take." placeholder:"NAME"`
	seen
}

// Run closes a job. What is not typed is what the bill of materials has every
// such job take; a line that only some jobs take is used where it is typed.
func (c jobCloseCommand) Run(s *session) error {
	if err := c.check(); err != nil {
		return err
	}
	if err := bookTakes("jobs", map[string]string{"done_by": c.By, "state": string(inventory.Done)}); err != nil {
		return err
	}
	return s.act("Job "+c.Job+" is closed.", func(shop inventory.Shop) (db.Act, error) {
		job, err := openJob(shop, c.Job)
		if err != nil {
			return nil, err
		}
		on, err := dayTyped("--on", c.On, shop.AsOf)
		if err != nil {
			return nil, err
		}
		if on > shop.AsOf {
			return nil, fmt.Errorf("job %s: found done on %s, expected no day after %s: it is not done before it is", c.Job, on, shop.AsOf)
		}
		typed, err := countedLines(shop, c.Lines)
		if err != nil {
			return nil, err
		}
		waste, err := countedLines(shop, c.Waste)
		if err != nil {
			return nil, fmt.Errorf("--waste: %w", err)
		}
		back, err := countedLines(shop, c.Back)
		if err != nil {
			return nil, fmt.Errorf("--back: %w", err)
		}
		return db.CloseJob{
			Job: c.Job, Unit: c.Unit, By: c.By, On: on, Used: used(shop, job, on, typed), Wasted: waste, Back: back, Reading: c.reading(), After: c.setup(),
		}, nil
	})
}

// used is what a job took: what its bill has every such job take, but for what
// was typed.
func used(shop inventory.Shop, job inventory.Job, on inventory.Date, typed []db.Line) []db.Line {
	lines := slices.DeleteFunc(slices.Clone(typed), func(l db.Line) bool { return l.Qty == 0 })
	for _, b := range inventory.NewBill(shop).Lines(job.Services, job.Model, on) {
		told := slices.ContainsFunc(typed, func(l db.Line) bool { return l.Item == b.Item })
		if item, err := itemOf(shop, b.Item); err == nil && !told && b.Need >= 1 {
			lines = append(lines, db.Line{Item: b.Item, Qty: b.PerJob(item.Measure)})
		}
	}
	return lines
}

type jobCorrectCommand struct {
	Job    string   `arg:"" help:"Number of the job." placeholder:"JOB"`
	More   []string `help:"What it took beside what was told." placeholder:"ITEM=QTY"`
	Less   []string `help:"What it did not take after all." placeholder:"ITEM=QTY"`
	Reason string   `required:"" help:"What went wrong." placeholder:"TEXT"`
}

func (c jobCorrectCommand) Run(s *session) error {
	return s.act("Job "+c.Job+" is corrected.", func(shop inventory.Shop) (db.Act, error) {
		more, err := countedLines(shop, c.More)
		if err != nil {
			return nil, fmt.Errorf("--more: %w", err)
		}
		less, err := countedLines(shop, c.Less)
		if err != nil {
			return nil, fmt.Errorf("--less: %w", err)
		}
		return db.CorrectJob{Job: c.Job, More: more, Less: less, Reason: c.Reason, On: shop.AsOf}, nil
	})
}

// openJob finds a job that is still booked.
func openJob(shop inventory.Shop, code string) (inventory.Job, error) {
	at := slices.IndexFunc(shop.Jobs, func(j inventory.Job) bool { return j.Code == code })
	switch {
	case at < 0:
		return inventory.Job{}, fmt.Errorf("job %s: %w: expected one of the workshop's jobs", code, inventory.ErrNotFound)
	case shop.Jobs[at].State != inventory.Booked:
		return inventory.Job{}, fmt.Errorf("job %s: %w: found it %s, expected it booked", code, inventory.ErrConflict, shop.Jobs[at].State)
	}
	return shop.Jobs[at], nil
}

// countedLines are typed lines that say how much each, so that a label that was
// scanned with nothing typed behind it is not taken for nothing used.
func countedLines(shop inventory.Shop, texts []string) ([]db.Line, error) {
	for _, text := range texts {
		if !strings.Contains(text, "=") {
			return nil, fmt.Errorf("%w: found %q, expected how much, as in %[2]s=2", inventory.ErrInvalid, text)
		}
	}
	return typedLines(shop, texts)
}

// typedLines reads ITEM=QTY, or ITEM/LOT=QTY, in each item's measure; the item as it
// is typed or as a scanner reads it. Without a quantity it is all of it.
func typedLines(shop inventory.Shop, texts []string) ([]db.Line, error) {
	var lines []db.Line
	for _, text := range texts {
		named, count, counted := cutLast(text, "=")
		code, lot, err := itemOrLot(shop, named)
		if err != nil {
			return nil, err
		}
		item, err := itemOf(shop, code)
		if err != nil {
			return nil, err
		}
		line := db.Line{Item: code, Lot: lot}
		if counted {
			if line.Qty, err = item.Measure.ParseQuantity(count); err != nil {
				return nil, fmt.Errorf("%s: %w", text, err)
			}
		}
		lines = append(lines, line)
	}
	return lines, nil
}

// itemOrLot is an item as it is typed or scanned, or one of its lots: typed after
// a slash, or by the lot's label.
func itemOrLot(shop inventory.Shop, text string) (item, lot string, err error) {
	item, lot, err = inventory.ParseScan(text, shop)
	if err == nil {
		return item, lot, nil
	}
	if code, of, _ := cutLast(text, "/"); of != "" {
		if _, unknown := itemOf(shop, code); unknown == nil {
			return code, of, nil
		}
	}
	return "", "", err
}

// cutLast cuts around the last separator.
func cutLast(text, sep string) (before, after string, found bool) {
	at := strings.LastIndex(text, sep)
	if at < 0 {
		return text, "", false
	}
	return text[:at], text[at+len(sep):], true
}
