-- History in bulk: lots and movements staged in temporary tables and posted
-- set by set, with the same numbers, hashes and balances that one by one would
-- give. One by one, a row costs a statement; here it costs a few microseconds.
--
-- Rows of acts that are recorded with the same content are passed over; one
-- fault and nothing is posted.

-- A posting of staged rows. Its trigger is the one place, besides
-- post_movement, that writes movements and balances.
CREATE TABLE import (
    workshop bigint NOT NULL REFERENCES workshop,
    import   bigint GENERATED ALWAYS AS IDENTITY,
    rows     bigint NOT NULL,
    at       timestamptz NOT NULL DEFAULT now(),
    PRIMARY KEY (workshop, import)
);

-- Makes the staging tables of this transaction, which the caller may fill.
CREATE FUNCTION stage() RETURNS void LANGUAGE plpgsql SECURITY DEFINER SET search_path = circlip, pg_temp AS $$
BEGIN
    CREATE TEMPORARY TABLE staged_lot (
        item        text COLLATE "C" NOT NULL,
        lot         text COLLATE "C" NOT NULL,
        received_on date NOT NULL,
        expires_on  date NOT NULL,
        unit_cost   bigint NOT NULL
    ) ON COMMIT DROP;
    CREATE TEMPORARY TABLE staged_movement (
        ordinal     bigint NOT NULL, -- the order of all movements; decides the order within a lot
        item        text COLLATE "C" NOT NULL,
        lot         text COLLATE "C" NOT NULL,
        from_place  text NOT NULL,
        to_place    text NOT NULL,
        ref         text NOT NULL,
        qty         bigint NOT NULL,
        happened_on date NOT NULL,
        act         uuid NOT NULL
    ) ON COMMIT DROP;
    GRANT SELECT, INSERT ON staged_lot, staged_movement TO PUBLIC;
END $$;

-- Adds the staged lots and returns those that are known with other dates or
-- another cost.
CREATE FUNCTION import_lots(shop bigint) RETURNS SETOF lot
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = circlip, pg_temp AS $$
BEGIN
    INSERT INTO lot (workshop, item, lot, received_on, expires_on, unit_cost)
        SELECT shop, s.item, s.lot, s.received_on, s.expires_on, s.unit_cost FROM staged_lot AS s
        ORDER BY s.item, s.lot
        ON CONFLICT DO NOTHING;
    RETURN QUERY
        SELECT l.* FROM lot AS l JOIN staged_lot AS s ON l.workshop = shop AND l.item = s.item AND l.lot = s.lot
        WHERE (l.received_on, l.expires_on, l.unit_cost) <> (s.received_on, s.expires_on, s.unit_cost);
END $$;

-- The hash of a lot's next movement, from the hash before the first one here.
CREATE FUNCTION chain_next(state bytea, head bytea, bytes bytea) RETURNS bytea LANGUAGE plpgsql IMMUTABLE PARALLEL SAFE AS $$
BEGIN
    RETURN sha256(coalesce(state, head) || bytes);
END $$;
CREATE AGGREGATE chain(head bytea, bytes bytea) (SFUNC = chain_next, STYPE = bytea);

-- What an act's movements say, without their place in the chain.
CREATE FUNCTION content(shop bigint, item text, lot text, from_place text, to_place text, ref text, qty bigint,
        happened_on date) RETURNS bytea LANGUAGE sql STABLE PARALLEL SAFE
    RETURN movement_bytes(shop, item, lot, from_place, to_place, ref, 0, qty, happened_on);

CREATE FUNCTION on_shelf(to_place text, qty bigint) RETURNS bigint LANGUAGE sql IMMUTABLE PARALLEL SAFE
    RETURN CASE WHEN to_place = 'shelf' THEN qty ELSE -qty END;

-- Posts what is staged. A row that would take its lot below zero, or below
-- what is set aside, gets no quantity, which the table refuses.
CREATE FUNCTION post_import() RETURNS trigger LANGUAGE plpgsql
    SET search_path = circlip, pg_temp SET work_mem = '64MB' AS $$
DECLARE
    moved bigint;
