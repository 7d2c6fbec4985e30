package forecast

import (
	"math"
	"testing"
)

// What a meter gains beyond the window of a row counts at the row's edges,
// however far beyond it lies.
func TestHoursBeyondTheWindowCountAtItsEdge(t *testing.T) {
	for _, c := range []struct {
		name       string
		first, low int
		at         int // where all of it lands
	}{
		{"within", 1, 1, 2},
		{"just below", 0, -1, 0},
		{"far below", 0, -40, 0},
		{"just above", 3, 1, 3},
		{"far above", 3, 40, 3},
	} {
		t.Run(c.name, func(t *testing.T) {
			out := make([]float64, 4)
			(&step{scratch: make([]float64, 8)}).ride(true, out, []float64{0.5}, c.first, 0.5, taps{low: c.low, prob: []float64{1}})
			for i, p := range out {
				want := 0.0
				if i == c.at {
					want = 0.25
				}
				if math.Abs(p-want) > 1e-12 {
					t.Errorf("column %d: found %v, expected %v", i, p, want)
				}
			}
		})
	}
}
