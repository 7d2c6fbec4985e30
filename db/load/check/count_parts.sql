-- A key stands once.
SELECT s.row, 'item' AS "column", 'the same key as in row ' || d.first AS problem,
    concat_ws(' / ', s.item, s.date, s.number) AS found, 'each key once' AS expected
FROM staged_count_parts AS s
JOIN (SELECT item, date, number, min(row) AS first FROM staged_count_parts
    GROUP BY item, date, number HAVING count(*) > 1) AS d
    ON d.item = s.item AND d.date = s.date AND d.number = s.number
WHERE s.row <> d.first
UNION ALL
SELECT s.row, 'item', 'unknown code', s.item, 'items'
FROM staged_count_parts AS s
WHERE NOT EXISTS (SELECT FROM known_items AS k WHERE k.code = s.item)
UNION ALL
SELECT s.row, 'container', 'unknown code', s.container, 'containers'
FROM staged_count_parts AS s
WHERE s.container IS NOT NULL AND NOT EXISTS (SELECT FROM known_containers AS k WHERE k.code = s.container)
UNION ALL
SELECT s.row, 'date', 'a part of no count', s.date::text, 'a day on which the table counts has a row of ' || s.item
FROM staged_count_parts AS s
WHERE NOT EXISTS (SELECT FROM staged_counts AS c WHERE c.item = s.item AND c.date = s.date)
    AND NOT EXISTS (SELECT FROM item_count AS kept
        WHERE kept.workshop = @workshop AND kept.item = s.item AND kept.counted_on = s.date)
    AND NOT EXISTS (SELECT FROM spoiled AS k WHERE k.refers = 'counts' AND k.code = s.item)
UNION ALL
-- Parts that are recorded say what they said, whatever has become of their
-- containers: a blank tare is the one that they were reckoned with.
(WITH told AS (
    SELECT s.*, i.measure, kept.item IS NOT NULL AS counted, p.number AS recorded, p.container AS was_in,
        CASE WHEN p.gross_g IS NULL THEN p.qty END AS was_qty, p.gross_g AS was_gross, p.tare_g AS was_tare,
        p.temp_c AS was_temp, p.opened_on AS was_opened
    FROM staged_count_parts AS s JOIN all_items AS i ON i.item = s.item
    LEFT JOIN item_count AS kept ON kept.workshop = @workshop AND kept.item = s.item AND kept.counted_on = s.date
    LEFT JOIN count_part AS p ON p.workshop = @workshop AND p.item = s.item AND p.counted_on = s.date
        AND p.number = s.number
)
SELECT s.row, 'number', 'already recorded otherwise', s.number::text,
    'none of this number as recorded; correct it by a count of another day'
FROM told AS s
WHERE s.counted AND s.recorded IS NULL
UNION ALL
SELECT s.row, changed."column", 'already recorded otherwise', coalesce(changed.now, 'nothing'),
    coalesce(changed.recorded, 'nothing') || ' as recorded; correct it by a count of another day'
FROM told AS s
CROSS JOIN LATERAL (VALUES
    ('container', s.container, s.was_in),
    ('qty', in_measure(s.qty, s.measure), in_measure(s.was_qty, s.measure)),
    ('gross_g', s.gross_g::text, s.was_gross::text),
    ('tare_g', coalesce(s.tare_g, s.was_tare)::text, s.was_tare::text),
    ('temp_c', s.temp_c::text, s.was_temp::text),
    ('opened_on', s.opened_on::text, s.was_opened::text)
) AS changed("column", now, recorded)
WHERE s.recorded IS NOT NULL AND changed.now IS DISTINCT FROM changed.recorded
UNION ALL
SELECT s.row, 'container', 'a container for ' || c.item, s.container, 'one for ' || s.item || ', or for anything'
FROM told AS s JOIN all_containers AS c ON c.container = s.container JOIN all_items AS i ON i.item = c.item
WHERE NOT s.counted AND c.item <> s.item
UNION ALL
SELECT s.row, 'gross_g', 'less than the tare of ' || s.container, s.gross_g::text, s.tared || ' or more'
FROM told AS s
WHERE NOT s.counted AND s.gross_g < s.tared
UNION ALL
SELECT s.row, 'number', 'not the next of the count', s.number::text, s.next::text
FROM (SELECT *, dense_rank() OVER (PARTITION BY item, date ORDER BY number) AS next FROM told) AS s
WHERE NOT s.counted AND s.number <> s.next
    AND NOT EXISTS (SELECT FROM spoiled AS k WHERE k.refers = 'count_parts' AND k.code = s.item))
ORDER BY 1, 2
