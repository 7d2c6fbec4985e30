-- Acts on stock: one function each, all of them called through perform, which
-- sees to the key, the stored answer and the proof.
--
-- shop is the workshop, doing the act's key, r the request. An act that cannot
-- be done calls refuse: nothing of it stays but the refusal, which is stored
-- under its key like any other answer.

-- What an act did.
CREATE TYPE done AS (moved movement[], kept set_aside[]);

CREATE FUNCTION refuse(kind text, what jsonb) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    RAISE EXCEPTION '%', kind USING ERRCODE = 'CLREF', DETAIL = what || jsonb_build_object('kind', kind);
END $$;

CREATE FUNCTION move(shop bigint, doing uuid, of_item text, of_lot text, source text, target text, for_ref text,
        amount bigint, today date, wrong bigint DEFAULT NULL) RETURNS movement LANGUAGE plpgsql AS $$
DECLARE
    made movement;
BEGIN
    INSERT INTO movement (workshop, item, lot, from_place, to_place, ref, qty, happened_on, act, reverses)
    VALUES (shop, of_item, of_lot, source, target, for_ref, amount, today, doing, wrong)
    RETURNING * INTO made;
    RETURN made;
END $$;

CREATE FUNCTION keep(shop bigint, doing uuid, of_item text, of_lot text, for_job text, amount bigint, reason text,
        today date) RETURNS set_aside LANGUAGE plpgsql AS $$
DECLARE
    made set_aside;
BEGIN
    INSERT INTO set_aside (workshop, item, lot, job, qty, why, happened_on, act)
    VALUES (shop, of_item, of_lot, for_job, amount, reason, today, doing)
    RETURNING * INTO made;
    RETURN made;
END $$;

CREATE TYPE shelf_lot AS (item text, lot text);

-- Locks the lots that hold anything of the items, and those named, in the one
-- order, and returns them. Empty lots stay unlocked: an old item has many of
-- them. An act touches only what is returned; a lot that was filled meanwhile
-- would be locked out of order.
CREATE FUNCTION lock_lots(shop bigint, items text[], named text[] DEFAULT '{}') RETURNS shelf_lot[] LANGUAGE plpgsql AS $$
BEGIN
    RETURN ARRAY(SELECT ROW(b.item, b.lot)::shelf_lot FROM balance AS b
        WHERE b.workshop = shop AND b.item = ANY (items) AND (b.on_hand > 0 OR b.lot = ANY (named))
        ORDER BY b.item, b.expires_on, b.received_on, b.lot
        FOR NO KEY UPDATE);
END $$;

-- Refuses an item or a lot that the workshop does not have.
CREATE FUNCTION known(shop bigint, of_item text, of_lot text) RETURNS void LANGUAGE plpgsql AS $$
BEGIN
    IF NOT EXISTS (SELECT FROM item WHERE workshop = shop AND item = of_item) THEN
        PERFORM refuse('not found', jsonb_build_object('item', of_item));
    END IF;
    IF of_lot <> '' AND NOT EXISTS (SELECT FROM lot WHERE workshop = shop AND item = of_item AND lot = of_lot) THEN
        PERFORM refuse('not found', jsonb_build_object('item', of_item, 'lot', of_lot));
    END IF;
END $$;

-- What a line of a request may draw on, of the lots that are locked: the named
-- one, or every one still good on the day, first expired first.
CREATE FUNCTION candidates(shop bigint, locked shelf_lot[], of_item text, of_lot text, for_job text, today date)
    RETURNS TABLE (lot text, free bigint, kept bigint, all_kept numeric) LANGUAGE plpgsql AS $$
BEGIN
    RETURN QUERY
        SELECT c.lot, c.free, c.kept, sum(c.kept) OVER () FROM (
            SELECT b.lot, b.on_hand - b.reserved AS free, b.expires_on, b.received_on,
                CASE WHEN b.reserved = 0 THEN 0 ELSE coalesce((
                    SELECT sum(s.qty)::bigint FROM set_aside AS s
                    WHERE s.workshop = shop AND s.item = of_item AND s.lot = b.lot AND s.job = for_job), 0) END AS kept
            FROM balance AS b
            WHERE b.workshop = shop AND b.item = of_item AND b.on_hand > 0
              AND ROW(b.item, b.lot)::shelf_lot = ANY (locked)
              AND CASE WHEN of_lot = '' THEN b.expires_on > today ELSE b.lot = of_lot END) AS c
        ORDER BY c.expires_on, c.received_on, c.lot;
