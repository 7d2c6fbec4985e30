-- A key stands once.
SELECT s.row, 'job' AS "column", 'the same key as in row ' || d.first AS problem, s.job || ' / ' || s.moment AS found,
    'each key once' AS expected
FROM staged_setups AS s
JOIN (SELECT job, moment, min(row) AS first FROM staged_setups GROUP BY job, moment HAVING count(*) > 1) AS d
    ON d.job = s.job AND d.moment = s.moment
WHERE s.row <> d.first
UNION ALL
SELECT s.row, 'job', 'unknown code', s.job, 'jobs'
FROM staged_setups AS s
WHERE NOT EXISTS (SELECT FROM known_jobs AS k WHERE k.code = s.job)
UNION ALL
SELECT s.row, 'unit', 'unknown code', s.unit, 'units'
FROM staged_setups AS s
WHERE s.unit IS NOT NULL AND NOT EXISTS (SELECT FROM known_units AS k WHERE k.code = s.unit)
UNION ALL
SELECT s.row, 'unit', 'not the unit of job ' || s.job, s.unit, j.unit || ', or a blank cell'
FROM staged_setups AS s JOIN all_jobs AS j ON j.job = s.job JOIN known_units AS k ON k.code = s.unit
WHERE s.unit <> j.unit
UNION ALL
SELECT s.row, 'job', 'a job on a unit that is not known', s.job, 'a job that has a unit in the table jobs'
FROM staged_setups AS s JOIN all_jobs AS j ON j.job = s.job
WHERE j.unit IS NULL
ORDER BY 1, 2
