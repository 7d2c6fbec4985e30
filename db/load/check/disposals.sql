-- A key stands once.
SELECT s.row, 'date' AS "column", 'the same key as in row ' || d.first AS problem,
    concat_ws(' / ', s.date, s.number) AS found, 'each key once' AS expected
FROM staged_disposals AS s
JOIN (SELECT date, number, min(row) AS first FROM staged_disposals GROUP BY date, number HAVING count(*) > 1) AS d
    ON d.date = s.date AND d.number = s.number
WHERE s.row <> d.first
UNION ALL
-- A disposal of another kind is another disposal, not a correction of this one.
SELECT s.row, changed."column", 'already recorded otherwise', changed.now,
    changed.recorded || ' as recorded; give another disposal the next number of the day'
FROM staged_disposals AS s
JOIN disposal AS kept ON kept.workshop = @workshop AND kept.happened_on = s.date AND kept.number = s.number
CROSS JOIN LATERAL (VALUES
    ('stream', s.stream, kept.stream),
    ('moment', s.moment, kept.moment)
) AS changed("column", now, recorded)
WHERE changed.now <> changed.recorded
UNION ALL
(WITH numbered AS (
    SELECT row, date, number FROM staged_disposals
    UNION ALL
    SELECT NULL, kept.happened_on, kept.number FROM disposal AS kept
    WHERE kept.workshop = @workshop AND NOT EXISTS (SELECT FROM staged_disposals AS s
        WHERE s.date = kept.happened_on AND s.number = kept.number)
)
SELECT s.row, 'number', 'not the next of the day', s.number::text, s.next::text
FROM (SELECT *, dense_rank() OVER (PARTITION BY date ORDER BY number) AS next FROM numbered) AS s
WHERE s.row IS NOT NULL AND s.number <> s.next
    AND NOT EXISTS (SELECT FROM spoiled AS k WHERE k.refers = 'disposals'))
ORDER BY 1, 2
