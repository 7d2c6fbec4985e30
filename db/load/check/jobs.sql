-- A key stands once.
SELECT s.row, 'job' AS "column", 'the same key as in row ' || d.first AS problem, s.job AS found,
    'each key once' AS expected
FROM staged_jobs AS s
JOIN (SELECT job, min(row) AS first FROM staged_jobs GROUP BY job HAVING count(*) > 1) AS d
    ON d.job = s.job
WHERE s.row <> d.first
UNION ALL
SELECT s.row, 'unit', 'unknown code', s.unit, 'units'
FROM staged_jobs AS s
WHERE s.unit IS NOT NULL AND NOT EXISTS (SELECT FROM known_units AS k WHERE k.code = s.unit)
UNION ALL
SELECT s.row, 'model', 'unknown code', s.model, 'models'
FROM staged_jobs AS s
WHERE s.model IS NOT NULL AND NOT EXISTS (SELECT FROM known_models AS k WHERE k.code = s.model)
UNION ALL
SELECT s.row, 'service', 'unknown code', c.code, 'services'
FROM staged_jobs AS s CROSS JOIN unnest(s.service) AS c(code)
WHERE NOT EXISTS (SELECT FROM known_services AS k WHERE k.code = c.code)
UNION ALL
SELECT s.row, 'model', 'not the model of unit ' || u.unit, s.model, u.model || ', or a blank cell'
FROM staged_jobs AS s JOIN all_units AS u ON u.unit = s.unit JOIN all_models AS m ON m.model = u.model
WHERE s.model <> u.model
UNION ALL
SELECT s.row, 'service', 'a service for family ' || v.family, v.service,
    'services for family ' || m.family || ', which ' || m.model || ' is of'
FROM staged_jobs AS s LEFT JOIN all_units AS u ON u.unit = s.unit
JOIN all_models AS m ON m.model = coalesce(u.model, s.model)
CROSS JOIN unnest(s.service) AS c(code) JOIN all_services AS v ON v.service = c.code
WHERE v.family <> m.family
UNION ALL
-- What a job took is in the ledger on the day it was done.
SELECT s.row, 'done_on', 'what the job took is already recorded on ' || kept.done_on,
    coalesce(s.done_on::text, 'a job that is ' || s.state),
    kept.done_on || '; correct what it took by a count or a reversing movement'
FROM staged_jobs AS s
JOIN job AS kept ON kept.workshop = @workshop AND kept.job = s.job
JOIN all_jobs AS a ON a.job = s.job
WHERE kept.done_on IS DISTINCT FROM a.done_on
    AND (EXISTS (SELECT FROM job_use AS used WHERE used.workshop = kept.workshop AND used.job = kept.job)
        OR EXISTS (SELECT FROM job_act AS c WHERE (c.workshop, c.job, c.what) = (kept.workshop, kept.job, 'closed')))
UNION ALL
SELECT s.row, 'booked_on', 'after the day it was called off', s.booked_on::text, a.cancelled_on || ' or before'
FROM staged_jobs AS s JOIN all_jobs AS a ON a.job = s.job
WHERE s.booked_on > a.cancelled_on
ORDER BY 1, 2
