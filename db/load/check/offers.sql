-- A key stands once.
SELECT s.row, 'item' AS "column", 'the same key as in row ' || d.first AS problem,
    concat_ws(' / ', s.item, s.supplier, s.from_packs::text) AS found, 'each key once' AS expected
FROM staged_offers AS s
JOIN (SELECT item, supplier, from_packs, min(row) AS first FROM staged_offers GROUP BY item, supplier,
    from_packs HAVING count(*) > 1) AS d
    ON d.item = s.item AND d.supplier = s.supplier AND d.from_packs = s.from_packs
WHERE s.row <> d.first
UNION ALL
SELECT s.row, 'supplier', 'unknown code', s.supplier, 'suppliers'
FROM staged_offers AS s
WHERE NOT EXISTS (SELECT FROM known_suppliers AS k WHERE k.code = s.supplier)
ORDER BY 1, 2
