package db

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"circlip/inventory"
	"circlip/inventory/cost"
)

// Spending reads what cost.Of makes an account of: every lot that there was by
// the end of a day, with what was on hand of it then, and every movement up to
// it. Pass the same day as to Shop.
func (s *Store) Spending(ctx context.Context, workshop int64, asOf inventory.Date) (cost.Records, error) {
	var records cost.Records
	err := s.InSnapshot(ctx, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, `SET LOCAL jit = off`); err != nil { // compiling takes longer than reading
			return err
		}
		r := &reading{ctx: ctx, tx: tx, workshop: workshop, asOf: asOf}
		var err error
		if records.Lots, err = r.everyLot(); err != nil {
			return err
		}
		records.Moves, err = r.moves()
		return err
	})
	if err != nil {
		return cost.Records{}, fmt.Errorf("read what workshop %d spent: %w", workshop, err)
	}
	return records, nil
}

// A lot that first moved after the day was not there; what moved later is taken
// off what is on hand now.
const everyLotSQL = `
SELECT b.item, b.lot, b.received_on - DATE '1970-01-01', coalesce(NULLIF(b.expires_on, 'infinity') - DATE '1970-01-01', 0),
	l.unit_cost, b.on_hand - coalesce(later.gained, 0)
FROM balance AS b JOIN lot AS l USING (workshop, item, lot)
JOIN (SELECT item, lot, sum(CASE WHEN to_place = 'shelf' THEN qty ELSE -qty END) FILTER (WHERE happened_on > @as_of)::bigint AS gained
	FROM movement WHERE workshop = @workshop GROUP BY item, lot HAVING min(happened_on) <= @as_of) AS later USING (item, lot)
WHERE b.workshop = @workshop
ORDER BY b.item, b.lot`

func (r *reading) everyLot() (lots []inventory.Lot, err error) {
	var l inventory.Lot
	err = r.each(everyLotSQL, []any{&l.Item, &l.Code, &l.Received, &l.Expires, &l.UnitCost, &l.OnHand}, func() error {
		lots = append(lots, l)
		return nil
	})
	return lots, err
}

// The supplier is the order's for the item; an order that names it in no line
// has none.
const movesSQL = `
SELECT m.happened_on - DATE '1970-01-01', m.item, m.lot, m.place, m.ref, coalesce(o.supplier, ''), m.reverses IS NOT NULL,
	CASE WHEN m.to_place = 'shelf' THEN m.qty ELSE -m.qty END
FROM (SELECT *, CASE WHEN to_place = 'shelf' THEN from_place ELSE to_place END AS place
	FROM movement WHERE workshop = @workshop AND happened_on <= @as_of) AS m
LEFT JOIN order_line AS o ON m.place = 'supplier' AND o.workshop = m.workshop AND o.order_code = m.ref AND o.item = m.item
ORDER BY m.item, m.lot, m.happened_on, m.seq`

func (r *reading) moves() (moves []cost.Move, err error) {
	var m cost.Move
	err = r.each(movesSQL, []any{&m.On, &m.Item, &m.Lot, &m.Place, &m.Ref, &m.Supplier, &m.Undoes, &m.Qty}, func() error {
		moves = append(moves, m)
		return nil
	})
	return moves, err
}
