package inventory

import (
	"errors"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func TestParseQuantity(t *testing.T) {
	for _, tc := range []struct {
		rule string
		m    Measure
		text string
		want Quantity
	}{
		{"pieces are whole", Each, "12", 12},
		{"zeros after the point change nothing", Each, "12.00", 12},
		{"fluids count in tenths", Millilitre, "12.5", 125},
		{"a whole number of millilitres", Millilitre, "3", 30},
		{"grams too", Gram, "0.1", 1},
		{"nothing is a quantity", Millilitre, "0", 0},
		{"zeros in front", Gram, "007.50", 75},
		{"the largest", Each, "10000000000", MaxQuantity},
	} {
		if got, err := tc.m.ParseQuantity(tc.text); err != nil || got != tc.want {
			t.Errorf("%s: %q in %s is %d, %v, want %d", tc.rule, tc.text, tc.m, got, err, tc.want)
		}
	}
	for _, tc := range []struct {
		rule string
		m    Measure
		text string
	}{
		{"no half piece", Each, "1.5"},
		{"no hundredth of a millilitre", Millilitre, "1.25"},
		{"no minus", Gram, "-1"},
		{"no plus", Gram, "+1"},
		{"no exponent", Gram, "1e3"},
		{"no comma", Millilitre, "1,5"},
		{"no thousands mark", Each, "1 000"},
		{"nothing before the point", Millilitre, ".5"},
		{"nothing after the point", Millilitre, "5."},
		{"two points", Millilitre, "1.2.3"},
		{"other digits", Each, "١٢"},
		{"no number", Each, "NaN"},
		{"more than the books hold", Each, "10000000001"},
		{"more than a machine word holds", Each, strings.Repeat("9", 40)},
		{"not empty", Each, ""},
	} {
		if got, err := tc.m.ParseQuantity(tc.text); !errors.Is(err, ErrQuantity) {
			t.Errorf("%s: %q in %s gave %d, %v", tc.rule, tc.text, tc.m, got, err)
		}
	}
}

func TestQuantitiesSurviveTheirText(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.SampledFrom([]Measure{Each, Millilitre, Gram}).Draw(t, "measure")
		q := Quantity(rapid.Int64Range(0, int64(MaxQuantity)).Draw(t, "steps"))
		text := m.Format(q)
		if back, err := m.ParseQuantity(text); err != nil || back != q {
			t.Fatalf("%d steps of %s print %q, which reads %d, %v", q, m, text, back, err)
		}
		if strings.HasSuffix(text, ".0") {
			t.Fatalf("%q ends in a zero that says nothing", text)
		}
		if q > 0 && m.Format(-q) != "-"+text {
			t.Fatalf("minus %q prints %q", text, m.Format(-q))
		}
		if math.Abs(m.Number(q)*float64(m.Steps())-float64(q)) > 1e-5 {
			t.Fatalf("%d steps are the number %g", q, m.Number(q))
		}
	})
}

func TestNearest(t *testing.T) {
	for _, tc := range []struct {
		rule   string
		m      Measure
		amount float64
		want   Quantity
	}{
		{"a little more is no step more", Millilitre, 0.31, 3},
		{"from half a step on it is one more", Millilitre, 0.25, 3},
		{"half a step less is one less", Gram, -0.05, -1},
		{"most of a piece is a piece", Each, 1.6, 2},
		{"nothing is nothing", Gram, 0, 0},
	} {
		if got := tc.m.Nearest(tc.amount); got != tc.want {
			t.Errorf("%s: %d, want %d", tc.rule, got, tc.want)
		}
	}
}

func TestRoundUp(t *testing.T) {
	for _, tc := range []struct {
		rule   string
		m      Measure
		amount float64
		want   Quantity
	}{
		{"0.1 three times is 0.3 and no more", Millilitre, 0.1 + 0.1 + 0.1, 3},
		{"a little more is one step more", Millilitre, 0.31, 4},
		{"part of a piece is a piece", Each, 1.02, 2},
		{"a whole number stays", Each, 2, 2},
		{"a fifth more of 12.5 ml", Millilitre, 12.5 * 1.2, 150},
		{"nothing is nothing", Gram, 0, 0},
	} {
		if got := tc.m.RoundUp(tc.amount); got != tc.want {
			t.Errorf("%s: %d, want %d", tc.rule, got, tc.want)
		}
	}
}
