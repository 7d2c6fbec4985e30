-- A key stands once.
SELECT s.row, 'item' AS "column", 'the same key as in row ' || d.first AS problem,
    concat_ws(' / ', s.item, s.alternate) AS found, 'each key once' AS expected
FROM staged_alternates AS s
JOIN (SELECT item, alternate, min(row) AS first FROM staged_alternates GROUP BY item,
    alternate HAVING count(*) > 1) AS d
    ON d.item = s.item AND d.alternate = s.alternate
WHERE s.row <> d.first
UNION ALL
SELECT s.row, 'item', 'unknown code', s.item, 'items'
FROM staged_alternates AS s
WHERE NOT EXISTS (SELECT FROM known_items AS k WHERE k.code = s.item)
UNION ALL
SELECT s.row, 'alternate', 'unknown code', s.alternate, 'items'
FROM staged_alternates AS s
WHERE NOT EXISTS (SELECT FROM known_items AS k WHERE k.code = s.alternate)
UNION ALL
SELECT s.row, 'alternate', 'an alternate kept in ' || a.measure, s.alternate,
    'one kept in ' || i.measure || ' as ' || s.item || ' is'
FROM staged_alternates AS s JOIN all_items AS i ON i.item = s.item JOIN all_items AS a ON a.item = s.alternate
WHERE a.measure <> i.measure
ORDER BY 1, 2
