-- A key stands once.
SELECT s.row, 'service' AS "column", 'the same key as in row ' || d.first AS problem, s.service AS found,
    'each key once' AS expected
FROM staged_services AS s
JOIN (SELECT service, min(row) AS first FROM staged_services GROUP BY service HAVING count(*) > 1) AS d
    ON d.service = s.service
WHERE s.row <> d.first
UNION ALL
SELECT s.row, 'covers', 'unknown code', c.code, 'services'
FROM staged_services AS s CROSS JOIN unnest(s.covers) AS c(code)
WHERE NOT EXISTS (SELECT FROM known_services AS k WHERE k.code = c.code)
UNION ALL
SELECT s.row, 'covers', 'covers a service of family ' || other.family, other.service,
    'services of family ' || s.family
FROM staged_services AS s CROSS JOIN unnest(s.covers) AS c(code) JOIN all_services AS other ON other.service = c.code
WHERE other.family <> s.family
UNION ALL
-- No service covers itself, however far round.
(WITH RECURSIVE cover AS (
    SELECT service, c.code FROM all_services CROSS JOIN unnest(covers) AS c(code)
), reach AS (
    SELECT service, code FROM cover
    UNION
    SELECT reach.service, cover.code FROM reach JOIN cover ON cover.service = reach.code
)
SELECT s.row, 'covers', 'the service comes to cover itself', c.code, 'services that do not cover ' || s.service
FROM staged_services AS s CROSS JOIN unnest(s.covers) AS c(code)
WHERE c.code <> s.service AND EXISTS (SELECT FROM reach WHERE reach.service = c.code AND reach.code = s.service))
ORDER BY 1, 2
