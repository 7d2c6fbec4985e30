package audit

import (
	"math"
	"testing"

	"circlip/inventory"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

// spentShop draws 600 ml of an oil of 900 kg/m³ in the 60 days after
// 1 March 2026, that is 10 ml a day, and 61 g of a grease without a density in
// the 61 days up to 1 May. Today is 20 May.
func spentShop() inventory.Shop {
	day := func(d inventory.Date) inventory.Date { return firstOfMarch + d }
	ml, g := celsius, celsius
	return inventory.Shop{
		AsOf: inventory.NewDate(2026, 5, 20),
		Items: []inventory.Item{
			{Code: "oil", Kind: inventory.Oil, Measure: inventory.Millilitre, DensityKgM3: 900},
			{Code: "grease", Kind: inventory.Grease, Measure: inventory.Gram},
			{Code: "glue", Kind: inventory.Other, Measure: inventory.Millilitre},
		},
		Openings: []inventory.Count{{Item: "oil", Date: day(0), Qty: 10_000}, {Item: "grease", Date: day(0), Qty: 5_000}, {Item: "glue", Date: day(0), Qty: 900}},
		Counts:   []inventory.Count{{Item: "oil", Date: day(60), Qty: 9_000}, {Item: "grease", Date: day(61), Qty: 4_390}, {Item: "glue", Date: day(61), Qty: 100}},
		Receipts: []inventory.Receipt{{Item: "oil", Date: day(9), Qty: 5_000}},
		Disposals: []inventory.Disposal{
			{Date: day(19), Number: 1, Stream: inventory.UsedOil, VolumeML: ml(200), WeightG: g(180)},
			{Date: day(45), Number: 1, Stream: inventory.UsedOil, VolumeML: ml(300)},
			{Date: day(46), Number: 1, Stream: inventory.UsedOil, HandedOver: true, WeightG: g(150), Carrier: "carrier"},
		},
	}
}

func TestWhatWasSpentByMonth(t *testing.T) {
	march, april, may := inventory.NewDate(2026, 3, 1), inventory.NewDate(2026, 4, 1), inventory.NewDate(2026, 5, 1)
	want := []Spent{
		// The count on 30 April closes the 60 days after 1 March: 30 of them
		// in March, 30 in April.
		{Stream: inventory.UsedOil, From: march, To: april - 1, CountedTo: april - 1, DrawnML: 300, DrawnG: 270, GatheredML: 200, GatheredG: 180, HeldML: 200, HeldG: 180},
		{Stream: inventory.UsedOil, From: april, To: may - 1, CountedTo: may - 1, DrawnML: 300, DrawnG: 270, GatheredML: 300, HandedOverG: 150, HeldML: 500, HeldG: 30, WithoutML: 1, WithoutG: 1},
		{Stream: inventory.UsedOil, From: may, To: may + 19, HeldML: 500, HeldG: 30},
		// Grease without a density has a weight alone; nothing of it was
		// gathered, and that is to be seen. No solvent is on the shelf.
		{Stream: inventory.UsedGrease, From: march, To: april - 1, CountedTo: april - 1, DrawnG: 30},
		{Stream: inventory.UsedGrease, From: april, To: may - 1, CountedTo: may - 1, DrawnG: 30},
		{Stream: inventory.UsedGrease, From: may, To: may + 19, CountedTo: may, DrawnG: 1},
	}
	if diff := cmp.Diff(want, Disposed(spentShop()), cmpopts.EquateApprox(1e-12, 0)); diff != "" {
		t.Errorf("spent (-expected +found):\n%s", diff)
	}
}

func TestWithoutARecordNothingIsToldOfSpentFluids(t *testing.T) {
	shop := spentShop()
	shop.Disposals = nil
	if got := Disposed(shop); got != nil {
		t.Errorf("found %+v, expected nothing", got)
	}
}

// A month before anything was counted, or of fluids that nobody counts, is not
// one in which nothing was drawn.
func TestOfMonthsBeforeTheFirstCountNothingIsKnown(t *testing.T) {
	shop := spentShop()
	february := inventory.NewDate(2026, 2, 3)
	shop.Disposals = append(shop.Disposals,
		inventory.Disposal{Date: february, Number: 1, Stream: inventory.UsedOil, VolumeML: celsius(90)},
		inventory.Disposal{Date: february, Number: 2, Stream: inventory.UsedSolvent, VolumeML: celsius(70)})
	for _, m := range Disposed(shop) {
		if m.To > inventory.NewDate(2026, 4, 30) {
			continue
		}
		if told := m.From >= firstOfMarch && m.Stream != inventory.UsedSolvent; told == m.CountedTo.IsZero() {
			t.Errorf("%s of %s: counted to %s, expected %v", m.Stream, m.From, m.CountedTo, told)
		}
	}
}

// However the days fall into months, all that was drawn, gathered and handed
// over stands in one of them.
func TestMonthsLoseNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shop := spentShop()
		shop.Counts, shop.Receipts, shop.Others = nil, nil, nil
		days := rapid.IntRange(1, 80)
		amount := rapid.IntRange(0, 20_000)
		for range rapid.IntRange(0, 8).Draw(t, "counts") {
			shop.Counts = append(shop.Counts, inventory.Count{Item: "oil", Date: firstOfMarch + inventory.Date(days.Draw(t, "day")), Qty: inventory.Quantity(amount.Draw(t, "counted"))})
			shop.Receipts = append(shop.Receipts, inventory.Receipt{Item: "oil", Date: firstOfMarch + inventory.Date(days.Draw(t, "day")), Qty: inventory.Quantity(amount.Draw(t, "received"))})
		}
		shop.Disposals = []inventory.Disposal{{Date: firstOfMarch, Stream: inventory.UsedOil, VolumeML: celsius(0)}}
		gathered, handed := 0.0, 0.0
		for range rapid.IntRange(0, 8).Draw(t, "records") {
			ml := float64(amount.Draw(t, "ml"))
			d := inventory.Disposal{Date: firstOfMarch + inventory.Date(days.Draw(t, "day")), Stream: inventory.UsedOil, VolumeML: &ml, HandedOver: rapid.Bool().Draw(t, "handed over")}
			shop.Disposals = append(shop.Disposals, d)
			if d.HandedOver {
				handed += ml
			} else {
				gathered += ml
			}
		}
		drawn := 0.0
		for _, p := range periodsOf(shop) {
			if p.Item == "oil" {
				drawn += inventory.Millilitre.Number(p.Drawn())
			}
		}
		var months Spent
		for _, s := range Disposed(shop) {
			if s.Stream == inventory.UsedOil {
				months.DrawnML += s.DrawnML
				months.GatheredML += s.GatheredML
				months.HandedOverML += s.HandedOverML
				months.HeldML = s.HeldML
			}
		}
		if math.Abs(months.DrawnML-drawn) > 1e-6 || months.GatheredML != gathered || months.HandedOverML != handed || months.HeldML != gathered-handed {
			t.Fatalf("months hold %g drawn, %g gathered, %g handed over, %g held; expected %g, %g, %g, %g",
				months.DrawnML, months.GatheredML, months.HandedOverML, months.HeldML, drawn, gathered, handed, gathered-handed)
		}
	})
}
