package oring

import (
	"fmt"
	"math"
	"strings"

	"circlip/inventory"
)

// Size is a ring's inside diameter and section with what they may be off by,
// more or less, all in mm. A tolerance of 0 is not known.
type Size struct {
	InsideMM, InsideTolMM   float64
	SectionMM, SectionTolMM float64
}

// Standard is a size of AS568 by its dash number.
type Standard struct {
	Dash string // three digits
	Size
	Disputed string // what public prints of the standard differ in; empty: they agree
}

// Dash finds a size of AS568 by its dash number: "014" or "-014". The table
// holds the common sizes and not all 369; what it lacks is not found.
func Dash(number string) (Standard, bool) {
	number = strings.TrimPrefix(number, "-")
	for _, s := range as568 {
		if s.Dash == number {
			return s, true
		}
	}
	return Standard{}, false
}

// Nearest is the size of AS568 that comes nearest to the dimensions in mm: the
// one whose inside diameter and section, each counted in its tolerances, lie
// less far off; of equals the lower dash number. It is a match only if Holds
// says so.
func Nearest(insideMM, sectionMM float64) Standard {
	nearest, least := as568[0], math.Inf(1)
	for _, s := range as568 {
		if off := s.off(insideMM, sectionMM); off < least {
			nearest, least = s, off
		}
	}
	return nearest
}

// off is how far the dimensions lie from the nominal ones, in tolerances.
func (s Size) off(insideMM, sectionMM float64) float64 {
	return max(math.Abs(insideMM-s.InsideMM)/s.InsideTolMM, math.Abs(sectionMM-s.SectionMM)/s.SectionTolMM)
}

// Holds reports whether a ring of these dimensions lies within the tolerances.
func (s Size) Holds(insideMM, sectionMM float64) bool {
	return near(s.InsideMM, insideMM, s.InsideTolMM) && near(s.SectionMM, sectionMM, s.SectionTolMM)
}

// near allows for what decimal hundredths lose as floats.
func near(a, b, tolerance float64) bool { return math.Abs(a-b) <= tolerance+1e-9 }

// sectionTolerances are those of ISO 3601-1:2012 for general purposes (class
// B): up to a section, in mm, more or less. CONFIRMED on
// rtdygert.com/tolerances-for-metric-o-rings.html.
var sectionTolerances = []struct{ upTo, tolerance float64 }{
	{2.25, .08}, {3.15, .09}, {4.50, .10}, {6.30, .13}, {8.40, .15},
}

// ISO3601 gives dimensions in mm the tolerances of ISO 3601-1:2012, class B:
// on the inside diameter d ±(0.009·d^0.95 + 0.11) mm. The page named above
// prints the exponent 0.93, but its own table (CONFIRMED at seven diameters
// from 5 to 640 mm) comes from 0.95 alone. Sections above 8.4 mm are beyond the
// standard, and get no tolerances.
func ISO3601(insideMM, sectionMM float64) (Size, bool) {
	if !(insideMM > 0 && sectionMM > 0) || math.IsInf(insideMM, 0) {
		return Size{}, false
	}
	for _, s := range sectionTolerances {
		if sectionMM <= s.upTo {
			return Size{insideMM, .009*math.Pow(insideMM, .95) + .11, sectionMM, s.tolerance}, true
		}
	}
	return Size{}, false
}

// Of is the size of an O-ring that the shop keeps: that of AS568 where its
// dimensions are the nominal ones of a dash number, with that number, else as
// ISO 3601-1 has it. A ring too thick for both has a size without tolerances.
// Other kinds of items, and rings without dimensions, have no size: a quad ring
// of the same dimensions is another thing.
func Of(item inventory.Item) (Standard, bool) {
	if item.Kind != inventory.ORing || !(item.InsideMM > 0 && item.SectionMM > 0) {
		return Standard{}, false
	}
	if s := Nearest(item.InsideMM, item.SectionMM); near(s.InsideMM, item.InsideMM, 0) && near(s.SectionMM, item.SectionMM, 0) {
		return s, true
	}
	size, known := ISO3601(item.InsideMM, item.SectionMM)
	if !known {
		size = Size{InsideMM: item.InsideMM, SectionMM: item.SectionMM}
	}
	return Standard{Size: size}, true
}

// String is the size as it is told: "12.42 × 1.78 mm (AS568-014)".
func (s Standard) String() string {
	text := fmt.Sprintf("%.2f × %.2f mm", s.InsideMM, s.SectionMM)
	if s.Dash != "" {
		text += " (AS568-" + s.Dash + ")"
	}
	return text
}
