-- A key stands once.
SELECT s.row, 'item' AS "column", 'the same key as in row ' || d.first AS problem, s.item AS found,
    'each key once' AS expected
FROM staged_grooves AS s
JOIN (SELECT item, min(row) AS first FROM staged_grooves GROUP BY item HAVING count(*) > 1) AS d ON d.item = s.item
WHERE s.row <> d.first
UNION ALL
SELECT s.row, 'item', 'unknown code', s.item, 'items'
FROM staged_grooves AS s
WHERE NOT EXISTS (SELECT FROM known_items AS k WHERE k.code = s.item)
ORDER BY 1, 2
