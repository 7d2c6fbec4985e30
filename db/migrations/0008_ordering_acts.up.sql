-- Acts of ordering: an order that is placed, what comes of it, and stock that
-- goes on as something else: a kit taken apart, a lot that was inspected, a
-- container that was opened.
--
-- Locks are taken in one order here too: the items, the order's lines by item,
-- the balances as everywhere, and the lots that are new, by item and lot.

-- A sheet is placed once. An order written by hand has none.
CREATE TABLE order_sheet (
    workshop   bigint NOT NULL REFERENCES workshop,
    sheet      code NOT NULL,
    order_code code NOT NULL,
    placed_on  date NOT NULL,
    act        uuid NOT NULL,
    PRIMARY KEY (workshop, sheet),
    CONSTRAINT order_sheet_order_once UNIQUE (workshop, order_code)
);

-- The packs that a movement brought of an order. A pack may hold less than it
-- should, so that the quantity alone does not tell.
CREATE TABLE delivery (
    workshop   bigint NOT NULL,
    item       text COLLATE "C" NOT NULL,
    lot        text COLLATE "C" NOT NULL,
    seq        bigint NOT NULL, -- of the movement
    order_code text COLLATE "C" NOT NULL,
    packs      integer NOT NULL,
    PRIMARY KEY (workshop, item, lot, seq),
    CONSTRAINT delivery_order_line_known FOREIGN KEY (workshop, order_code, item) REFERENCES order_line,
    CONSTRAINT delivery_packs CHECK (packs > 0)
);
CREATE INDEX delivery_by_order ON delivery (workshop, order_code, item);

-- The inspection by which stored elastomers go on beyond their first storage
-- period, once (ISO 2230).
CREATE TABLE inspection (
    workshop     bigint NOT NULL,
    item         text COLLATE "C" NOT NULL,
    lot          text COLLATE "C" NOT NULL,
    new_lot      text COLLATE "C" NOT NULL, -- under which it goes on
    inspected_on date NOT NULL,
    inspected_by text NOT NULL,
    note         text NOT NULL DEFAULT '',
    until        date NOT NULL, -- the first day it is no longer good
    act          uuid NOT NULL,
    PRIMARY KEY (workshop, item, new_lot),
    CONSTRAINT inspection_lot_known FOREIGN KEY (workshop, item, lot) REFERENCES lot,
    CONSTRAINT inspection_new_lot_known FOREIGN KEY (workshop, item, new_lot) REFERENCES lot,
    CONSTRAINT inspection_signed CHECK (btrim(inspected_by) <> ''),
    CONSTRAINT inspection_until CHECK (until > inspected_on)
);

DO $$
DECLARE
    kept text;
