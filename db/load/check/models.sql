-- A key stands once.
SELECT s.row, 'model' AS "column", 'the same key as in row ' || d.first AS problem, s.model AS found,
    'each key once' AS expected
FROM staged_models AS s
JOIN (SELECT model, min(row) AS first FROM staged_models GROUP BY model HAVING count(*) > 1) AS d
    ON d.model = s.model
WHERE s.row <> d.first
ORDER BY 1, 2
