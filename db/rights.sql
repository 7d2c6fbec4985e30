-- What the program's own role may do, set anew after every migration: read
-- everything, write the book, and touch the ledger through its functions only.
REVOKE ALL ON ALL TABLES IN SCHEMA circlip FROM PUBLIC, circlip_app;
REVOKE ALL ON ALL FUNCTIONS IN SCHEMA circlip FROM PUBLIC, circlip_app;
GRANT USAGE ON SCHEMA circlip TO circlip_app;
GRANT SELECT, INSERT, UPDATE, DELETE ON ALL TABLES IN SCHEMA circlip TO circlip_app;
GRANT EXECUTE ON ALL FUNCTIONS IN SCHEMA circlip TO circlip_app;

DO $$
DECLARE
    kept text;
BEGIN
    FOR kept IN
        SELECT c.relname FROM pg_class AS c
        WHERE c.relnamespace = 'circlip'::regnamespace AND c.relkind = 'r'
          AND c.relname IN ('migration', 'lot', 'balance', 'act', 'movement', 'set_aside', 'import', 'seal', 'seal_head',
            'order_sheet', 'delivery', 'inspection', 'job_act')
    LOOP
        EXECUTE format('REVOKE INSERT, UPDATE, DELETE ON circlip.%I FROM circlip_app', kept);
    END LOOP;
END $$;
