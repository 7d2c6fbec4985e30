package audit

import (
	"math"
	"slices"

	"circlip/inventory"
)

const (
	// How much of a fluid a job takes varies by so much of it, before any card
	// was read; and how many cards that is worth: common practice, no source.
	amountCV      = 0.10
	amountCVCards = 20
	// From this share of cards that say what the bill says, they are taken to
	// be copied from it.
	copiedShare = 0.9
	// A service's cards tell its own ratio to the bill from so many on.
	fewCards = 5
)

// card is what the card of a done job says of the item.
type card struct {
	service string
	used    inventory.Quantity
	ratio   float64 // to what the bill allows where it is taken; 0: of several lines
	repeats bool    // it says what the bill says
}

// card is what the card of the job at hand says.
func (a *allowance) card() card {
	c := card{service: a.lines[0].Service, used: a.used, repeats: a.used == a.qty || a.used == a.perJob}
	if amount := a.item.Measure.Number(a.qty) * (1 + a.lines[0].Waste); len(a.lines) == 1 && amount > 0 {
		c.ratio = a.item.Measure.Number(a.used) / amount
	}
	return c
}

// cardLesson is what the cards of an item teach.
type cardLesson struct {
	cv       float64 // of what a job takes, where it takes any
	measured bool    // the cards say what was taken, not what the bill says
	grain    float64 // they are read to, in the measure
}

// learn finds how much jobs vary, and gives every taking its variance. Cards
// that repeat the bill tell nothing of it.
func (a *account) learn() {
	a.learnt = cardLesson{cv: amountCV}
	repeated := 0
	for _, c := range a.cards {
		if c.repeats {
			repeated++
		}
	}
	if float64(repeated) < copiedShare*float64(len(a.cards)) {
		s, n := scatter(a.cards)
		a.learnt.measured = true
		if a.item.Measure != inventory.Each {
			a.learnt.grain = a.item.Measure.Number(grain(a.cards))
		}
		a.learnt.cv = math.Sqrt((amountCVCards*amountCV*amountCV + n*s*s) / (amountCVCards + n))
	}
	if a.item.Measure == inventory.Each {
		return // pieces come whole
	}
	for _, takings := range [][]taking{a.takings, a.coming} {
		for i := range takings {
			takings[i].variance += a.learnt.cv * a.learnt.cv * takings[i].standard * takings[i].amount
		}
	}
}

// scatter is the standard deviation of the cards' ratios about the middle one
// of their service, and of how many cards. Slips of the pen are left out: what
// is further off than four times the spread that the tenth and the ninetieth
// in a hundred tell.
func scatter(cards []card) (sd, n float64) {
	ratios := map[string][]float64{}
	for _, c := range cards {
		if c.ratio > 0 {
			ratios[c.service] = append(ratios[c.service], c.ratio)
		}
	}
	var off []float64
	for _, of := range ratios {
		if len(of) < fewCards {
			continue
		}
		slices.Sort(of)
		middle := (of[len(of)/2] + of[(len(of)-1)/2]) / 2
		for _, r := range of {
			off = append(off, r/middle-1)
		}
	}
	if len(off) == 0 {
		return 0, 0
	}
	slices.Sort(off)
	const normalNinetieth = 1.2816
	last := float64(len(off) - 1)
	low, high := off[int(math.Round(0.1*last))], off[int(math.Round(0.9*last))]
	squares := 0.0
	for _, d := range off {
		if math.Abs(d) <= 4*(high-low)/(2*normalNinetieth) {
			squares += d * d
			n++
		}
	}
	return math.Sqrt(squares / max(n, 1)), n
}

// grain is the coarsest of 1, 2, 5, 10 … steps that nine in ten cards are whole
// multiples of.
func grain(cards []card) inventory.Quantity {
	coarsest := inventory.Quantity(1)
	for decade := inventory.Quantity(1); decade <= 100; decade *= 10 {
		for _, of := range []inventory.Quantity{1, 2, 5} {
			whole := 0
			for _, c := range cards {
				if c.used%(of*decade) == 0 {
					whole++
				}
			}
			if float64(whole) >= copiedShare*float64(len(cards)) {
				coarsest = of * decade
			}
		}
	}
	return coarsest
}

// unread is the variance that a job's card leaves in what it took: of reading
// the amount where it was measured, all of it where it was not.
func (c cardLesson) unread(job taking) float64 {
	if c.measured && job.onCard {
		return c.grain * c.grain / 12
	}
	return job.variance
}
