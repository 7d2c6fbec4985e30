-- A key stands once.
SELECT s.row, 'supplier' AS "column", 'the same key as in row ' || d.first AS problem, s.supplier AS found,
    'each key once' AS expected
FROM staged_suppliers AS s
JOIN (SELECT supplier, min(row) AS first FROM staged_suppliers GROUP BY supplier HAVING count(*) > 1) AS d
    ON d.supplier = s.supplier
WHERE s.row <> d.first
ORDER BY 1, 2
