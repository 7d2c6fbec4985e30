-- The workshop as it will be: what is staged, and what else it already has.
CREATE TEMP VIEW all_items AS
    SELECT item, kind, unit AS measure, density_kg_m3 FROM staged_items
    UNION ALL
    SELECT item, kind, measure, density_kg_m3 FROM item AS kept
    WHERE kept.workshop = current_setting('circlip.workshop')::bigint
        AND NOT EXISTS (SELECT FROM staged_items AS s WHERE s.item = kept.item);
CREATE TEMP VIEW all_models AS
    SELECT model, family FROM staged_models
    UNION ALL
    SELECT model, family FROM model AS kept
    WHERE kept.workshop = current_setting('circlip.workshop')::bigint
        AND NOT EXISTS (SELECT FROM staged_models AS s WHERE s.model = kept.model);
CREATE TEMP VIEW all_services AS
    SELECT service, family, covers FROM staged_services
    UNION ALL
    SELECT service, family, covers FROM service AS kept
    WHERE kept.workshop = current_setting('circlip.workshop')::bigint
        AND NOT EXISTS (SELECT FROM staged_services AS s WHERE s.service = kept.service);
CREATE TEMP VIEW all_units AS
    SELECT unit, model FROM staged_units
    UNION ALL
    SELECT unit, model FROM unit AS kept
    WHERE kept.workshop = current_setting('circlip.workshop')::bigint
        AND NOT EXISTS (SELECT FROM staged_units AS s WHERE s.unit = kept.unit);
CREATE TEMP VIEW all_jobs AS
    SELECT job, state, done_on FROM staged_jobs
    UNION ALL
    SELECT job, state, done_on FROM job AS kept
    WHERE kept.workshop = current_setting('circlip.workshop')::bigint
        AND NOT EXISTS (SELECT FROM staged_jobs AS s WHERE s.job = kept.job);

-- Every code that a column may refer to, by the table it refers to.
CREATE TEMP VIEW known AS
    SELECT 'suppliers' AS refers, supplier AS code FROM staged_suppliers
    UNION ALL SELECT 'suppliers', supplier FROM supplier WHERE workshop = current_setting('circlip.workshop')::bigint
    UNION ALL SELECT 'items', item FROM all_items
    UNION ALL SELECT 'models', model FROM all_models
    UNION ALL SELECT 'services', service FROM all_services
    UNION ALL SELECT 'units', unit FROM all_units
    UNION ALL SELECT 'jobs', job FROM all_jobs
    UNION ALL SELECT refers, code FROM spoiled;
