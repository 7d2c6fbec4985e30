-- A key stands once.
SELECT s.row, 'week' AS "column", 'the same key as in row ' || d.first AS problem, s.week::text AS found,
    'each key once' AS expected
FROM staged_season AS s
JOIN (SELECT week, min(row) AS first FROM staged_season GROUP BY week HAVING count(*) > 1) AS d
    ON d.week = s.week
WHERE s.row <> d.first
ORDER BY 1, 2
