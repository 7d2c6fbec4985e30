package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"circlip/inventory"
	"circlip/reports"
	"circlip/reports/rehearsal"
	"circlip/reports/rehearsal/invented"
	"circlip/reports/workbook"
)

type rehearseCommand struct {
	Weeks  int    `help:"Play so many weeks, up to the day of the plan. Default: 104." default:"104" placeholder:"N"`
	WarmUp int    `help:"Weeks before them that fill the shelf and do not count. Default: 8." default:"8" placeholder:"N"`
	Out    string `help:"Where to write the workbook. Default: in the home folder; none with --generate." placeholder:"FILE.xlsx" type:"path"`

	Generate bool `help:"Play invented workshops instead; needs no database."`
	inventCommand
}

// inventCommand is what sort of workshops to invent. What is not given takes a
// usual value, or is drawn with --vary.
type inventCommand struct {
	Seed      *uint64  `help:"The first workshop's seed. Default: 1." placeholder:"N" group:"With --generate:"`
	Seeds     *int     `help:"Play so many workshops, from that seed on." placeholder:"N" group:"With --generate:"`
	Units     *int     `help:"Units of the fleet. Default: 60." placeholder:"N" group:"With --generate:"`
	Customers *int     `help:"Units of known customers. Default: 80." placeholder:"N" group:"With --generate:"`
	WalkIns   *float64 `help:"Share of jobs by walk-ins, at most 0.9. Default: 0.25." placeholder:"SHARE" group:"With --generate:"`
	Season    *float64 `help:"How far summer and winter differ from the mean, below 1. Default: 0.6." placeholder:"SHARE" group:"With --generate:"`
	Meters    string   `help:"How well hour meters are read: good, fair, poor, none. Default: good." placeholder:"WORD" group:"With --generate:"`
	Late      *float64 `help:"Mean days that suppliers are late. Default: 1." placeholder:"DAYS" group:"With --generate:"`
	NoShows   *float64 `help:"Share of booked jobs that do not turn up. Default: 0.06." placeholder:"SHARE" group:"With --generate:"`
	Vary      bool     `help:"Draw what is not given from the seed." group:"With --generate:"`
}

// Validate holds the options to what can be played.
func (c *rehearseCommand) Validate() error {
	if !c.Generate && c.inventCommand != (inventCommand{}) {
		return errors.New("found options of invented workshops, expected --generate with them")
	}
	switch invented.Meters(c.Meters) {
	case "", invented.MetersGood, invented.MetersFair, invented.MetersPoor, invented.MetersNone:
	default:
		return fmt.Errorf("--meters: found %q, expected good, fair, poor or none", c.Meters)
	}
	if c.Seed != nil && *c.Seed == 0 {
		return errors.New("--seed: found 0, expected 1 or more")
	}
	whole := func(n *int) *float64 {
		if n == nil {
			return nil
		}
		x := float64(*n)
		return &x
	}
	for _, o := range []struct {
		name        string
		found       *float64
		least, most float64
	}{
		{"weeks", whole(&c.Weeks), 1, 1000},
		{"warm-up", whole(&c.WarmUp), 1, 104},
		{"seeds", whole(c.Seeds), 1, 1000},
		{"units", whole(c.Units), 0, 100_000},
		{"customers", whole(c.Customers), 0, 100_000},
		{"walk-ins", c.WalkIns, 0, 0.9},
		{"season", c.Season, 0, 0.99},
		{"late", c.Late, 0, 60},
		{"no-shows", c.NoShows, 0, 1},
	} {
		if o.found != nil && !(*o.found >= o.least && *o.found <= o.most) {
			return fmt.Errorf("--%s: found %v, expected a number from %v to %v", o.name, *o.found, o.least, o.most)
		}
	}
	return nil
}

