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
    ('qty', in_measure(s.qty, i.measure), CASE WHEN kept.gross_g IS NULL AND NOT EXISTS (SELECT FROM count_part AS p
        WHERE p.workshop = @workshop AND p.item = s.item AND p.counted_on = s.date)
        THEN in_measure(kept.qty, i.measure) END),
    ('gross_g', s.gross_g::text, kept.gross_g::text),
    ('tare_g', s.tare_g::text, kept.tare_g::text),
    ('temp_c', s.temp_c::text, kept.temp_c::text)
) AS changed("column", now, recorded)
WHERE changed.now IS DISTINCT FROM changed.recorded
UNION ALL
-- What was found is told once: by a quantity, by weights, or by parts.
SELECT s.row, 'qty', 'blank, and so are the weights', '', 'a quantity, gross_g and tare_g, or rows of the count in count_parts'
FROM staged_counts AS s
WHERE s.qty IS NULL AND s.gross_g IS NULL
    AND NOT EXISTS (SELECT FROM staged_count_parts AS p WHERE p.item = s.item AND p.date = s.date)
    AND NOT EXISTS (SELECT FROM item_count AS kept
        WHERE kept.workshop = @workshop AND kept.item = s.item AND kept.counted_on = s.date)
    AND NOT EXISTS (SELECT FROM spoiled AS k WHERE k.refers = 'count_parts' AND k.code = s.item)
UNION ALL
SELECT s.row, CASE WHEN s.qty IS NULL THEN 'gross_g' ELSE 'qty' END, 'told beside its containers in count_parts',
    coalesce(in_measure(s.qty, i.measure), s.gross_g::text), 'a blank cell, since the count is the sum of its parts'
FROM staged_counts AS s JOIN all_items AS i ON i.item = s.item
WHERE (s.qty IS NOT NULL OR s.gross_g IS NOT NULL)
    AND EXISTS (SELECT FROM staged_count_parts AS p WHERE p.item = s.item AND p.date = s.date)
UNION ALL
SELECT s.row, 'qty', 'more than an item can have', in_measure(s.found, i.measure) || ' in its parts',
    'at most ' || in_measure(10000000000, i.measure)
FROM staged_counts AS s JOIN all_items AS i ON i.item = s.item
WHERE s.found > 10000000000
ORDER BY 1, 2
