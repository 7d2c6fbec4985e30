package rehearse

import (
	"math"
	"sort"
)

// Point is one replay on a curve of readiness against money.
type Point struct {
	Knob, Readiness, Value float64 // Value is the mean stock value, minor units
	Result                 Result
}

// Curve replays a world under a textbook method at each setting of its knob.
// Before each replay each is asked whether to go on; nil always does.
func Curve(w World, warmUp int, m Method, knobs []float64, each func(knob int) bool) ([]Point, error) {
	if err := w.Check(); err != nil {
		return nil, err
	}
	b := newBook(w, m)
	var curve []Point
	for k, knob := range knobs {
		if each != nil && !each(k) {
			break
		}
		r, err := Replay(w, warmUp, b.policy(knob), nil)
		if err != nil {
			return nil, err
		}
		curve = append(curve, Point{Knob: knob, Readiness: r.Readiness, Value: r.MeanStockValue, Result: r})
	}
	return curve, nil
}

// Reach says where a readiness lies on a curve.
type Reach int

// Within the curve a value is interpolated; Below its least readiness it is
// that of the cheapest point; Beyond what it reached there is none.
const (
	Within Reach = iota
	Below
	Beyond
)

// ValueAt is the stock value at which a curve reaches a readiness, along its
// efficient points (those that no other beats in both), linear in the
// logarithm of unreadiness; 0 with Beyond.
func ValueAt(curve []Point, readiness float64) (float64, Reach) {
	front := frontier(curve)
	at := sort.Search(len(front), func(i int) bool { return front[i].Readiness >= readiness })
	switch {
	case at == len(front):
		return 0, Beyond
	case front[at].Readiness == readiness:
		return front[at].Value, Within
	case at == 0:
		return front[0].Value, Below
	}
	low, high := front[at-1], front[at]
	a, b, x := unready(low.Readiness, low), unready(high.Readiness, high), unready(readiness, high)
	share := 1.0
	if a > b {
		share = min(max((a-x)/(a-b), 0), 1)
	}
	return low.Value + share*(high.Value-low.Value), Within
}

// unready is the logarithm of the share not ready, of half a job where none
// was seen.
func unready(readiness float64, of Point) float64 {
	return math.Log(max(1-readiness, 0.5/float64(max(of.Result.Jobs, 1))))
}

// frontier are the points that no other beats, by rising readiness.
func frontier(curve []Point) []Point {
	sorted := append([]Point(nil), curve...)
	sort.SliceStable(sorted, func(i, j int) bool {
		if sorted[i].Value != sorted[j].Value {
			return sorted[i].Value < sorted[j].Value
		}
		return sorted[i].Readiness > sorted[j].Readiness
	})
	var front []Point
	for _, p := range sorted {
		if len(front) == 0 || p.Readiness > front[len(front)-1].Readiness {
			front = append(front, p)
		}
	}
	return front
}