BEGIN
    FOREACH kept IN ARRAY ARRAY['order_sheet', 'delivery', 'inspection'] LOOP
        EXECUTE format('CREATE TRIGGER refuse_change BEFORE UPDATE OR DELETE ON %I
            FOR EACH ROW EXECUTE FUNCTION refuse_change()', kept);
        EXECUTE format('CREATE TRIGGER refuse_truncate BEFORE TRUNCATE ON %I
            FOR EACH STATEMENT EXECUTE FUNCTION refuse_change()', kept);
        EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER refuse_change', kept);
        EXECUTE format('ALTER TABLE %I ENABLE ALWAYS TRIGGER refuse_truncate', kept);
    END LOOP;
END $$;

-- A lot's name with something after it, at most 64 characters as the book
-- allows.
CREATE FUNCTION lot_name(base text, added text) RETURNS text LANGUAGE sql IMMUTABLE PARALLEL SAFE
    RETURN rtrim(left(base, 64 - char_length(added))) || added;

-- The lots of the items that open_lot may come upon when it starts from base;
-- an act that may add to one of them locks them first.
CREATE FUNCTION lots_named(shop bigint, items text[], base text) RETURNS text[] LANGUAGE sql STABLE
    RETURN ARRAY(SELECT l.lot::text FROM lot AS l
        WHERE l.workshop = shop AND l.item = ANY (items) AND starts_with(l.lot, left(base, 56)));

-- Makes a lot, or finds it: 'new', 'same' where it has this expiry and cost,
-- 'other' where it has not. A lot that a load made since the others were locked
-- would be locked out of order: then the act starts anew.
CREATE FUNCTION join_lot(shop bigint, INOUT locked shelf_lot[], of_item text, of_lot text, received date, expiry date,
        cost bigint, OUT how text) LANGUAGE plpgsql AS $$
BEGIN
    INSERT INTO lot (workshop, item, lot, received_on, expires_on, unit_cost)
    VALUES (shop, of_item, of_lot, received, expiry, cost)
    ON CONFLICT DO NOTHING;
    IF FOUND THEN
        locked := locked || ROW(of_item, of_lot)::shelf_lot;
        how := 'new';
        RETURN;
    END IF;
    SELECT CASE WHEN (l.expires_on, l.unit_cost) = (expiry, cost) THEN 'same' ELSE 'other' END INTO how
        FROM lot AS l WHERE l.workshop = shop AND l.item = of_item AND l.lot = of_lot;
    IF how = 'same' AND ROW(of_item, of_lot)::shelf_lot <> ALL (locked) THEN
        RAISE EXCEPTION 'item % lot % was made by somebody else meanwhile', of_item, of_lot
            USING ERRCODE = 'serialization_failure';
    END IF;
END $$;

-- A lot called base, base-2, base-3, …: the first that is new, or that may grow
-- because it has the same expiry and cost.
CREATE FUNCTION open_lot(shop bigint, INOUT locked shelf_lot[], of_item text, base text, received date, expiry date,
        cost bigint, OUT name text) LANGUAGE plpgsql AS $$
DECLARE
    how text := 'other';
BEGIN
    FOR n IN 1..9999 LOOP
        name := CASE n WHEN 1 THEN base ELSE lot_name(base, '-' || n) END;
        SELECT j.locked, j.how INTO locked, how FROM join_lot(shop, locked, of_item, name, received, expiry, cost) AS j;
        EXIT WHEN how <> 'other';
    END LOOP;
    IF how = 'other' THEN
        PERFORM refuse('conflict', jsonb_build_object('item', of_item, 'lot', base,
            'reason', 'ten thousand lots have this name; give this one a name of its own'));
    END IF;
END $$;

-- An order of packs from a supplier. Two with one code take turns, and so do
-- two with one sheet.
CREATE FUNCTION act_place(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
DECLARE
    for_order text := r->>'order';
    of_sheet  text := coalesce(r->>'sheet', '');
    today     date := (r->>'on')::date;
    before    record;
    unknown   text;
BEGIN
    PERFORM pg_advisory_xact_lock(hashtextextended('order ' || for_order, shop));
    IF of_sheet <> '' THEN
        INSERT INTO order_sheet (workshop, sheet, order_code, placed_on, act)
        VALUES (shop, of_sheet, for_order, today, doing)
        ON CONFLICT DO NOTHING;
    END IF;
    SELECT s.order_code, s.placed_on INTO before
        FROM order_sheet AS s WHERE s.workshop = shop AND s.sheet = of_sheet AND s.act <> doing;
    IF FOUND THEN
        PERFORM refuse('conflict', jsonb_build_object('order', before.order_code,
            'reason', format('sheet %s was placed as order %s on %s', of_sheet, before.order_code, before.placed_on)));
    END IF;
    SELECT o.supplier, o.placed_on INTO before
        FROM order_line AS o WHERE o.workshop = shop AND o.order_code = for_order LIMIT 1;
    IF FOUND THEN
        PERFORM refuse('conflict', jsonb_build_object('order', for_order, 'reason',
            format('order %s was placed with %s on %s; give this one another code', for_order, before.supplier,
                before.placed_on)));
    END IF;
    IF NOT EXISTS (SELECT FROM supplier AS s WHERE s.workshop = shop AND s.supplier = r->>'supplier') THEN
        PERFORM refuse('not found', jsonb_build_object('order', for_order,
            'reason', format('no supplier %s', r->>'supplier')));
    END IF;
    FOR unknown IN SELECT l->>'item' FROM jsonb_array_elements(r->'lines') AS l LOOP
        PERFORM known(shop, unknown, '');
    END LOOP;
    INSERT INTO order_line (workshop, order_code, item, supplier, packs, placed_on, due_on, pack_qty, price)
        SELECT shop, for_order, l->>'item', r->>'supplier', (l->>'packs')::integer, today, (l->>'due')::date,
            (l->>'pack_qty')::bigint, (l->>'price')::bigint
        FROM jsonb_array_elements(r->'lines') AS l;
    RETURN NULL;
END $$;

-- The packs of an order's line that have come: a day without a number is all.
CREATE FUNCTION came(line order_line) RETURNS integer LANGUAGE sql IMMUTABLE PARALLEL SAFE
    RETURN CASE WHEN line.received_on IS NULL THEN 0 ELSE coalesce(line.received_packs, line.packs) END;

-- Locks an order's lines and refuses a delivery that they do not allow.
CREATE FUNCTION lock_order(shop bigint, r jsonb) RETURNS void LANGUAGE plpgsql AS $$
DECLARE
    for_order text := r->>'order';
    said      record;
BEGIN
    PERFORM FROM order_line AS o WHERE o.workshop = shop AND o.order_code = for_order ORDER BY o.item FOR NO KEY UPDATE;
    IF NOT FOUND THEN
        PERFORM refuse('not found', jsonb_build_object('order', for_order));
    END IF;
    FOR said IN
        SELECT l->>'item' AS item, (l->>'packs')::bigint AS packs, (l->>'qty')::bigint AS qty, o.item AS ordered,
            o.closed_on, o.pack_qty, i.measure
        FROM jsonb_array_elements(r->'lines') WITH ORDINALITY AS j(l, n)
        LEFT JOIN order_line AS o ON o.workshop = shop AND o.order_code = for_order AND o.item = l->>'item'
        LEFT JOIN item AS i ON i.workshop = shop AND i.item = o.item
        ORDER BY n
    LOOP
        IF said.ordered IS NULL THEN
            PERFORM refuse('not found', jsonb_build_object('order', for_order, 'item', said.item,
                'reason', 'the order has no line of it'));
        ELSIF said.packs > 0 AND said.closed_on IS NOT NULL THEN
            PERFORM refuse('conflict', jsonb_build_object('order', for_order, 'item', said.item,
                'reason', format('the rest of it was given up on %s; order it anew', said.closed_on)));
        ELSIF said.qty > said.packs * said.pack_qty THEN
            PERFORM refuse('conflict', jsonb_build_object('order', for_order, 'item', said.item,
                'reason', format('found %s %s, expected at most %s %s (packs: %s)', in_measure(said.qty, said.measure),
                    said.measure, in_measure(said.packs * said.pack_qty, said.measure), said.measure, said.packs)));
        END IF;
    END LOOP;
    SELECT max(o.placed_on) AS placed_on INTO said FROM order_line AS o
        WHERE o.workshop = shop AND o.order_code = for_order AND (jsonb_array_length(r->'lines') = 0
            OR o.item IN (SELECT l->>'item' FROM jsonb_array_elements(r->'lines') AS l));
    IF (r->>'on')::date < said.placed_on THEN
        PERFORM refuse('conflict', jsonb_build_object('order', for_order,
            'reason', format('found a delivery on %s, expected none before it was placed on %s', r->>'on',
                said.placed_on)));
    END IF;
END $$;

-- What came of an order: stock on the shelf, and its lines brought along. A
-- delivery that is the last gives up what is missing of its lines, or, where it
-- has none, of the whole order.
CREATE FUNCTION act_deliver(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
DECLARE
    for_order text := r->>'order';
    today     date := (r->>'on')::date;
    items     text[] := ARRAY(SELECT l->>'item' FROM jsonb_array_elements(r->'lines') AS l WHERE (l->>'packs')::integer > 0);
    locked    shelf_lot[];
    line      record;
    how       text;
    made      movement;
    answer    done;
BEGIN
    PERFORM lock_order(shop, r);
    locked := lock_lots(shop, items, lots_named(shop, items, for_order)
        || ARRAY(SELECT l->>'lot' FROM jsonb_array_elements(r->'lines') AS l));
    FOR line IN
        SELECT l->>'item' AS item, coalesce(l->>'lot', '') AS lot, (l->>'packs')::integer AS packs,
            (l->>'qty')::bigint AS qty, coalesce((l->>'expires')::date, 'infinity') AS expiry,
            coalesce((l->>'unit_cost')::bigint, 0) AS cost
        FROM jsonb_array_elements(r->'lines') WITH ORDINALITY AS j(l, n)
        WHERE (l->>'packs')::integer > 0
        ORDER BY 1, 2, n
    LOOP
        IF line.lot = '' THEN
            SELECT o.locked, o.name INTO locked, line.lot
                FROM open_lot(shop, locked, line.item, for_order, today, line.expiry, line.cost) AS o;
        ELSE
            SELECT j.locked, j.how INTO locked, how
                FROM join_lot(shop, locked, line.item, line.lot, today, line.expiry, line.cost) AS j;
            IF how = 'other' THEN
                PERFORM refuse('conflict', jsonb_build_object('item', line.item, 'lot', line.lot, 'order', for_order,
                    'reason', 'the lot was received with another expiry or cost; give this delivery a lot of its own'));
            END IF;
        END IF;
        made := move(shop, doing, line.item, line.lot, 'supplier', 'shelf', for_order, line.qty, today);
        answer.moved := answer.moved || made;
        INSERT INTO delivery (workshop, item, lot, seq, order_code, packs)
        VALUES (shop, made.item, made.lot, made.seq, for_order, line.packs);
        UPDATE order_line AS o SET received_packs = came(o) + line.packs, received_on = greatest(o.received_on, today)
        WHERE o.workshop = shop AND o.order_code = for_order AND o.item = line.item;
    END LOOP;
    IF (r->>'closed')::boolean THEN
        UPDATE order_line AS o SET closed_on = today
        WHERE o.workshop = shop AND o.order_code = for_order AND o.closed_on IS NULL AND o.packs > came(o)
          AND (jsonb_array_length(r->'lines') = 0
               OR o.item IN (SELECT l->>'item' FROM jsonb_array_elements(r->'lines') AS l));
        IF NOT FOUND AND answer.moved IS NULL THEN
            PERFORM refuse('conflict', jsonb_build_object('order', for_order, 'reason', 'nothing of it is missing'));
        END IF;
    END IF;
    RETURN answer;
END $$;

-- Refuses parts that a kit does not hold, or not so many of.
CREATE FUNCTION in_kit(shop bigint, of_kit text, parts jsonb) RETURNS void LANGUAGE plpgsql AS $$
DECLARE
    part record;
BEGIN
    PERFORM known(shop, of_kit, '');
    FOR part IN
        SELECT p->>'item' AS item, (p->>'qty')::bigint AS qty, k.qty AS held, i.measure
        FROM jsonb_array_elements(parts) WITH ORDINALITY AS j(p, n)
        LEFT JOIN kit_part AS k ON k.workshop = shop AND k.kit = of_kit AND k.item = p->>'item'
        LEFT JOIN item AS i ON i.workshop = shop AND i.item = k.item
        ORDER BY n
    LOOP
        IF part.held IS NULL THEN
            PERFORM refuse('not found', jsonb_build_object('item', part.item,
                'reason', format('the kit %s holds none of it', of_kit)));
        ELSIF part.qty > part.held THEN
            PERFORM refuse('conflict', jsonb_build_object('item', part.item,
                'reason', format('found %s %s in each kit %s, expected at most %s %s', in_measure(part.qty, part.measure),
                    part.measure, of_kit, in_measure(part.held, part.measure), part.measure)));
        END IF;
    END LOOP;
END $$;

-- Kits taken apart: they leave the shelf, and their parts come to it under the
-- kits' lots, good for as long as these at most.
CREATE FUNCTION act_open_kit(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
DECLARE
    of_kit  text := r->>'kit';
    of_lot  text := coalesce(r->>'lot', '');
    today   date := (r->>'on')::date;
    parts   text[] := ARRAY(SELECT p->>'item' FROM jsonb_array_elements(r->'parts') AS p);
    lacking bigint := (r->>'qty')::bigint;
    locked  shelf_lot[];
    opened  movement[];
    c       record;
    amount  bigint;
    answer  done;
BEGIN
    PERFORM in_kit(shop, of_kit, r->'parts');
    locked := lock_lots(shop, parts || of_kit, ARRAY(
        SELECT unnest(lots_named(shop, parts, b.lot)) FROM balance AS b
        WHERE b.workshop = shop AND b.item = of_kit AND b.on_hand > 0));
    FOR c IN SELECT * FROM candidates(shop, locked, of_kit, of_lot, '', today) WHERE free > 0 LOOP
        EXIT WHEN lacking = 0;
        amount := LEAST(c.free, lacking);
        opened := opened || move(shop, doing, of_kit, c.lot, 'shelf', 'kit', of_kit, amount, today);
        lacking := lacking - amount;
    END LOOP;
    IF lacking > 0 THEN
        PERFORM known(shop, of_kit, of_lot);
        PERFORM refuse('short', jsonb_build_object('item', of_kit, 'lot', of_lot,
            'found', (r->>'qty')::bigint - lacking, 'expected', r->'qty'));
    END IF;
    answer.moved := opened;
    FOR c IN
        SELECT p->>'item' AS item, o.lot, o.qty * (p->>'qty')::bigint AS qty, l.received_on,
            LEAST(l.expires_on, (p->>'expires')::date) AS expiry, coalesce((p->>'unit_cost')::bigint, 0) AS cost
        FROM unnest(opened) AS o
        JOIN lot AS l ON l.workshop = shop AND l.item = of_kit AND l.lot = o.lot
        CROSS JOIN jsonb_array_elements(r->'parts') AS p
        ORDER BY 1, 2
    LOOP
        SELECT o.locked, o.name INTO locked, c.lot
            FROM open_lot(shop, locked, c.item, c.lot, c.received_on, c.expiry, c.cost) AS o;
        answer.moved := answer.moved || move(shop, doing, c.item, c.lot, 'kit', 'shelf', of_kit, c.qty, today);
    END LOOP;
    RETURN answer;
END $$;

-- What a lot went through under its earlier names: 'inspected', 'opened', and
-- when.
CREATE FUNCTION gone_through(shop bigint, of_item text, of_lot text)
    RETURNS TABLE (what text, happened_on date) LANGUAGE sql STABLE
BEGIN ATOMIC
    WITH RECURSIVE step AS (
        SELECT m.act, m.ref, m.happened_on FROM movement AS m
        WHERE m.workshop = shop AND m.item = of_item AND m.lot = of_lot AND m.from_place = 'lot'
        UNION
        SELECT came.act, came.ref, came.happened_on
        FROM step
        JOIN movement AS went ON went.workshop = shop AND went.item = of_item AND went.act = step.act
            AND went.to_place = 'lot'
        JOIN movement AS came ON came.workshop = shop AND came.item = of_item AND came.lot = went.lot
            AND came.from_place = 'lot')
    SELECT s.ref, s.happened_on FROM step AS s;
END;

-- Locks one lot and returns its balance; an act that goes on under another name
-- of it touches no other that is there already.
CREATE FUNCTION lock_lot(shop bigint, of_item text, of_lot text) RETURNS balance LANGUAGE plpgsql AS $$
DECLARE
    found balance;
BEGIN
    SELECT * INTO found FROM balance AS b
        WHERE b.workshop = shop AND b.item = of_item AND b.lot = of_lot FOR NO KEY UPDATE;
    PERFORM known(shop, of_item, of_lot);
    RETURN found;
END $$;

-- Takes a quantity of a lot on with another expiry, under its name with
-- something after it that nobody has; everything else stays.
CREATE FUNCTION go_on(shop bigint, doing uuid, old balance, added text, expiry date, amount bigint, why text, today date)
    RETURNS movement[] LANGUAGE plpgsql AS $$
DECLARE
    name text;
BEGIN
    FOR n IN 1..9999 LOOP
        name := lot_name(old.lot, added || CASE n WHEN 1 THEN '' ELSE '-' || n END);
        INSERT INTO lot (workshop, item, lot, received_on, expires_on, unit_cost)
            SELECT shop, l.item, name, l.received_on, expiry, l.unit_cost
            FROM lot AS l WHERE l.workshop = shop AND l.item = old.item AND l.lot = old.lot
            ON CONFLICT DO NOTHING;
        EXIT WHEN FOUND;
    END LOOP;
    RETURN ARRAY[move(shop, doing, old.item, old.lot, 'shelf', 'lot', why, amount, today),
        move(shop, doing, old.item, name, 'lot', 'shelf', why, amount, today)];
END $$;

-- A lot that was inspected and is good for longer: all of it goes on, and what
-- was set aside of it stays so for the same jobs.
CREATE FUNCTION act_extend(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
DECLARE
    of_item text := r->>'item';
    of_lot  text := r->>'lot';
    today   date := (r->>'on')::date;
    limit_  date := (r->>'until')::date;
    old     balance := lock_lot(shop, of_item, of_lot);
    before  date := (SELECT min(g.happened_on) FROM gone_through(shop, of_item, of_lot) AS g WHERE g.what = 'inspected');
    wrong   text := CASE
        WHEN before IS NOT NULL THEN format('it was inspected on %s; a lot goes on once', before)
        WHEN old.on_hand = 0 THEN 'nothing of it is on the shelf'
        WHEN old.expires_on = 'infinity' THEN 'it does not expire'
        WHEN limit_ <= old.expires_on THEN format('it expires on %s, found %s, expected a later day', old.expires_on, limit_)
    END;
    aside   record;
    kept    set_aside[];
    moved   movement[];
BEGIN
    IF wrong IS NOT NULL THEN
        PERFORM refuse('conflict', jsonb_build_object('item', of_item, 'lot', of_lot, 'reason', wrong));
    END IF;
    FOR aside IN SELECT k.job, k.qty FROM kept AS k
        WHERE k.workshop = shop AND k.item = of_item AND k.lot = of_lot
    LOOP
        kept := kept || keep(shop, doing, of_item, of_lot, aside.job, -aside.qty, 'released', today);
    END LOOP;
    moved := go_on(shop, doing, old, ' inspected', limit_, old.on_hand, 'inspected', today);
    -- In the order in which the jobs came: of a shortage, the last one loses.
    FOR aside IN SELECT k.job, -k.qty AS qty FROM unnest(kept) AS k
        ORDER BY (SELECT max(s.number) FROM set_aside AS s WHERE s.workshop = shop AND s.item = of_item
            AND s.lot = of_lot AND s.job = k.job AND s.qty > 0)
    LOOP
        kept := kept || keep(shop, doing, of_item, moved[2].lot, aside.job, aside.qty, 'set aside', today);
    END LOOP;
    INSERT INTO inspection (workshop, item, lot, new_lot, inspected_on, inspected_by, note, until, act)
    VALUES (shop, of_item, of_lot, moved[2].lot, today, r->>'by', r->>'note', limit_, doing);
    RETURN (moved, kept);
END $$;

-- A container of a lot that was opened and keeps for less long.
CREATE FUNCTION act_open_container(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
DECLARE
    of_item text := r->>'item';
    of_lot  text := r->>'lot';
    today   date := (r->>'on')::date;
    amount  bigint := (r->>'qty')::bigint;
    old     balance := lock_lot(shop, of_item, of_lot);
    before  date := (SELECT min(g.happened_on) FROM gone_through(shop, of_item, of_lot) AS g WHERE g.what = 'opened');
BEGIN
    IF before IS NOT NULL THEN
        PERFORM refuse('conflict', jsonb_build_object('item', of_item, 'lot', of_lot,
            'reason', format('it is open since %s', before)));
    ELSIF old.on_hand - old.reserved < amount THEN
        PERFORM refuse('short', jsonb_build_object('item', of_item, 'lot', of_lot,
            'found', old.on_hand - old.reserved, 'expected', amount));
    END IF;
    RETURN (go_on(shop, doing, old, to_char(today, '" opened "YYYY-MM-DD'),
        LEAST(old.expires_on, (r->>'until')::date), amount, 'opened', today), NULL::set_aside[]);
END $$;

-- A movement undone, and the order that it belongs to with it. What went on as
-- something else has two ends, of which one alone is not undone.
CREATE FUNCTION act_take_back(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
DECLARE
    of_item text := r->>'item';
    of_lot  text := r->>'lot';
    wrong   movement;
    brought delivery;
    answer  done;
BEGIN
    SELECT * INTO wrong FROM movement AS m
        WHERE m.workshop = shop AND m.item = of_item AND m.lot = of_lot AND m.seq = (r->>'seq')::bigint;
    IF wrong.from_place IN ('kit', 'lot') OR wrong.to_place IN ('kit', 'lot') THEN
        PERFORM refuse('conflict', jsonb_build_object('item', of_item, 'lot', of_lot, 'seq', wrong.seq,
            'reason', 'it is one end of stock that went on as something else; count what is there'));
    END IF;
    SELECT * INTO brought FROM delivery AS d
        WHERE d.workshop = shop AND d.item = of_item AND d.lot = of_lot AND d.seq = (r->>'seq')::bigint;
    PERFORM FROM order_line AS o
        WHERE o.workshop = shop AND o.order_code = brought.order_code AND o.item = of_item FOR NO KEY UPDATE;
    answer := act_reverse(shop, doing, r);
    -- Open again, so that it can be told as it was.
    UPDATE order_line AS o SET closed_on = NULL, received_packs = NULLIF(came(o) - brought.packs, 0),
        received_on = CASE WHEN came(o) > brought.packs THEN coalesce((
            SELECT max(m.happened_on) FROM delivery AS d JOIN movement AS m USING (workshop, item, lot, seq)
            WHERE workshop = shop AND d.order_code = o.order_code AND item = of_item
              AND NOT EXISTS (SELECT FROM movement AS u WHERE u.workshop = shop AND u.item = of_item AND u.lot = d.lot
                AND u.reverses = d.seq)), o.received_on) END
    WHERE o.workshop = shop AND o.order_code = brought.order_code AND o.item = of_item;
    RETURN answer;
END $$;

-- Holds the items of a request. Acts that take stock from lot to lot, or bring
-- several lots, hold them alone: who waits for a lot of theirs would look on with
-- the eyes of before, and find it neither under its old name nor under the new.
-- All others hold them together and do not feel it.
CREATE FUNCTION hold_items(shop bigint, what text, r jsonb) RETURNS void LANGUAGE plpgsql AS $$
DECLARE
    items text[] := ARRAY(SELECT l->>'item' FROM jsonb_array_elements(coalesce(r->'lines', r->'parts', '[]')) AS l)
        || ARRAY[r->>'item', r->>'kit'];
    held  bigint;
BEGIN
    IF what = 'place' THEN
        RETURN; -- it moves nothing
    ELSIF what = 'release' THEN
        items := items || ARRAY(SELECT DISTINCT s.item FROM set_aside AS s WHERE s.workshop = shop AND s.job = r->>'job');
    END IF;
    FOR held IN
        SELECT DISTINCT hashtextextended('item ' || i, shop) FROM unnest(items) AS i WHERE i IS NOT NULL ORDER BY 1
    LOOP
        IF what IN ('deliver', 'open kit', 'extend', 'open container') THEN
            PERFORM pg_advisory_xact_lock(held);
        ELSE
            PERFORM pg_advisory_xact_lock_shared(held);
        END IF;
    END LOOP;
END $$;

CREATE OR REPLACE FUNCTION dispatch(shop bigint, doing uuid, what text, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
BEGIN
    PERFORM hold_items(shop, what, r);
    CASE what
        WHEN 'receive'        THEN RETURN act_receive(shop, doing, r);
        WHEN 'take'           THEN RETURN act_take(shop, doing, r);
        WHEN 'set aside'      THEN RETURN act_set_aside(shop, doing, r);
        WHEN 'release'        THEN RETURN act_release(shop, doing, r);
        WHEN 'waste'          THEN RETURN act_waste(shop, doing, r);
        WHEN 'count'          THEN RETURN act_count(shop, doing, r);
        WHEN 'reverse'        THEN RETURN act_take_back(shop, doing, r);
        WHEN 'place'          THEN RETURN act_place(shop, doing, r);
        WHEN 'deliver'        THEN RETURN act_deliver(shop, doing, r);
        WHEN 'open kit'       THEN RETURN act_open_kit(shop, doing, r);
        WHEN 'extend'         THEN RETURN act_extend(shop, doing, r);
        WHEN 'open container' THEN RETURN act_open_container(shop, doing, r);
    END CASE;
END $$;
