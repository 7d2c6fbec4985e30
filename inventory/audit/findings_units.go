package audit

import (
	"math"

	"circlip/inventory"
)

// lastsFor is over how many periods at the least a unit is said to have changed:
// a choice.
const lastsFor = 3

// otherUnit is all that was measured from one count on, written down in the
// other measure. A period shows what its closing count would hold more by that,
// less what its opening count would.
type otherUnit struct {
	first  int       // period whose closing count is the first; −1: its opening count, too
	counts []Finding // of the opening of the first period, then of the closing of each
	left   float64   // sum of the squares of all periods that it leaves
	mean   float64   // of the squares of those it shows in
}

// explains is how much of the excess of a period the other unit makes.
func (u otherUnit) explains(i int) (qty inventory.Quantity) {
	if i >= u.first {
		qty = u.counts[i+1].Qty
	}
	if i > u.first {
		qty -= u.counts[i].Qty
	}
	return qty
}

// lastingMisread is from which count on g written down as ml, or ml as g, fit
// the periods far better than nothing does, and than jobs that take another
// share of their bill: it is what deliveries and the first count show that tells
// these apart.
func (e evidence) lastingMisread() (best otherUnit, lasts bool) {
	counts, any := e.inOtherMeasure()
	if !any || len(e.periods) < lastsFor {
		return best, false
	}
	all := 0.0
	for i := range e.periods {
		all += math.Pow(e.z(i, 0), 2)
	}
	best.left = math.Inf(1)
	otherwise, behind, later, cross, square := all, 0.0, 0.0, 0.0, 0.0
	try := func(first int, before, shown, periods float64) {
		if before+shown < best.left {
			best = otherUnit{first, counts, before + shown, shown / periods}
		}
	}
	for i := len(e.periods) - 1; i >= 0; i-- {
		z, bill := e.z(i, 0), float64(e.periods[i].Standard)/e.sigma(i)
		later, cross, square = later+z*z, cross+z*bill, square+bill*bill
		if square > 0 {
			otherwise = min(otherwise, all-cross*cross/square)
		}
		if n := len(e.periods) - i; n >= lastsFor {
			try(i, all-later, math.Pow(e.z(i, counts[i+1].Qty), 2)+behind, float64(n))
		}
		behind += math.Pow(e.z(i, counts[i+1].Qty-counts[i].Qty), 2)
	}
	try(-1, 0, behind, float64(len(e.periods)))
	return best, best.left+2*gain < otherwise && best.mean < fitting
}

// inOtherMeasure is by how much more each count comes to with all its measured
// parts in the other measure, and whether any has some.
func (e evidence) inOtherMeasure() (counts []Finding, any bool) {
	read := func(qty inventory.Quantity, on inventory.Date, i int) {
		count := Finding{On: on}
		if found := e.otherMeasure(qty, on, e.warmthAbout(i)); len(found) > 0 {
			count, any = found[len(found)-1], true // all parts are the last
		}
		counts = append(counts, count)
	}
	for i, p := range e.periods {
		if i == 0 {
			read(p.Opening, p.From, i)
		}
		read(p.Closing, p.To, i)
	}
	return counts, any
}

// tellUnit writes the other unit down in every period that it shows in. None of
// them says what jobs take.
func (e evidence) tellUnit(u otherUnit, explained []bool) {
	for i := max(0, u.first); i < len(e.periods); i++ {
		f := u.counts[i+1]
		if f.Kind == "" {
			f = u.counts[i] // sealed throughout: what shows is of the count before
		}
		explained[i], e.periods[i].LeftOut = true, true
		if f.Qty = u.explains(i); f.Qty != 0 {
			e.periods[i].Findings = append(e.periods[i].Findings, f)
		}
	}
}
