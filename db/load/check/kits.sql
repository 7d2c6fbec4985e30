-- A key stands once.
SELECT s.row, 'kit' AS "column", 'the same key as in row ' || d.first AS problem,
    concat_ws(' / ', s.kit, s.item) AS found, 'each key once' AS expected
FROM staged_kits AS s
JOIN (SELECT kit, item, min(row) AS first FROM staged_kits GROUP BY kit, item HAVING count(*) > 1) AS d
    ON d.kit = s.kit AND d.item = s.item
WHERE s.row <> d.first
UNION ALL
SELECT s.row, 'kit', 'unknown code', s.kit, 'items'
FROM staged_kits AS s
WHERE NOT EXISTS (SELECT FROM known_items AS k WHERE k.code = s.kit)
UNION ALL
SELECT s.row, 'kit', 'holds parts but is of kind ' || i.kind, s.kit, 'an item of kind kit'
FROM staged_kits AS s JOIN all_items AS i ON i.item = s.kit
WHERE i.kind <> 'kit'
UNION ALL
SELECT s.row, 'kit', 'a kit that is kept in ' || i.measure, s.kit, 'an item kept in ea'
FROM staged_kits AS s JOIN all_items AS i ON i.item = s.kit
WHERE i.measure <> 'ea'
UNION ALL
-- No kit holds itself, however deep.
(WITH RECURSIVE part AS (
    SELECT kit, item FROM staged_kits
    UNION
    SELECT kept.kit, kept.item FROM kit_part AS kept
    WHERE kept.workshop = @workshop
), inside AS (
    SELECT kit, item FROM part
    UNION
    SELECT inside.kit, part.item FROM inside JOIN part ON part.kit = inside.item
)
SELECT s.row, 'item', 'the kit comes to hold itself', s.item, 'parts that do not hold the kit ' || s.kit
FROM staged_kits AS s
WHERE s.kit <> s.item AND EXISTS (SELECT FROM inside WHERE inside.kit = s.item AND inside.item = s.kit))
ORDER BY 1, 2
