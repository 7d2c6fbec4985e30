package plan

import (
	"math"
	"slices"

	"circlip/forecast"
	"circlip/forecast/stock"
	"circlip/inventory"
)

// shelf is the stock problem of one shop, with what its numbers stand for.
type shelf struct {
	view    *view
	rhythms []rhythm
	offered []bool
	step    []inventory.Quantity // by item: what one step of the problem is
	windows []rhythm             // those with different protection times, the shortest first
	waits   []bool               // by item: a job waits for it
	use     use
	problem stock.Problem
}

// newShelf turns the coming jobs and the items into a stock problem.
func (v *view) newShelf(futures []forecast.Future, streams []forecast.Stream, types *jobTypes, u use) *shelf {
	n := len(v.Items)
	s := &shelf{view: v, rhythms: make([]rhythm, n), offered: make([]bool, n), waits: make([]bool, n), use: u}
	for i, item := range v.Items {
		s.rhythms[i], s.offered[i] = v.rhythmOf(item)
		s.windows = append(s.windows, s.rhythms[i])
	}
	slices.SortFunc(s.windows, byEnd)
	s.windows = slices.CompactFunc(s.windows, rhythm.same)
	s.problem.Windows = max(1, len(s.windows))
	s.addEvents(futures, types)
	s.addStreams(streams, types)
	s.step = v.stepsOf(types)
	s.addItems()
	s.addTypes(types)
	return s
}

// addEvents adds what the units may bring.
func (s *shelf) addEvents(futures []forecast.Future, types *jobTypes) {
	spans := s.spans(rhythm.sees)
	for _, f := range futures {
		s.problem.Events = append(s.problem.Events, s.events(f, types, spans)...)
	}
}

// spans are the windows, of which each day counts by a probability: that it
// lies in the protection time (rhythm.lasts), or that a job which the order is
// to serve sees its use (rhythm.sees). No window counts a day less than one
// before it.
func (s *shelf) spans(counts func(rhythm, forecast.Day) float64) []forecast.Span {
	var spans []forecast.Span
	for w, r := range s.windows {
		last := r.latest()
		for _, before := range s.windows[:w] {
			last = max(last, before.latest())
		}
		spans = append(spans, s.view.cal.Weighted(forecast.Day(last), func(day forecast.Day) float64 {
			most := 0.0
			for _, r := range s.windows[:w+1] {
				most = max(most, counts(r, day))
			}
			return most
		}))
	}
	return spans
}

// outcomes is a rung's arrival by type and window, done here or elsewhere; what
// lies beyond the last window is left out.
func outcomes(r forecast.Rung, kinds []int, spans []forecast.Span) []stock.Outcome {
	var outcomes []stock.Outcome
	for week, done := range r.Done {
		if len(spans) == 0 || spans[len(spans)-1].Share(week) == 0 {
			break
		}
		before := 0.0
		for w, span := range spans {
			upTo := span.ShareOf(r, week)
			if prob := done * (upTo - before); prob > 0 {
				outcomes = addOutcome(outcomes, stock.Outcome{Type: kindIn(kinds, week), Window: w, Prob: prob})
			}
			before = upTo
		}
	}
	return outcomes
}

// addStreams makes one stream of each kind of job that a stream brings up to
// the last window.
func (s *shelf) addStreams(streams []forecast.Stream, types *jobTypes) {
	spans := s.spans(rhythm.sees)
	for _, stream := range streams {
		kinds := types.byWeek(stream.Services, stream.Model)
		for _, kind := range slices.Compact(slices.Clone(kinds)) {
			means := make([]float64, max(1, len(spans)))
			for week, mean := range stream.Means {
				before := 0.0
				for w, span := range spans {
					if kinds[week] == kind {
						means[w] += mean * (span.Share(week) - before)
					}
					before = span.Share(week)
				}
			}
			if total(means) > 0 {
				s.problem.Streams = append(s.problem.Streams, stock.Stream{Type: kind, Means: means, Shape: stream.Shape})
			}
		}
	}
}

// kindIn is the kind of a job in a week; 0 where it takes nothing.
func kindIn(kinds []int, week int) int {
	if kinds == nil {
		return 0
	}
	return kinds[week]
}

func addOutcome(outcomes []stock.Outcome, o stock.Outcome) []stock.Outcome {
	for i := range outcomes {
		if outcomes[i].Type == o.Type && outcomes[i].Window == o.Window {
			outcomes[i].Prob = min(1, outcomes[i].Prob+o.Prob)
			return outcomes
		}
	}
	return append(outcomes, o)
}

// wholeMillilitre is the coarsest step in which fluids and grease are counted
// where their quantities do not share a larger one.
const wholeMillilitre = 10

// stepsOf finds for each item the largest step that all its quantities and packs
// are whole numbers of; fluids that have none take 1 ml or 1 g.
func (v *view) stepsOf(types *jobTypes) []inventory.Quantity {
	steps := make([]inventory.Quantity, len(v.Items))
	for _, t := range types.types {
		for _, l := range t.lines {
			i := v.itemAt[l.Item]
			low, more := l.Sizes(v.Items[i].Measure)
			steps[i] = gcd(steps[i], low)
			if more > 0 {
				steps[i] = 1
			}
		}
	}
	for i, item := range v.Items {
		for _, o := range v.offers[item.Code] {
			steps[i] = gcd(steps[i], o.PackQty)
		}
		if item.Measure == inventory.Each {
			steps[i] = 1
		}
		if item.Measure != inventory.Each && steps[i]%wholeMillilitre != 0 || steps[i] == 0 {
			steps[i] = inventory.Quantity(item.Measure.Steps())
		}
	}
	return steps
}

