package db

import (
	"cmp"
	"encoding/binary"
	"math"
	"slices"

	"github.com/jackc/pgx/v5"

	"circlip/inventory"
)

// The parts of a shop that depend on the day.

const shopUnitsSQL = `
SELECT unit, model, holder, coalesce(unit_group, ''), hours_per_week, coalesce(in_service - DATE '1970-01-01', 0),
	coalesce(retired - DATE '1970-01-01', 0)
FROM unit WHERE workshop = @workshop ORDER BY unit`

// units that will only be put into service are there: it is known. So are those
// that are retired: their past teaches.
func (r *reading) units() error {
	var u inventory.Unit
	r.modelOf = map[string]string{}
	return r.each(shopUnitsSQL, []any{&u.Code, &u.Model, &u.Holder, &u.Group, &u.HoursPerWeek, &u.InService, &u.Retired}, func() error {
		r.modelOf[u.Code] = u.Model
		r.shop.Units = append(r.shop.Units, u)
		return nil
	})
}

const shopReadingsSQL = `
SELECT unit, read_on - DATE '1970-01-01', hours, reset FROM reading WHERE workshop = @workshop AND read_on <= @as_of`

// readings are most of a shop's rows. They come as they lie, and are read from
// the wire's own bytes (text, int4, float8, bool): sorting them here and
// scanning them one variable at a time would take most of the time.
func (r *reading) readings() error {
	units := make(map[string]*inventory.Unit, len(r.shop.Units))
	for i := range r.shop.Units {
		units[r.shop.Units[i].Code] = &r.shop.Units[i]
	}
	var unit *inventory.Unit
	err := r.eachRaw(shopReadingsSQL, func(v [][]byte) {
		if unit == nil || unit.Code != string(v[0]) {
			unit = units[string(v[0])]
		}
		if unit != nil {
			unit.Readings = append(unit.Readings, inventory.Reading{
				Date:  inventory.Date(binary.BigEndian.Uint32(v[1])),
				Hours: math.Float64frombits(binary.BigEndian.Uint64(v[2])),
				Reset: v[3][0] != 0,
			})
		}
	})
	for i := range r.shop.Units {
		sortUnlessSorted(r.shop.Units[i].Readings, func(a, b inventory.Reading) int { return cmp.Compare(a.Date, b.Date) })
	}
	return err
}

// eachRaw has take look at the bytes of every row; they are its own only until
// it returns.
func (r *reading) eachRaw(sql string, take func([][]byte)) error {
	rows, err := r.tx.Query(r.ctx, sql, pgx.QueryResultFormats{pgx.BinaryFormatCode},
		pgx.NamedArgs{"workshop": r.workshop, "as_of": sqlDate(r.asOf)})
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		take(rows.RawValues())
	}
	return rows.Err()
}

// sortUnlessSorted spares what mostly lies in order already.
func sortUnlessSorted[T any](all []T, compare func(a, b T) int) {
	if !slices.IsSortedFunc(all, compare) {
		slices.SortFunc(all, compare)
	}
}

// What was done, called off or missed later was booked on the day, if it was
// known.
const shopJobsSQL = `
SELECT job, coalesce(unit, ''), coalesce(model, ''), services, coalesce(booked_on - DATE '1970-01-01', 0),
	bench_date - DATE '1970-01-01', CASE WHEN open THEN 'booked' ELSE state END,
	CASE WHEN open THEN 0 ELSE coalesce(done_on - DATE '1970-01-01', 0) END,
	CASE WHEN open THEN 0 ELSE coalesce(cancelled_on - DATE '1970-01-01', 0) END,
	CASE WHEN open THEN '' ELSE coalesce(done_by, '') END
FROM (SELECT *, state = 'booked' OR done_on > @as_of OR coalesce(cancelled_on > @as_of,
		state = 'no-show' AND bench_date > @as_of) AS open
	FROM job WHERE workshop = @workshop) AS j
WHERE coalesce(booked_on, CASE WHEN state = 'booked' THEN '-infinity'
	ELSE coalesce(done_on, cancelled_on, bench_date) END) <= @as_of
ORDER BY job`

