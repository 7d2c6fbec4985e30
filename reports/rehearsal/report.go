package rehearsal

import (
	"circlip/forecast/rehearse"
	"circlip/inventory"
)

// Report is what a rehearsal came to.
type Report struct {
	Workshop string
	Seed     uint64 // of an invented workshop
	Currency inventory.Currency
	AsOf     inventory.Date // the day on which the past is seen
	From, To inventory.Date // the weeks that count
	Weeks    int
	Target   float64 // the readiness set
	Plans    []Point // circlip's, by target
	Textbook []Curve
	Scores   *Scores  // nil where not asked for
	LeftOut  []string // items used that nobody offers
	Assumed  int      // jobs with nothing recorded
}

// Point is circlip's plans at one target and what they came to.
type Point struct {
	Target float64
	rehearse.Result
}

// Curve is one textbook method at all its settings.
type Curve struct {
	Method rehearse.Method
	Points []rehearse.Point
}

// Reaching is the cheapest of a curve's points that makes at least so large a
// share of the jobs ready; false where none does.
func (c Curve) Reaching(readiness float64) (cheapest rehearse.Point, found bool) {
	for _, p := range c.Points {
		if p.Readiness >= readiness && (!found || p.Value < cheapest.Value) {
			cheapest, found = p, true
		}
	}
	return cheapest, found
}

// AtTarget is the plans at the readiness set.
func (r Report) AtTarget() (Point, bool) {
	for _, p := range r.Plans {
		if p.Target == r.Target {
			return p, true
		}
	}
	return Point{}, false
}

// reached is the readiness that the plans at the one set really reached; that set
// where they were not played.
func (r Report) reached() float64 {
	if p, played := r.AtTarget(); played {
		return p.Readiness
	}
	return r.Target
}

// Best is the textbook method that reaches a readiness with the least money in
// stock, and how much that is in minor units; false where none reaches it.
func (r Report) Best(readiness float64) (best rehearse.Method, value float64, found bool) {
	for _, c := range r.Textbook {
		v, reach := rehearse.ValueAt(c.Points, readiness)
		if reach != rehearse.Beyond && (!found || v < value) {
			best, value, found = c.Method, v, true
		}
	}
	return best, value, found
}

// Saving is the share of money that circlip's plans at the readiness set tie up
// less than the best textbook method at the readiness that they really reached;
// false where no textbook method reaches it.
func (r Report) Saving() (float64, bool) {
	p, played := r.AtTarget()
	_, value, found := r.Best(p.Readiness)
	if !played || !found || value == 0 {
		return 0, false
	}
	return 1 - p.MeanStockValue/value, true
}
