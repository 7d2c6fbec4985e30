-- A key stands once.
SELECT s.row, 'order' AS "column", 'the same key as in row ' || d.first AS problem,
    concat_ws(' / ', s."order", s.item) AS found, 'each key once' AS expected
FROM staged_orders AS s
JOIN (SELECT "order", item, min(row) AS first FROM staged_orders GROUP BY "order", item HAVING count(*) > 1) AS d
    ON d."order" = s."order" AND d.item = s.item
WHERE s.row <> d.first
UNION ALL
SELECT s.row, 'item', 'unknown code', s.item, 'items'
FROM staged_orders AS s
WHERE NOT EXISTS (SELECT FROM known_items AS k WHERE k.code = s.item)
UNION ALL
SELECT s.row, 'supplier', 'unknown code', s.supplier, 'suppliers'
FROM staged_orders AS s
WHERE NOT EXISTS (SELECT FROM known_suppliers AS k WHERE k.code = s.supplier)
UNION ALL
SELECT s.row, 'supplier', 'an order without an offer', s.supplier,
    'a supplier with an offer of ' || s.item || ' in the table offers'
FROM staged_orders AS s
WHERE (s.pack_qty IS NULL OR s.price IS NULL)
    AND NOT EXISTS (SELECT FROM staged_offers AS o WHERE o.item = s.item AND o.supplier = s.supplier)
    AND NOT EXISTS (SELECT FROM offer AS kept
        WHERE kept.workshop = @workshop AND kept.item = s.item AND kept.supplier = s.supplier)
    AND EXISTS (SELECT FROM all_items AS i WHERE i.item = s.item)
    AND NOT EXISTS (SELECT FROM spoiled AS k WHERE k.refers = 'offers' AND k.code = s.item)
    AND EXISTS (SELECT FROM known_suppliers AS k WHERE k.code = s.supplier)
UNION ALL
-- What came is in the ledger; a book that is older than that says nothing of it.
SELECT s.row, changed."column", 'already recorded otherwise', coalesce(changed.now, 'nothing'),
    changed.recorded || ' as recorded; correct it by a count or a reversing movement'
FROM staged_orders AS s
JOIN order_line AS kept ON kept.workshop = @workshop
    AND kept.order_code = s."order" AND kept.item = s.item
CROSS JOIN LATERAL (VALUES
    ('received_on', s.received_on, s.received_on::text, kept.received_on::text),
    ('received_packs', s.received_on, coalesce(s.received_packs, s.packs)::text,
        CASE WHEN kept.received_on IS NOT NULL THEN coalesce(kept.received_packs, kept.packs)::text END),
    ('closed_on', s.closed_on, s.closed_on::text, kept.closed_on::text)
) AS changed("column", told, now, recorded)
WHERE changed.told IS NOT NULL AND changed.now <> changed.recorded
UNION ALL
SELECT s.row, 'pack_qty', 'already recorded otherwise', in_measure(s.pack_qty, i.measure),
    in_measure(kept.pack_qty, i.measure) || ' as recorded, in which packs of it came'
FROM staged_orders AS s
JOIN order_line AS kept ON kept.workshop = @workshop AND kept.order_code = s."order" AND kept.item = s.item
JOIN all_items AS i ON i.item = s.item
WHERE kept.received_on IS NOT NULL AND s.pack_qty <> kept.pack_qty
UNION ALL
-- One sheet is one order. Where the book, being older, is blank, it stays as it is recorded.
SELECT s.row, 'sheet', 'told otherwise in row ' || f.row, coalesce(s.sheet, 'nothing'),
    coalesce(f.sheet, 'nothing') || ', as there: an order is placed by one sheet'
FROM staged_orders AS s
JOIN (SELECT DISTINCT ON ("order") * FROM staged_orders ORDER BY "order", row) AS f ON f."order" = s."order"
WHERE s.sheet IS DISTINCT FROM f.sheet
UNION ALL
SELECT s.row, 'sheet', 'the sheet of another order in row ' || f.row, s.sheet,
    'another, or none: ' || f."order" || ' was placed by it'
FROM staged_orders AS s
JOIN (SELECT DISTINCT ON (sheet) * FROM staged_orders WHERE sheet IS NOT NULL ORDER BY sheet, row) AS f
    ON f.sheet = s.sheet
WHERE s."order" <> f."order"
UNION ALL
SELECT s.row, 'sheet', 'already recorded otherwise', s.sheet,
    kept.sheet || ' as recorded, by which the order was placed'
FROM staged_orders AS s
JOIN order_sheet AS kept ON kept.workshop = @workshop AND kept.order_code = s."order"
WHERE s.sheet <> kept.sheet
UNION ALL
SELECT s.row, 'sheet', 'already recorded otherwise', s.sheet,
    'another, or none: order ' || kept.order_code || ' was placed by it on ' || kept.placed_on
FROM staged_orders AS s
JOIN order_sheet AS kept ON kept.workshop = @workshop AND kept.sheet = s.sheet
WHERE s."order" <> kept.order_code
ORDER BY 1, 2
