-- A key stands once.
SELECT s.row, 'item' AS "column", 'the same key as in row ' || d.first AS problem, s.item AS found,
    'each key once' AS expected
FROM staged_items AS s
JOIN (SELECT item, min(row) AS first FROM staged_items GROUP BY item HAVING count(*) > 1) AS d
    ON d.item = s.item
WHERE s.row <> d.first
UNION ALL
-- Everything kept of an item counts in its measure.
SELECT s.row, 'unit', 'the item is already kept in another unit', s.unit, kept.measure || ', or another item code'
FROM staged_items AS s
JOIN item AS kept ON kept.workshop = @workshop AND kept.item = s.item
WHERE s.unit <> kept.measure
ORDER BY 1, 2
