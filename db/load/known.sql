-- The workshop as it will be: what is staged, and what else it already has.
-- Tables, not views: the planner takes a tenth of a second over joins of unions.
CREATE TEMP TABLE all_items ON COMMIT DROP AS
    SELECT item, kind, unit AS measure FROM staged_items
    UNION ALL
    SELECT item, kind, measure FROM item AS kept
    WHERE kept.workshop = current_setting('circlip.workshop')::bigint
        AND NOT EXISTS (SELECT FROM staged_items AS s WHERE s.item = kept.item);
CREATE TEMP TABLE all_containers ON COMMIT DROP AS
    SELECT container, item FROM staged_containers
    UNION ALL
    SELECT container, item FROM container AS kept
    WHERE kept.workshop = current_setting('circlip.workshop')::bigint
        AND NOT EXISTS (SELECT FROM staged_containers AS s WHERE s.container = kept.container);
CREATE TEMP TABLE all_models ON COMMIT DROP AS
    SELECT model, family FROM staged_models
    UNION ALL
    SELECT model, family FROM model AS kept
    WHERE kept.workshop = current_setting('circlip.workshop')::bigint
        AND NOT EXISTS (SELECT FROM staged_models AS s WHERE s.model = kept.model);
CREATE TEMP TABLE all_services ON COMMIT DROP AS
    SELECT service, family, covers FROM staged_services
    UNION ALL
    SELECT service, family, covers FROM service AS kept
    WHERE kept.workshop = current_setting('circlip.workshop')::bigint
        AND NOT EXISTS (SELECT FROM staged_services AS s WHERE s.service = kept.service);
CREATE TEMP TABLE all_units ON COMMIT DROP AS
    SELECT unit, model FROM staged_units
    UNION ALL
    SELECT unit, model FROM unit AS kept
    WHERE kept.workshop = current_setting('circlip.workshop')::bigint
        AND NOT EXISTS (SELECT FROM staged_units AS s WHERE s.unit = kept.unit);
-- Where a book says of a job what it said before, an act that moved or ended it
-- since stands.
CREATE TEMP TABLE all_jobs ON COMMIT DROP AS
    SELECT s.job, s.unit, CASE WHEN told.again THEN kept.bench_date ELSE s.bench_date END AS bench_date,
        CASE WHEN told.ended THEN kept.state ELSE s.state END AS state,
        CASE WHEN told.ended THEN kept.done_on ELSE s.done_on END AS done_on,
        CASE WHEN told.ended OR s.state IN ('cancelled', 'no-show') THEN coalesce(s.cancelled_on, kept.cancelled_on)
            END AS cancelled_on,
        CASE WHEN told.ended THEN kept.done_by WHEN s.state = 'done' THEN coalesce(s.done_by, kept.done_by)
            END AS done_by
    FROM staged_jobs AS s
    LEFT JOIN job AS kept ON kept.workshop = current_setting('circlip.workshop')::bigint AND kept.job = s.job
    CROSS JOIN LATERAL (SELECT kept.told_bench_date = s.bench_date AS again, kept.state <> 'booked'
        AND s.state = 'booked' AND (kept.told_state IS DISTINCT FROM kept.state OR EXISTS (
            SELECT FROM job_act AS c WHERE (c.workshop, c.job, c.what) = (kept.workshop, kept.job, 'closed')))
        AS ended) AS told
    UNION ALL
    SELECT job, unit, bench_date, state, done_on, cancelled_on, done_by FROM job AS kept
    WHERE kept.workshop = current_setting('circlip.workshop')::bigint
        AND NOT EXISTS (SELECT FROM staged_jobs AS s WHERE s.job = kept.job);
-- Those that a book puts on another day.
CREATE TEMP TABLE put_off ON COMMIT DROP AS
    SELECT a.job FROM all_jobs AS a
    JOIN job AS kept ON kept.workshop = current_setting('circlip.workshop')::bigint AND kept.job = a.job
    WHERE a.bench_date <> kept.bench_date;

-- The codes that a column may hold, by the table it refers to.
CREATE TEMP VIEW known_suppliers AS
    SELECT supplier AS code FROM staged_suppliers
    UNION ALL SELECT supplier FROM supplier WHERE workshop = current_setting('circlip.workshop')::bigint
    UNION ALL SELECT code FROM spoiled WHERE refers = 'suppliers';
