package rehearse

import (
	"cmp"
	"slices"
)

// halvings are the replays that Tune adds where a curve passes a readiness.
const halvings = 6

// Tune is a method's curve over its own knobs, made finer where it passes a
// readiness, so that ValueAt has next to nothing to interpolate there. Points
// are in the order of their knobs. Before each replay each is asked whether to
// go on; nil always does.
func Tune(w World, warmUp int, m Method, readiness float64, each func(knob int) bool) ([]Point, error) {
	curve, err := Curve(w, warmUp, m, m.Knobs(), each)
	if err != nil {
		return nil, err
	}
	b := newBook(w, m)
	for range halvings {
		low, high, found := around(frontier(curve), readiness)
		if !found || (each != nil && !each(len(curve))) {
			break
		}
		knob := (low.Knob + high.Knob) / 2
		r, err := Replay(w, warmUp, b.policy(knob), nil)
		if err != nil {
			return nil, err
		}
		curve = append(curve, Point{Knob: knob, Readiness: r.Readiness, Value: r.MeanStockValue, Result: r})
	}
	slices.SortStableFunc(curve, func(a, b Point) int { return cmp.Compare(a.Knob, b.Knob) })
	return curve, nil
}

// around are the neighbours of a readiness among efficient points.
func around(front []Point, readiness float64) (low, high Point, found bool) {
	for i := 1; i < len(front); i++ {
		if front[i-1].Readiness < readiness && readiness < front[i].Readiness {
			return front[i-1], front[i], true
		}
	}
	return Point{}, Point{}, false
}
