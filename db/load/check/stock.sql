-- A key stands once.
SELECT s.row, 'item' AS "column", 'the same key as in row ' || d.first AS problem,
    concat_ws(' / ', s.item, s.lot) AS found, 'each key once' AS expected
FROM staged_stock AS s
JOIN (SELECT item, lot, min(row) AS first FROM staged_stock GROUP BY item, lot HAVING count(*) > 1) AS d
    ON d.item = s.item AND d.lot = s.lot
WHERE s.row <> d.first
UNION ALL
SELECT s.row, 'lot', 'a lot that came with an order received on ' || o.received_on || ', after the count', s.lot,
    'another lot code, or no row: what comes after the count is put on the shelf by the table orders'
FROM staged_stock AS s
JOIN (
    SELECT "order" AS lot, item, received_on FROM staged_orders
    UNION ALL SELECT order_code, item, received_on FROM order_line AS kept
    WHERE kept.workshop = @workshop
        AND NOT EXISTS (SELECT FROM staged_orders AS n WHERE n."order" = kept.order_code AND n.item = kept.item)
) AS o ON o.item = s.item AND o.lot = s.lot
WHERE o.received_on > s.counted_on
UNION ALL
SELECT s.row, changed."column", 'already recorded otherwise', coalesce(changed.now, 'nothing'),
    coalesce(changed.recorded, 'nothing') || ' as recorded; correct it by a count or a reversing movement'
FROM staged_stock AS s
JOIN stock_row AS kept ON kept.workshop = @workshop AND kept.item = s.item AND kept.lot = s.lot
JOIN all_items AS i ON i.item = s.item
CROSS JOIN LATERAL (VALUES
    ('qty', in_measure(s.qty, i.measure), in_measure(kept.qty, i.measure)),
    ('counted_on', s.counted_on::text, kept.counted_on::text),
    ('cure_date', s.cure_date, kept.cure_mark),
    ('expires_on', s.expires_on::text, kept.expires_on::text)
) AS changed("column", now, recorded)
WHERE changed.now IS DISTINCT FROM changed.recorded
UNION ALL
SELECT s.row, 'unit_cost', 'already recorded otherwise', 'another cost', 'the cost as recorded, which a lot keeps'
FROM staged_stock AS s
JOIN stock_row AS kept ON kept.workshop = @workshop AND kept.item = s.item AND kept.lot = s.lot
WHERE s.unit_cost IS DISTINCT FROM kept.unit_cost
ORDER BY 1, 2
