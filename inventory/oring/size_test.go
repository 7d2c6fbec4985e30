package oring

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"circlip/inventory"
)

func TestOfAnItem(t *testing.T) {
	ring := func(inside, section float64) inventory.Item {
		return inventory.Item{Kind: inventory.ORing, InsideMM: inside, SectionMM: section}
	}
	quad := ring(12.42, 1.78)
	quad.Kind = inventory.Seal
	for _, test := range []struct {
		rule string
		item inventory.Item
		want string
	}{
		{"a size of AS568 has its number and its tolerances", ring(12.42, 1.78), "12.42 × 1.78 mm (AS568-014) ±0.13 ±0.08"},
		{"a size next to it is not that size, and has those of ISO 3601-1", ring(12.4, 1.8), "12.40 × 1.80 mm ±0.21 ±0.08"},
		{"beyond ISO 3601-1 nothing is known of tolerances", ring(200, 12), "200.00 × 12.00 mm ±0.00 ±0.00"},
		{"a thickness of 8.4 mm is still in it", ring(200, 8.4), "200.00 × 8.40 mm ±1.49 ±0.15"},
		{"a ring without dimensions has no size", ring(0, 1.78), "none"},
		{"nor has one with half of them", ring(12.42, 0), "none"},
		{"a quad ring of the same dimensions is no O-ring", quad, "none"},
		{"what is no number is no size", ring(math.NaN(), 1.78), "none"},
	} {
		got := "none"
		if s, sized := Of(test.item); sized {
			got = fmt.Sprintf("%s ±%.2f ±%.2f", s, s.InsideTolMM, s.SectionTolMM)
		}
		if got != test.want {
			t.Errorf("%s: found %s, expected %s", test.rule, got, test.want)
		}
	}
}

func TestDashNumbers(t *testing.T) {
	for _, test := range []struct{ rule, number, want string }{
		{"as it is written in the standard", "-214", "24.99 × 3.53 mm (AS568-214)"},
		{"as it is written on a bag", "214", "24.99 × 3.53 mm (AS568-214)"},
		{"three digits, since 14 may be 014 or 140", "14", "none"},
		{"a number that the standard does not have", "099", "none"},
		{"no number", "", "none"},
	} {
		got := "none"
		if s, known := Dash(test.number); known {
			got = s.String()
		}
		if got != test.want {
			t.Errorf("%s: %q found %s, expected %s", test.rule, test.number, got, test.want)
		}
	}
	if s, _ := Dash("319"); s.Disputed == "" {
		t.Error("-319 is printed with two inside diameters and not marked")
	}
}

func TestNearestDash(t *testing.T) {
	for _, test := range []struct {
		rule            string
		inside, section float64
		want            string
		holds           bool
	}{
		{"the metric size next to -014", 12.4, 1.8, "014", true},
		{"the section decides where the hole would suit two", 12.4, 2.6, "112", true},
		{"a misfit is found too, and told from a match", 13.0, 1.78, "014", false},
		{"larger than all", 5000, 7, "284", false},
	} {
		s := Nearest(test.inside, test.section)
		if s.Dash != test.want || s.Holds(test.inside, test.section) != test.holds {
			t.Errorf("%s: found -%s, a match: %t", test.rule, s.Dash, s.Holds(test.inside, test.section))
		}
	}
}

// Any ring made within the tolerances of a dash number is nearest to one that
// holds it; the nominal one to its own.
func TestNearestFindsWhatHolds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(as568).Draw(t, "size")
		if own := Nearest(s.InsideMM, s.SectionMM); own != s {
			t.Fatalf("-%s is nearest to -%s", s.Dash, own.Dash)
		}
		inside := s.InsideMM + s.InsideTolMM*rapid.Float64Range(-1, 1).Draw(t, "inside")
		section := s.SectionMM + s.SectionTolMM*rapid.Float64Range(-1, 1).Draw(t, "section")
		if found := Nearest(inside, section); !found.Holds(inside, section) {
			t.Fatalf("%.3f × %.3f lies within -%s, and is nearest to -%s, which does not hold it", inside, section, s.Dash, found.Dash)
		}
	})
}

// ISO 3601-1 has one section tolerance a band, ends included.
func TestSectionTolerances(t *testing.T) {
	for _, test := range []struct{ section, want float64 }{
		{1.0, .08}, {2.25, .08}, {2.26, .09}, {3.15, .09}, {4.5, .10}, {5.3, .13}, {6.3, .13}, {7, .15}, {8.4, .15},
	} {
		if s, known := ISO3601(50, test.section); !known || s.SectionTolMM != test.want {
			t.Errorf("a section of %g mm: ±%g, expected ±%g", test.section, s.SectionTolMM, test.want)
		}
	}
	for _, section := range []float64{8.41, 0, -1, math.NaN(), math.Inf(1)} {
		if s, known := ISO3601(50, section); known {
			t.Errorf("a section of %g mm has %+v", section, s)
		}
	}
}
