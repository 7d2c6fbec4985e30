-- A key stands once.
SELECT s.row, 'unit' AS "column", 'the same key as in row ' || d.first AS problem, s.unit AS found,
    'each key once' AS expected
FROM staged_units AS s
JOIN (SELECT unit, min(row) AS first FROM staged_units GROUP BY unit HAVING count(*) > 1) AS d
    ON d.unit = s.unit
WHERE s.row <> d.first
UNION ALL
SELECT s.row, 'model', 'unknown code', s.model, 'models'
FROM staged_units AS s
WHERE NOT EXISTS (SELECT FROM known_models AS k WHERE k.code = s.model)
ORDER BY 1, 2
