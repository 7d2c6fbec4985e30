package db

import (
	"context"

	"github.com/jackc/pgx/v5"

	"circlip/inventory"
)

// itemHistory is a history and what only its writing down needs.
type itemHistory struct {
	inventory.History
	measure  inventory.Measure
	recorded map[string]bool     // lots that the ledger has
	undated  map[string]bool     // lots whose life is counted from the day they were first seen
	numbers  map[string]int64    // movements of each lot that the ledger will have
	papers   map[position]papers // of moves
}

// position is a movement's place in a lot of its item.
type position struct {
	lot    string
	number int64
}

// papers are what a move's row says besides the movement: what it corrects (a
// row of the book, or where that is recorded already a movement of the ledger),
// the packs of its order that it brought, who inspected its lot and what for.
type papers struct {
	row, seq          int64
	packs             *int64
	inspectedBy, note *string
}

// histories reads what the papers and the ledger tell of some items.
func (l *loading) histories(ctx context.Context, items []string) (map[string]*itemHistory, error) {
	all := map[string]*itemHistory{}
	for _, read := range []func(context.Context, map[string]*itemHistory, pgx.NamedArgs) error{
		l.readItems, l.readLots, l.readEvents, l.readMoves, l.readStanding,
	} {
		if err := read(ctx, all, pgx.NamedArgs{"workshop": l.workshop, "items": items}); err != nil {
			return nil, err
		}
	}
	return all, nil
}

// The price is the least there is for few packs: what a lot of unknown cost
// would cost now.
const historyItemsSQL = `
SELECT i.item, i.measure, coalesce(i.material, ''), coalesce(i.shelf_months, 0), coalesce(o.price, 0), coalesce(o.pack_qty, 0),
	ARRAY(SELECT coalesce(part.material, '') FROM kit_part AS k JOIN item AS part ON part.workshop = k.workshop AND part.item = k.item
		WHERE k.workshop = i.workshop AND k.kit = i.item ORDER BY part.item),
	ARRAY(SELECT coalesce(part.shelf_months, 0) FROM kit_part AS k JOIN item AS part ON part.workshop = k.workshop AND part.item = k.item
		WHERE k.workshop = i.workshop AND k.kit = i.item ORDER BY part.item)
FROM item AS i
LEFT JOIN LATERAL (SELECT price, pack_qty FROM offer
	WHERE offer.workshop = i.workshop AND offer.item = i.item
	ORDER BY from_packs, price::numeric / pack_qty, supplier LIMIT 1) AS o ON true
WHERE i.workshop = @workshop AND i.item = ANY (@items)`

// readItems begins a history for each item: how long its lots keep and what
// they cost where nobody says.
func (l *loading) readItems(ctx context.Context, all map[string]*itemHistory, args pgx.NamedArgs) error {
	rows, err := l.tx.Query(ctx, historyItemsSQL, args)
	if err != nil {
		return err
	}
	var item inventory.Item
	var price inventory.Money
	var pack inventory.Quantity
	var materials []string
	var months []int
	_, err = pgx.ForEachRow(rows, []any{&item.Code, &item.Measure, &item.Material, &item.ShelfMonths, &price, &pack, &materials, &months}, func() error {
		var parts []inventory.Item
		for i, m := range materials {
			parts = append(parts, inventory.Item{Material: m, ShelfMonths: months[i]})
		}
		h := &itemHistory{measure: item.Measure, recorded: map[string]bool{}, undated: map[string]bool{},
			numbers: map[string]int64{}, papers: map[position]papers{}}
		h.Item, h.Life, h.UnitCost = item.Code, inventory.LifeOf(item, parts), inventory.CostOf(price, pack, item.Measure)
		all[item.Code] = h
		return nil
	})
	return err
}

