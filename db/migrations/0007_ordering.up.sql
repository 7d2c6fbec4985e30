-- What ordering needs beyond what is kept: days on which nobody delivers, the
-- grooves that O-rings sit in, how long an opened container keeps, orders whose
-- rest will not come, and stock that goes on under another lot code.

CREATE TABLE holiday (
    workshop       bigint NOT NULL REFERENCES workshop,
    day            date NOT NULL,
    supplier       text COLLATE "C" NOT NULL DEFAULT '', -- '': the workshop itself
    name           text NOT NULL DEFAULT '',
    exact_supplier text COLLATE "C" GENERATED ALWAYS AS (NULLIF(supplier, '')) STORED,
    PRIMARY KEY (workshop, day, supplier),
    CONSTRAINT holiday_supplier_known FOREIGN KEY (workshop, exact_supplier) REFERENCES supplier
);

CREATE TABLE groove (
    workshop bigint NOT NULL REFERENCES workshop,
    item     code NOT NULL,
    root_mm  double precision NOT NULL,
    bore_mm  double precision NOT NULL,
    width_mm double precision NOT NULL,
    PRIMARY KEY (workshop, item),
    CONSTRAINT groove_item_known FOREIGN KEY (workshop, item) REFERENCES item,
    CONSTRAINT groove_sizes CHECK (root_mm > 0 AND bore_mm > root_mm AND width_mm > 0)
);

ALTER TABLE item ADD COLUMN opened_months integer, -- NULL: as long as a container that is not opened
    ADD CONSTRAINT item_opened_months CHECK (opened_months > 0);

ALTER TABLE order_line ADD COLUMN closed_on date, -- the day on which the rest was given up
    ADD CONSTRAINT order_line_closed CHECK (closed_on >= placed_on);

-- 'lot': the same stock under another lot, an opened container or an inspected
-- lot.
ALTER TABLE movement DROP CONSTRAINT movement_places;
ALTER TABLE movement ADD CONSTRAINT movement_places CHECK ((from_place = 'shelf') <> (to_place = 'shelf')
    AND from_place IN ('shelf', 'opening', 'supplier', 'job', 'waste', 'difference', 'kit', 'lot')
    AND to_place IN ('shelf', 'opening', 'supplier', 'job', 'waste', 'difference', 'kit', 'lot'));

-- A saved book tells the movements of acts one by one, in its table moves. They
-- come back under the keys of their acts, as acts of the kind 'moves', so that
-- saving again tells them again. reverses is the number, in its lot, of the
-- movement that the row corrects.
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
        CHECK (kind IN ('import', 'moves'))
    ) ON COMMIT DROP;
    GRANT SELECT, INSERT ON staged_lot, staged_movement TO PUBLIC;
END $$;

-- Posts what is staged. A row that would take its lot below zero, or below
-- what is set aside, gets no quantity, which the table refuses.
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
    RETURN NULL;
END $$;

CREATE INDEX act_by_hand ON act (workshop, act) WHERE kind <> 'import';

-- Items whose ledger does not follow from the rows of the book's other tables:
-- those that acts touched; those of which something was told after what
-- happened later, so that it found another shelf; and those where it found a
-- count that stood, and was undone on its day.
CREATE VIEW moved AS
    SELECT workshop, m.item FROM movement AS m JOIN act AS a USING (workshop, act) WHERE a.kind <> 'import'
    UNION
    SELECT workshop, item FROM (
        SELECT m.workshop, m.item, m.happened_on, max(m.happened_on) OVER (PARTITION BY m.workshop, m.item
            ORDER BY m.recorded_at GROUPS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING) AS told
        FROM movement AS m) AS late
    WHERE happened_on <= told
    UNION
    SELECT workshop, item FROM movement GROUP BY workshop, item, act HAVING min(ref) <> max(ref);

-- What a saved book tells in its table moves: every movement of those items. A
-- count that found what was there moved nothing; it has a row without a lot and
-- a quantity, so that it is not told as news among movements that came after it.
CREATE VIEW moves AS
    SELECT m.workshop, m.item, m.lot, m.seq AS number, m.act::text AS act, m.from_place, m.to_place, m.reverses, m.ref,
        m.qty, m.happened_on, l.received_on, NULLIF(l.expires_on, 'infinity') AS expires_on, l.unit_cost
    FROM movement AS m JOIN lot AS l USING (workshop, item, lot) JOIN moved USING (workshop, item)
    UNION ALL
    SELECT workshop, item, '', row_number() OVER (PARTITION BY workshop, item ORDER BY c.counted_on), '',
        'difference', 'shelf', NULL, c.counted_on::text, 0, c.counted_on, NULL, NULL, NULL
    FROM item_count AS c JOIN moved USING (workshop, item)
    WHERE NOT EXISTS (SELECT FROM movement AS m WHERE m.workshop = c.workshop AND m.item = c.item
            AND m.ref = c.counted_on::text AND 'difference' IN (m.from_place, m.to_place));
