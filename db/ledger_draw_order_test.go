package db_test

import (
	"slices"

	"pgregory.net/rapid"

	"circlip/db"
	"circlip/inventory"
)

// Random acts on orders, kits and lots that go on under another name.

var (
	drawOrder = rapid.SampledFrom([]string{"O1", "O2", "O3"})
	drawSheet = rapid.SampledFrom([]string{"", "", "S1", "S2", "S3", "S4"})
	drawGood  = rapid.SampledFrom([]string{"seal", "seal", "seal", "wiper", "wiper", "oil"})
)

func drawPlace(t *rapid.T) db.Place {
	p := db.Place{Sheet: drawSheet.Draw(t, "sheet"), Order: drawOrder.Draw(t, "order"), On: drawOn.Draw(t, "on"),
		Supplier: rapid.SampledFrom([]string{"north", "north", "north", "south", "south", "east"}).Draw(t, "supplier")}
	for _, item := range rapid.SliceOfNDistinct(drawItem, 1, 2, rapid.ID).Draw(t, "items") {
		l := db.PlaceLine{Item: item, Packs: rapid.IntRange(1, 3).Draw(t, "packs"), PackQty: 4, Price: 250}
		if rapid.Bool().Draw(t, "due known") {
			l.Due = p.On + inventory.Date(rapid.IntRange(0, 5).Draw(t, "due"))
		}
		p.Lines = append(p.Lines, l)
	}
	return p
}

// drawDeliver mostly names what was ordered.
func (r *ledgerRun) drawDeliver(t *rapid.T) db.Deliver {
	d := db.Deliver{Order: drawOrder.Draw(t, "order"), On: drawOn.Draw(t, "on"), Closed: rapid.IntRange(0, 7).Draw(t, "closed") == 0}
	items := drawGood
	if rapid.IntRange(0, 9).Draw(t, "any") > 0 {
		if len(r.model.orders) == 0 {
			t.Skip("nothing is ordered yet")
		}
		o := rapid.SampledFrom(r.model.orders).Draw(t, "of")
		d.Order = o.code
		items = rapid.Map(rapid.SampledFrom(o.lines), func(l inventory.OrderLine) string { return l.Item })
		d.On = max(d.On, o.on-1)
	}
	least := 1
	if d.Closed {
		least = 0
	}
	for range rapid.IntRange(least, 2).Draw(t, "lines") {
		l := db.DeliverLine{Item: items.Draw(t, "item"), Packs: rapid.IntRange(least, 3).Draw(t, "packs"),
			Lot: rapid.SampledFrom([]string{"", "", "", "A"}).Draw(t, "lot"), Expires: rapid.SampledFrom([]inventory.Date{0, day(8)}).Draw(t, "expires")}
		if l.Packs > 0 {
			l.Qty = inventory.Quantity(l.Packs*4 - rapid.IntRange(-1, 3).Draw(t, "less"))
		}
		d.Lines = append(d.Lines, l)
	}
	return d
}

func drawKits(t *rapid.T) db.Receive {
	r := drawReceive(t)
	r.Item = "kit"
	return r
}

func drawOpenKit(t *rapid.T) db.OpenKit {
	k := db.OpenKit{Kit: "kit", Lot: drawMay.Draw(t, "lot"), Qty: drawQty.Draw(t, "kits"), On: drawOn.Draw(t, "on")}
	if rapid.IntRange(0, 9).Draw(t, "no kit") == 0 {
		k.Kit = drawItem.Draw(t, "kit")
	}
	for _, item := range rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"seal", "wiper", "seal", "wiper", "oil"}), 1, 2, rapid.ID).Draw(t, "parts") {
		k.Parts = append(k.Parts, db.KitShare{Item: item, Qty: inventory.Quantity(rapid.SampledFrom([]int{1, 1, 1, 2}).Draw(t, "qty")),
			Expires: rapid.SampledFrom([]inventory.Date{0, 0, day(7), day(18)}).Draw(t, "expires"), UnitCost: 300})
	}
	return k
}

// aLot is mostly one that there is.
func (r *ledgerRun) aLot(t *rapid.T) (item, lot string) {
	if len(r.model.lots) > 0 && rapid.IntRange(0, 9).Draw(t, "any") > 0 {
		l := rapid.SampledFrom(r.model.lots).Draw(t, "of")
		return l.item, l.code
	}
	return drawItem.Draw(t, "item"), drawLot.Draw(t, "lot")
}

func (r *ledgerRun) drawExtend(t *rapid.T) db.Extend {
	e := db.Extend{By: "Ann", Note: "no cracks", On: drawOn.Draw(t, "on"), Until: day(rapid.IntRange(13, 30).Draw(t, "until"))}
	e.Item, e.Lot = r.aLot(t)
	if kept := slices.DeleteFunc(slices.Clone(r.model.lots), func(l *modelLot) bool { return l.reserved() == 0 }); len(kept) > 0 && rapid.Bool().Draw(t, "kept") {
		l := rapid.SampledFrom(kept).Draw(t, "of")
		e.Item, e.Lot = l.item, l.code
	}
	return e
}

func (r *ledgerRun) drawOpenContainer(t *rapid.T) db.OpenContainer {
	o := db.OpenContainer{Qty: drawQty.Draw(t, "qty"), On: drawOn.Draw(t, "on"), Until: day(rapid.IntRange(13, 30).Draw(t, "until"))}
	o.Item, o.Lot = r.aLot(t)
	return o
}