// Days count from 1970-01-01; 0 stands for none, a cost of -1 for not told. Lots
// that the ledger has keep what it says; then come those of moves, then those of
// the opening shelf, then those of orders.
const historyLotsSQL = `
SELECT l.item, l.lot, 'ledger' AS teller, l.received_on - DATE '1970-01-01', coalesce(NULLIF(l.expires_on, 'infinity') - DATE '1970-01-01', 0),
	'' AS cure, coalesce(l.unit_cost, 0), 0::bigint AS price, 0::bigint AS pack_qty, coalesce(s.counted_on - DATE '1970-01-01', 0)
FROM lot AS l LEFT JOIN stock_row AS s USING (workshop, item, lot)
WHERE l.workshop = @workshop AND l.item = ANY (@items)
UNION ALL
(SELECT DISTINCT ON (m.item, m.lot) m.item, m.lot, 'moves', m.received - DATE '1970-01-01', coalesce(m.expires_on - DATE '1970-01-01', 0),
	'', coalesce(m.unit_cost, 0), 0, 0, coalesce(s.counted_on - DATE '1970-01-01', 0)
FROM new_moves AS m LEFT JOIN stock_row AS s ON s.workshop = @workshop AND s.item = m.item AND s.lot = m.lot
WHERE m.item = ANY (@items) AND m.lot <> ''
	AND NOT EXISTS (SELECT FROM lot AS l WHERE l.workshop = @workshop AND l.item = m.item AND l.lot = m.lot)
ORDER BY m.item, m.lot)
UNION ALL
SELECT s.item, s.lot, 'stock', s.counted_on - DATE '1970-01-01', coalesce(s.expires_on - DATE '1970-01-01', 0),
	coalesce(s.cure_mark, ''), coalesce(s.unit_cost, -1), 0, 0, s.counted_on - DATE '1970-01-01'
FROM stock_row AS s LEFT JOIN lot AS l USING (workshop, item, lot)
WHERE s.workshop = @workshop AND s.item = ANY (@items) AND l.lot IS NULL
	AND NOT EXISTS (SELECT FROM new_moves AS m WHERE m.item = s.item AND m.lot = s.lot)
UNION ALL
SELECT o.item, o.order_code, 'orders', o.received_on - DATE '1970-01-01', 0, '', -1, o.price, o.pack_qty, 0
FROM order_line AS o
LEFT JOIN lot AS l ON l.workshop = o.workshop AND l.item = o.item AND l.lot = o.order_code
LEFT JOIN stock_row AS s ON s.workshop = o.workshop AND s.item = o.item AND s.lot = o.order_code
WHERE o.workshop = @workshop AND o.item = ANY (@items) AND o.received_on IS NOT NULL AND l.lot IS NULL AND s.lot IS NULL
	AND NOT EXISTS (SELECT FROM new_moves AS m WHERE m.item = o.item AND o.order_code IN (m.lot, m.ref))
	AND NOT EXISTS (SELECT FROM movement AS m WHERE m.workshop = @workshop AND m.item = o.item AND m.ref = o.order_code)`

// readLots reads every lot that a row may name.
func (l *loading) readLots(ctx context.Context, all map[string]*itemHistory, args pgx.NamedArgs) error {
	rows, err := l.tx.Query(ctx, historyLotsSQL, args)
	if err != nil {
		return err
	}
	var item, teller, mark string
	var lot inventory.ShelfLot
	var price inventory.Money
	var pack inventory.Quantity
	into := []any{&item, &lot.Code, &teller, &lot.Received, &lot.Expires, &mark, &lot.UnitCost, &price, &pack, &lot.Opened}
	_, err = pgx.ForEachRow(rows, into, func() error {
		h := all[item]
		told := lot
		switch teller {
		case "ledger":
			h.recorded[lot.Code] = true
		case "stock", "orders":
			told.Expires = h.expires(lot, mark)
			told.UnitCost = costOf(h, lot, price, pack)
		}
		h.Lots = append(h.Lots, told)
		return nil
	})
	return err
}

// expires is the day from which a lot that is told of may not be used.
func (h *itemHistory) expires(lot inventory.ShelfLot, mark string) inventory.Date {
	var cure inventory.Cure
	if mark != "" {
		cure, _ = inventory.ParseCure(mark) // checked when it was staged
	}
	day := h.Life.Expires(lot.Expires, cure, lot.Received)
	if lot.Expires.IsZero() && cure.IsZero() && h.Life.ShelfMonths == 0 && !day.IsZero() {
		h.undated[lot.Code] = true
	}
	return day
}

// costOf is what a lot cost: as told, as ordered, or what the item costs now.
func costOf(h *itemHistory, lot inventory.ShelfLot, price inventory.Money, pack inventory.Quantity) inventory.UnitCost {
	switch {
	case lot.UnitCost >= 0:
		return lot.UnitCost
	case pack > 0:
		return inventory.CostOf(price, pack, h.measure)
	default:
		return h.UnitCost
	}
}

