package audit

import (
	"math"
	"math/rand/v2"
)

// cardRatios say how much a job's card shows of a group to what the bill
// allows: non-negative least squares over the jobs whose cards tell it, each
// weighed by what the bill allows it, as for an amount whose variance grows
// with its mean. For jobs of one group each this is Σ recorded / Σ standard.
// Where cards repeat the bill the ratios are one and nothing is unsure.
type cardRatios struct {
	ratio []float64
	share []float64 // of the group's standard that is on cards
	gram  *gram     // of columns of length one
	size  []float64 // their lengths before
	moved *gram     // the covariance of the right hand that the gram is solved for
	exact bool      // nothing is unsure
	drawn []float64 // of luck
}

func newCardRatios(p *panel, d division, standard []float64) *cardRatios {
	n := len(d.codes)
	c := &cardRatios{ratio: make([]float64, n), share: make([]float64, n), gram: newGram(n), size: make([]float64, n), drawn: make([]float64, n)}
	right := make([]float64, n)
	p.eachCard(d, func(row []float64, recorded, allowed float64) {
		c.gram.add(row, 1/allowed)
		for g, v := range row {
			right[g] += v * recorded / allowed
			c.share[g] += v / standard[g]
		}
	})
	c.scale(right)
	c.gram.nonNegative(right, c.ratio)
	for g := range c.ratio {
		c.ratio[g] /= c.size[g]
	}
	c.unsure(p, d)
	return c
}

// unsure finds how unsure the ratios are by what each card strays: services that
// take much stray by more than those that take little (White 1980, from memory).
func (c *cardRatios) unsure(p *panel, d division) {
	n, cards, square := len(c.ratio), 0, 0.0
	c.moved = newGram(n)
	p.eachCard(d, func(row []float64, recorded, allowed float64) {
		left := recorded
		for g, v := range row {
			left -= c.ratio[g] * v
		}
		c.moved.add(row, left*left/(allowed*allowed))
		square += left * left
		cards++
	})
	c.exact = square == 0
	few := float64(cards) / math.Max(1, float64(cards-n))
	for i := range c.moved.at {
		c.moved.at[i] *= few / (c.size[i/n] * c.size[i%n])
	}
}

// luck adds to a resample what cards leave unsure of the groups' ratios.
func (c *cardRatios) luck(random *rand.Rand, draws [][]float64, r int) {
	if c.exact {
		return
	}
	c.gram.resampleWith(c.moved, random, c.ratio, c.size, c.drawn)
	for g, v := range c.drawn {
		draws[g][r] += c.share[g] * (v - c.ratio[g])
	}
}

// scale brings columns to length one and leans a hair's breadth to the bill:
// of equally good ratios the ones nearest it are taken, and where no card tells
// anything the ratio is one.
func (c *cardRatios) scale(right []float64) {
	for g := range c.size {
		if c.size[g] = math.Sqrt(c.gram.at[g*c.gram.n+g]); c.size[g] == 0 {
			c.size[g] = 1
		}
	}
	c.gram.bring(c.size, right)
}

// eachCard tells, of every job within the spans whose card says what it took,
// what the bill allows it by group, what the card says, and what it is allowed
// in all.
func (p *panel) eachCard(d division, tell func(row []float64, recorded, allowed float64)) {
	row := make([]float64, len(d.codes))
	for first, takings := range p.jobs() {
		recorded, allowed := 0.0, 0.0
		clear(row)
		for i := range takings {
			if t, g := &takings[i], d.of[first+i]; g >= 0 && t.onCard {
				row[g] += t.standard
				recorded += t.recorded
				allowed += t.standard
			}
		}
		if allowed > 0 {
			tell(row, recorded, allowed)
		}
	}
}
