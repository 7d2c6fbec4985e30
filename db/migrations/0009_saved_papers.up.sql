-- What else acts leave behind besides movements: the packs of an order that a
-- delivery brought, so that taking it back opens the order again, and who
-- inspected a lot that goes on. A saved book tells both among its moves.

CREATE OR REPLACE FUNCTION stage() RETURNS void LANGUAGE plpgsql SECURITY DEFINER SET search_path = circlip, pg_temp AS $$
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
        act         uuid NOT NULL,
        kind        text NOT NULL DEFAULT 'import', -- of the act: 'import' or 'moves'
        reverses    bigint,
        packs       integer, -- of its order that the movement brought
        inspected_by text,   -- who looked at the lot that goes on here
        note        text,    -- and what was found
        CHECK (kind IN ('import', 'moves'))
    ) ON COMMIT DROP;
    GRANT SELECT, INSERT ON staged_lot, staged_movement TO PUBLIC;
END $$;

-- Writes down what staged movements brought and who inspected, now that they
-- have their numbers.
CREATE FUNCTION import_papers(shop bigint) RETURNS void LANGUAGE plpgsql SET search_path = circlip, pg_temp AS $$
BEGIN
    INSERT INTO delivery (workshop, item, lot, seq, order_code, packs)
        SELECT shop, n.item, n.lot, n.seq, n.ref, n.packs FROM (
            SELECT s.*, b.seq - count(*) OVER (PARTITION BY s.item, s.lot)
                + row_number() OVER (PARTITION BY s.item, s.lot ORDER BY s.ordinal) AS seq
            FROM staged_movement AS s JOIN balance AS b ON b.workshop = shop AND b.item = s.item AND b.lot = s.lot) AS n
        WHERE n.packs IS NOT NULL;
    INSERT INTO inspection (workshop, item, lot, new_lot, inspected_on, inspected_by, note, until, act)
        SELECT shop, s.item, o.lot, s.lot, s.happened_on, s.inspected_by, coalesce(s.note, ''), l.expires_on, s.act
        FROM staged_movement AS s
        JOIN staged_movement AS o ON o.act = s.act AND o.item = s.item AND o.to_place = 'lot'
        JOIN lot AS l ON l.workshop = shop AND l.item = s.item AND l.lot = s.lot
        WHERE s.inspected_by IS NOT NULL;
END $$;

CREATE OR REPLACE FUNCTION post_import() RETURNS trigger LANGUAGE plpgsql
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
        INSERT INTO movement (workshop, item, lot, seq, from_place, to_place, ref, qty, happened_on, act, reverses, hash)
        SELECT NEW.workshop, n.item, n.lot, n.seq, n.from_place, n.to_place, n.ref,
            CASE WHEN n.free >= 0 THEN n.qty END, n.happened_on, n.act, n.reverses,
            chain(n.head, movement_bytes(NEW.workshop, n.item, n.lot, n.from_place, n.to_place, n.ref, n.seq, n.qty,
                n.happened_on)) OVER (PARTITION BY n.item, n.lot ORDER BY n.ordinal ROWS UNBOUNDED PRECEDING)
        FROM numbered AS n
        RETURNING *
    ), acts AS (
        INSERT INTO act (workshop, act, kind, request_sha256, result, proof)
        SELECT NEW.workshop, p.act, coalesce(max(p.kind), 'import'),
            sha256(string_agg(content(p.workshop, p.item, p.lot, p.from_place, p.to_place, p.ref, p.qty, p.happened_on),
                '')),
            jsonb_build_object('imported', count(*)), sha256(string_agg(p.hash, ''))
        FROM (SELECT m.*, k.kind FROM posted AS m
            LEFT JOIN (SELECT DISTINCT act, kind FROM staged_movement WHERE kind <> 'import') AS k ON k.act = m.act
            ORDER BY m.act, m.item, m.lot, m.seq) AS p
        GROUP BY p.act
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
    IF EXISTS (SELECT FROM staged_movement WHERE packs IS NOT NULL OR inspected_by IS NOT NULL) THEN
        PERFORM import_papers(NEW.workshop);
    END IF;
    RETURN NULL;
END $$;

CREATE OR REPLACE VIEW moves AS
    SELECT m.workshop, m.item, m.lot, m.seq AS number, m.act::text AS act, m.from_place, m.to_place, m.reverses, m.ref,
        m.qty, m.happened_on, l.received_on, NULLIF(l.expires_on, 'infinity') AS expires_on, l.unit_cost, d.packs,
        i.inspected_by, NULLIF(i.note, '') AS note
    FROM movement AS m JOIN lot AS l USING (workshop, item, lot) JOIN moved USING (workshop, item)
    LEFT JOIN delivery AS d USING (workshop, item, lot, seq)
    LEFT JOIN inspection AS i ON i.workshop = m.workshop AND i.item = m.item AND i.new_lot = m.lot AND i.act = m.act
    UNION ALL
    SELECT workshop, item, '', row_number() OVER (PARTITION BY workshop, item ORDER BY c.counted_on), '',
        'difference', 'shelf', NULL, c.counted_on::text, 0, c.counted_on, NULL, NULL, NULL,
        NULL, NULL, NULL
    FROM item_count AS c JOIN moved USING (workshop, item)
    WHERE NOT EXISTS (SELECT FROM movement AS m WHERE m.workshop = c.workshop AND m.item = c.item
            AND m.ref = c.counted_on::text AND 'difference' IN (m.from_place, m.to_place));
