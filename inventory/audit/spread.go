package audit

import (
	"math"

	"circlip/inventory"
)

const (
	// How much of a fluid a job takes varies by so much of it, before any card
	// was read; and how many cards that is worth: common practice, no source.
	amountCV      = 0.10
	amountCVCards = 20
	// From this share of cards that were copied, all are taken to be.
	copiedShare = 0.9
)

// cardLesson is what the cards of an item teach.
type cardLesson struct {
	cv     float64 // of what a job takes, where it takes any
	copied float64 // share of cards that say what is always said, not what was taken
	grain  float64 // the others are read to, in the measure
}

// learn finds how much jobs vary, and gives every taking its variance, the early
// ones by later cards, too. Cards that were copied, from the bill or from each
// other, tell nothing of it.
func (a *account) learn() {
	a.learnt = lessonOf(a.cards, a.item.Measure)
	if a.item.Measure == inventory.Each {
		return // pieces come whole
	}
	for _, takings := range [][]taking{a.takings, a.coming} {
		for i := range takings {
			takings[i].variance += a.learnt.cv * a.learnt.cv * takings[i].standard * takings[i].amount
		}
	}
}

func lessonOf(cards []card, measure inventory.Measure) cardLesson {
	all := cardLesson{cv: amountCV, copied: 1}
	repeated := 0
	for _, c := range cards {
		if c.repeats {
			repeated++
		}
	}
	if float64(repeated) >= copiedShare*float64(len(cards)) {
		return all
	}
	if measure == inventory.Each {
		return cardLesson{cv: amountCV}
	}
	step := readTo(cards)
	sum := scatter(cards, step)
	copied := sum.copies / float64(len(cards))
	if copied >= copiedShare {
		return all
	}
	return cardLesson{
		cv:     math.Sqrt((amountCVCards*amountCV*amountCV + sum.squares) / (amountCVCards + sum.cards)),
		copied: copied,
		grain:  measure.Number(step),
	}
}

// unread is the variance that a job's card leaves in what it took: of reading
// the amount where it was measured, all of it where it was copied. Which cards
// were is not known, but how many.
func (c cardLesson) unread(job taking) float64 {
	if job.onCard {
		return c.grain*c.grain/12 + c.copied*job.variance
	}
	return job.variance
}
