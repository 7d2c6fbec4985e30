-- The daily seal. Cutting off the newest movements of a lot leaves a chain
-- that is whole; the seal holds the newest hash of every lot and is chained to
-- the seal before it. Print it, and keep it with the backup: whoever can show
-- an old seal can show that nothing before it was touched.
--
-- Only lots that moved since their last seal are listed again: the seals
-- before vouch for the others.

CREATE TABLE seal (
    workshop  bigint NOT NULL REFERENCES workshop,
    day       date NOT NULL,
    hash      bytea NOT NULL,
    sealed_at timestamptz NOT NULL DEFAULT now(),
    PRIMARY KEY (workshop, day)
);

CREATE TABLE seal_head (
    workshop bigint NOT NULL,
    item     text COLLATE "C" NOT NULL,
    lot      text COLLATE "C" NOT NULL,
    seq      bigint NOT NULL,
    day      date NOT NULL,
    head     bytea NOT NULL,
    PRIMARY KEY (workshop, item, lot, seq),
    CONSTRAINT seal_head_seal_known FOREIGN KEY (workshop, day) REFERENCES seal DEFERRABLE INITIALLY DEFERRED
);

DO $$
DECLARE
    kept text;
BEGIN
    FOREACH kept IN ARRAY ARRAY['seal', 'seal_head'] LOOP
        EXECUTE format('CREATE TRIGGER refuse_change BEFORE UPDATE OR DELETE ON %I
            FOR EACH ROW EXECUTE FUNCTION refuse_change()', kept);
        EXECUTE format('CREATE TRIGGER refuse_truncate BEFORE TRUNCATE ON %I
            FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()', kept);
        EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER refuse_change', kept);
        EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER refuse_truncate', kept);
    END LOOP;
END $$;

-- Seals the ledger as it stands and returns the seal; a day already sealed
-- keeps its seal, and so does a day before the last one. What is in hand at
-- this moment and not yet committed goes into the next seal.
CREATE FUNCTION seal_day(shop bigint, today date) RETURNS bytea
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = circlip, pg_temp AS $$
DECLARE
    last seal;
    made bytea;
BEGIN
    PERFORM pg_advisory_xact_lock(hashtextextended('seal', shop));
    SELECT * INTO last FROM seal WHERE workshop = shop ORDER BY day DESC LIMIT 1;
    IF last.day >= today THEN
        RETURN last.hash;
    END IF;
    WITH fresh AS (
        INSERT INTO seal_head (workshop, item, lot, seq, day, head)
        SELECT shop, b.item, b.lot, b.seq, today, b.head FROM balance AS b
        WHERE b.workshop = shop AND b.seq > coalesce((
            SELECT max(h.seq) FROM seal_head AS h WHERE h.workshop = shop AND h.item = b.item AND h.lot = b.lot), 0)
        RETURNING item, lot, seq, head)
    SELECT sha256(coalesce(last.hash, '') || framed('seal v1') || framed(shop::text)
            || int8send((today - DATE '1970-01-01')::bigint)
            || coalesce(string_agg(framed(item) || framed(lot) || int8send(seq) || head, '' ORDER BY item, lot), ''))
        INTO made FROM fresh;
    INSERT INTO seal (workshop, day, hash) VALUES (shop, today, made);
    RETURN made;
END $$;
