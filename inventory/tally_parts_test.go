package inventory

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// bottled is the counted shop with a can for anything and a jar for grease.
func bottled() Shop {
	shop := countedShop()
	shop.Containers = []Container{{Code: "CAN", TareG: 120}, {Code: "JAR", Item: "grease", TareG: 80}, {Code: "OIL", Item: "oil", TareG: 95.5}}
	return shop
}

func TestAFluidIsCountedInItsContainers(t *testing.T) {
	part := func(number int, container string, w *Weighing, q Quantity) CountPart {
		return CountPart{Item: "oil", Date: tallyDay, Number: number, Container: container, Weighed: w, Qty: q}
	}
	own, other := &Weighing{GrossG: 955.5, TareG: 95.5}, &Weighing{GrossG: 206, TareG: 120.5}
	rows := []struct {
		rule    string
		counted []Counted
		parts   []CountPart
		unlike  []UnlikeTare
	}{
		{"a known container with its own tare", []Counted{{Item: "oil", Qty: 1000_0, Weighed: own, Container: "OIL"}}, []CountPart{part(1, "OIL", own, 1000_0)}, nil},
		{"one for anything with another tare", []Counted{{Item: "oil", Qty: 99_4, Weighed: other, Container: "CAN"}}, []CountPart{part(1, "CAN", other, 99_4)}, []UnlikeTare{{"CAN", 120.5, 120}}},
		{"one that nobody knows", []Counted{{Item: "oil", Qty: 99_4, Weighed: other}}, []CountPart{part(1, "", other, 99_4)}, nil},
		{"numbered as they stand on the sheet", []Counted{{Item: "oil", Qty: 1}, {Item: "oil", Qty: 2, Container: "CAN"}, {Item: "oil", Qty: 3}},
			[]CountPart{part(1, "", nil, 1), part(2, "CAN", nil, 2), part(3, "", nil, 3)}, nil},
		{"the day on which it was opened is kept", []Counted{{Item: "oil", Qty: 1, OpenedOn: tallyDay - 9}}, []CountPart{{Item: "oil", Date: tallyDay, Number: 1, Qty: 1, OpenedOn: tallyDay - 9}}, nil},
		{"pieces have no containers", []Counted{{Item: "WIP-35", Qty: 10}}, nil, nil},
	}
	for _, r := range rows {
		shop := bottled()
		got, err := Tally(shop, listing(shop, r.counted...))
		if err != nil || len(got.Lines) != 1 {
			t.Errorf("%s: %v, %v", r.rule, got, err)
			continue
		}
		if diff := cmp.Diff(r.parts, got.Lines[0].Parts) + cmp.Diff(r.unlike, got.Lines[0].Unlike); diff != "" {
			t.Errorf("%s: (-expected +tallied)\n%s", r.rule, diff)
		}
	}
}

// A sheet may be older than the book: what it knew need not be known any more.
func TestContainersThatAreNotTheShopsAreTold(t *testing.T) {
	rows := []struct {
		container, told string
		kind            error
	}{
		{"GONE", `the container "GONE" of oil`, ErrNotFound},
		{"JAR", "it is for grease", ErrInvalid},
	}
	for _, r := range rows {
		shop := bottled()
		got, err := Tally(shop, listing(shop, Counted{Item: "oil", Qty: 1, Container: r.container}))
		if !errors.Is(err, r.kind) || !strings.Contains(err.Error(), r.told) || len(got.Lines) > 0 {
			t.Errorf("%s: found %v, %v, expected %q and no tally", r.container, got, err, r.told)
		}
	}
}
