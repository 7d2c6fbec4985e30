package audit

import (
	"math"
	"slices"

	"circlip/inventory"

	"gonum.org/v1/gonum/stat/distuv"
)

// fewCards is from how many on the cards of a kind tell how much jobs vary: a
// choice.
const fewCards = 5

// card is what the card of a done job says of the item.
type card struct {
	kind    cardKind
	used    inventory.Quantity
	repeats bool // it says what the bill says
}

// cardKind is jobs that one line each allows the same.
type cardKind struct {
	service string
	amount  float64 // where it is taken, in the measure; 0: of several lines
}

// card is what the card of the job at hand says.
func (a *allowance) card() card {
	c := card{kind: cardKind{service: a.lines[0].Service}, used: a.used, repeats: a.used == a.qty || a.used == a.perJob}
	if len(a.lines) == 1 {
		c.kind.amount = a.item.Measure.Number(a.qty) * (1 + a.lines[0].Waste)
	}
	return c
}

// straying is what cards tell of how much jobs vary.
type straying struct {
	squares float64 // sum of those of what cards stray by, as shares of the mean of their kind
	cards   float64 // that it is the sum of
	copies  float64 // cards left out: they say what is always said
}

// scatter sums up the kinds.
func scatter(cards []card, grain inventory.Quantity) (sum straying) {
	var kinds []cardKind // in the order they are met: sums of floats depend on it
	of := map[cardKind][]card{}
	for _, c := range cards {
		if of[c.kind] == nil {
			kinds = append(kinds, c.kind)
		}
		of[c.kind] = append(of[c.kind], c)
	}
	for _, k := range kinds {
		one := strayingOf(k, of[k], float64(grain))
		sum.squares, sum.cards, sum.copies = sum.squares+one.squares, sum.cards+one.cards, sum.copies+one.copies
	}
	return sum
}

// strayingOf is what the cards of one kind tell. Those that say what most of
// them say, which is the bill's amount or somebody's habit, count only as far as
// jobs that vary like the others now and then take just that. Where the others
// stray less than all together they are no measure of it: two habits, say.
func strayingOf(kind cardKind, cards []card, grain float64) straying {
	usual, billed := mostSaid(cards), 0.0
	var others []float64
	for _, c := range cards {
		if c.used != usual {
			others = append(others, float64(c.used))
		}
		if c.repeats {
			billed++
		}
	}
	repeats := float64(len(cards) - len(others))
	switch few := len(others) < fewCards; {
	case few && repeats > float64(len(others)):
		return straying{copies: repeats}
	case few, kind.amount == 0:
		return straying{copies: billed}
	}
	sum := withoutSlips(others)
	kept := sum.byChance(float64(usual), grain, repeats)
	all, some := sum.with(float64(usual), repeats), sum.with(float64(usual), kept)
	// One of many amounts is said most by chance, too.
	if repeats <= kept+4*math.Sqrt(kept+1) || some.variance() < all.variance() {
		return all.straying(0)
	}
	return some.straying(repeats - kept)
}

// sample is amounts summed up.
type sample struct{ n, sum, squares float64 }

func (s sample) with(amount, times float64) sample {
	return sample{s.n + times, s.sum + times*amount, s.squares + times*amount*amount}
}

func (s sample) mean() float64     { return s.sum / s.n }
func (s sample) variance() float64 { return max(0, s.squares/s.n-s.mean()*s.mean()) }

func (s sample) straying(copies float64) straying {
	return straying{squares: s.n * s.variance() / (s.mean() * s.mean()), cards: s.n, copies: copies}
}

// byChance is how many of the cards that say one amount were not copied, jobs
// being normal and their amounts rounded to the grain: as many as make the whole
// a sample of one such law. More of them make it narrower, and that lets more be
// expected, until no more are.
func (s sample) byChance(amount, grain, repeats float64) (kept float64) {
	for range 50 {
		whole, before := s.with(amount, kept), kept
		sd := math.Sqrt(max(whole.variance()-grain*grain/12, grain*grain/1e4))
		off := amount - whole.mean()
		share := distuv.UnitNormal.CDF((off+grain/2)/sd) - distuv.UnitNormal.CDF((off-grain/2)/sd)
		if kept = min(repeats, s.n*share/(1-share)); kept-before < 0.5 {
			break
		}
	}
	return kept
}

// withoutSlips sums up amounts. Slips of the pen are left out: what is further
// from the middle than four times the spread that the tenth and the ninetieth in
// a hundred tell.
func withoutSlips(amounts []float64) (sum sample) {
	slices.Sort(amounts)
	const normalNinetieth = 1.2816
	last := float64(len(amounts) - 1)
	low, high := amounts[int(math.Round(0.1*last))], amounts[int(math.Round(0.9*last))]
	middle := (amounts[len(amounts)/2] + amounts[(len(amounts)-1)/2]) / 2
	for _, x := range amounts {
		if math.Abs(x-middle) <= 4*(high-low)/(2*normalNinetieth) {
			sum = sum.with(x, 1)
		}
	}
	return sum
}

// mostSaid is what most of the cards say, the least of several.
func mostSaid(cards []card) (usual inventory.Quantity) {
	said := map[inventory.Quantity]int{}
	for _, c := range cards {
		said[c.used]++
		if n := said[c.used]; n > said[usual] || n == said[usual] && c.used < usual {
			usual = c.used
		}
	}
	return usual
}

// readTo is the coarsest of 1, 2, 5, 10 … steps that nine in ten of the amounts
// on the cards are whole multiples of, each of them counted once: what was
// copied a hundred times tells no more than one.
func readTo(cards []card) inventory.Quantity {
	amounts := map[inventory.Quantity]bool{}
	for _, c := range cards {
		amounts[c.used] = true
	}
	coarsest := inventory.Quantity(1)
	for decade := inventory.Quantity(1); decade <= 100; decade *= 10 {
		for _, of := range []inventory.Quantity{1, 2, 5} {
			whole := 0
			for used := range amounts {
				if used%(of*decade) == 0 {
					whole++
				}
			}
			if float64(whole) >= 0.9*float64(len(amounts)) {
				coarsest = of * decade
			}
		}
	}
	return coarsest
}
