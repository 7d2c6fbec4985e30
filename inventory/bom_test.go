package inventory

import (
	"fmt"
	"strings"
	"testing"
)

// benchShop is a small invented workshop: a fork family with three services,
// one of which covers the others, and a kit that holds a seal.
func benchShop() Shop {
	return Shop{
		Settings: Settings{Readiness: 0.97},
		Models:   []Model{{Code: "fell", Family: "fork"}, {Code: "scarp", Family: "fork"}, {Code: "rise", Family: "post"}},
		Services: []Service{
			{Code: "lower", Family: "fork"},
			{Code: "spring", Family: "fork", Covers: []string{"lower"}},
			{Code: "full", Family: "fork", Covers: []string{"spring"}},
			{Code: "clean", Family: "post"},
		},
		Items: []Item{
			{Code: "oil", Measure: Millilitre, Critical: true}, {Code: "wiper", Measure: Each, Critical: true},
			{Code: "seal", Measure: Each, Critical: true}, {Code: "kit", Measure: Each, Kind: Kit, Critical: true},
			{Code: "wipes", Measure: Each}, {Code: "oil-b", Measure: Millilitre, Critical: true},
		},
		BOM: []BOMLine{
			{Service: "lower", Model: AnyModel, Item: "oil", Qty: 200, Need: 1, Waste: 0.05},
			{Service: "lower", Model: AnyModel, Item: "wiper", Qty: 2, Need: 1, Waste: 0.02},
			{Service: "lower", Model: "scarp", Item: "oil", Qty: 150, Need: 1},
			{Service: "lower", Model: AnyModel, Item: "wipes", From: NewDate(2026, 3, 1), To: NewDate(2026, 4, 1), Qty: 1, Need: 1},
			{Service: "full", Model: AnyModel, Item: "kit", Qty: 1, Need: 1},
			{Service: "full", Model: AnyModel, Item: "seal", Qty: 1, Need: 0.5},
			{Service: "clean", Model: AnyModel, Item: "wipes", Qty: 1, Need: 1},
		},
		Kits: []KitPart{{Kit: "kit", Item: "seal", Qty: 1}},
	}
}

func TestBillLines(t *testing.T) {
	tests := []struct {
		rule     string
		services string
		model    string
		on       Date
		want     string
	}{
		{"the family's lines hold for each of its models", "lower", "fell", NewDate(2026, 2, 1), "oil 200, wiper 2"},
		{"a model's own line stands in for the family's of the same item", "lower", "scarp", NewDate(2026, 2, 1), "oil 150, wiper 2"},
		{"a line holds from its first day", "lower", "fell", NewDate(2026, 3, 1), "oil 200, wiper 2, wipes 1"},
		{"a line no longer holds on the day it ends", "lower", "fell", NewDate(2026, 4, 1), "oil 200, wiper 2"},
		{"a covered service takes nothing of its own", "lower full", "fell", NewDate(2026, 2, 1), "kit 1"},
		{"a part that lies in the job's own kit is not taken once more", "full", "fell", NewDate(2026, 2, 1), "kit 1"},
		{"a service named twice is done once", "lower lower", "fell", NewDate(2026, 2, 1), "oil 200, wiper 2"},
		{"another family's model takes none of the family's lines", "lower", "rise", NewDate(2026, 2, 1), ""},
		{"a model that the book does not know takes the family's lines", "lower", "visitor", NewDate(2026, 2, 1), "oil 200, wiper 2"},
		{"two services that do not cover each other take both", "lower clean", "visitor", NewDate(2026, 2, 1), "oil 200, wiper 2, wipes 1"},
	}
	bill := NewBill(benchShop())
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			var got []string
			for _, l := range bill.Lines(strings.Fields(test.services), test.model, test.on) {
				got = append(got, fmt.Sprintf("%s %d", l.Item, l.Qty))
			}
			if text := strings.Join(got, ", "); text != test.want {
				t.Errorf("found %q, expected %q", text, test.want)
			}
		})
	}
}

func TestCoversFollowsTheChain(t *testing.T) {
	bill := NewBill(benchShop())
	if !bill.Covers("full", "lower") {
		t.Error("full covers spring, spring covers lower: full should cover lower")
	}
	if bill.Covers("lower", "full") || bill.Covers("lower", "lower") {
		t.Error("covering goes one way, and nothing covers itself")
	}
	round := Shop{Services: []Service{{Code: "a", Covers: []string{"b"}}, {Code: "b", Covers: []string{"a"}}}}
	if NewBill(round).Covers("a", "c") {
		t.Error("a circle of covers should end, and cover nothing else")
	}
}

func TestPerJobAndSizes(t *testing.T) {
	tests := []struct {
		rule    string
		line    BOMLine
		measure Measure
		perJob  Quantity
		low     Quantity
		pMore   float64
	}{
		{"a waste of 2 % is a piece in fifty jobs, not one in each", BOMLine{Qty: 1, Waste: 0.02}, Each, 1, 1, 0.02},
		{"half a piece of waste rounds up", BOMLine{Qty: 2, Waste: 0.25}, Each, 3, 2, 0.5},
		{"a large waste still keeps what the line asks for", BOMLine{Qty: 4, Waste: 0.25}, Each, 5, 5, 0},
		{"fluids round up to 0.1 ml once", BOMLine{Qty: 150, Waste: 0.05}, Millilitre, 158, 158, 0},
		{"0.1 × 3 is 0.3 and not 0.4", BOMLine{Qty: 3}, Millilitre, 3, 3, 0},
		{"no waste is the quantity itself", BOMLine{Qty: 40}, Gram, 40, 40, 0},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			if got := test.line.PerJob(test.measure); got != test.perJob {
				t.Errorf("per job: found %d, expected %d", got, test.perJob)
			}
			low, more := test.line.Sizes(test.measure)
			if low != test.low || more < test.pMore-1e-12 || more > test.pMore+1e-12 {
				t.Errorf("sizes: found %d and %v, expected %d and %v", low, more, test.low, test.pMore)
			}
		})
	}
}

func TestFirstExpiredFirst(t *testing.T) {
	tests := []struct {
		rule string
		a, b Lot
		want int
	}{
		{"the earlier expiry goes first", Lot{Expires: 10, Received: 9}, Lot{Expires: 11, Received: 1}, -1},
		{"what does not age goes last", Lot{}, Lot{Expires: 90_000}, 1},
		{"equal expiries: the earlier receipt", Lot{Expires: 10, Received: 2}, Lot{Expires: 10, Received: 3}, -1},
		{"equal receipts: the code", Lot{Code: "a"}, Lot{Code: "b"}, -1},
		{"the same lot is no earlier than itself", Lot{Code: "a"}, Lot{Code: "a"}, 0},
	}
	for _, test := range tests {
		if got := FirstExpiredFirst(test.a, test.b); got != test.want {
			t.Errorf("%s: found %d, expected %d", test.rule, got, test.want)
		}
		if got := FirstExpiredFirst(test.b, test.a); got != -test.want {
			t.Errorf("%s, the other way round: found %d, expected %d", test.rule, got, -test.want)
		}
	}
}

func TestLotOnItsDayOfExpiry(t *testing.T) {
	l := Lot{Expires: NewDate(2026, 6, 15)}
	if !l.UsableOn(NewDate(2026, 6, 14)) || l.UsableOn(NewDate(2026, 6, 15)) {
		t.Error("a lot is good until the day before its expiry, and not on it")
	}
}