BEGIN
    PERFORM lock_lots(NEW.workshop, ARRAY(SELECT DISTINCT item FROM staged_movement),
        ARRAY(SELECT DISTINCT lot FROM staged_movement));
    WITH numbered AS (
        SELECT s.*, b.head, b.seq + row_number() OVER lotwise AS seq,
            b.on_hand - b.reserved + sum(on_shelf(s.to_place, s.qty)) OVER lotwise AS free
        FROM staged_movement AS s JOIN balance AS b ON b.workshop = NEW.workshop AND b.item = s.item AND b.lot = s.lot
        WINDOW lotwise AS (PARTITION BY s.item, s.lot ORDER BY s.ordinal ROWS UNBOUNDED PRECEDING)
    ), posted AS (
        INSERT INTO movement (workshop, item, lot, seq, from_place, to_place, ref, qty, happened_on, act, hash)
        SELECT NEW.workshop, n.item, n.lot, n.seq, n.from_place, n.to_place, n.ref,
            CASE WHEN n.free >= 0 THEN n.qty END, n.happened_on, n.act,
            chain(n.head, movement_bytes(NEW.workshop, n.item, n.lot, n.from_place, n.to_place, n.ref, n.seq, n.qty,
                n.happened_on)) OVER (PARTITION BY n.item, n.lot ORDER BY n.ordinal ROWS UNBOUNDED PRECEDING)
        FROM numbered AS n
        RETURNING *
    ), acts AS (
        INSERT INTO act (workshop, act, kind, request_sha256, result, proof)
        SELECT NEW.workshop, p.act, 'import',
            sha256(string_agg(content(p.workshop, p.item, p.lot, p.from_place, p.to_place, p.ref, p.qty, p.happened_on),
                '')),
            jsonb_build_object('imported', count(*)), sha256(string_agg(p.hash, ''))
        FROM (SELECT * FROM posted ORDER BY act, item, lot, seq) AS p GROUP BY p.act
    )
    SELECT count(*) INTO moved FROM posted;
    IF moved <> NEW.rows THEN
        RAISE EXCEPTION 'import of % movements, found lots for % of them', NEW.rows, moved
            USING ERRCODE = 'foreign_key_violation', CONSTRAINT = 'movement_lot_known', TABLE = 'import';
    END IF;
    UPDATE balance AS b SET on_hand = b.on_hand + t.gained, seq = m.seq, head = m.hash
    FROM (SELECT s.item, s.lot, sum(on_shelf(s.to_place, s.qty)) AS gained, count(*) AS steps
          FROM staged_movement AS s GROUP BY s.item, s.lot) AS t, movement AS m
    WHERE b.workshop = NEW.workshop AND b.item = t.item AND b.lot = t.lot
      AND m.workshop = NEW.workshop AND m.item = t.item AND m.lot = t.lot AND m.seq = b.seq + t.steps;
    RETURN NULL;
END $$;
CREATE TRIGGER post_import AFTER INSERT ON import FOR EACH ROW EXECUTE FUNCTION post_import();
ALTER TABLE import ENABLE ALWAYS TRIGGER post_import;
CREATE TRIGGER refuse_change BEFORE UPDATE OR DELETE ON import FOR EACH ROW EXECUTE FUNCTION refuse_change();
CREATE TRIGGER refuse_truncate BEFORE TRUNCATE ON import FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
ALTER TABLE import ENABLE ALWAYS TRIGGER refuse_change;
ALTER TABLE import ENABLE ALWAYS TRIGGER refuse_truncate;

-- Passes over the staged rows of acts that are recorded alike, and returns
-- what is wrong with the others: "recorded otherwise" with a movement of the
-- recorded act, "no such lot", "below zero" with what the lot would hold.
CREATE FUNCTION import_faults(shop bigint)
    RETURNS TABLE (ordinal bigint, problem text, recorded_qty bigint, recorded_on date, on_hand bigint)
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = circlip, pg_temp AS $$
BEGIN
    ANALYZE staged_movement;
    CREATE TEMPORARY TABLE staged_known ON COMMIT DROP AS
        SELECT s.act, min(s.ordinal) AS ordinal, a.request_sha256 = sha256(string_agg(
                content(shop, s.item, s.lot, s.from_place, s.to_place, s.ref, s.qty, s.happened_on), ''
                ORDER BY s.item, s.lot, s.ordinal)) AS alike
        FROM staged_movement AS s JOIN act AS a ON a.workshop = shop AND a.act = s.act
        GROUP BY s.act, a.request_sha256;
    DELETE FROM staged_movement AS s USING staged_known AS k WHERE s.act = k.act AND k.alike;
    PERFORM lock_lots(shop, ARRAY(SELECT DISTINCT s.item FROM staged_movement AS s),
        ARRAY(SELECT DISTINCT s.lot FROM staged_movement AS s));
    RETURN QUERY
        SELECT k.ordinal, 'recorded otherwise', m.qty, m.happened_on, NULL::bigint
        FROM staged_known AS k
        LEFT JOIN LATERAL (SELECT r.qty, r.happened_on FROM movement AS r WHERE r.workshop = shop AND r.act = k.act
            ORDER BY r.item, r.lot, r.seq LIMIT 1) AS m ON true
        WHERE NOT k.alike
        UNION ALL
        SELECT w.ordinal, w.problem, NULL, NULL, w.on_hand FROM (
            SELECT s.ordinal, CASE WHEN b.lot IS NULL THEN 'no such lot' ELSE 'below zero' END AS problem,
                (b.on_hand - b.reserved + sum(on_shelf(s.to_place, s.qty))
                    OVER (PARTITION BY s.item, s.lot ORDER BY s.ordinal ROWS UNBOUNDED PRECEDING))::bigint AS on_hand
            FROM staged_movement AS s
            LEFT JOIN balance AS b ON b.workshop = shop AND b.item = s.item AND b.lot = s.lot
            WHERE NOT EXISTS (SELECT FROM staged_known AS k WHERE k.act = s.act)) AS w
        WHERE w.on_hand IS NULL OR w.on_hand < 0
        ORDER BY 1;
    DROP TABLE staged_known;
END $$;

-- Posts what import_faults left and returns how many movements that were.
CREATE FUNCTION import_movements(shop bigint) RETURNS bigint
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = circlip, pg_temp AS $$
DECLARE
    staged bigint := (SELECT count(*) FROM staged_movement);
BEGIN
    IF staged > 0 THEN
        INSERT INTO import (workshop, rows) VALUES (shop, staged);
    END IF;
    RETURN staged;
END $$;
