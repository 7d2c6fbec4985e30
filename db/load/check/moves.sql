-- A key stands once.
SELECT s.row, 'item' AS "column", 'the same key as in row ' || d.first AS problem,
    concat_ws(' / ', s.item, nullif(s.lot, ''), s.number) AS found, 'each key once' AS expected
FROM staged_moves AS s
JOIN (SELECT item, lot, number, min(row) AS first FROM staged_moves GROUP BY item, lot, number HAVING count(*) > 1) AS d
    ON d.item = s.item AND d.lot = s.lot AND d.number = s.number
WHERE s.row <> d.first
UNION ALL
SELECT s.row, 'item', 'unknown code', s.item, 'items'
FROM staged_moves AS s
WHERE NOT EXISTS (SELECT FROM known_items AS k WHERE k.code = s.item)
UNION ALL
-- What is told of a lot is the same in each of its rows, and as it is recorded.
SELECT s.row, changed."column", 'told otherwise in row ' || f.row, coalesce(changed.now, 'nothing'),
    coalesce(changed.first, 'nothing') || ', as there: a lot has one day of receipt, one expiry and one cost'
FROM staged_moves AS s
JOIN (SELECT DISTINCT ON (item, lot) * FROM staged_moves ORDER BY item, lot, row) AS f
    ON f.item = s.item AND f.lot = s.lot
CROSS JOIN LATERAL (VALUES
    ('received', s.received::text, f.received::text),
    ('expires_on', s.expires_on::text, f.expires_on::text)
) AS changed("column", now, first)
WHERE changed.now IS DISTINCT FROM changed.first
UNION ALL
SELECT s.row, 'unit_cost', 'told otherwise in row ' || f.row, 'another cost',
    'the cost as there: a lot has one day of receipt, one expiry and one cost'
FROM staged_moves AS s
JOIN (SELECT DISTINCT ON (item, lot) * FROM staged_moves ORDER BY item, lot, row) AS f
    ON f.item = s.item AND f.lot = s.lot
WHERE s.unit_cost IS DISTINCT FROM f.unit_cost
UNION ALL
SELECT s.row, changed."column", 'already recorded otherwise', coalesce(changed.now, 'nothing'),
    coalesce(changed.recorded, 'nothing') || ' as recorded, which a lot keeps'
FROM new_moves AS s
JOIN lot AS kept ON kept.workshop = @workshop AND kept.item = s.item AND kept.lot = s.lot
CROSS JOIN LATERAL (VALUES
    ('received', s.received::text, kept.received_on::text),
    ('expires_on', s.expires_on::text, nullif(kept.expires_on, 'infinity')::text)
) AS changed("column", now, recorded)
WHERE changed.now IS DISTINCT FROM changed.recorded
UNION ALL
-- What an act did stays. What rows of the book came to may differ by lot from
-- database to database: it depends on which was told first.
SELECT s.row, 'act', 'already recorded otherwise', s.act,
    'what it moved as recorded; correct it by a count or a reversing movement'
FROM staged_moves AS s
JOIN act AS a ON a.workshop = @workshop AND a.act = s.act::uuid AND a.kind <> 'import'
WHERE s.lot <> '' AND NOT EXISTS (SELECT FROM movement AS kept
    WHERE kept.workshop = @workshop AND kept.item = s.item AND kept.lot = s.lot AND kept.act = a.act
        AND (kept.from_place, kept.to_place, kept.ref, kept.qty, kept.happened_on)
            = (s."from", s."to", coalesce(s.ref, ''), s.qty, s.date))
UNION ALL
SELECT s.row, 'reverses', 'no such row to correct', s.reverses::text,
    'the number of a row of the lot with from and to the other way about, corrected once'
FROM staged_moves AS s
LEFT JOIN staged_moves AS w ON w.item = s.item AND w.lot = s.lot AND w.number = s.reverses
WHERE s.reverses IS NOT NULL
    AND ((w.qty, w."from", w."to") IS DISTINCT FROM (s.qty, s."to", s."from") OR w.reverses IS NOT NULL
        OR EXISTS (SELECT FROM staged_moves AS o
            WHERE o.item = s.item AND o.lot = s.lot AND o.reverses = s.reverses AND o.number < s.number))
UNION ALL
SELECT s.row, 'qty', 'not what the table stock says of the lot', in_measure(s.qty, i.measure),
    in_measure(o.qty, i.measure) || ', as there'
FROM new_moves AS s JOIN staged_stock AS o ON o.item = s.item AND o.lot = s.lot JOIN all_items AS i ON i.item = s.item
WHERE s."from" = 'opening' AND s.qty <> o.qty
UNION ALL
SELECT s.row, 'packs', 'packs of no order', s.packs::text, 'none, or a delivery whose ref is an order of the item'
FROM staged_moves AS s
WHERE s.packs IS NOT NULL AND (s."from" <> 'supplier'
    OR NOT EXISTS (SELECT FROM staged_orders AS o WHERE o."order" = s.ref AND o.item = s.item)
    AND NOT EXISTS (SELECT FROM order_line AS o
        WHERE o.workshop = @workshop AND o.order_code = s.ref AND o.item = s.item))
UNION ALL
SELECT s.row, 'inspected_by', 'an inspection that took no lot on', s.inspected_by,
    'one lot that goes on as another by one act, good for longer than its day, once'
FROM staged_moves AS s
WHERE s.inspected_by IS NOT NULL AND (s."from" <> 'lot' OR s.expires_on <= s.date
    OR (SELECT count(*) FROM staged_moves AS o WHERE o.act = s.act AND o.item = s.item AND o."to" = 'lot') <> 1
    OR EXISTS (SELECT FROM staged_moves AS o
        WHERE o.item = s.item AND o.lot = s.lot AND o.inspected_by IS NOT NULL AND o.number < s.number))
ORDER BY 1, 2
