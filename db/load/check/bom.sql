-- A key stands once.
SELECT s.row, 'service' AS "column", 'the same key as in row ' || d.first AS problem,
    concat_ws(' / ', s.service, s.model, s.item, coalesce(s."from"::text, 'always')) AS found,
    'each key once' AS expected
FROM staged_bom AS s
JOIN (SELECT service, model, item, "from", min(row) AS first FROM staged_bom
    GROUP BY service, model, item, "from" HAVING count(*) > 1) AS d
    ON d.service = s.service AND d.model = s.model AND d.item = s.item AND d."from" IS NOT DISTINCT FROM s."from"
WHERE s.row <> d.first
UNION ALL
SELECT s.row, 'service', 'unknown code', s.service, 'services'
FROM staged_bom AS s
WHERE NOT EXISTS (SELECT FROM known_services AS k WHERE k.code = s.service)
UNION ALL
SELECT s.row, 'model', 'unknown code', s.model, 'models'
FROM staged_bom AS s
WHERE s.model <> '*' AND NOT EXISTS (SELECT FROM known_models AS k WHERE k.code = s.model)
UNION ALL
SELECT s.row, 'model', 'a model of family ' || m.family, s.model,
    'a model of family ' || v.family || ', which ' || s.service || ' is for'
FROM staged_bom AS s JOIN all_models AS m ON m.model = s.model JOIN all_services AS v ON v.service = s.service
WHERE m.family <> v.family
UNION ALL
-- Two lines of one service, model and item never hold on the same day.
(WITH line AS MATERIALIZED (
    SELECT row, service, model, item, coalesce("from", '-infinity') AS since, coalesce("to", 'infinity') AS until
    FROM staged_bom
    UNION ALL
    SELECT NULL, kept.service, kept.model, kept.item, kept.valid_from, kept.valid_to FROM bom_line AS kept
    WHERE kept.workshop = @workshop AND NOT EXISTS (SELECT FROM staged_bom AS s
        WHERE s.service = kept.service AND s.model = kept.model AND s.item = kept.item
            AND coalesce(s."from", '-infinity') = kept.valid_from)
)
SELECT a.row, 'from', 'holds on the same days as ' || coalesce('row ' || b.row, 'a line that the workshop has')
        || coalesce(' from ' || nullif(b.since, '-infinity')::text, '')
        || coalesce(' to ' || nullif(b.until, 'infinity')::text, ''),
    coalesce(nullif(a.since, '-infinity')::text, 'always'), 'one line of a service, model and item a day'
FROM line AS a JOIN line AS b USING (service, model, item)
WHERE a.row IS NOT NULL AND a.since < b.until AND b.since < a.until AND a.since <> b.since
    AND (b.row IS NULL OR b.row < a.row))
ORDER BY 1, 2
