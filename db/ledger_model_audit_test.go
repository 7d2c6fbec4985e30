package db_test

import (
	"fmt"
	"maps"
	"slices"

	"pgregory.net/rapid"

	"circlip/db"
	"circlip/inventory"
)

// The model of counts that are kept, of the bill of materials and of disposals.

// dayOf is an item and a day on which it was counted.
type dayOf struct {
	item string
	on   inventory.Date
}

type modelCount struct {
	db.Count
	act int // of the model's acts, by number
}

// modelBillLine is a line of the one service that the model has.
type modelBillLine struct {
	item     string
	from, to inventory.Date // zero: always, for ever
	qty      inventory.Quantity
	need     float64
	note     string
}

// shopBill is the bill that openShop makes.
func shopBill() []modelBillLine {
	june, july := inventory.NewDate(2026, 6, 1), inventory.NewDate(2026, 7, 1)
	return []modelBillLine{
		{item: "oil", to: june, qty: 400, need: 1, note: "by the book"},
		{item: "oil", from: july, qty: 500, need: 1},
		{item: "wiper", from: day(10), qty: 2, need: 0.5},
	}
}

// countWhole is a count of an item, or of a lot, which is not kept. Nothing of it
// is kept where the shelf refuses it, as then the model is that of before.
func (m *model) countWhole(a db.Count, done *db.Done) *refused {
	for _, p := range a.Parts {
		if p.Container == "mug" && slices.Contains(m.items, a.Item) {
			return &refused{kind: "not found", item: a.Item}
		}
	}
	if no := m.count(a, done); no != nil || a.Lot != "" {
		return no
	}
	m.acts++
	for _, moved := range done.Moved {
		m.find(moved.Item, moved.Lot).moved[moved.Seq-1].act = m.acts
	}
	if m.counts == nil {
		m.counts = map[dayOf]modelCount{}
	}
	m.counts[dayOf{a.Item, a.On}] = modelCount{a, m.acts}
	return nil
}

// forget takes the count away that made a movement, unless another came after it.
func (m *model) forget(wrong modelMovement) {
	maps.DeleteFunc(m.counts, func(_ dayOf, c modelCount) bool { return wrong.act > 0 && c.act == wrong.act })
}

func (m *model) revise(a db.ReviseBill) *refused {
	if no := m.unknown(a.Item, ""); no != nil {
		return no
	}
	at := slices.IndexFunc(m.bill, func(l modelBillLine) bool {
		return l.item == a.Item && l.from <= a.From && (l.to == 0 || a.From < l.to)
	})
	switch {
	case at < 0 || a.Model != "*":
		return &refused{kind: "not found", item: a.Item}
	case m.bill[at].qty == a.Qty || m.bill[at].from == a.From:
		return &refused{kind: "conflict", item: a.Item}
	}
	next := m.bill[at]
	next.from, next.qty, next.note = a.From, a.Qty, a.Note
	m.bill = append(slices.Clone(m.bill), next)
	m.bill[at].to = a.From
	return nil
}

func (m *model) dispose(a db.Dispose, done *db.Done) {
	for _, d := range m.disposals {
		if d.Date == a.Date {
			done.Number = max(done.Number, d.Number)
		}
	}
	done.Number++
	a.Number = done.Number
	m.disposals = append(slices.Clone(m.disposals), a)
}

// auditRows are the model's part of what wholeCountsSQL and wholeBillSQL tell.
func (m *model) auditRows() (rows []string) {
	for _, c := range m.counts {
		rows = append(rows, fmt.Sprintf("%s counted on %s: %d", c.Item, c.On, c.Found))
		for _, p := range c.Parts {
			weights := " less  g at "
			if w := p.Weighed; w != nil {
				weights = fmt.Sprintf("%v less %v g at %v", w.GrossG, w.TareG, *w.TempC)
			}
			rows = append(rows, fmt.Sprintf("%s counted on %s, %d: %d in %s, %s °C, opened %s", c.Item, c.On, p.Number, p.Qty, p.Container,
				weights, written(p.OpenedOn)))
		}
	}
	for _, l := range m.bill {
		rows = append(rows, fmt.Sprintf("fork service × *: %d of %s from %s until %s, need %v, waste 0.1, %s", l.qty, l.item,
			written(l.from), written(l.to), l.need, l.note))
	}
	for _, d := range m.disposals {
		rows = append(rows, fmt.Sprintf("%s gathered on %s #%d: %v ml,  g, to , paper , ", d.Stream, d.Date, d.Number, *d.VolumeML))
	}
	return rows
}

// drawParts shares what was found out among some containers, of which one may be
// nobody's.
func drawParts(t *rapid.T, c db.Count) (parts []inventory.CountPart) {
	left := c.Found
	for n := range rapid.IntRange(0, 3).Draw(t, "containers") {
		p := inventory.CountPart{Item: c.Item, Date: c.On, Number: n + 1,
			Container: rapid.SampledFrom([]string{"", "jug", "jug", "tin", "tin", "tin", "mug"}).Draw(t, "container"),
			Qty:       inventory.Quantity(rapid.IntRange(0, int(left)).Draw(t, "in it"))}
		if rapid.Bool().Draw(t, "weighed") {
			p.Weighed = &inventory.Weighing{GrossG: 120.5 + float64(p.Qty)/8, TareG: 120.5, TempC: value(float64(rapid.IntRange(-5, 30).Draw(t, "°C")))}
			p.OpenedOn = c.On - 1
		}
		left -= p.Qty
		parts = append(parts, p)
	}
	if len(parts) > 0 {
		parts[len(parts)-1].Qty += left
	}
	return parts
}

// drawPaper is something that moves no stock.
func drawPaper(t *rapid.T) db.Act {
	if rapid.Bool().Draw(t, "spent") {
		return drawDispose(t)
	}
	return drawRevise(t)
}

// drawRevise is mostly of oil, on a few days and with a few quantities, so that
// lines are revised again.
func drawRevise(t *rapid.T) db.ReviseBill {
	return db.ReviseBill{Service: "fork service", Model: rapid.SampledFrom([]string{"*", "*", "*", "*", "*", "fork"}).Draw(t, "model"),
		Item: rapid.SampledFrom([]string{"oil", "oil", "oil", "oil", "wiper", "seal"}).Draw(t, "item"),
		Qty:  rapid.SampledFrom([]inventory.Quantity{2, 3, 400, 410, 420}).Draw(t, "qty"),
		From: rapid.Map(rapid.IntRange(9, 12), day).Draw(t, "from"), On: day(1)}
}

func drawDispose(t *rapid.T) db.Dispose {
	return db.Dispose{Disposal: inventory.Disposal{Date: drawOn.Draw(t, "on"), Stream: rapid.SampledFrom(inventory.Streams).Draw(t, "stream"),
		VolumeML: value(float64(1 + rapid.IntRange(0, 99).Draw(t, "volume")))}}
}