CREATE TEMP VIEW known_items AS
    SELECT item AS code FROM all_items UNION ALL SELECT code FROM spoiled WHERE refers = 'items';
CREATE TEMP VIEW known_containers AS
    SELECT container AS code FROM all_containers UNION ALL SELECT code FROM spoiled WHERE refers = 'containers';
CREATE TEMP VIEW known_models AS
    SELECT model AS code FROM all_models UNION ALL SELECT code FROM spoiled WHERE refers = 'models';
CREATE TEMP VIEW known_services AS
    SELECT service AS code FROM all_services UNION ALL SELECT code FROM spoiled WHERE refers = 'services';
CREATE TEMP VIEW known_units AS
    SELECT unit AS code FROM all_units UNION ALL SELECT code FROM spoiled WHERE refers = 'units';
CREATE TEMP VIEW known_jobs AS
    SELECT job AS code FROM all_jobs UNION ALL SELECT code FROM spoiled WHERE refers = 'jobs';
CREATE TEMP VIEW known AS
    SELECT 'suppliers' AS refers, code FROM known_suppliers
    UNION ALL SELECT 'items', code FROM known_items
    UNION ALL SELECT 'containers', code FROM known_containers
    UNION ALL SELECT 'models', code FROM known_models
    UNION ALL SELECT 'services', code FROM known_services
    UNION ALL SELECT 'units', code FROM known_units
    UNION ALL SELECT 'jobs', code FROM known_jobs;

-- A line of the bill that the workshop knows to have given way to another ends
-- where that one begins, also in a book that is older and tells of neither.
UPDATE staged_bom AS s SET "to" = kept.valid_to
FROM bom_line AS kept JOIN bom_line AS next USING (workshop, service, model, item)
WHERE kept.workshop = current_setting('circlip.workshop')::bigint AND next.valid_from = kept.valid_to
    AND (kept.service, kept.model, kept.item, kept.valid_from) = (s.service, s.model, s.item, coalesce(s."from", '-infinity'))
    AND s."to" IS NULL
    AND NOT EXISTS (SELECT FROM staged_bom AS told
        WHERE (told.service, told.model, told.item, told."from") = (next.service, next.model, next.item, next.valid_from));

-- A count without a quantity or weights is the sum of its parts.
UPDATE staged_counts AS s SET found = p.found
FROM (SELECT item, date, sum(found)::bigint AS found FROM staged_count_parts GROUP BY item, date) AS p
WHERE p.item = s.item AND p.date = s.date AND s.qty IS NULL AND s.gross_g IS NULL;

-- Moves that the ledger does not have, by their act or, from a workshop of
-- another name, by their place in the lot.
CREATE TEMP TABLE new_moves ON COMMIT DROP AS
    SELECT * FROM staged_moves AS s
    WHERE s.lot <> ''
        AND NOT EXISTS (SELECT FROM act AS kept
            WHERE kept.workshop = current_setting('circlip.workshop')::bigint AND kept.act = s.act::uuid)
        AND NOT EXISTS (SELECT FROM movement AS kept
            WHERE kept.workshop = current_setting('circlip.workshop')::bigint
                AND (kept.item, kept.lot, kept.seq) = (s.item, s.lot, s.number)
                AND (kept.from_place, kept.to_place, kept.ref, kept.qty, kept.happened_on)
                    = (s."from", s."to", coalesce(s.ref, ''), s.qty, s.date))
    UNION ALL
    SELECT * FROM staged_moves AS s
    WHERE s.lot = '' AND NOT EXISTS (SELECT FROM item_count AS kept
        WHERE kept.workshop = current_setting('circlip.workshop')::bigint
            AND kept.item = s.item AND kept.counted_on = s.date);

ANALYZE all_items, all_containers, all_models, all_services, all_units, all_jobs, staged_offers, staged_bom, staged_readings,
    staged_jobs, staged_setups,
    staged_job_use, staged_stock, staged_orders, staged_counts, staged_count_parts, staged_moves, new_moves;
