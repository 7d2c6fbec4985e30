package lessons

import (
	"slices"
	"strings"

	"circlip/forecast/series"
	"circlip/inventory"
)

// WalkIn is the law of the jobs of some services on a model that nothing could
// tell before they were booked.
type WalkIn struct {
	Services []string
	Model    string
	series.Law
}

// mostWeeks is how far back walk-ins are counted: five years.
const mostWeeks = 260

// isoWeeks is how many places the season of walk-ins has; a 53rd week shares
// that of the 52nd.
const isoWeeks = 52

// Phase is the place of a week in the season of walk-ins.
func Phase(w inventory.Week) int { return min(w.Number, isoWeeks) - 1 }

func together(services []string) string { return strings.Join(services, ";") }

// learnWalkIns counts the walk-ins done in each whole week of the past, by
// services and model, and fits their laws.
func (l *Lessons) learnWalkIns(p *past) {
	if len(p.jobs) == 0 {
		return
	}
	end := p.shop.AsOf.Week().Monday()
	first := max(p.jobs[0].EndedOn().Week().Monday(), end-7*mostWeeks)
	weeks := int(end-first) / 7
	if weeks < 1 {
		return
	}
	past := series.Past{Phases: isoWeeks}
	for week := range weeks {
		past.Phase = append(past.Phase, Phase((first + inventory.Date(7*week)).Week()))
	}
	at := map[[2]string]int{}
	families := map[string]int{}
	for _, j := range p.jobs {
		week := int(j.EndedOn()-first) / 7
		if j.State != inventory.Done || j.EndedOn() < first || week >= weeks || p.foreseen(j) {
			continue
		}
		services := p.bill.Uncovered(j.Services)
		key := [2]string{together(services), j.Model}
		k, known := at[key]
		if !known {
			family := p.family[j.Model]
			if _, met := families[family]; !met {
				families[family] = len(families)
			}
			k = len(past.Series)
			at[key] = k
			past.Series = append(past.Series, series.Series{Counts: make([]int, weeks), Family: families[family]})
			l.WalkIns = append(l.WalkIns, WalkIn{Services: slices.Clone(services), Model: j.Model})
		}
		past.Series[k].Counts[week]++
	}
	for k, law := range series.Fit(past) {
		l.WalkIns[k].Law = law
	}
}
