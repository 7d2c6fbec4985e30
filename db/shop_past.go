package db

import "circlip/inventory"

// The parts of a shop that depend on the day.

const shopUnitsSQL = `
SELECT unit, model, holder, coalesce(unit_group, ''), hours_per_week, coalesce(in_service - DATE '1970-01-01', 0),
	coalesce(retired - DATE '1970-01-01', 0)
FROM unit WHERE workshop = @workshop AND (retired IS NULL OR retired >= @as_of) ORDER BY unit`

func (r *reading) units() error {
	var u inventory.Unit
	return r.each(shopUnitsSQL, []any{&u.Code, &u.Model, &u.Holder, &u.Group, &u.HoursPerWeek, &u.InService, &u.Retired}, func() error {
		r.shop.Units = append(r.shop.Units, u)
		return nil
	})
}

const shopReadingsSQL = `
SELECT unit, read_on - DATE '1970-01-01', hours, reset
FROM reading WHERE workshop = @workshop AND read_on <= @as_of ORDER BY unit, read_on`

// readings go to the units in step, both being in the order of their codes.
func (r *reading) readings() error {
	var unit string
	var m inventory.Reading
	at := 0
	return r.each(shopReadingsSQL, []any{&unit, &m.Date, &m.Hours, &m.Reset}, func() error {
		for at < len(r.shop.Units) && r.shop.Units[at].Code < unit {
			at++
		}
		if at < len(r.shop.Units) && r.shop.Units[at].Code == unit {
			r.shop.Units[at].Readings = append(r.shop.Units[at].Readings, m)
		}
		return nil
	})
}

// What was done or not shown later was booked on the day, if it was known.
const shopJobsSQL = `
SELECT job, coalesce(unit, ''), coalesce(model, (SELECT u.model FROM unit AS u WHERE u.workshop = j.workshop AND u.unit = j.unit), ''),
	services, coalesce(booked_on - DATE '1970-01-01', 0), bench_date - DATE '1970-01-01',
	CASE WHEN open THEN 'booked' ELSE state END, CASE WHEN open THEN 0 ELSE coalesce(done_on - DATE '1970-01-01', 0) END
FROM (SELECT *, state = 'booked' OR done_on > @as_of OR (state = 'no-show' AND bench_date > @as_of) AS open
	FROM job WHERE workshop = @workshop) AS j
WHERE coalesce(booked_on, CASE WHEN state = 'booked' THEN '-infinity' ELSE coalesce(done_on, bench_date) END) <= @as_of
ORDER BY job`

func (r *reading) jobs() error {
	var j inventory.Job
	return r.each(shopJobsSQL, []any{&j.Code, &j.Unit, &j.Model, &j.Services, &j.BookedOn, &j.BenchDate, &j.State, &j.DoneOn}, func() error {
		r.shop.Jobs = append(r.shop.Jobs, j)
		j.Services = nil
		return nil
	})
}

const shopUsesSQL = `
SELECT u.job, u.item, u.lot, u.qty FROM job_use AS u JOIN job AS j USING (workshop, job)
WHERE u.workshop = @workshop AND j.done_on <= @as_of ORDER BY u.job, u.item, u.lot`

func (r *reading) uses() error {
	var u inventory.JobUse
	return r.each(shopUsesSQL, []any{&u.Job, &u.Item, &u.Lot, &u.Qty}, func() error {
		r.shop.Uses = append(r.shop.Uses, u)
		return nil
	})
}

// What is on hand now, less what came and went after the day.
const shopLotsSQL = `
SELECT b.item, b.lot, b.received_on - DATE '1970-01-01', coalesce(NULLIF(b.expires_on, 'infinity') - DATE '1970-01-01', 0),
	coalesce(l.unit_cost, 0), b.on_hand - coalesce(later.gained, 0)
FROM balance AS b JOIN lot AS l USING (workshop, item, lot)
LEFT JOIN (SELECT item, lot, sum(CASE WHEN to_place = 'shelf' THEN qty ELSE -qty END)::bigint AS gained
	FROM movement WHERE workshop = @workshop AND happened_on > @as_of GROUP BY item, lot) AS later USING (item, lot)
WHERE b.workshop = @workshop AND b.on_hand - coalesce(later.gained, 0) > 0
ORDER BY b.item, b.lot`

func (r *reading) lots() error {
	var l inventory.Lot
	return r.each(shopLotsSQL, []any{&l.Item, &l.Code, &l.Received, &l.Expires, &l.UnitCost, &l.OnHand}, func() error {
		r.shop.Lots = append(r.shop.Lots, l)
		return nil
	})
}

const shopSetAsideSQL = `
SELECT item, lot, job, sum(qty)::bigint FROM set_aside
WHERE workshop = @workshop AND happened_on <= @as_of GROUP BY item, lot, job HAVING sum(qty) > 0 ORDER BY item, lot, job`

// setAside goes to the lots in step.
func (r *reading) setAside() error {
	var item, lot string
	var s inventory.SetAside
	at := 0
	return r.each(shopSetAsideSQL, []any{&item, &lot, &s.Job, &s.Qty}, func() error {
		for at < len(r.shop.Lots) && (r.shop.Lots[at].Item < item || (r.shop.Lots[at].Item == item && r.shop.Lots[at].Code < lot)) {
			at++
		}
		if at < len(r.shop.Lots) && r.shop.Lots[at].Item == item && r.shop.Lots[at].Code == lot {
			r.shop.Lots[at].SetAside = append(r.shop.Lots[at].SetAside, s)
		}
		return nil
	})
}

const shopOrdersSQL = `
SELECT order_code, item, supplier, packs, pack_qty, placed_on - DATE '1970-01-01', coalesce(due_on - DATE '1970-01-01', 0),
	CASE WHEN received_on <= @as_of THEN received_on - DATE '1970-01-01' ELSE 0 END,
	CASE WHEN received_on <= @as_of THEN coalesce(received_packs, packs) ELSE 0 END
FROM order_line WHERE workshop = @workshop AND placed_on <= @as_of ORDER BY order_code, item`

func (r *reading) orders() error {
	var o inventory.OrderLine
	return r.each(shopOrdersSQL, []any{&o.Order, &o.Item, &o.Supplier, &o.Packs, &o.PackQty, &o.PlacedOn, &o.DueOn, &o.ReceivedOn,
		&o.ReceivedPacks}, func() error {
		r.shop.Orders = append(r.shop.Orders, o)
		return nil
	})
}

const shopCountsSQL = `
SELECT item, counted_on - DATE '1970-01-01', qty FROM item_count
WHERE workshop = @workshop AND counted_on <= @as_of ORDER BY item, counted_on`

func (r *reading) counts() error {
	return r.countsOf(shopCountsSQL, &r.shop.Counts)
}

const shopOpeningsSQL = `
SELECT item, max(counted_on) - DATE '1970-01-01', sum(qty)::bigint FROM stock_row
WHERE workshop = @workshop AND counted_on <= @as_of GROUP BY item ORDER BY item`

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

const shopReceiptsSQL = `
SELECT item, happened_on - DATE '1970-01-01', sum(CASE WHEN to_place = 'shelf' THEN qty ELSE -qty END)::bigint FROM movement
WHERE workshop = @workshop AND 'supplier' IN (from_place, to_place) AND happened_on <= @as_of
GROUP BY item, happened_on ORDER BY item, happened_on`

func (r *reading) receipts() error {
	var c inventory.Receipt
	return r.each(shopReceiptsSQL, []any{&c.Item, &c.Date, &c.Qty}, func() error {
		r.shop.Receipts = append(r.shop.Receipts, c)
		return nil
	})
}