// Run plays and shows what it came to. The workbook is written last of all
// that can be called off, so that an interrupt leaves none.
func (c *rehearseCommand) Run(s *session) error {
	if err := c.canWrite(); err != nil {
		return err
	}
	trials, err := c.play(s)
	if err != nil {
		return err
	}
	path, err := c.write(s, trials)
	if err != nil {
		return err
	}
	if s.opts.JSON {
		if path != "" {
			say(s.err, "rehearsal workbook: %s", path)
		}
		if len(trials) == 1 {
			return s.print(reports.RehearsalJSON(trials[0]))
		}
		return s.print(reports.TrialsJSON(trials))
	}
	sheets := []reports.Sheet{reports.Trials(trials)}
	if len(trials) == 1 {
		sheets = reports.RehearsalTables(trials[0])
	}
	if err := reports.Text(s.out, append(sheets, reports.ScoreTables(trials)...)...); err != nil {
		return err
	}
	if path != "" {
		fmt.Fprintf(s.out, "\nRehearsal workbook: %s\n", path)
	}
	return nil
}

// play is the rehearsals, with the weeks played counted on a terminal.
func (c *rehearseCommand) play(s *session) ([]rehearsal.Report, error) {
	options := rehearsal.Options{Weeks: c.Weeks, WarmUp: c.WarmUp, Scores: true}
	if c.Generate {
		configs := c.configs()
		add, done := progress(s.err, fmt.Sprintf("weeks played of %d", len(configs)*(c.Weeks+c.WarmUp)))
		defer done()
		options.Progress = add
		return rehearsal.Trials(s.ctx, configs, options)
	}
	var shop inventory.Shop
	if err := s.with(func(store opened) (err error) {
		shop, err = s.shop(store)
		return err
	}); err != nil {
		return nil, err
	}
	add, done := progress(s.err, fmt.Sprintf("weeks played of %d", c.Weeks+c.WarmUp))
	defer done()
	options.Progress = add
	r, err := rehearsal.Run(s.ctx, rehearsal.Of(shop), options)
	return []rehearsal.Report{r}, err
}

// weeksBefore is how long, in weeks, an invented workshop has kept its book
// when the weeks that count begin.
const weeksBefore = 52

// configs are the workshops to invent, one a seed. A number of none is told
// from one that was not given by its sign.
func (c *rehearseCommand) configs() []invented.Config {
	config := invented.Config{
		Seed: 1, Vary: c.Vary, Meters: invented.Meters(c.Meters), Weeks: c.Weeks + max(weeksBefore, c.WarmUp),
		Units: given(c.Units), Customers: given(c.Customers), WalkInShare: given(c.WalkIns),
		SeasonAmplitude: given(c.Season), Lateness: given(c.Late), NoShow: given(c.NoShows),
	}
	if c.Seed != nil {
		config.Seed = *c.Seed
	}
	count := 1
	if c.Seeds != nil {
		count = *c.Seeds
	}
	var list []invented.Config
	for range count {
		list = append(list, config)
		config.Seed++
	}
	return list
}

// given is the number of an option, negative for none, zero for one left open.
func given[N int | float64](option *N) N {
	switch {
	case option == nil:
		return 0
	case *option == 0:
		return -1
	}
	return *option
}

// canWrite fails before hours of playing rather than after.
func (c *rehearseCommand) canWrite() error {
	if c.Out == "" {
		return nil
	}
	if info, err := os.Stat(filepath.Dir(c.Out)); err != nil || !info.IsDir() {
		return fmt.Errorf("writing the rehearsal workbook %s: found no such folder, expected one that is there; nothing was played", c.Out)
	}
	return nil
}

// write writes the workbook where one is wanted and returns its path.
func (c *rehearseCommand) write(s *session, trials []rehearsal.Report) (string, error) {
	path := c.Out
	if path == "" && c.Generate {
		return "", nil
	}
	if path == "" {
		home, err := s.home()
		if err != nil {
			return "", err
		}
		if err := os.MkdirAll(home, 0o755); err != nil {
			return "", err
		}
		path = filepath.Join(home, fmt.Sprintf("rehearsal-%s-%s.xlsx", fileWord(trials[0].Workshop), trials[0].AsOf))
	}
	return path, workbook.WriteRehearsal(path, trials...)
}
