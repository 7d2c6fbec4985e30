package chart

import (
	"testing"

	"pgregory.net/rapid"
)

func TestStackedPartsMakeTheQuantilesAgain(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		low := rapid.Float64Range(0, 1e6).Draw(t, "low")
		high := low + rapid.Float64Range(0, 1e6).Draw(t, "more")
		clear, band := Stack(low, high)
		if clear != low || clear+band-high > 1e-6 || high-clear-band > 1e-6 {
			t.Fatalf("Stack(%v, %v) = %v, %v", low, high, clear, band)
		}
	})
}

func TestStacksNeverBeginBelowZero(t *testing.T) {
	rows := []struct {
		rule                   string
		low, high, clear, band float64
	}{
		{"a band that crosses zero is cut there", -3, 5, 0, 5},
		{"a band below zero is not there", -3, -1, 0, 0},
		{"quantiles out of order make no negative band", 5, 3, 5, 0},
		{"nothing at all", 0, 0, 0, 0},
	}
	for _, r := range rows {
		if clear, band := Stack(r.low, r.high); clear != r.clear || band != r.band {
			t.Errorf("%s: Stack(%v, %v) = %v, %v, expected %v, %v", r.rule, r.low, r.high, clear, band, r.clear, r.band)
		}
	}
}

func TestAFanDrawsTheClearPartFirst(t *testing.T) {
	c := Fan("Wiper", "ea a week", Rows{First: 26, Count: 26}, "From", "low", "band", "middle")
	want := []Layer{{Column: "low", Form: Clear}, {Column: "band", Form: Area}, {Column: "middle", Form: Line}}
	for i, l := range c.Layers {
		if l != want[i] {
			t.Errorf("layer %d: found %v, expected %v: the line lies on the band", i, l, want[i])
		}
	}
	if c.Numbers || c.Share || c.X != "From" || c.Rows != (Rows{26, 26}) || c.YTitle != "ea a week" {
		t.Errorf("found %+v", c)
	}
}

func TestAPathIsDrawnToScale(t *testing.T) {
	c := Path("Curve", "in words", Rows{0, 3}, "Stock value", "EUR", "Jobs ready", "share")
	if !c.Numbers || !c.Share || len(c.Layers) != 1 || c.Layers[0] != (Layer{Column: "Jobs ready", Form: Points}) {
		t.Errorf("found %+v", c)
	}
}

func TestTheLineStandsBeforeItsBars(t *testing.T) {
	c := Bars("services, 1 week ahead", "in words", Rows{0, 10}, "Place", "services, 1 week ahead", "times", "Flat")
	want := []Layer{{Column: "services, 1 week ahead", Form: Upright}, {Column: "Flat", Form: Line}}
	if len(c.Layers) != 2 || c.Layers[0] != want[0] || c.Layers[1] != want[1] || c.Numbers || c.X != "Place" {
		t.Errorf("found %+v", c)
	}
}
