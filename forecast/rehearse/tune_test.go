package rehearse

import "testing"

func TestTuneClosesInOnAReadiness(t *testing.T) {
	const readiness = .97
	w := shop()
	for _, m := range Methods() {
		curve, err := Tune(w, 13, m, readiness, nil)
		if err != nil {
			t.Fatal(err)
		}
		low, high, found := around(frontier(curve), readiness)
		if !found {
			continue // a point of the curve is the readiness itself
		}
		value, reach := ValueAt(curve, readiness)
		if reach != Within || value < low.Value || value > high.Value {
			t.Errorf("%v: value %v, want one from %v to %v", m, value, low.Value, high.Value)
		}
		t.Logf("%v: value %.0f, from %.4f to %.4f ready", m, value, low.Readiness, high.Readiness)
		if high.Value-low.Value > .05*high.Value {
			t.Errorf("%v: still %.0f to %.0f around the readiness", m, low.Value, high.Value)
		}
	}
}
