-- A key stands once.
SELECT s.row, 'date' AS "column", 'the same key as in row ' || d.first AS problem,
    concat_ws(' / ', s.date, nullif(s.supplier, '')) AS found, 'each key once' AS expected
FROM staged_holidays AS s
JOIN (SELECT date, supplier, min(row) AS first FROM staged_holidays GROUP BY date, supplier HAVING count(*) > 1) AS d
    ON d.date = s.date AND d.supplier = s.supplier
WHERE s.row <> d.first
UNION ALL
SELECT s.row, 'supplier', 'unknown code', s.supplier, 'suppliers'
FROM staged_holidays AS s
WHERE s.supplier <> '' AND NOT EXISTS (SELECT FROM known_suppliers AS k WHERE k.code = s.supplier)
ORDER BY 1, 2
