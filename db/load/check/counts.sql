-- A key stands once.
SELECT s.row, 'item' AS "column", 'the same key as in row ' || d.first AS problem,
    concat_ws(' / ', s.item, s.date::text) AS found, 'each key once' AS expected
FROM staged_counts AS s
JOIN (SELECT item, date, min(row) AS first FROM staged_counts GROUP BY item, date HAVING count(*) > 1) AS d
    ON d.item = s.item AND d.date = s.date
WHERE s.row <> d.first
UNION ALL
SELECT s.row, 'item', 'unknown code', s.item, 'items'
FROM staged_counts AS s
WHERE NOT EXISTS (SELECT FROM known_items AS k WHERE k.code = s.item)
UNION ALL
SELECT s.row, changed."column", 'already recorded otherwise', coalesce(changed.now, 'nothing'),
    coalesce(changed.recorded, 'nothing') || ' as recorded; correct it by a count of another day'
FROM staged_counts AS s
JOIN item_count AS kept ON kept.workshop = @workshop AND kept.item = s.item AND kept.counted_on = s.date
JOIN all_items AS i ON i.item = s.item
CROSS JOIN LATERAL (VALUES
    ('qty', in_measure(s.qty, i.measure), CASE WHEN kept.gross_g IS NULL THEN in_measure(kept.qty, i.measure) END),
    ('gross_g', s.gross_g::text, kept.gross_g::text),
    ('tare_g', s.tare_g::text, kept.tare_g::text),
    ('temp_c', s.temp_c::text, kept.temp_c::text)
) AS changed("column", now, recorded)
WHERE changed.now IS DISTINCT FROM changed.recorded
ORDER BY 1, 2
