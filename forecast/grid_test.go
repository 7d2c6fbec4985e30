package forecast

import (
	"math"
	"math/rand/v2"
	"testing"
)

// momentsAbout is the zeroth to third moments of mass at places about a point.
func momentsAbout(mass, places []float64, about float64) (m [4]float64) {
	for i, q := range mass {
		power := q
		for k := range m {
			m[k] += power
			power *= places[i] - about
		}
	}
	return m
}

func sameMoments(t *testing.T, what string, got, want [4]float64, upTo int) {
	t.Helper()
	for k := range upTo + 1 {
		if math.Abs(got[k]-want[k]) > 1e-9*(1+math.Abs(want[k])) {
			t.Errorf("%s: found moment %d %.12g, expected %.12g", what, k, got[k], want[k])
		}
	}
}

func TestCoarserCellsKeepThreeMoments(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 3))
	for _, low := range []int{-7, -2, -1, 0, 1, 12, 25} {
		for _, cols := range []int{1, 2, 3, 30} {
			in, fine := make([]float64, cols), make([]float64, cols)
			for c := range in {
				in[c], fine[c] = r.Float64(), float64(low+c)
			}
			outLow := low>>1 - 1
			out := make([]float64, (low+cols-1)>>1+3-outLow)
			coarse := make([]float64, len(out))
			for c := range coarse {
				coarse[c] = float64(coarser * (outLow + c))
			}
			coarsen(out, outLow, in, low)
			middle := float64(low) + float64(cols)/2
			sameMoments(t, "cells", momentsAbout(out, coarse, middle), momentsAbout(in, fine, middle), 3)
		}
	}
}

// Within two steps of either end of a lattice there are not four points around
// an instant; the mean stays there too.
func TestSharesOfPointsAroundAnInstantKeepItsMoments(t *testing.T) {
	cal := calendar(t, wednesday, 12, nil)
	for steps := 1; steps <= 7; steps++ {
		l := newLattice(cal, steps)
		first, last := l.points[0].restart, l.points[len(l.points)-1].restart
		for at := first; at <= last; at += 0.37 {
			from, parts := l.around(at)
			var places [4]float64
			for k := range places {
				places[k] = l.points[from+k].restart
			}
			upTo := 1
			if at > l.points[3].restart && at < l.points[len(l.points)-3].restart {
				upTo = 3
			}
			sameMoments(t, "points", momentsAbout(parts[:], places[:], at), [4]float64{1}, upTo)
		}
	}
}

// What is carried from a fine grid to a coarse one keeps its mass, and in time
// and in hours the first three moments.
func TestFrontsAreCarriedWithTheirMoments(t *testing.T) {
	cal := calendar(t, wednesday, 26, nil)
	r := rand.New(rand.NewPCG(1, 4))
	for _, c := range []struct {
		name         string
		fine, coarse int
		tracked      bool
	}{
		{"half as many steps, hours known", 4, 2, true},
		{"seven to four", 7, 4, true},
		{"the same steps", 2, 2, true},
		{"hours all at one place", 3, 2, false},
	} {
		lattices := map[int]*lattice{c.fine: newLattice(cal, c.fine)}
		if c.coarse != c.fine {
			lattices[c.coarse] = newLattice(cal, c.coarse)
		}
		w := &walk{arena: new(arena), first: &grid{lat: lattices[c.fine]}, later: &grid{lat: lattices[c.coarse]}}
		b := w.block(len(w.first.lat.points), 5, 9)
		if !c.tracked {
			b = w.block(len(w.first.lat.points), 0, 1)
		}
		for i := 5 * c.fine; i < 20*c.fine; i++ {
			for k := range b.row(i) {
				b.row(i)[k] = r.Float64()
			}
		}
		got := w.carry(b, c.tracked)
		times := func(b block, l *lattice) [4]float64 {
			var mass, places []float64
			for i := range b.rows() {
				mass, places = append(mass, total(b.row(i))), append(places, l.points[i].restart-float64(wednesday))
			}
			return momentsAbout(mass, places, 90)
		}
		sameMoments(t, c.name+", time", times(got, w.later.lat), times(b, w.first.lat), 3)
		hours := func(b block, cell float64) [4]float64 {
			mass, places := make([]float64, b.cols), make([]float64, b.cols)
			for i := range b.rows() {
				addTo(mass, b.row(i))
			}
			for k := range places {
				places[k] = float64(b.low+k) * cell
			}
			return momentsAbout(mass, places, 9)
		}
		sameMoments(t, c.name+", hours", hours(got, coarser), hours(b, 1), 3)
	}
}