func gcd(a, b inventory.Quantity) inventory.Quantity {
	for b != 0 {
		a, b = b, a%b
	}
	return a
}

func (s *shelf) addItems() {
	for i := range s.view.Items {
		// What nobody offers is bought by no order; a cost of next to nothing
		// lets the other items be chosen as if it were there.
		it := stock.Item{Window: s.window(i), Pack: 1, Cost: 1}
		if s.offered[i] {
			o := s.rhythms[i].offer
			it.Pack = int(max(1, o.PackQty/s.step[i]))
			it.Cost = int64(o.Price)
			it.Least, it.Multiple = max(o.MinPacks, o.FromPacks), o.Multiple
		}
		s.problem.Items = append(s.problem.Items, it)
	}
}

func (s *shelf) window(item int) int {
	return slices.IndexFunc(s.windows, s.rhythms[item].same)
}

func (s *shelf) addTypes(types *jobTypes) {
	for _, t := range types.types {
		var job stock.JobType
		for _, l := range t.lines {
			i := s.view.itemAt[l.Item]
			s.view.needed[i] = true
			s.waits[i] = s.waits[i] || (s.view.Items[i].Critical && l.Need > 0)
			job.Lines = append(job.Lines, stock.Line{
				Item:     i,
				Sizes:    stock.Spread(meanSteps(l, s.view.Items[i].Measure) / float64(s.step[i])),
				Need:     l.Need,
				Critical: s.view.Items[i].Critical,
			})
		}
		s.problem.Types = append(s.problem.Types, job)
	}
}

// meanSteps is what a job that takes the line uses on average, in the book's
// steps.
func meanSteps(l inventory.BOMLine, m inventory.Measure) float64 {
	low, more := l.Sizes(m)
	return float64(low) + more
}

// held is what the shelf and the orders are good for, by item.
type held struct {
	onHand, setAside, usable, later, onOrder []inventory.Quantity
}

// position is usable on hand less what is set aside for later, and on order.
func (h held) position(item int) inventory.Quantity {
	return h.usable[item] - h.later[item] + h.onOrder[item]
}

// holdings adds up lots and orders. A lot that expires inside the protection
// time counts as far as its expected use until then, first expired first out.
func (v *view) holdings(s *shelf) held {
	n := len(v.Items)
	h := held{make([]inventory.Quantity, n), make([]inventory.Quantity, n), make([]inventory.Quantity, n), make([]inventory.Quantity, n), make([]inventory.Quantity, n)}
	bench := map[string]inventory.Date{}
	for _, j := range v.Jobs {
		bench[j.Code] = j.BenchDate
	}
	lots := slices.Clone(v.Lots)
	slices.SortStableFunc(lots, inventory.FirstExpiredFirst)
	for _, l := range lots {
		i, known := v.itemAt[l.Item]
		if !known || !l.UsableOn(v.AsOf) {
			continue
		}
		h.onHand[i] += l.OnHand
		later := inventory.Quantity(0)
		for _, a := range l.SetAside {
			h.setAside[i] += a.Qty
			if bench[a.Job] > s.rhythms[i].protectUntil {
				later += a.Qty
			}
		}
		if l.UsableOn(s.rhythms[i].protectUntil) {
			h.usable[i] += l.OnHand
			h.later[i] += later
			continue
		}
		// What is kept in it for a job that comes after its expiry serves nobody,
		// and is not to be taken off once more.
		expected := floor(s.use.until(i, l.Expires-1).sum())
		h.usable[i] += max(0, min(l.OnHand-later, expected-h.usable[i]))
	}
	for _, o := range v.Orders {
		if i, known := v.itemAt[o.Item]; known {
			h.onOrder[i] += o.Outstanding()
		}
	}
	return h
}

// curvePoints is how many points of the curve are shown.
const curvePoints = 40

// asGoodAsAlways is the availability above which more stock is the pack's doing
// and not the readiness's.
const asGoodAsAlways = 0.9999

// aim is the readiness to order for where one is to be reached by what was
// learnt. The joint law takes what was learnt as it is, and each job's luck by
// itself; but what was learnt may be off, and a late delivery makes all jobs of
// its days wait together. In rehearsals of invented workshops not quite twice as
// many jobs were short as the plans gave up, so not quite half of what may be
// short is kept for that.
func (s *shelf) aim(readiness float64) float64 {
	if !s.view.lessons.On {
		return readiness
	}
	return 1 - (1-readiness)*(1-keptBack)
}

const keptBack = 0.45

// packs is the cheapest order that reaches the target from a position.
func (s *shelf) packs(joint *stock.Joint, position []inventory.Quantity, target float64) []int {
	return s.onOffer(joint.Walk(s.steps(position)).Reach(target).Packs)
}

// onOffer leaves out what nobody offers.
func (s *shelf) onOffer(packs []int) []int {
	for i := range packs {
		if !s.offered[i] {
			packs[i] = 0
		}
	}
	return packs
}

// steps are quantities in the problem's steps, rounded down.
func (s *shelf) steps(quantities []inventory.Quantity) []int {
	steps := make([]int, len(quantities))
	for i, q := range quantities {
		steps[i] = s.inSteps(i, q)
	}
	return steps
}

// inSteps is a quantity of an item in the problem's steps, rounded down.
func (s *shelf) inSteps(item int, q inventory.Quantity) int {
	steps := int(q / s.step[item])
	if q < 0 && q%s.step[item] != 0 {
		steps--
	}
	return steps
}

// floor is a quantity rounded down to whole steps.
func floor(steps float64) inventory.Quantity { return inventory.Quantity(math.Floor(steps)) }
