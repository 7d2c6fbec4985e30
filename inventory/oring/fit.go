package oring

import (
	"math"

	"circlip/inventory"
)

// Fit is how a ring sits in a groove. Shares are of 1.
type Fit struct {
	Stretch   float64 // of the inside diameter; below 0: the ring is loose on the root
	Thinned   float64 // what the stretch takes from the section
	SectionMM float64 // as it lies in the groove
	Squeeze   float64 // of that section; below 0: the ring does not touch the bore
	Fill      float64 // of the groove
}

// mostFitted is the stretch to which a ring may be pulled for a moment to get it
// into place; held there it is no fit at all (CONFIRMED: dmhui.net,
// cutlergrp.com).
const mostFitted = .5

// In is the fit of a ring of the nominal size. The groove is taken as measured.
// It is not known where the groove cannot be, or the ring would be stretched by
// more than half.
func (s Size) In(g inventory.Groove) (Fit, bool) { return fit(s.InsideMM, s.SectionMM, g) }

// fit sets a ring on the root of a piston's groove and presses it against the
// bore. The fill compares the area of the cord before it is stretched with that
// of the groove, as gland guides do.
func fit(insideMM, sectionMM float64, g inventory.Groove) (Fit, bool) {
	depth := (g.BoreMM - g.RootMM) / 2
	if !(insideMM > 0 && sectionMM > 0 && g.RootMM > 0 && depth > 0 && g.WidthMM > 0) {
		return Fit{}, false
	}
	f := Fit{Stretch: (g.RootMM - insideMM) / insideMM}
	if f.Stretch > mostFitted {
		return Fit{}, false
	}
	f.Thinned = Thinned(f.Stretch)
	f.SectionMM = sectionMM * (1 - f.Thinned)
	f.Squeeze = (f.SectionMM - depth) / f.SectionMM
	f.Fill = math.Pi / 4 * sectionMM * sectionMM / (depth * g.WidthMM)
	return f, !math.IsInf(f.Fill, 0)
}

// Thinned is the share of its section that a ring loses by stretching, by the
// measured formula of SAE AS4716, A.2.1 (CONFIRMED second-hand, in
// github.com/bckasper3/KasperCalc). A ring that only kept its volume would lose
// 1 − 1/√(1 + stretch), which is a quarter to a half less.
func Thinned(stretch float64) float64 {
	switch x := stretch; {
	case x <= 0:
		return 0
	case x <= .03:
		return .0001 + 1.06*x - 10*x*x
	default:
		return .0056 + .59*x - .046*x*x
	}
}

// Within is the fit of rings over all that their tolerances allow: the least
// and the most of each figure. Each figure only rises or falls with the inside
// diameter and with the section, so that its extremes lie at the corners. A
// ring whose tolerances may leave no hole has none.
func (s Size) Within(g inventory.Groove) (least, most Fit, known bool) {
	least, known = s.In(g)
	most = least
	for _, inside := range []float64{s.InsideMM - s.InsideTolMM, s.InsideMM + s.InsideTolMM} {
		for _, section := range []float64{s.SectionMM - s.SectionTolMM, s.SectionMM + s.SectionTolMM} {
			corner, fits := fit(inside, section, g)
			known = known && fits
			least, most = eachOf(math.Min, least, corner), eachOf(math.Max, most, corner)
		}
	}
	if !known {
		return Fit{}, Fit{}, false
	}
	return least, most, true
}

func eachOf(pick func(a, b float64) float64, a, b Fit) Fit {
	return Fit{
		Stretch: pick(a.Stretch, b.Stretch), Thinned: pick(a.Thinned, b.Thinned), SectionMM: pick(a.SectionMM, b.SectionMM),
		Squeeze: pick(a.Squeeze, b.Squeeze), Fill: pick(a.Fill, b.Fill),
	}
}

// Range is what a figure should lie in, its ends included; shares of 1.
type Range struct{ Least, Most float64 }

// Holds reports whether the share lies in the range.
func (r Range) Holds(share float64) bool { return r.Least <= share && share <= r.Most }

// What guides advise, CONFIRMED on public pages that are not the makers of any
// ring of ours: stretch dmhui.net and cutlergrp.com, fill
// notes.edchamberlain.com and KasperCalc. They advise and do not decide.
var (
	AdvisedStretch = Range{.01, .05}
	AdvisedFill    = Range{.60, .85}
)

// What a ring must keep to whatever its tolerances do to it, from the same
// pages: never stretched beyond a tenth, never a groove filled beyond nine
// tenths. That it must not lie loose, and must touch the bore, is common
// practice, no source.
var (
	mustStretch = Range{0, .10}
	mustFill    = Range{0, .90}
	mustSqueeze = Range{0, 1}
)

// squeezes are what a gland guide (CONFIRMED second-hand, fdocument.pub) advises
// by section, from the least for a ring that moves to the most for one that does
// not: a groove of the book does not say which it is. Sections between the
// guide's five belong to the nearest; common practice, no source.
var squeezes = []struct {
	sectionMM float64
	advised   Range
}{
	{1.78, Range{.15, .32}},
	{2.62, Range{.10, .25}},
	{3.53, Range{.09, .23}},
	{5.33, Range{.085, .21}},
	{6.99, Range{.105, .20}},
}

// AdvisedSqueeze is what a ring of a section in mm should be squeezed by.
func AdvisedSqueeze(sectionMM float64) Range {
	nearest := squeezes[0]
	for _, s := range squeezes {
		if math.Abs(s.sectionMM-sectionMM) < math.Abs(nearest.sectionMM-sectionMM) {
			nearest = s
		}
	}
	return nearest.advised
}
