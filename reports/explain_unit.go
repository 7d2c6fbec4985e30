package reports

import (
	"fmt"
	"slices"
	"strings"

	"circlip/inventory"
	"circlip/reports/lessons"
	"circlip/reports/plan"
)

// leastJobs is the expected number of jobs in a week from which on that week is
// told to people; the document has them all.
const leastJobs = 0.01

func (b explainer) unit(u inventory.Unit) ([]part, error) {
	out, err := b.outlook.Unit(u.Code)
	if err != nil {
		return nil, err
	}
	what := part{name: "Unit", title: "What is known of unit " + u.Code}
	if b.lessons.HasHours(u.Code) {
		what.figures = slices.Concat(b.ridden(u, out), b.season(), b.loyal(u, out))
	} else {
		what.note = "Its hours are not known, so that its own jobs tell when it comes back."
		what.figures = slices.Concat(b.comesBack(u), b.season())
	}
	if len(out.Jobs) == 0 {
		what.note = strings.TrimSpace(what.note + " No job of it is foreseen: it is not in service, nothing makes it due within the horizon, or its family has no services.")
	}
	return tables(what, b.clocks(out), b.jobsOf(out)), nil
}

// ridden is how much and how evenly a unit is ridden.
func (b explainer) ridden(u inventory.Unit, out plan.UnitOutlook) []figure {
	rate := figure{name: "Hours a week", unit: hours, book: u.HoursPerWeek, now: &out.HoursPerWeek}
	spread := figure{name: "Spread of hours", unit: hours, book: &b.shop.Settings.UsageSpreadH, now: &b.shop.Settings.UsageSpreadH}
	usage, learnt := b.lessons.Usage[u.Code]
	if !learnt {
		rate.words, spread.words = bareRateWords(u), notLearnt
		return []figure{rate, spread}
	}
	rate.seen, rate.words = &usage.Increments, usageWords(usage, groupName(u))
	if usage.Known && !usage.Given {
		rate = rate.within(usage.Interval(0.9))
	}
	for _, g := range b.lessons.Groups {
		if g.Holder == u.Holder && g.Name == u.Group {
			low, high := g.SpreadInterval(0.9)
			spread = spread.within(float64(low), float64(high))
			spread.seen, spread.words = &g.Increments, spreadWords(g)
		}
	}
	spread.now = new(float64(usage.Spread))
	return []figure{rate, spread}
}

func groupName(u inventory.Unit) string {
	if u.Group == "" {
		return "the " + holders[u.Holder].units + " without a group"
	}
	return fmt.Sprintf("group %s (%s)", u.Group, holders[u.Holder].units)
}

// holderWords are how the units of a holder are spoken of.
type holderWords struct{ units, unit string }

var holders = map[inventory.Holder]holderWords{
	inventory.Fleet:    {"fleet", "unit of the fleet"},
	inventory.Customer: {"customers", "customer's unit"},
}

// season is how much is ridden in the week to come, against the mean.
func (b explainer) season() []figure {
	s := figure{name: "Season, this week", unit: bare, now: new(b.factor())}
	if book, stated := b.shop.Season[b.shop.AsOf.Week().Number]; stated {
		s.book = &book
	}
	if b.lessons.Seasons == lessons.FromReadings {
		s.seen = &b.lessons.Riding.Increments
		if sd, known := b.lessons.Riding.SD[min(b.shop.AsOf.Week().Number, 52)]; known {
			s = s.within(max(0, *s.now-1.645*sd), *s.now+1.645*sd)
		}
	}
	s.words = b.seasonWords()
	return []figure{s}
}

func (b explainer) factor() float64 {
	week := b.shop.AsOf.Week().Number
	if f, known := b.lessons.Season[week]; known {
		return f
	}
	if f, known := b.lessons.Season[52]; known && week == 53 {
		return f
	}
	return 1
}

// loyal is how surely a unit comes here when it is due, and how late.
func (b explainer) loyal(u inventory.Unit, out plan.UnitOutlook) []figure {
	if len(out.Clocks) == 0 {
		return nil
	}
	comes := figure{name: "Comes here when due", unit: share, book: new(b.capture(u.Holder)), now: &out.Capture}
	l, known := b.lessons.Loyalty[u.Code]
	switch {
	case !b.lessons.On:
		comes.words = notLearnt
	case !known:
		comes.words = b.habitWords(u.Holder)
	default:
		comes.seen, comes.words = new(l.Here+l.Between+l.Since), loyalWords(l)
	}
	figures := []figure{comes}
	if known {
		figures = append(figures, figure{name: "Has left for good", unit: share, now: new(1 - l.Stays), words: "the chance that it never comes again: the more often it should have come since it was last here, the higher."})
	}
	wait := b.wait(u.Holder)
	wait.of = ""
	return append(figures, wait)
}

// comesBack is when a unit without hours comes back for what was done on it.
func (b explainer) comesBack(u inventory.Unit) []figure {
	var figures []figure
	for _, s := range b.shop.Services {
		if slices.ContainsFunc(b.shop.Jobs, func(j inventory.Job) bool {
			return j.Unit == u.Code && j.State == inventory.Done && slices.Contains(j.Services, s.Code)
		}) {
			figures = append(figures, b.returns(s.Code, "for "+s.Code)...)
		}
	}
	return figures
}

// clocks is how far a unit is towards each of its services.
func (b explainer) clocks(out plan.UnitOutlook) part {
	p := part{name: "Clocks", title: "How far it is towards its services", of: "Service",
		note: "Book: when the service is due, by hours or by months, whichever comes first. Now: what has run since it was last done, or since its first use, reckoned to today."}
	for _, c := range out.Clocks {
		if c.EveryHours > 0 {
			p.figures = append(p.figures, figure{
				name: "Hours since", of: c.Service, unit: hours, book: &c.EveryHours, now: &c.HoursToday,
				words: clockWords(c, out.ReadOn),
			})
		}
		if c.EveryMonths > 0 {
			months := float64(b.shop.AsOf-c.DoneOn) / (365.2425 / 12)
			p.figures = append(p.figures, figure{
				name: "Months since", of: c.Service, unit: monthLong, book: new(float64(c.EveryMonths)), now: &months,
				words: fmt.Sprintf("counted from %s.", c.DoneOn),
			})
		}
	}
	return p
}

// jobsOf are the jobs foreseen on a unit, in the document each week that has
// any chance, on the page those that have some.
func (b explainer) jobsOf(out plan.UnitOutlook) part {
	p := part{name: "Jobs", title: "Its jobs to come, week by week", of: "Week", crossed: true,
		note: fmt.Sprintf("Expected jobs that are done here: 0.1 is one chance in ten. Less than %v is not shown.", leastJobs)}
	weeks := b.outlook.Weeks()
	for _, a := range out.Jobs {
		p.figures = append(p.figures, figure{name: a.Service, of: weeks[a.Week].Week.String(), unit: unit{word: "jobs", decimals: 2}, now: new(a.Jobs()), minor: a.Jobs() < leastJobs})
	}
	slices.SortStableFunc(p.figures, func(a, b figure) int { return strings.Compare(a.name, b.name) })
	return p
}
