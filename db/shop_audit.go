package db

import (
	"cmp"
	"slices"

	"circlip/inventory"
)

// The parts of a shop that an audit holds against each other: what was counted,
// what came and went on record, what was gathered of spent fluids.

const shopCountsSQL = `
SELECT item, counted_on - DATE '1970-01-01', qty FROM item_count
WHERE workshop = @workshop AND counted_on <= @as_of ORDER BY item, counted_on`

func (r *reading) counts() error {
	return r.countsOf(shopCountsSQL, &r.shop.Counts)
}

// The opening shelf of an item is its lots of the first day on which any was
// written down. What was written down later came on its day: use and counts lie
// between.
const shopOpeningsSQL = `
SELECT item, counted_on - DATE '1970-01-01', sum(qty)::bigint
FROM (SELECT item, counted_on, qty, min(counted_on) OVER (PARTITION BY item) AS opened_on FROM stock_row WHERE workshop = @workshop) AS s
WHERE counted_on = opened_on AND counted_on <= @as_of GROUP BY item, counted_on ORDER BY item`

func (r *reading) openings() error {
	return r.countsOf(shopOpeningsSQL, &r.shop.Openings)
}

func (r *reading) countsOf(sql string, to *[]inventory.Count) error {
	var c inventory.Count
	return r.each(sql, []any{&c.Item, &c.Date, &c.Qty}, func() error {
		*to = append(*to, c)
		return nil
	})
}

// A count that was weighed as a whole is its only part.
const shopCountPartsSQL = `
SELECT item, counted_on - DATE '1970-01-01', number, coalesce(container, ''), qty, gross_g, coalesce(tare_g, 0), temp_c,
	coalesce(opened_on - DATE '1970-01-01', 0)
FROM count_part WHERE workshop = @workshop AND counted_on <= @as_of
UNION ALL
SELECT item, counted_on - DATE '1970-01-01', 0, '', qty, gross_g, tare_g, temp_c, 0
FROM item_count WHERE workshop = @workshop AND counted_on <= @as_of AND gross_g IS NOT NULL
ORDER BY 1, 2, 3`

func (r *reading) countParts() error {
	var p inventory.CountPart
	var gross, temp *float64
	var tare float64
	into := []any{&p.Item, &p.Date, &p.Number, &p.Container, &p.Qty, &gross, &tare, &temp, &p.OpenedOn}
	return r.each(shopCountPartsSQL, into, func() error {
		p.Weighed = nil
		if gross != nil {
			p.Weighed = &inventory.Weighing{GrossG: *gross, TareG: tare, TempC: temp}
		}
		r.shop.CountParts = append(r.shop.CountParts, p)
		return nil
	})
}

// What came onto the shelf less what left it, but for four places: jobs tell of
// their own use, a difference is what a count found, the opening shelf is a
// count (but for lots that were written down later), and a lot that goes on
// under another code stays. What it was for is NULL where a supplier was at the
// other end.
const shopMovesSQL = `
SELECT item, happened_on - DATE '1970-01-01',
	CASE WHEN 'supplier' IN (from_place, to_place) THEN NULL WHEN 'waste' IN (from_place, to_place) THEN ref ELSE '' END AS what_for,
	sum(CASE to_place WHEN 'shelf' THEN qty ELSE -qty END)::bigint
FROM movement AS m WHERE workshop = @workshop AND happened_on <= @as_of
	AND from_place NOT IN ('job', 'difference', 'lot') AND to_place NOT IN ('job', 'difference', 'opening', 'lot')
	AND (from_place <> 'opening' OR happened_on >
		(SELECT min(s.counted_on) FROM stock_row AS s WHERE s.workshop = m.workshop AND s.item = m.item))
GROUP BY item, happened_on, what_for ORDER BY item, happened_on`

// onRecord are receipts, where returns to a supplier count against what came on
// their day; what jobs spoiled; and whatever else there is.
func (r *reading) onRecord() error {
	var m inventory.OtherMove
	var whatFor *string
	err := r.each(shopMovesSQL, []any{&m.Item, &m.Date, &whatFor, &m.Qty}, func() error {
		switch {
		case whatFor == nil:
			r.shop.Receipts = append(r.shop.Receipts, inventory.Receipt(m))
		case m.Qty == 0: // done and undone on one day
		case r.hasJob(*whatFor):
			r.shop.Spoils = append(r.shop.Spoils, inventory.Spoiled{Job: *whatFor, Item: m.Item, Date: m.Date, Qty: -m.Qty})
		default:
			r.addOther(m)
		}
		return nil
	})
	slices.SortFunc(r.shop.Spoils, func(a, b inventory.Spoiled) int {
		return cmp.Or(cmp.Compare(a.Job, b.Job), cmp.Compare(a.Item, b.Item), cmp.Compare(a.Date, b.Date))
	})
	return err
}

// hasJob reports whether the workshop has a job of this code.
func (r *reading) hasJob(code string) bool {
	_, known := slices.BinarySearchFunc(r.shop.Jobs, code, func(j inventory.Job, code string) int { return cmp.Compare(j.Code, code) })
	return known
}

// addOther sums up what happened to an item on a day; moves come in that order.
func (r *reading) addOther(m inventory.OtherMove) {
	if last := len(r.shop.Others) - 1; last >= 0 && r.shop.Others[last].Item == m.Item && r.shop.Others[last].Date == m.Date {
		r.shop.Others[last].Qty += m.Qty
		return
	}
	r.shop.Others = append(r.shop.Others, m)
}

const shopDisposalsSQL = `
SELECT happened_on - DATE '1970-01-01', number, stream, moment = 'handed-over', volume_ml, weight_g, coalesce(carrier, ''),
	coalesce(document, ''), coalesce(note, '')
FROM disposal WHERE workshop = @workshop AND happened_on <= @as_of ORDER BY happened_on, number`

func (r *reading) disposals() error {
	var d inventory.Disposal
	return r.each(shopDisposalsSQL, []any{&d.Date, &d.Number, &d.Stream, &d.HandedOver, &d.VolumeML, &d.WeightG, &d.Carrier,
		&d.Document, &d.Note}, func() error {
		r.shop.Disposals = append(r.shop.Disposals, d)
		return nil
	})
}