END $$;

-- A delivery into a new lot or one more of the same.
CREATE FUNCTION act_receive(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
DECLARE
    of_item text := r->>'item';
    of_lot  text := r->>'lot';
    expiry  date := coalesce((r->>'expires')::date, 'infinity');
    cost    bigint := coalesce((r->>'unit_cost')::bigint, 0);
    old     lot;
BEGIN
    PERFORM known(shop, of_item, '');
    INSERT INTO lot (workshop, item, lot, received_on, expires_on, unit_cost)
    VALUES (shop, of_item, of_lot, (r->>'on')::date, expiry, cost)
    ON CONFLICT DO NOTHING;
    IF NOT FOUND THEN
        SELECT * INTO old FROM lot WHERE workshop = shop AND item = of_item AND lot = of_lot;
        IF old.expires_on <> expiry OR old.unit_cost <> cost THEN
            PERFORM refuse('conflict', jsonb_build_object('item', of_item, 'lot', of_lot,
                'reason', 'the lot was received with another expiry or cost; give this delivery a lot of its own'));
        END IF;
    END IF;
    RETURN (ARRAY[move(shop, doing, of_item, of_lot, 'supplier', 'shelf', r->>'order', (r->>'qty')::bigint,
        (r->>'on')::date)], NULL::set_aside[]);
END $$;

-- Parts for a job: first what is set aside for it, then what is free.
CREATE FUNCTION act_take(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
DECLARE
    locked    shelf_lot[];
    for_job   text := r->>'job';
    today     date := (r->>'on')::date;
    line      record;
    c         record;
    from_kept bigint;
    from_free bigint;
    left_kept bigint;
    left_free bigint;
    answer    done;
BEGIN
    locked := lock_lots(shop, ARRAY(SELECT l->>'item' FROM jsonb_array_elements(r->'lines') AS l));
    FOR line IN SELECT l->>'item' AS item, coalesce(l->>'lot', '') AS lot, (l->>'qty')::bigint AS qty
        FROM jsonb_array_elements(r->'lines') AS l
    LOOP
        left_kept := NULL;
        left_free := line.qty;
        FOR c IN SELECT * FROM candidates(shop, locked, line.item, line.lot, for_job, today) LOOP
            IF left_kept IS NULL THEN
                left_kept := LEAST(line.qty, c.all_kept);
                left_free := line.qty - left_kept;
            END IF;
            from_kept := LEAST(c.kept, left_kept);
            from_free := LEAST(c.free, left_free);
            CONTINUE WHEN from_kept + from_free = 0;
            IF from_kept > 0 THEN
                answer.kept := answer.kept || keep(shop, doing, line.item, c.lot, for_job, -from_kept, 'taken', today);
            END IF;
            answer.moved := answer.moved || move(shop, doing, line.item, c.lot, 'shelf', 'job', for_job,
                from_kept + from_free, today);
            left_kept := left_kept - from_kept;
            left_free := left_free - from_free;
            EXIT WHEN left_kept + left_free = 0;
        END LOOP;
        IF left_free > 0 THEN
            PERFORM known(shop, line.item, line.lot);
            PERFORM refuse('short', jsonb_build_object('item', line.item, 'lot', line.lot,
                'found', line.qty - left_free, 'expected', line.qty));
        END IF;
    END LOOP;
    RETURN answer;
END $$;

-- Stock kept back for a job: free stock, first expired first.
CREATE FUNCTION act_set_aside(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
DECLARE
    locked  shelf_lot[];
    line    record;
    c       record;
    lacking bigint;
    part    bigint;
    answer  done;
BEGIN
    locked := lock_lots(shop, ARRAY(SELECT l->>'item' FROM jsonb_array_elements(r->'lines') AS l));
    FOR line IN SELECT l->>'item' AS item, coalesce(l->>'lot', '') AS lot, (l->>'qty')::bigint AS qty
        FROM jsonb_array_elements(r->'lines') AS l
    LOOP
        lacking := line.qty;
        FOR c IN SELECT * FROM candidates(shop, locked, line.item, line.lot, '', (r->>'on')::date) WHERE free > 0 LOOP
            EXIT WHEN lacking = 0;
            part := LEAST(c.free, lacking);
            answer.kept := answer.kept || keep(shop, doing, line.item, c.lot, r->>'job', part, 'set aside',
                (r->>'on')::date);
            lacking := lacking - part;
        END LOOP;
        IF lacking > 0 THEN
            PERFORM known(shop, line.item, line.lot);
            PERFORM refuse('short', jsonb_build_object('item', line.item, 'lot', line.lot,
                'found', line.qty - lacking, 'expected', line.qty));
        END IF;
    END LOOP;
    RETURN answer;
END $$;

-- Stock kept back for a job and no longer needed: what the lines say, the
-- longest-lived lots first; a line without a quantity gives back all of its
-- item; no lines, all of the job.
CREATE FUNCTION act_release(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
DECLARE
    locked  shelf_lot[];
    for_job text := r->>'job';
    line    record;
    c       record;
    lacking bigint;
    part    bigint;
    answer  done;
BEGIN
    locked := lock_lots(shop, ARRAY(SELECT DISTINCT s.item FROM set_aside AS s WHERE s.workshop = shop AND s.job = for_job));
    FOR line IN SELECT l->>'item' AS item, coalesce(l->>'lot', '') AS lot, (l->>'qty')::bigint AS qty
            FROM jsonb_array_elements(r->'lines') AS l
        UNION ALL SELECT k.item, k.lot, NULL
            FROM kept AS k WHERE k.workshop = shop AND k.job = for_job AND jsonb_array_length(r->'lines') = 0
    LOOP
        lacking := line.qty;
        FOR c IN SELECT b.lot, k.qty FROM kept AS k JOIN balance AS b USING (workshop, item, lot)
            WHERE workshop = shop AND item = line.item AND k.job = for_job AND line.lot IN ('', b.lot)
              AND ROW(item, lot)::shelf_lot = ANY (locked)
            ORDER BY b.expires_on DESC, b.received_on DESC, b.lot DESC
        LOOP
            EXIT WHEN lacking = 0;
            part := LEAST(c.qty, lacking);
            answer.kept := answer.kept || keep(shop, doing, line.item, c.lot, for_job, -part, 'released',
                (r->>'on')::date);
            lacking := lacking - part;
        END LOOP;
        IF lacking > 0 THEN
            PERFORM known(shop, line.item, line.lot);
            PERFORM refuse('short', jsonb_build_object('item', line.item, 'lot', line.lot, 'job', for_job,
                'found', line.qty - lacking, 'expected', line.qty));
        END IF;
    END LOOP;
    RETURN answer;
END $$;

-- Gives back some of what is set aside of a lot, from the job that came last,
-- because it is no longer there.
CREATE FUNCTION let_go(shop bigint, doing uuid, of_item text, of_lot text, amount bigint, today date)
    RETURNS set_aside[] LANGUAGE plpgsql AS $$
DECLARE
    c       record;
    lacking bigint := amount;
    part    bigint;
    gone    set_aside[];
BEGIN
    FOR c IN SELECT s.job, sum(s.qty)::bigint AS qty FROM set_aside AS s
        WHERE s.workshop = shop AND s.item = of_item AND s.lot = of_lot
        GROUP BY s.job HAVING sum(s.qty) > 0 ORDER BY max(s.number) FILTER (WHERE s.qty > 0) DESC
    LOOP
        EXIT WHEN lacking = 0;
        part := LEAST(c.qty, lacking);
        gone := gone || keep(shop, doing, of_item, of_lot, c.job, -part, 'lost', today);
        lacking := lacking - part;
    END LOOP;
    RETURN gone;
END $$;

-- Stock that is gone whether anybody kept it or not, expired lots included:
-- free stock first, then what was set aside, of the lots that are locked.
CREATE FUNCTION lose(shop bigint, locked shelf_lot[], doing uuid, of_item text, of_lot text, amount bigint, target text, for_ref text,
        today date) RETURNS done LANGUAGE plpgsql AS $$
DECLARE
    c         record;
    left_free bigint;
    left_kept bigint := 0;
    from_free bigint;
    from_kept bigint;
    answer    done;
BEGIN
    FOR c IN SELECT b.lot, b.on_hand - b.reserved AS free, b.reserved, sum(b.on_hand) OVER () AS there,
            sum(b.on_hand - b.reserved) OVER () AS all_free
        FROM balance AS b
        WHERE b.workshop = shop AND b.item = of_item AND of_lot IN ('', b.lot) AND b.on_hand > 0
          AND ROW(b.item, b.lot)::shelf_lot = ANY (locked)
        ORDER BY b.expires_on, b.received_on, b.lot
    LOOP
        IF left_free IS NULL THEN
            EXIT WHEN c.there < amount;
            left_free := LEAST(amount, c.all_free);
            left_kept := amount - left_free;
        END IF;
        from_free := LEAST(c.free, left_free);
        from_kept := LEAST(c.reserved, left_kept);
        CONTINUE WHEN from_free + from_kept = 0;
        answer.kept := answer.kept || let_go(shop, doing, of_item, c.lot, from_kept, today);
        answer.moved := answer.moved || move(shop, doing, of_item, c.lot, 'shelf', target, for_ref,
            from_free + from_kept, today);
        left_free := left_free - from_free;
        left_kept := left_kept - from_kept;
    END LOOP;
    IF left_free IS NULL THEN
        PERFORM known(shop, of_item, of_lot);
        PERFORM refuse('short', jsonb_build_object('item', of_item, 'lot', of_lot, 'expected', amount, 'found', coalesce((
            SELECT sum(b.on_hand) FROM balance AS b
            WHERE b.workshop = shop AND b.item = of_item AND of_lot IN ('', b.lot)), 0)));
    END IF;
    RETURN answer;
END $$;

-- Stock spilled, torn or expired.
CREATE FUNCTION act_waste(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
BEGIN
    RETURN lose(shop, lock_lots(shop, ARRAY[r->>'item']), doing, r->>'item', coalesce(r->>'lot', ''),
        (r->>'qty')::bigint, 'waste', r->>'ref', (r->>'on')::date);
END $$;

-- What was found on the shelf of an item, or of one lot: the difference is
-- booked, what is too much to the newest lot.
CREATE FUNCTION act_count(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
DECLARE
    of_item text := r->>'item';
    of_lot  text := coalesce(r->>'lot', '');
    newest  text := (SELECT b.lot FROM balance AS b WHERE b.workshop = shop AND b.item = of_item AND of_lot IN ('', b.lot)
                     ORDER BY b.received_on DESC, b.lot DESC LIMIT 1);
    locked  shelf_lot[];
    extra   bigint;
BEGIN
    IF newest IS NULL THEN
        PERFORM known(shop, of_item, of_lot);
        PERFORM refuse('not found', jsonb_build_object('item', of_item,
            'reason', 'no lot of it was ever received; receive what was found'));
    END IF;
    locked := lock_lots(shop, ARRAY[of_item], ARRAY[newest]);
    SELECT (r->>'found')::bigint - sum(b.on_hand) INTO extra FROM balance AS b
        WHERE b.workshop = shop AND b.item = of_item AND of_lot IN ('', b.lot)
          AND ROW(b.item, b.lot)::shelf_lot = ANY (locked);
    IF extra < 0 THEN
        RETURN lose(shop, locked, doing, of_item, of_lot, -extra, 'difference', r->>'ref', (r->>'on')::date);
    ELSIF extra > 0 THEN
        RETURN (ARRAY[move(shop, doing, of_item, newest, 'difference', 'shelf', r->>'ref', extra, (r->>'on')::date)],
            NULL::set_aside[]);
    END IF;
    RETURN NULL;
END $$;

-- A movement that was wrong, undone once by its mirror.
CREATE FUNCTION act_reverse(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
DECLARE
    of_item text := r->>'item';
    of_lot  text := r->>'lot';
    wrong   movement;
    mirror  bigint;
    free    bigint;
BEGIN
    SELECT b.on_hand - b.reserved INTO free FROM balance AS b
        WHERE b.workshop = shop AND b.item = of_item AND b.lot = of_lot FOR NO KEY UPDATE;
    SELECT * INTO wrong FROM movement AS m
        WHERE m.workshop = shop AND m.item = of_item AND m.lot = of_lot AND m.seq = (r->>'seq')::bigint;
    IF NOT FOUND THEN
        PERFORM known(shop, of_item, of_lot);
        PERFORM refuse('not found', jsonb_build_object('item', of_item, 'lot', of_lot, 'seq', r->'seq'));
    END IF;
    IF wrong.reverses IS NOT NULL THEN
        PERFORM refuse('conflict', jsonb_build_object('item', of_item, 'lot', of_lot, 'seq', wrong.seq,
            'reason', format('it reverses movement %s itself; do what should stand anew', wrong.reverses)));
    END IF;
    SELECT m.seq INTO mirror FROM movement AS m
        WHERE m.workshop = shop AND m.item = of_item AND m.lot = of_lot AND m.reverses = wrong.seq;
    IF FOUND THEN
        PERFORM refuse('conflict', jsonb_build_object('item', of_item, 'lot', of_lot, 'seq', wrong.seq,
            'reason', format('movement %s has reversed it', mirror)));
    END IF;
    IF wrong.to_place = 'shelf' AND free < wrong.qty THEN
        PERFORM refuse('short', jsonb_build_object('item', of_item, 'lot', of_lot, 'found', free, 'expected', wrong.qty));
    END IF;
    RETURN (ARRAY[move(shop, doing, of_item, of_lot, wrong.to_place, wrong.from_place, wrong.ref, wrong.qty,
        (r->>'on')::date, wrong.seq)], NULL::set_aside[]);
END $$;

CREATE FUNCTION dispatch(shop bigint, doing uuid, what text, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
BEGIN
    CASE what
        WHEN 'receive'   THEN RETURN act_receive(shop, doing, r);
        WHEN 'take'      THEN RETURN act_take(shop, doing, r);
        WHEN 'set aside' THEN RETURN act_set_aside(shop, doing, r);
        WHEN 'release'   THEN RETURN act_release(shop, doing, r);
        WHEN 'waste'     THEN RETURN act_waste(shop, doing, r);
        WHEN 'count'     THEN RETURN act_count(shop, doing, r);
        WHEN 'reverse'   THEN RETURN act_reverse(shop, doing, r);
    END CASE;
END $$;

-- The one door. An act of a known key is answered from what was stored; the
-- lock makes two of the same key take turns.
--
-- A shortage is looked into once more, in a new snapshot: a delivery may have
-- come in while the first look waited for a lock.
CREATE FUNCTION perform(shop bigint, doing uuid, what text, r jsonb) RETURNS jsonb
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = circlip, pg_temp AS $$
DECLARE
    digest   bytea := sha256(convert_to(what || ' ' || r::text, 'UTF8'));
    stored   act;
    did      done;
    answer   jsonb;
    evidence bytea := sha256('');
BEGIN
    PERFORM pg_advisory_xact_lock(hashtextextended(doing::text, shop));
    SELECT * INTO stored FROM act WHERE workshop = shop AND act = doing;
    IF FOUND THEN
        IF stored.request_sha256 <> digest THEN
            RAISE EXCEPTION 'act %: found another request (%, recorded %) under this key, expected the same; use a new key',
                doing, stored.kind, stored.at USING ERRCODE = 'CLKEY', TABLE = 'act';
        END IF;
        RETURN stored.result;
    END IF;
    FOR look IN 1..2 LOOP
        BEGIN
            did := dispatch(shop, doing, what, r);
            SELECT jsonb_build_object('moved', coalesce(jsonb_agg(jsonb_build_object('item', m.item, 'lot', m.lot,
                    'seq', m.seq, 'from', m.from_place, 'to', m.to_place, 'ref', m.ref, 'qty', m.qty, 'on', m.happened_on)
                    ORDER BY m.item, m.lot, m.seq), '[]')),
                sha256(coalesce(string_agg(m.hash, '' ORDER BY m.item, m.lot, m.seq), ''))
                INTO answer, evidence FROM unnest(did.moved) AS m;
            IF did.kept IS NOT NULL THEN
                answer := answer || jsonb_build_object('kept', (SELECT jsonb_agg(jsonb_build_object('item', k.item,
                    'lot', k.lot, 'job', k.job, 'qty', k.qty)) FROM unnest(did.kept) AS k));
            END IF;
            EXIT;
        EXCEPTION WHEN SQLSTATE 'CLREF' THEN
            GET STACKED DIAGNOSTICS answer = PG_EXCEPTION_DETAIL;
            EXIT WHEN answer->>'kind' <> 'short' OR look = 2;
        END;
    END LOOP;
    IF answer ? 'kind' THEN
        answer := jsonb_build_object('refused', answer || jsonb_build_object('measure', (
            SELECT i.measure FROM item AS i WHERE i.workshop = shop AND i.item = answer->>'item')));
    END IF;
    INSERT INTO act (workshop, act, kind, request_sha256, result, proof)
    VALUES (shop, doing, what, digest, answer, evidence);
    RETURN answer;
END $$;
