-- A key stands once.
SELECT s.row, 'unit' AS "column", 'the same key as in row ' || d.first AS problem,
    concat_ws(' / ', s.unit, s.date::text) AS found, 'each key once' AS expected
FROM staged_readings AS s
JOIN (SELECT unit, date, min(row) AS first FROM staged_readings GROUP BY unit, date HAVING count(*) > 1) AS d
    ON d.unit = s.unit AND d.date = s.date
WHERE s.row <> d.first
UNION ALL
SELECT s.row, 'unit', 'unknown code', s.unit, 'units'
FROM staged_readings AS s
WHERE NOT EXISTS (SELECT FROM known_units AS k WHERE k.code = s.unit)
UNION ALL
-- A meter only falls when it is replaced.
(WITH shown AS (
    SELECT row, unit, date, hours, reset FROM staged_readings
    UNION ALL
    SELECT NULL, kept.unit, kept.read_on, kept.hours, kept.reset FROM reading AS kept
    WHERE kept.workshop = @workshop
        AND EXISTS (SELECT FROM staged_readings AS s WHERE s.unit = kept.unit)
        AND NOT EXISTS (SELECT FROM staged_readings AS s WHERE s.unit = kept.unit AND s.date = kept.read_on)
), step AS (
    SELECT *, lag(hours) OVER earlier AS hours_before, lag(date) OVER earlier AS date_before,
        lag(row) OVER earlier AS row_before
    FROM shown WINDOW earlier AS (PARTITION BY unit ORDER BY date, row)
)
SELECT coalesce(row, row_before), 'hours',
    CASE WHEN row IS NULL THEN 'more than on ' || date ELSE 'less than on ' || date_before END,
    CASE WHEN row IS NULL THEN hours_before ELSE hours END::text,
    CASE WHEN row IS NULL THEN 'at most ' || hours
        ELSE hours_before || ' or more, or reset = yes for a replaced meter' END
FROM step
WHERE hours < hours_before AND NOT reset AND date > date_before AND (row IS NOT NULL OR row_before IS NOT NULL))
ORDER BY 1, 2
