package reports

import (
	"fmt"
	"slices"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"

	"circlip/forecast/learn"
	"circlip/inventory"
	"circlip/reports/lessons"
)

func (b explainer) service(s inventory.Service) []part {
	what := part{name: "Service", title: "What is known of service " + s.Code, of: "Of"}
	what.figures = append(what.figures, b.show())
	for _, h := range []inventory.Holder{inventory.Fleet, inventory.Customer} {
		what.figures = append(what.figures, b.habit(h), b.wait(h))
	}
	what.figures = append(what.figures, b.ahead()...)
	what.figures = append(what.figures, b.returns(s.Code, "without meter")...)
	walkIns, scores := b.walkIns(s.Code)
	return tables(what, walkIns, scores, b.expected(s.Code))
}

// show is how surely a booking turns up.
func (b explainer) show() figure {
	s := b.lessons.Show
	f := figure{name: "Turns up", of: "bookings", unit: share, book: &b.shop.Settings.ShowRate, now: new(s.Mean()), words: notLearnt}
	if b.lessons.On {
		f.seen, f.words = new(s.Yes+s.No), shareWords(s, "bookings made at least a day ahead", "turned up")
		f = f.within(s.Interval(0.9))
	}
	return f
}

func (b explainer) capture(h inventory.Holder) float64 {
	if h == inventory.Fleet {
		return b.shop.Settings.FleetCapture
	}
	return b.shop.Settings.CustomerCapture
}

func (b explainer) lag(h inventory.Holder) float64 {
	if h == inventory.Fleet {
		return b.shop.Settings.FleetLagWeeks
	}
	return b.shop.Settings.CustomerLagWeeks
}

// habit is how surely units of a holder come here when due.
func (b explainer) habit(h inventory.Holder) figure {
	habit := b.lessons.Habits[h]
	f := figure{name: "Comes here when due", of: holders[h].units, unit: share, book: new(b.capture(h)), now: &habit.Capture, words: notLearnt}
	if b.lessons.On {
		f.seen, f.words = new(habit.Here+habit.Elsewhere), b.habitWords(h)
	}
	return f
}

// wait is how many weeks a due unit takes to come.
func (b explainer) wait(h inventory.Holder) figure {
	w := b.lessons.Habits[h].Waited
	f := figure{name: "Wait once due", of: holders[h].units, unit: weeksLong, book: new(b.lag(h)), now: new(float64(w.Lag)), words: notLearnt}
	if b.lessons.On {
		f.seen, f.words = &w.Waits, waitWords(w)
		low, high := w.Interval(0.9)
		f = f.within(float64(low), float64(high))
	}
	return f
}

// ahead is the booking curve, told a week ahead and in words.
func (b explainer) ahead() []figure {
	if !b.lessons.On {
		return nil
	}
	curve := func(of string, a learn.Ahead) figure {
		return figure{name: "Booked over a week ahead", of: of, unit: share, seen: &a.Jobs, now: new(a.Beyond(7)), words: aheadWords(a)}
	}
	return []figure{
		curve(holders[inventory.Fleet].units, b.lessons.Ahead[inventory.Fleet]),
		curve(holders[inventory.Customer].units, b.lessons.Ahead[inventory.Customer]),
		curve("walk-ins", b.lessons.WalkIn),
	}
}

// returns are whether and when a unit without a meter comes back for a service.
func (b explainer) returns(service, of string) []figure {
	r, known := b.lessons.Returns[service]
	if !known {
		return nil
	}
	back, scale, _ := r.Intervals(0.9)
	comes := figure{name: "Comes back at all", of: of, unit: share, seen: &r.Gaps, now: &r.Returns, words: returnWords(r)}
	when := figure{name: "Back after", of: of, unit: weeksLong, seen: &r.Back, now: new(float64(r.Scale)),
		words: fmt.Sprintf("season-weighted weeks from one job to the next, within which 63 %% of those that come back are back. Of all, %s are back within 26 weeks, %s within 52.", percent(r.Within(0, 26)), percent(r.Within(0, 52)))}
	return []figure{comes.within(back[0], back[1]), when.within(float64(scale[0]), float64(scale[1]))}
}

// walkIns are the jobs with a service that nothing could tell, by what else is
// done and on which model; and for the document how each method did.
func (b explainer) walkIns(service string) (rates, scores part) {
	rates = part{name: "Walk-ins", title: "Walk-ins for " + service, of: "Model",
		note: "Jobs that neither a unit's hours nor its earlier jobs could tell before they were booked. Now: how many a week bring at this time of the year. Seen: how many were counted."}
	scores = part{name: "Scores"}
	phase := lessons.Phase(b.shop.AsOf.Week())
	for _, w := range b.lessons.WalkIns {
		if !slices.Contains(w.Services, service) {
			continue
		}
		mean := w.Mean(phase)
		f := figure{name: strings.Join(w.Services, " + "), of: w.Model, unit: jobsWeek, seen: &w.Total, now: &mean, words: walkInWords(w)}
		if mean > 0 && w.Shape > 0 {
			f = f.within(gammaInterval(mean, w.Shape))
		}
		rates.figures = append(rates.figures, f)
		for _, s := range w.Scores {
			scores.figures = append(scores.figures, figure{name: "Score of " + s.Method.String(), of: f.of + ", " + f.name, now: &s.RPS,
				words: fmt.Sprintf("mean ranked probability score on the workshop's own past, less is better; a week counts %v of the one after it.", number(s.Memory))})
		}
	}
	slices.SortStableFunc(rates.figures, func(a, b figure) int { return *b.seen - *a.seen })
	return rates, scores
}

// gammaInterval holds nine of ten of a gamma law with a mean and a shape; a
// shape beyond all bounds leaves the mean alone.
func gammaInterval(mean, shape float64) (low, high float64) {
	if shape > 1e6 {
		return mean, mean
	}
	law := distuv.Gamma{Alpha: shape, Beta: shape / mean}
	return law.Quantile(0.05), law.Quantile(0.95)
}

// expected are the jobs with a service over the horizon, by where they come
// from.
func (b explainer) expected(service string) part {
	weeks := b.outlook.Weeks()
	p := part{name: "Expected", title: fmt.Sprintf("%s to come in %s", service, plural(len(weeks), "week", "weeks")), of: "From"}
	var booked, fleet, returning, walkIn float64
	for _, a := range b.outlook.Arrivals() {
		if a.Service == service {
			booked, fleet, returning, walkIn = booked+a.Booked, fleet+a.Fleet, returning+a.Returning, walkIn+a.WalkIn
		}
	}
	p.figures = bySource("Expected jobs", unit{word: "jobs", decimals: 1}, booked, fleet, returning, walkIn)
	return p
}

// bySource are expected numbers by where their jobs come from, and together.
func bySource(name string, u unit, booked, fleet, returning, walkIn float64) []figure {
	of := func(source string, x float64) figure { return figure{name: name, of: source, unit: u, now: &x} }
	return []figure{
		of("booked", booked), of("fleet due", fleet), of("customers due", returning), of("walk-ins", walkIn),
		of("together", booked+fleet+returning+walkIn),
	}
}