// jobs of a known unit have its model.
func (r *reading) jobs() error {
	var j inventory.Job
	return r.each(shopJobsSQL, []any{&j.Code, &j.Unit, &j.Model, &j.Services, &j.BookedOn, &j.BenchDate, &j.State, &j.DoneOn,
		&j.CancelledOn, &j.DoneBy}, func() error {
		if j.Model == "" {
			j.Model = r.modelOf[j.Unit]
		}
		r.shop.Jobs = append(r.shop.Jobs, j)
		j.Services = nil // else the next row is read into this one's
		return nil
	})
}

const shopSetupsSQL = `
SELECT unit, job, on_day - DATE '1970-01-01', moment = 'after', air_bar, rebound_clicks, coalesce(compression, ''),
	volume_spacers, coalesce(note, '')
FROM setup WHERE workshop = @workshop AND on_day <= @as_of ORDER BY job, moment DESC`

// setups of a job are as it came, then as it left.
func (r *reading) setups() error {
	var s inventory.Setup
	return r.each(shopSetupsSQL, []any{&s.Unit, &s.Job, &s.On, &s.After, &s.AirBar, &s.ReboundClicks, &s.Compression, &s.VolumeSpacers,
		&s.Note}, func() error {
		r.shop.Setups = append(r.shop.Setups, s)
		return nil
	})
}

// usesAJob is how many rows a job has, or a little more.
const usesAJob = 8

const shopUsesSQL = `SELECT job, item, lot, qty FROM job_use WHERE workshop = @workshop`

// uses are those of the jobs that were done by the day; read as readings are.
func (r *reading) uses() error {
	done := map[string]string{}
	for _, j := range r.shop.Jobs {
		if j.State == inventory.Done {
			done[j.Code] = j.Code
		}
	}
	r.shop.Uses = make([]inventory.JobUse, 0, usesAJob*len(done))
	texts := map[string]string{} // a few items and lots stand in many rows
	text := func(b []byte) string {
		t, known := texts[string(b)]
		if !known {
			t = string(b)
			texts[t] = t
		}
		return t
	}
	err := r.eachRaw(shopUsesSQL, func(v [][]byte) {
		if job, is := done[string(v[0])]; is {
			r.shop.Uses = append(r.shop.Uses, inventory.JobUse{
				Job: job, Item: text(v[1]), Lot: text(v[2]), Qty: inventory.Quantity(binary.BigEndian.Uint64(v[3])),
			})
		}
	})
	sortUnlessSorted(r.shop.Uses, func(a, b inventory.JobUse) int {
		return cmp.Or(cmp.Compare(a.Job, b.Job), cmp.Compare(a.Item, b.Item), cmp.Compare(a.Lot, b.Lot))
	})
	return err
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

// lots that hold nothing on the day are left out.
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
SELECT order_code, item, supplier, packs, pack_qty, price, placed_on - DATE '1970-01-01', coalesce(due_on - DATE '1970-01-01', 0),
	CASE WHEN received_on <= @as_of THEN received_on - DATE '1970-01-01' ELSE 0 END,
	CASE WHEN received_on <= @as_of THEN coalesce(received_packs, packs) ELSE 0 END,
	CASE WHEN closed_on <= @as_of THEN closed_on - DATE '1970-01-01' ELSE 0 END
FROM order_line WHERE workshop = @workshop AND placed_on <= @as_of ORDER BY order_code, item`

// orders that came later had not come; one that came in part leaves the rest
// outstanding.
func (r *reading) orders() error {
	var o inventory.OrderLine
	return r.each(shopOrdersSQL, []any{&o.Order, &o.Item, &o.Supplier, &o.Packs, &o.PackQty, &o.Price, &o.PlacedOn, &o.DueOn, &o.ReceivedOn,
		&o.ReceivedPacks, &o.ClosedOn}, func() error {
		r.shop.Orders = append(r.shop.Orders, o)
		return nil
	})
}
