package rehearse

// halvings are the replays that Tune adds where a curve passes a readiness.
const halvings = 6

// Tune is a method's curve over its own knobs, made finer where it passes a
// readiness, so that ValueAt has next to nothing to interpolate there.
func Tune(w World, warmUp int, m Method, readiness float64) ([]Point, error) {
	curve, err := Curve(w, warmUp, m, m.Knobs(), nil)
	if err != nil {
		return nil, err
	}
	b := newBook(w, m)
	for range halvings {
		low, high, found := around(frontier(curve), readiness)
		if !found {
			break
		}
		knob := (low.Knob + high.Knob) / 2
		r, err := Replay(w, warmUp, b.policy(knob), nil)
		if err != nil {
			return nil, err
		}
		curve = append(curve, Point{Knob: knob, Readiness: r.Readiness, Value: r.MeanStockValue, Result: r})
	}
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