const historyEventsSQL = `
SELECT item, kind, row, act, ref, lot, day - DATE '1970-01-01', qty FROM told WHERE item = ANY (@items)`

// readEvents reads what is new.
func (l *loading) readEvents(ctx context.Context, all map[string]*itemHistory, args pgx.NamedArgs) error {
	rows, err := l.tx.Query(ctx, historyEventsSQL, args)
	if err != nil {
		return err
	}
	var item string
	var e inventory.Event
	_, err = pgx.ForEachRow(rows, []any{&item, &e.Kind, &e.Row, &e.Act, &e.Ref, &e.Lot, &e.On, &e.Qty}, func() error {
		all[item].Events = append(all[item].Events, e)
		return nil
	})
	return err
}

// What a move corrects is a row that comes with it, or one that the ledger has
// in a place of its own.
const historyMovesSQL = `
SELECT m.item, m.lot, m.number, m.act, m."from", m."to", coalesce(m.ref, ''), m.qty, m.date - DATE '1970-01-01',
	coalesce(m.reverses, 0), CASE WHEN m.reverses IS NULL THEN 0 ELSE coalesce((
		SELECT k.seq FROM staged_moves AS w JOIN movement AS k
			ON k.workshop = @workshop AND k.item = w.item AND k.lot = w.lot AND k.act = w.act::uuid
		WHERE w.item = m.item AND w.lot = m.lot AND w.number = m.reverses
			AND (k.from_place, k.to_place, k.qty) = (w."from", w."to", w.qty)
		LIMIT 1), 0) END, m.packs, m.inspected_by, m.note
FROM new_moves AS m WHERE m.lot <> '' AND m.item = ANY (@items) ORDER BY m.item, m.lot, m.number`

// readMoves reads what is told movement by movement.
func (l *loading) readMoves(ctx context.Context, all map[string]*itemHistory, args pgx.NamedArgs) error {
	rows, err := l.tx.Query(ctx, historyMovesSQL, args)
	if err != nil {
		return err
	}
	var m inventory.Posted
	var p papers
	into := []any{&m.Item, &m.Lot, &m.Number, &m.Act, &m.From, &m.To, &m.Ref, &m.Qty, &m.HappenedOn, &p.row, &p.seq,
		&p.packs, &p.inspectedBy, &p.note}
	_, err = pgx.ForEachRow(rows, into, func() error {
		h := all[m.Item]
		h.Moves = append(h.Moves, m)
		h.papers[position{m.Lot, m.Number}] = p
		p = papers{} // else the next row is read into this one's
		return nil
	})
	return err
}

const (
	historyStandingSQL = `
SELECT item, lot, from_place, to_place, ref, qty, happened_on - DATE '1970-01-01' FROM movement
WHERE workshop = @workshop AND item = ANY (@items) ORDER BY item, lot, seq`
	historyCountedSQL = `
SELECT c.item, c.counted_on - DATE '1970-01-01', c.qty FROM item_count AS c
WHERE c.workshop = @workshop AND c.item = ANY (@items)
	AND NOT EXISTS (SELECT FROM told AS t WHERE t.kind = 3 AND t.item = c.item AND t.day = c.counted_on)`
)

// readStanding reads what the ledger holds already, and the counts that it was
// told of or that come among moves.
func (l *loading) readStanding(ctx context.Context, all map[string]*itemHistory, args pgx.NamedArgs) error {
	if l.report.Created && !l.moved {
		return nil
	}
	rows, err := l.tx.Query(ctx, historyStandingSQL, args)
	if err != nil {
		return err
	}
	var m inventory.Movement
	_, err = pgx.ForEachRow(rows, []any{&m.Item, &m.Lot, &m.From, &m.To, &m.Ref, &m.Qty, &m.HappenedOn}, func() error {
		all[m.Item].Standing = append(all[m.Item].Standing, m)
		all[m.Item].numbers[m.Lot]++
		return nil
	})
	if err != nil {
		return err
	}
	if rows, err = l.tx.Query(ctx, historyCountedSQL, args); err != nil {
		return err
	}
	var c inventory.Count
	_, err = pgx.ForEachRow(rows, []any{&c.Item, &c.Date, &c.Qty}, func() error {
		all[c.Item].Counted = append(all[c.Item].Counted, c)
		return nil
	})
	return err
}
