-- A key stands once.
SELECT s.row, 'container' AS "column", 'the same key as in row ' || d.first AS problem, s.container AS found,
    'each key once' AS expected
FROM staged_containers AS s
JOIN (SELECT container, min(row) AS first FROM staged_containers GROUP BY container HAVING count(*) > 1) AS d
    ON d.container = s.container
WHERE s.row <> d.first
UNION ALL
SELECT s.row, 'item', 'unknown code', s.item, 'items'
FROM staged_containers AS s
WHERE s.item IS NOT NULL AND NOT EXISTS (SELECT FROM known_items AS k WHERE k.code = s.item)
ORDER BY 1, 2
