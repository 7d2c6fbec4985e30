package main

import (
	"context"
	"errors"
	"fmt"
	"io"

	"github.com/alecthomas/kong"
)

// commands is the command line: every command with its own options, and those
// that all share.
type commands struct {
	AsOf     string `help:"Plan as of that day, YYYY-MM-DD, or that moment, YYYY-MM-DDTHH:MM. Default: now in the workshop's time zone." placeholder:"DATE"`
	Workshop string `help:"Which workshop, where the database holds several." placeholder:"NAME"`
	JSON     bool   `name:"json" help:"Print one JSON document and nothing else."`
	Home     string `help:"Where the private database and outputs live." placeholder:"DIR" type:"path"`
	Database string `help:"Use that PostgreSQL, 15 or newer, instead of the private one." placeholder:"URL" env:"DATABASE_URL"`

	Demo     demoCommand     `cmd:"" help:"Plan an invented workshop, from load to reorder workbook."`
	Load     loadCommand     `cmd:"" help:"Take in a book: a folder of CSV files, or one .xlsx."`
	Book     bookCommand     `cmd:"" help:"Write a book: an empty one, or what the database holds."`
	Forecast forecastCommand `cmd:"" help:"Show expected jobs and use, week by week."`
	Plan     planCommand     `cmd:"" help:"Show what to order by when, and write the reorder workbook."`
	Kits     kitsCommand     `cmd:"" help:"Show each booked job: ready, coming or short."`
	Oil      oilCommand      `cmd:"" help:"Show what left the bottles against what the jobs account for."`
	Disposal disposalCommand `cmd:"" help:"Record used oil, grease and solvent, gathered and handed over."`
	Job      jobCommand      `cmd:"" help:"Book a job, keep its parts, close it with what it took."`
	Count    countCommand    `cmd:"" help:"Count the shelf: a blind sheet out, and back in."`
	Order    orderCommand    `cmd:"" help:"Place orders, receive them, see what is on order."`
	Lots     lotsCommand     `cmd:"" help:"Show the lots on the shelf; record an inspection."`
	Labels   labelsCommand   `cmd:"" help:"Write labels of items or lots, to print and to scan."`
	Open     openCommand     `cmd:"" help:"Open a kit into its parts, or a container that keeps less long from then on."`
	Costs    costsCommand    `cmd:"" help:"Show what stock is worth and where its money went."`
	Stand    standCommand    `cmd:"" name:"alternates" help:"Show what may stand in for what, and O-rings of the same size, for review."`
	Rehearse rehearseCommand `cmd:"" help:"Play the past again: what the plans would have reached, with how much money."`
	Check    checkCommand    `cmd:"" help:"Prove the database's invariants and name what breaks them."`
}

// Validate refuses a day that no command could plan for, and to choose among
// workshops that are yet to be invented.
func (c *commands) Validate() error {
	if c.Rehearse.Generate && (c.AsOf != "" || c.Workshop != "") {
		return errors.New("--generate: found --as-of or --workshop, expected neither: invented workshops have a day and a name of their own")
	}
	if c.AsOf == "" {
		return nil
	}
	if _, _, err := parseAsOf(c.AsOf); err != nil {
		return fmt.Errorf("--as-of: %w", err)
	}
	return nil
}

// session is what a command works with: where to print, and the shared options.
type session struct {
	ctx      context.Context
	out, err io.Writer
	opts     *commands
}

// exited carries kong's wish to exit out of its parser.
type exited int

// run does one command and returns the exit status.
func run(ctx context.Context, args []string, stdout, stderr io.Writer) (status int) {
	defer func() {
		if r := recover(); r != nil {
			code, asked := r.(exited)
			if !asked {
				panic(r)
			}
			status = int(code)
		}
	}()
	var opts commands
	parser, err := kong.New(&opts,
		kong.Name("circlip"),
		kong.Description("Plans the parts and consumables of a suspension workshop."),
		kong.Writers(stdout, stderr),
		kong.Exit(func(code int) { panic(exited(code)) }),
		kong.ConfigureHelp(kong.HelpOptions{Compact: true, WrapUpperBound: 80}),
	)
	if err != nil {
		panic(fmt.Sprintf("command line is ill-defined: %v", err))
	}
	chosen, err := parser.Parse(args)
	if err != nil {
		say(stderr, "%v", err)
		fmt.Fprintln(stderr, "hint: circlip --help lists the commands and options")
		return statusUsage
	}
	s := &session{ctx: ctx, out: stdout, err: stderr, opts: &opts}
	if err := chosen.Run(s); err != nil {
		return s.failed(err)
	}
	return statusDone
}

func (s *session) failed(err error) int {
	// A copy that is cut off tells of its connection, not of who cut it.
	if s.ctx.Err() != nil || errors.Is(err, context.Canceled) {
		say(s.err, "interrupted; nothing half done is kept")
		return statusRefused
	}
	return fail(s.err, err)
}
