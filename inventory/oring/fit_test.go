package oring

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"circlip/inventory"
)

func TestGroovesThatCannotBe(t *testing.T) {
	ring, _ := Dash("014")
	for _, test := range []struct {
		rule   string
		groove inventory.Groove
	}{
		{"no root", inventory.Groove{BoreMM: 15.5, WidthMM: 2.4}},
		{"a bore as wide as the root leaves no groove", inventory.Groove{RootMM: 12.6, BoreMM: 12.6, WidthMM: 2.4}},
		{"a bore inside the root", inventory.Groove{RootMM: 15.5, BoreMM: 12.6, WidthMM: 2.4}},
		{"no width", inventory.Groove{RootMM: 12.6, BoreMM: 15.5}},
		{"what is no number", inventory.Groove{RootMM: math.NaN(), BoreMM: 15.5, WidthMM: 2.4}},
		{"a width that fills to infinity", inventory.Groove{RootMM: 12.6, BoreMM: 15.5, WidthMM: 1e-320}},
		{"a root half as wide again as the ring", inventory.Groove{RootMM: 18.7, BoreMM: 22, WidthMM: 2.4}},
	} {
		if f, known := ring.In(test.groove); known {
			t.Errorf("%s: found %+v, expected that nothing is known", test.rule, f)
		}
		if _, _, known := ring.Within(test.groove); known {
			t.Errorf("%s: limits are known", test.rule)
		}
	}
}

// Whatever the ring within its tolerances, its fit lies between the least and
// the most that are told for its size, all of them numbers.
func TestWithinHoldsEveryRing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.SampledFrom(as568).Draw(t, "size").Size
		root := size.InsideMM * rapid.Float64Range(.9, 1.4).Draw(t, "root")
		g := inventory.Groove{
			RootMM: root, BoreMM: root + 2*size.SectionMM*rapid.Float64Range(.3, 1.2).Draw(t, "depth"),
			WidthMM: size.SectionMM * rapid.Float64Range(.8, 2).Draw(t, "width"),
		}
		least, most, known := size.Within(g)
		if !known {
			t.Skip("a small ring that its tolerances stretch by more than half")
		}
		inside := size.InsideMM + size.InsideTolMM*rapid.Float64Range(-1, 1).Draw(t, "inside")
		section := size.SectionMM + size.SectionTolMM*rapid.Float64Range(-1, 1).Draw(t, "section")
		f, known := fit(inside, section, g)
		if !known || !within(least, f, most) {
			t.Fatalf("%+v lies outside %+v to %+v", f, least, most)
		}
		for _, x := range []float64{f.Stretch, f.Thinned, f.SectionMM, f.Squeeze, f.Fill} {
			if math.IsNaN(x) || math.IsInf(x, 0) {
				t.Fatalf("%+v is no fit", f)
			}
		}
	})
}

// More stretch never leaves a thicker ring, also where the two pieces of the
// formula meet; that is why the corners of the tolerances are the limits.
func TestThinnedOnlyRises(t *testing.T) {
	last := 0.0
	for x := -.05; x <= mostFitted; x += .0005 {
		now := Thinned(x)
		if now < last || now >= 1 {
			t.Fatalf("stretched by %.4f a ring is thinner by %.6f, by %.6f just before", x, now, last)
		}
		last = now
	}
}

func TestAdvisedSqueeze(t *testing.T) {
	for _, test := range []struct {
		rule    string
		section float64
		want    Range
	}{
		{"a section of the guide", 3.53, Range{.09, .23}},
		{"its metric neighbour", 3.5, Range{.09, .23}},
		{"thinner than all", 1, Range{.15, .32}},
		{"thicker than all", 12, Range{.105, .20}},
		{"between two the nearer", 2.3, Range{.10, .25}},
	} {
		if got := AdvisedSqueeze(test.section); got != test.want {
			t.Errorf("%s, %g mm: %v, expected %v", test.rule, test.section, got, test.want)
		}
	}
}
