package db

import (
	"context"

	"github.com/jackc/pgx/v5"
)

// The rules of orders, kits and lots that go on under another name.
const (
	ruleSheet      = "a sheet that was placed has its order"
	ruleDelivery   = "a delivery has its movement from the supplier"
	ruleReceived   = "an order's line has received what was delivered of it"
	ruleKit        = "what comes out of kits goes in by the same act"
	ruleGoesOn     = "stock that goes on under another lot goes on whole"
	ruleInspection = "an inspection took its lot on"
)

// Deliveries told by a book have no row of their own, so that a line may have
// received more than is told here. A reversal takes its packs back.
const deliveriesSQL = `
SELECT @sheet::text, '', '', 0::bigint, 'sheet ' || s.sheet || ' without order ' || s.order_code, 'its lines and its act'
FROM circlip.order_sheet AS s
WHERE s.workshop = @workshop
	AND NOT (EXISTS (SELECT FROM circlip.order_line AS o WHERE o.workshop = s.workshop AND o.order_code = s.order_code)
		AND EXISTS (SELECT FROM circlip.act AS a WHERE a.workshop = s.workshop AND a.act = s.act AND a.kind IN ('place', 'sheets')))
UNION ALL
SELECT @delivery, coalesce(d.item, m.item), coalesce(d.lot, m.lot), coalesce(d.seq, m.seq),
	CASE WHEN m.act IS NULL THEN d.packs || ' packs of order ' || d.order_code || ' without a movement'
		ELSE 'a movement of order ' || m.ref || ' without its packs' END, 'both'
FROM (SELECT * FROM circlip.delivery WHERE workshop = @workshop) AS d
FULL JOIN (
	SELECT m.* FROM circlip.movement AS m JOIN circlip.act AS a USING (workshop, act)
	WHERE workshop = @workshop AND m.from_place = 'supplier' AND (a.kind = 'deliver' OR a.kind = 'moves'
		AND EXISTS (SELECT FROM circlip.delivery AS d WHERE (d.workshop, d.item, d.lot, d.seq) = (m.workshop, m.item, m.lot, m.seq)))) AS m
	ON m.item = d.item AND m.lot = d.lot AND m.seq = d.seq AND m.ref = d.order_code
WHERE d.item IS NULL OR m.item IS NULL
UNION ALL
SELECT @received, '', '', 0, circlip.came(o) || ' packs of item ' || o.item || ' received of order ' || o.order_code,
	'at least ' || d.packs
FROM (
	SELECT order_code, item, sum(packs) AS packs FROM circlip.delivery AS d
	WHERE workshop = @workshop AND NOT EXISTS (SELECT FROM circlip.movement AS u
		WHERE u.workshop = d.workshop AND u.item = d.item AND u.lot = d.lot AND u.reverses = d.seq)
	GROUP BY order_code, item) AS d
JOIN circlip.order_line AS o ON o.workshop = @workshop AND o.order_code = d.order_code AND o.item = d.item
WHERE circlip.came(o) < d.packs
ORDER BY 1, 2, 3, 4, 5`

// Both ends of stock that changes its name or its nature lie in one act.
const goingOnSQL = `
SELECT @goes_on::text, item, min(lot), (array_agg(seq ORDER BY lot, seq))[1], 'a difference of ' || sum(CASE WHEN to_place = 'shelf' THEN qty ELSE -qty END),
	'as much on as off the shelf'
FROM circlip.movement WHERE workshop = @workshop AND 'lot' IN (from_place, to_place)
GROUP BY act, item HAVING sum(CASE WHEN to_place = 'shelf' THEN qty ELSE -qty END) <> 0
UNION ALL
SELECT @kit, min(item), (array_agg(lot ORDER BY item, lot))[1], (array_agg(seq ORDER BY item, lot, seq))[1], CASE WHEN bool_or(to_place = 'kit') THEN 'kits without parts' ELSE 'parts without kits' END,
	'both in one act'
FROM circlip.movement WHERE workshop = @workshop AND 'kit' IN (from_place, to_place)
GROUP BY act HAVING bool_and(to_place = 'kit') OR bool_and(from_place = 'kit')
UNION ALL
SELECT @inspection, coalesce(i.item, m.item), coalesce(i.new_lot, m.lot), coalesce(m.seq, 0),
	CASE WHEN m.act IS NULL THEN 'an inspection of lot ' || i.lot || ' without its movements' ELSE 'no inspection' END,
	'one with its movements and expiry'
FROM (SELECT * FROM circlip.inspection WHERE workshop = @workshop) AS i
FULL JOIN (
	SELECT m.item, m.lot, m.seq, m.act, m.happened_on, off.lot AS old_lot, l.expires_on
	FROM circlip.movement AS m
	JOIN circlip.act AS a ON a.workshop = m.workshop AND a.act = m.act
		AND (a.kind = 'extend' OR a.kind = 'moves' AND m.ref = 'inspected')
	JOIN circlip.lot AS l ON l.workshop = m.workshop AND l.item = m.item AND l.lot = m.lot
	LEFT JOIN circlip.movement AS off ON off.workshop = m.workshop AND off.item = m.item AND off.act = m.act
		AND off.to_place = 'lot' AND off.ref = 'inspected'
	WHERE m.workshop = @workshop AND m.from_place = 'lot') AS m
	ON m.item = i.item AND m.lot = i.new_lot AND m.act = i.act AND m.old_lot = i.lot
	AND m.happened_on = i.inspected_on AND m.expires_on = i.until
WHERE i.item IS NULL OR m.item IS NULL
ORDER BY 1, 2, 3, 4, 5`

// orders holds orders, kits and renamed lots against the movements.
func (c *checker) orders(ctx context.Context, tx pgx.Tx) error {
	for _, sql := range []string{deliveriesSQL, goingOnSQL} {
		err := c.findAll(ctx, tx, sql, pgx.NamedArgs{"workshop": c.workshop, "sheet": ruleSheet, "delivery": ruleDelivery,
			"received": ruleReceived, "goes_on": ruleGoesOn, "kit": ruleKit, "inspection": ruleInspection})
		if err != nil {
			return err
		}
	}
	return nil
}
