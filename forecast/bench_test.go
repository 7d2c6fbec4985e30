package forecast

import (
	"math"
	"testing"
)

// What is ridden beyond a window counts at its edges, however far beyond; none
// of it is lost.
func TestRidesStayInTheWindow(t *testing.T) {
	hours := func(low int, prob ...float64) taps { return taps{low: low, prob: prob} }
	for _, c := range []struct {
		name  string
		first int
		in    []float64
		hours taps
		want  []float64
	}{
		{"inside", 1, []float64{.5, .5}, hours(0, .5, .5), []float64{0, .25, .5, .25}},
		{"partly beyond its end", 2, []float64{1}, hours(1, .5, .25, .25), []float64{0, 0, 0, 1}},
		{"all beyond its end", 3, []float64{1}, hours(9, .5, .5), []float64{0, 0, 0, 1}},
		{"just beyond its end", 3, []float64{1}, hours(1, 1), []float64{0, 0, 0, 1}},
		{"partly before its start", 0, []float64{1}, hours(-1, .25, .75), []float64{1, 0, 0, 0}},
		{"all before its start", 0, []float64{1}, hours(-9, .5, .5), []float64{1, 0, 0, 0}},
		{"on both sides", 0, []float64{1}, hours(-1, .1, .1, .2, .2, .2, .2), []float64{.2, .2, .2, .4}},
	} {
		s := &step{walk: &walk{arena: new(arena)}}
		out := make([]float64, 4)
		s.ride(true, out, c.in, c.first, .5, c.hours)
		for i, want := range c.want {
			if math.Abs(out[i]-want/2) > 1e-15 {
				t.Errorf("%s: found %v, expected half of %v", c.name, out, c.want)
				break
			}
		}
	}
}

func TestBandsAreWhereThereIsMore(t *testing.T) {
	for _, c := range []struct {
		name        string
		row         []float64
		first, last int
	}{
		{"all of it", []float64{1, 2}, 0, 2},
		{"not what is next to nothing", []float64{0, 1e-12, .5, 0, -.1, 1e-12}, 2, 5},
		{"nothing", []float64{0, -1e-12}, 2, 2},
		{"no row", nil, 0, 0},
	} {
		if first, last := band(c.row); first != c.first || last != c.last {
			t.Errorf("%s: found %d to %d, expected %d to %d", c.name, first, last, c.first, c.last)
		}
	}
}
