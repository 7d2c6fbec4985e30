package audit

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"circlip/inventory"
)

// work is one kind of job of a made bench: how many a week, what the bill
// allows it, and how much of that it really takes.
type work struct {
	service  string
	perWeek  float64
	standard float64
	ratio    float64
}

// madeBench is a bench whose truth is known.
type madeBench struct {
	works         []work
	weeks         int
	cv            float64 // of what a job takes
	told          float64 // spread told to the audit over the true one; 0: 1
	countML       float64 // standard deviation of one count
	measured      bool    // cards say what was taken; else what the bill says
	models        []string
	people        []string
	from          int // week from which the ratios hold, 1 before
	personTakes   map[string]float64
	leakPerWeekML float64
}

var oilOfMadeBench = inventory.Item{Code: "OIL", Kind: inventory.Oil, Measure: inventory.Millilitre}

var firstDayMade = inventory.NewDate(2024, 1, 1)

// past makes the bench's weeks: an audited item without estimates, and what
// they are to be made from.
func (b madeBench) past(seed uint64) (ItemAudit, attribution) {
	r := rand.New(rand.NewPCG(seed, 1))
	a, from := ItemAudit{Item: oilOfMadeBench}, attribution{asOf: firstDayMade + inventory.Date(7*b.weeks)}
	for _, w := range b.works {
		from.services = append(from.services, w.service)
		from.bill = append(from.bill, inventory.BOMLine{Service: w.service, Model: inventory.AnyModel, Item: "OIL", Qty: inventory.Quantity(10 * w.standard), Need: 1})
	}
	from.models = b.models
	told, before := cmpOr(b.told, 1), b.countML*r.NormFloat64()
	for week := range b.weeks {
		p := Period{Item: "OIL", From: firstDayMade + inventory.Date(7*week) - 1, To: firstDayMade + inventory.Date(7*week) + 6}
		drawn, recorded, standard, variance := 0.0, 0.0, 0.0, 0.0
		for _, w := range b.works {
			for range poisson(r, w.perWeek) {
				t := b.takes(r, w, week, p.From+1+inventory.Date(r.IntN(5)), len(from.takings), &drawn)
				from.takings = append(from.takings, t)
				recorded, standard, variance = recorded+t.recorded, standard+t.standard, variance+t.variance
				p.Jobs++
			}
		}
		if week >= b.from {
			drawn += b.leakPerWeekML
		}
		now := b.countML * r.NormFloat64()
		p.Opening = 10_000_000
		p.Closing = p.Opening - steps(drawn+now-before)
		before = now
		p.Recorded, p.Standard = steps(recorded), steps(standard)
		p.JobSpread, p.CountSpread = told*math.Sqrt(variance), told*math.Sqrt2*b.countML
		if p.CardSpread = p.JobSpread; b.measured {
			p.CardSpread = 0
		}
		a.Periods = append(a.Periods, p)
	}
	slices.SortStableFunc(from.takings, func(x, y taking) int { return int(x.on - y.on) })
	return a, from
}

// takes is one job of a week.
func (b madeBench) takes(r *rand.Rand, w work, week int, on inventory.Date, n int, drawn *float64) taking {
	t := taking{on: on, job: fmt.Sprint("J", n), service: w.service, standard: w.standard, amount: w.standard, certain: true, onCard: true}
	t.variance = b.cv * b.cv * w.standard * w.standard
	used := w.standard
	if week >= b.from {
		used *= w.ratio
	}
	if len(b.models) > 0 {
		t.model = b.models[r.IntN(len(b.models))]
	}
	if len(b.people) > 0 {
		t.person = b.people[r.IntN(len(b.people))]
		if takes, of := b.personTakes[t.person]; of && week >= b.from {
			used *= takes
		}
	}
	used += b.cv * w.standard * r.NormFloat64()
	*drawn += used
	if t.recorded = t.standard; b.measured {
		t.recorded = used
	}
	return t
}

func steps(amount float64) inventory.Quantity { return inventory.Quantity(math.Round(10 * amount)) }

func cmpOr(v, otherwise float64) float64 {
	if v == 0 {
		return otherwise
	}
	return v
}

// estimated is the bench's past with its estimates.
func (b madeBench) estimated(seed uint64) ItemAudit {
	a, from := b.past(seed)
	a.attribute(from)
	return a
}

var fourWorks = []work{{"DAMPER", 5, 60, 1.1}, {"LOWER", 8, 20, 1}, {"FULL", 3, 100, 0.9}, {"SHOCK", 4, 35, 1.2}}

// asBilled are the four works, one of which takes more than the bill allows.
func asBilled(over string, ratio float64) []work {
	works := slices.Clone(fourWorks)
	for i := range works {
		if works[i].ratio = 1; works[i].service == over {
			works[i].ratio = ratio
		}
	}
	return works
}

// allTake is every work taking so many times what the bill allows.
func allTake(ratio float64) []work {
	works := slices.Clone(fourWorks)
	for i := range works {
		works[i].ratio = ratio
	}
	return works
}

// Five years of weekly counts of thirty items, 20,000 jobs that take four of
// them each, eight services, ten models, four people; the last weeks of each
// item are an episode.
func BenchmarkAttribute(b *testing.B) {
	bench := madeBench{weeks: 260, cv: 0.1, countML: 5, people: []string{"ANA", "BO", "CY", "DEE"}}
	for i := range 8 {
		bench.works = append(bench.works, work{fmt.Sprint("S", i), 20000. * 4 / 30 / 260 / 8, 20 + 10*float64(i), 1 + 0.05*float64(i)})
	}
	for i := range 10 {
		bench.models = append(bench.models, fmt.Sprint("M", i))
	}
	items, from := make([]ItemAudit, 30), make([]attribution, 30)
	for i := range items {
		items[i], from[i] = bench.past(uint64(i))
		items[i].Episodes = []Episode{{Direction: High, Start: 230, First: 235, Last: 259, End: 259, Open: true}}
	}
	b.ReportAllocs()
	for b.Loop() {
		for i := range items {
			items[i].attribute(from[i])
		}
	}
}
