-- The tables as all migrations leave them, for reading; written by: go test ./db -run TestSchemaFileIsTrue -update

CREATE SCHEMA circlip;

ALTER SCHEMA circlip OWNER TO circlip_owner;

CREATE DOMAIN circlip.code AS text COLLATE pg_catalog."C"
	CONSTRAINT code_not_blank CHECK (((VALUE <> ''::text) AND (VALUE = btrim(VALUE))));

ALTER DOMAIN circlip.code OWNER TO circlip_owner;

CREATE TABLE circlip.movement (
    workshop bigint NOT NULL,
    item text NOT NULL COLLATE pg_catalog."C",
    lot text NOT NULL COLLATE pg_catalog."C",
    seq bigint NOT NULL,
    from_place text NOT NULL,
    to_place text NOT NULL,
    ref text DEFAULT ''::text NOT NULL,
    qty bigint NOT NULL,
    happened_on date NOT NULL,
    act uuid NOT NULL,
    reverses bigint,
    recorded_at timestamp with time zone DEFAULT now() NOT NULL,
    hash bytea NOT NULL,
    CONSTRAINT movement_happened_on CHECK (((happened_on >= '1970-01-02'::date) AND (happened_on <= '2199-12-31'::date))),
    CONSTRAINT movement_places CHECK ((((from_place = 'shelf'::text) <> (to_place = 'shelf'::text)) AND (from_place = ANY (ARRAY['shelf'::text, 'opening'::text, 'supplier'::text, 'job'::text, 'waste'::text, 'difference'::text, 'kit'::text, 'lot'::text])) AND (to_place = ANY (ARRAY['shelf'::text, 'opening'::text, 'supplier'::text, 'job'::text, 'waste'::text, 'difference'::text, 'kit'::text, 'lot'::text])))),
    CONSTRAINT movement_qty CHECK (((qty >= 1) AND (qty <= '10000000000'::bigint)))
);

ALTER TABLE circlip.movement OWNER TO circlip_owner;

CREATE TABLE circlip.set_aside (
    workshop bigint NOT NULL,
    item text NOT NULL COLLATE pg_catalog."C",
    lot text NOT NULL COLLATE pg_catalog."C",
    number bigint NOT NULL,
    job text NOT NULL COLLATE pg_catalog."C",
    qty bigint NOT NULL,
    why text NOT NULL,
    happened_on date NOT NULL,
    act uuid NOT NULL,
    recorded_at timestamp with time zone DEFAULT now() NOT NULL,
    CONSTRAINT set_aside_job_named CHECK ((job <> ''::text)),
    CONSTRAINT set_aside_why CHECK (
CASE why
    WHEN 'set aside'::text THEN (qty > 0)
    WHEN 'taken over'::text THEN (qty <> 0)
    ELSE ((qty < 0) AND (why = ANY (ARRAY['taken'::text, 'released'::text, 'lost'::text])))
END)
);

ALTER TABLE circlip.set_aside OWNER TO circlip_owner;

CREATE TYPE circlip.done AS (
	moved circlip.movement[],
	kept circlip.set_aside[]
);

ALTER TYPE circlip.done OWNER TO circlip_owner;

CREATE TYPE circlip.shelf_lot AS (
	item text,
	lot text
);

ALTER TYPE circlip.shelf_lot OWNER TO circlip_owner;

CREATE FUNCTION circlip.act_book_job(shop bigint, doing uuid, r jsonb) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
DECLARE
    today  date := (r->>'on')::date;
    before job;
    made   job;
BEGIN
    SELECT * INTO before FROM job AS j WHERE j.workshop = shop AND j.job = r->>'job';
    IF NOT FOUND THEN
        PERFORM fit_together(shop, r);
        INSERT INTO job (workshop, job, unit, model, services, booked_on, bench_date)
        VALUES (shop, r->>'job', NULLIF(r->>'unit', ''), CASE r->>'unit' WHEN '' THEN r->>'model' END,
            ARRAY(SELECT jsonb_array_elements_text(r->'services')), today, (r->>'bench')::date)
        ON CONFLICT DO NOTHING
        RETURNING * INTO made;
    END IF;
    IF made.job IS NULL THEN
        SELECT * INTO before FROM job AS j WHERE j.workshop = shop AND j.job = r->>'job';
        PERFORM refuse('conflict', jsonb_build_object('job', r->>'job', 'reason',
            format('it is %s, for %s; give this one another code', before.state, before.bench_date)));
    END IF;
    PERFORM note_reading(shop, made, today, r->'reading');
    PERFORM note_setup(shop, made, 'before', today, r->'before');
    RETURN NULL;
END $$;

ALTER FUNCTION circlip.act_book_job(shop bigint, doing uuid, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.act_cancel_job(shop bigint, doing uuid, r jsonb) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
DECLARE
    of_job job := open_job(shop, r->>'job', (r->>'on')::date);
    went   text := (SELECT min(t.item) FROM taken(shop, of_job.job) AS t);
BEGIN
    IF went IS NOT NULL THEN
        PERFORM refuse('conflict', jsonb_build_object('job', of_job.job, 'item', went,
            'reason', 'it has taken some; close the job with what was used, or reverse the take'));
    END IF;
    UPDATE job AS j SET state = CASE WHEN (r->>'no_show')::boolean THEN 'no-show' ELSE 'cancelled' END,
        cancelled_on = (r->>'on')::date
        WHERE j.workshop = shop AND j.job = of_job.job;
    RETURN release_all(shop, lock_lots(shop, items_kept(shop, of_job.job)), doing, of_job.job, (r->>'on')::date);
END $$;

ALTER FUNCTION circlip.act_cancel_job(shop bigint, doing uuid, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.act_close_job(shop bigint, doing uuid, r jsonb) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
DECLARE
    today  date := (r->>'on')::date;
    of_job job := open_job(shop, r->>'job', today);
    locked shelf_lot[];
    answer done;
BEGIN
    IF r->>'unit' <> coalesce(of_job.unit, '') AND r->>'unit' <> '' THEN
        PERFORM refuse('conflict', jsonb_build_object('job', of_job.job, 'reason',
            format('wrong unit: it is for %s, found %s', coalesce(of_job.unit, 'a ' || of_job.model), r->>'unit')));
    END IF;
    PERFORM still_good(shop, r->'used', today);
    locked := lock_lots(shop, items_of(r->'used') || items_of(r->'wasted') || items_of(r->'back')
        || items_kept(shop, of_job.job), lots_taken(shop, of_job.job));
    answer := give_back(shop, doing, of_job.job, r->'back', today);
    answer := together(answer, draw(shop, locked, doing, of_job.job, r->'used', 'job', today));
    answer := together(answer, draw(shop, locked, doing, of_job.job, r->'wasted', 'waste', today));
    answer := together(answer, release_all(shop, locked, doing, of_job.job, today));
    PERFORM note_reading(shop, of_job, today, r->'reading');
    PERFORM note_setup(shop, of_job, 'after', today, r->'after');
    UPDATE job AS j SET state = 'done', done_on = today, done_by = r->>'by' WHERE j.workshop = shop AND j.job = of_job.job;
    DELETE FROM job_use AS u WHERE u.workshop = shop AND u.job = of_job.job;
    INSERT INTO job_use (workshop, job, item, lot, qty)
        SELECT shop, of_job.job, t.item, t.lot, t.qty FROM taken(shop, of_job.job) AS t;
    INSERT INTO job_act (workshop, act, job, what, happened_on) VALUES (shop, doing, of_job.job, 'closed', today);
    RETURN answer;
END $$;

ALTER FUNCTION circlip.act_close_job(shop bigint, doing uuid, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.act_correct_job(shop bigint, doing uuid, r jsonb) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
DECLARE
    today  date := (r->>'on')::date;
    of_job job := known_job(shop, r->>'job');
    locked shelf_lot[];
    answer done;
BEGIN
    IF of_job.state <> 'done' OR today < of_job.done_on THEN
        PERFORM refuse('conflict', jsonb_build_object('job', of_job.job, 'reason', CASE of_job.state
            WHEN 'done' THEN format('it was done on %s, found a correction of %s', of_job.done_on, today)
            ELSE format('it is %s; only a job that is done is corrected', of_job.state) END));
    END IF;
    PERFORM still_good(shop, r->'more', of_job.done_on);
    locked := lock_lots(shop, items_of(r->'more') || items_of(r->'less'), lots_taken(shop, of_job.job));
    answer := together(give_back(shop, doing, of_job.job, r->'less', today),
        draw(shop, locked, doing, of_job.job, r->'more', 'job', today));
    PERFORM bring_uses(shop, of_job.job, answer.moved);
    INSERT INTO job_act (workshop, act, job, what, reason, happened_on)
    VALUES (shop, doing, of_job.job, 'corrected', r->>'reason', today);
    RETURN answer;
END $$;

ALTER FUNCTION circlip.act_correct_job(shop bigint, doing uuid, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.act_count(shop bigint, doing uuid, r jsonb) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
DECLARE
    of_item text := r->>'item';
    of_lot  text := coalesce(r->>'lot', '');
    newest  text;
    locked  shelf_lot[];
    extra   bigint;
BEGIN
    IF of_lot = '' THEN
        PERFORM note_count(shop, doing, r);
    END IF;
    newest := (SELECT b.lot FROM balance AS b WHERE b.workshop = shop AND b.item = of_item AND of_lot IN ('', b.lot)
        ORDER BY b.received_on DESC, b.lot DESC LIMIT 1);
    IF newest IS NULL THEN
        PERFORM known(shop, of_item, of_lot);
        IF (r->>'found')::bigint > 0 THEN
            PERFORM refuse('not found', jsonb_build_object('item', of_item,
                'reason', 'no lot of it was ever received; receive what was found'));
        END IF;
        RETURN NULL;
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

ALTER FUNCTION circlip.act_count(shop bigint, doing uuid, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.act_deliver(shop bigint, doing uuid, r jsonb) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
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

ALTER FUNCTION circlip.act_deliver(shop bigint, doing uuid, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.act_dispose(shop bigint, doing uuid, r jsonb) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
DECLARE
    today date := (r->>'on')::date;
BEGIN
    PERFORM pg_advisory_xact_lock(hashtextextended('circlip book ' || shop, 0));
    INSERT INTO disposal (workshop, happened_on, number, stream, moment, volume_ml, weight_g, carrier, document, note, act)
        SELECT shop, today, coalesce(max(d.number), 0) + 1, r->>'stream', r->>'moment', (r->>'volume_ml')::double precision,
            (r->>'weight_g')::double precision, r->>'carrier', r->>'document', r->>'note', doing
        FROM disposal AS d WHERE d.workshop = shop AND d.happened_on = today;
    RETURN NULL;
END $$;

ALTER FUNCTION circlip.act_dispose(shop bigint, doing uuid, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.act_extend(shop bigint, doing uuid, r jsonb) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
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

ALTER FUNCTION circlip.act_extend(shop bigint, doing uuid, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.act_known() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
BEGIN
    IF NOT EXISTS (SELECT FROM circlip.act AS a WHERE a.workshop = NEW.workshop AND a.act = NEW.act) THEN
        RAISE EXCEPTION '% of item % lot % belongs to act %, expected one that is recorded', TG_TABLE_NAME, NEW.item,
            NEW.lot, NEW.act USING ERRCODE = 'foreign_key_violation', CONSTRAINT = TG_NAME, TABLE = TG_TABLE_NAME;
    END IF;
    RETURN NULL;
END $$;

ALTER FUNCTION circlip.act_known() OWNER TO circlip_owner;

CREATE FUNCTION circlip.act_move_job(shop bigint, doing uuid, r jsonb) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
DECLARE
    of_job job := open_job(shop, r->>'job', (r->>'on')::date);
BEGIN
    IF of_job.bench_date = (r->>'bench')::date THEN
        PERFORM refuse('conflict', jsonb_build_object('job', of_job.job,
            'reason', format('it is for %s already', of_job.bench_date)));
    END IF;
    UPDATE job AS j SET bench_date = (r->>'bench')::date WHERE j.workshop = shop AND j.job = of_job.job;
    RETURN release_all(shop, lock_lots(shop, items_kept(shop, of_job.job)), doing, of_job.job, (r->>'on')::date);
END $$;

ALTER FUNCTION circlip.act_move_job(shop bigint, doing uuid, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.act_open_container(shop bigint, doing uuid, r jsonb) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
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

ALTER FUNCTION circlip.act_open_container(shop bigint, doing uuid, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.act_open_kit(shop bigint, doing uuid, r jsonb) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
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

ALTER FUNCTION circlip.act_open_kit(shop bigint, doing uuid, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.act_place(shop bigint, doing uuid, r jsonb) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
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

ALTER FUNCTION circlip.act_place(shop bigint, doing uuid, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.act_receive(shop bigint, doing uuid, r jsonb) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
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

ALTER FUNCTION circlip.act_receive(shop bigint, doing uuid, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.act_release(shop bigint, doing uuid, r jsonb) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
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

ALTER FUNCTION circlip.act_release(shop bigint, doing uuid, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.act_reverse(shop bigint, doing uuid, r jsonb) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
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

ALTER FUNCTION circlip.act_reverse(shop bigint, doing uuid, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.act_revise_bill(shop bigint, doing uuid, r jsonb) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
DECLARE
    begins  date := (r->>'valid_from')::date;
    amount  bigint := (r->>'qty')::bigint;
    of_bill text := format('service %s on model %s', r->>'service', r->>'model');
    unit_of text;
    old     bom_line;
    wrong   text;
BEGIN
    PERFORM pg_advisory_xact_lock(hashtextextended('circlip book ' || shop, 0));
    PERFORM known(shop, r->>'item', '');
    SELECT i.measure INTO unit_of FROM item AS i WHERE i.workshop = shop AND i.item = r->>'item';
    SELECT * INTO old FROM bom_line AS b
        WHERE b.workshop = shop AND (b.service, b.model, b.item) = (r->>'service', r->>'model', r->>'item')
          AND b.valid_from <= begins AND begins < b.valid_to;
    IF NOT FOUND THEN
        PERFORM refuse('not found', jsonb_build_object('item', r->'item',
            'reason', format('the bill of %s has no line of it that holds on %s', of_bill, begins)));
    ELSIF old.qty = amount THEN
        wrong := format('the bill of %s says %s %s on %s already', of_bill, in_measure(amount, unit_of), unit_of, begins);
    ELSIF old.valid_from = begins THEN
        wrong := format('the bill of %s has a line of it that begins on %s, with %s %s; revise it from another day', of_bill,
            begins, in_measure(old.qty, unit_of), unit_of);
    END IF;
    IF wrong IS NOT NULL THEN
        PERFORM refuse('conflict', jsonb_build_object('item', r->'item', 'reason', wrong));
    END IF;
    UPDATE bom_line AS b SET valid_to = begins
        WHERE b.workshop = shop AND (b.service, b.model, b.item, b.valid_from) = (old.service, old.model, old.item, old.valid_from);
    INSERT INTO bom_line (workshop, service, model, item, valid_from, qty, need, waste, valid_to, note)
    VALUES (shop, old.service, old.model, old.item, begins, amount, old.need, old.waste, old.valid_to, r->>'note');
    RETURN NULL;
END $$;

ALTER FUNCTION circlip.act_revise_bill(shop bigint, doing uuid, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.act_set_aside(shop bigint, doing uuid, r jsonb) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
DECLARE
    today   date := (r->>'on')::date;
    of_job  job := open_job(shop, r->>'job', today);
    good_on date := GREATEST(today, of_job.bench_date);
    locked  shelf_lot[];
    line    record;
    one     record;
    answer  done;
BEGIN
    PERFORM still_good(shop, r->'lines', good_on);
    locked := lock_lots(shop, items_of(r->'lines'));
    FOR line IN SELECT l->>'item' AS item, coalesce(l->>'lot', '') AS lot, (l->>'qty')::bigint AS qty
        FROM jsonb_array_elements(r->'lines') AS l
    LOOP
        one := keep_free(shop, ARRAY(SELECT l.lot FROM unnest(locked) AS l WHERE l.item = line.item), doing, of_job.job, line.item,
            line.lot, good_on, today, line.qty);
        answer.kept := answer.kept || one.kept;
        IF one.lacking > 0 THEN
            PERFORM known(shop, line.item, line.lot);
            PERFORM refuse('short', jsonb_build_object('item', line.item, 'lot', line.lot,
                'found', line.qty - one.lacking, 'expected', line.qty));
        END IF;
    END LOOP;
    RETURN answer;
END $$;

ALTER FUNCTION circlip.act_set_aside(shop bigint, doing uuid, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.act_set_aside_all(shop bigint, doing uuid, r jsonb) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
DECLARE
    today   date := (r->>'on')::date;
    lots_of jsonb; -- of each item, those that are locked
    of_job  record;
    line    record;
    one     record;
    ones    set_aside[]; -- of one job: appending to a long array copies it
    kept    set_aside[];
BEGIN
    SELECT jsonb_object_agg(l.item, l.lots) INTO lots_of FROM (
        SELECT l.item, array_agg(l.lot) AS lots
        FROM unnest(lock_lots(shop, ARRAY(SELECT DISTINCT i FROM jsonb_array_elements(r->'jobs') AS j
            CROSS JOIN unnest(items_of(j->'lines')) AS i))) AS l GROUP BY l.item) AS l;
    FOR of_job IN SELECT (open_job(shop, j->>'job', today)).bench_date, j->>'job' AS job, j->'lines' AS lines
        FROM jsonb_array_elements(r->'jobs') AS j ORDER BY 1, 2
    LOOP
        PERFORM still_good(shop, of_job.lines, GREATEST(today, of_job.bench_date));
        ones := NULL;
        FOR line IN SELECT l->>'item' AS item, coalesce(l->>'lot', '') AS lot, (l->>'qty')::bigint AS qty,
                ARRAY(SELECT jsonb_array_elements_text(lots_of->(l->>'item'))) AS locked
            FROM jsonb_array_elements(of_job.lines) AS l
        LOOP
            one := keep_free(shop, line.locked, doing, of_job.job, line.item, line.lot, GREATEST(today, of_job.bench_date), today,
                line.qty);
            IF one.lacking = line.qty THEN
                PERFORM known(shop, line.item, line.lot);
            END IF;
            ones := ones || one.kept;
        END LOOP;
        kept := kept || ones;
    END LOOP;
    RETURN ROW(NULL::movement[], kept)::done;
END $$;

ALTER FUNCTION circlip.act_set_aside_all(shop bigint, doing uuid, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.act_take(shop bigint, doing uuid, r jsonb) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
BEGIN
    PERFORM open_job(shop, r->>'job', (r->>'on')::date);
    RETURN draw(shop, lock_lots(shop, items_of(r->'lines')), doing, r->>'job', r->'lines', 'job', (r->>'on')::date);
END $$;

ALTER FUNCTION circlip.act_take(shop bigint, doing uuid, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.act_take_back(shop bigint, doing uuid, r jsonb) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
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

ALTER FUNCTION circlip.act_take_back(shop bigint, doing uuid, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.act_take_over(shop bigint, doing uuid, r jsonb) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
DECLARE
    today   date := (r->>'on')::date;
    of_job  job := open_job(shop, r->>'job', today);
    giver   job := known_job(shop, r->>'from');
    good_on date := GREATEST(today, of_job.bench_date);
    locked  shelf_lot[];
    line    record;
    c       record;
    lacking bigint;
    part    bigint;
    answer  done;
BEGIN
    PERFORM still_good(shop, r->'lines', good_on);
    locked := lock_lots(shop, items_kept(shop, giver.job));
    FOR line IN SELECT l->>'item' AS item, coalesce(l->>'lot', '') AS lot, (l->>'qty')::bigint AS qty
            FROM jsonb_array_elements(r->'lines') AS l
        UNION ALL SELECT unnest(items_kept(shop, giver.job)), '', NULL WHERE jsonb_array_length(r->'lines') = 0
    LOOP
        lacking := line.qty;
        FOR c IN SELECT b.lot, k.qty FROM kept AS k JOIN balance AS b USING (workshop, item, lot)
            WHERE workshop = shop AND item = line.item AND k.job = giver.job AND line.lot IN ('', b.lot)
              AND b.expires_on > good_on AND ROW(item, lot)::shelf_lot = ANY (locked)
            ORDER BY b.expires_on, b.received_on, b.lot
        LOOP
            EXIT WHEN lacking = 0;
            part := LEAST(c.qty, lacking);
            answer.kept := answer.kept || keep(shop, doing, line.item, c.lot, giver.job, -part, 'taken over', today)
                || keep(shop, doing, line.item, c.lot, of_job.job, part, 'taken over', today);
            lacking := lacking - part;
        END LOOP;
        IF lacking > 0 THEN
            PERFORM known(shop, line.item, line.lot);
            PERFORM refuse('short', jsonb_build_object('item', line.item, 'lot', line.lot, 'job', giver.job,
                'found', line.qty - lacking, 'expected', line.qty));
        END IF;
    END LOOP;
    IF answer.kept IS NULL THEN
        PERFORM refuse('conflict', jsonb_build_object('job', giver.job,
            'reason', format('nothing of it is set aside for this job that is good on %s', good_on)));
    END IF;
    INSERT INTO job_act (workshop, act, job, what, from_job, reason, happened_on)
    VALUES (shop, doing, of_job.job, 'taken over', giver.job, r->>'reason', today);
    RETURN answer;
END $$;

ALTER FUNCTION circlip.act_take_over(shop bigint, doing uuid, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.act_undo(shop bigint, doing uuid, r jsonb) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
DECLARE
    answer done;
    undone movement;
BEGIN
    PERFORM forget_count(shop, r->>'item', r->>'lot', (r->>'seq')::bigint);
    answer := act_take_back(shop, doing, r);
    undone := answer.moved[1];
    IF 'job' IN (undone.from_place, undone.to_place) THEN
        IF EXISTS (SELECT FROM taken(shop, undone.ref) AS t WHERE t.qty < 0) THEN
            PERFORM refuse('conflict', jsonb_build_object('item', undone.item, 'lot', undone.lot, 'seq', r->'seq',
                'reason', format('job %s has given some of it back; correct the job instead', undone.ref)));
        END IF;
        IF EXISTS (SELECT FROM job_act AS a WHERE a.workshop = shop AND a.job = undone.ref AND a.what = 'closed') THEN
            PERFORM bring_uses(shop, undone.ref, answer.moved);
        END IF;
    END IF;
    RETURN answer;
END $$;

ALTER FUNCTION circlip.act_undo(shop bigint, doing uuid, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.act_waste(shop bigint, doing uuid, r jsonb) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
BEGIN
    RETURN lose(shop, lock_lots(shop, ARRAY[r->>'item']), doing, r->>'item', coalesce(r->>'lot', ''),
        (r->>'qty')::bigint, 'waste', r->>'ref', (r->>'on')::date);
END $$;

ALTER FUNCTION circlip.act_waste(shop bigint, doing uuid, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.bom_line_no_overlap() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
DECLARE
    clash record;
BEGIN
    PERFORM pg_advisory_xact_lock(hashtextextended('circlip book ' || workshop, 0))
        FROM (SELECT DISTINCT workshop FROM written ORDER BY workshop) AS w;
    SELECT a.service, a.model, a.item, a.valid_from AS first_from, b.valid_from AS second_from INTO clash
        FROM written AS a
        JOIN bom_line AS b USING (workshop, service, model, item)
        WHERE a.valid_from <> b.valid_from AND a.valid_from < b.valid_to AND b.valid_from < a.valid_to
        LIMIT 1;
    IF FOUND THEN
        RAISE EXCEPTION 'bill of materials of service % on model %: item % has lines from % and from % that hold on the same day',
            clash.service, clash.model, clash.item, clash.first_from, clash.second_from
            USING ERRCODE = 'exclusion_violation', CONSTRAINT = 'bom_line_no_overlap', TABLE = 'bom_line';
    END IF;
    RETURN NULL;
END $$;

ALTER FUNCTION circlip.bom_line_no_overlap() OWNER TO circlip_owner;

CREATE FUNCTION circlip.bring_uses(shop bigint, for_job text, moved circlip.movement[]) RETURNS void
    LANGUAGE plpgsql
    AS $$
DECLARE
    m    record;
    told record;
    part bigint;
    less bigint;
BEGIN
    FOR m IN SELECT * FROM unnest(moved) LOOP
        IF m.to_place = 'job' THEN
            INSERT INTO job_use AS u (workshop, job, item, lot, qty) VALUES (shop, for_job, m.item, m.lot, m.qty)
            ON CONFLICT (workshop, job, item, lot) DO UPDATE SET qty = u.qty + excluded.qty;
            CONTINUE;
        END IF;
        less := m.qty;
        FOR told IN SELECT * FROM job_use AS u WHERE u.workshop = shop AND u.job = for_job AND u.item = m.item
            AND u.lot IN (m.lot, '') ORDER BY u.lot DESC
        LOOP
            part := LEAST(less, told.qty);
            less := less - part;
            IF part = told.qty THEN
                DELETE FROM job_use AS k WHERE k.workshop = shop AND k.job = for_job AND k.item = told.item AND k.lot = told.lot;
            ELSE
                UPDATE job_use AS k SET qty = k.qty - part
                    WHERE k.workshop = shop AND k.job = for_job AND k.item = told.item AND k.lot = told.lot;
            END IF;
        END LOOP;
    END LOOP;
END $$;

ALTER FUNCTION circlip.bring_uses(shop bigint, for_job text, moved circlip.movement[]) OWNER TO circlip_owner;

CREATE TABLE circlip.order_line (
    workshop bigint NOT NULL,
    order_code circlip.code NOT NULL,
    item circlip.code NOT NULL,
    supplier circlip.code NOT NULL,
    packs integer NOT NULL,
    placed_on date NOT NULL,
    due_on date,
    received_on date,
    received_packs integer,
    pack_qty bigint NOT NULL,
    price bigint NOT NULL,
    closed_on date,
    CONSTRAINT order_line_closed CHECK ((closed_on >= placed_on)),
    CONSTRAINT order_line_dates CHECK (((due_on >= placed_on) AND (received_on >= placed_on))),
    CONSTRAINT order_line_packs CHECK (((packs > 0) AND (received_packs >= 0) AND (pack_qty > 0))),
    CONSTRAINT order_line_price CHECK ((price >= 0)),
    CONSTRAINT order_line_received CHECK (((received_packs IS NULL) OR (received_on IS NOT NULL)))
);

ALTER TABLE circlip.order_line OWNER TO circlip_owner;

CREATE FUNCTION circlip.came(line circlip.order_line) RETURNS integer
    LANGUAGE sql IMMUTABLE PARALLEL SAFE
    RETURN CASE WHEN ((line).received_on IS NULL) THEN 0 ELSE COALESCE((line).received_packs, (line).packs) END;

ALTER FUNCTION circlip.came(line circlip.order_line) OWNER TO circlip_owner;

CREATE FUNCTION circlip.candidates(shop bigint, locked circlip.shelf_lot[], of_item text, of_lot text, for_job text, today date) RETURNS TABLE(lot text, free bigint, kept bigint, all_kept numeric)
    LANGUAGE plpgsql
    AS $$
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

ALTER FUNCTION circlip.candidates(shop bigint, locked circlip.shelf_lot[], of_item text, of_lot text, for_job text, today date) OWNER TO circlip_owner;

CREATE FUNCTION circlip.chain_next(state bytea, head bytea, bytes bytea) RETURNS bytea
    LANGUAGE plpgsql IMMUTABLE PARALLEL SAFE
    AS $$
BEGIN
    RETURN sha256(coalesce(state, head) || bytes);
END $$;

ALTER FUNCTION circlip.chain_next(state bytea, head bytea, bytes bytea) OWNER TO circlip_owner;

CREATE FUNCTION circlip.framed(body text) RETURNS bytea
    LANGUAGE sql STABLE PARALLEL SAFE
    RETURN (int4send(octet_length(body)) || convert_to(body, 'UTF8'::name));

ALTER FUNCTION circlip.framed(body text) OWNER TO circlip_owner;

CREATE FUNCTION circlip.movement_bytes(shop bigint, item text, lot text, from_place text, to_place text, ref text, seq bigint, qty bigint, happened_on date) RETURNS bytea
    LANGUAGE sql STABLE PARALLEL SAFE
    RETURN (((((((((circlip.framed('v1'::text) || circlip.framed((shop)::text)) || circlip.framed(item)) || circlip.framed(lot)) || circlip.framed(from_place)) || circlip.framed(to_place)) || circlip.framed(ref)) || int8send(seq)) || int8send(qty)) || int8send(((happened_on - '1970-01-01'::date))::bigint));

ALTER FUNCTION circlip.movement_bytes(shop bigint, item text, lot text, from_place text, to_place text, ref text, seq bigint, qty bigint, happened_on date) OWNER TO circlip_owner;

CREATE FUNCTION circlip.content(shop bigint, item text, lot text, from_place text, to_place text, ref text, qty bigint, happened_on date) RETURNS bytea
    LANGUAGE sql STABLE PARALLEL SAFE
    RETURN circlip.movement_bytes(shop, item, lot, from_place, to_place, ref, (0)::bigint, qty, happened_on);

ALTER FUNCTION circlip.content(shop bigint, item text, lot text, from_place text, to_place text, ref text, qty bigint, happened_on date) OWNER TO circlip_owner;

CREATE FUNCTION circlip.dispatch(shop bigint, doing uuid, what text, r jsonb) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
BEGIN
    PERFORM hold_jobs(shop, what, r);
    IF what = 'release' AND items_kept(shop, r->>'job') = '{}' THEN
        PERFORM known_job(shop, r->>'job');
    END IF;
    PERFORM hold_items(shop, what, r);
    CASE what
        WHEN 'receive'        THEN RETURN act_receive(shop, doing, r);
        WHEN 'take'           THEN RETURN act_take(shop, doing, r);
        WHEN 'set aside'      THEN RETURN act_set_aside(shop, doing, r);
        WHEN 'set aside all'  THEN RETURN act_set_aside_all(shop, doing, r);
        WHEN 'release'        THEN RETURN act_release(shop, doing, r);
        WHEN 'waste'          THEN RETURN act_waste(shop, doing, r);
        WHEN 'count'          THEN RETURN act_count(shop, doing, r);
        WHEN 'reverse'        THEN RETURN act_undo(shop, doing, r);
        WHEN 'place'          THEN RETURN act_place(shop, doing, r);
        WHEN 'deliver'        THEN RETURN act_deliver(shop, doing, r);
        WHEN 'open kit'       THEN RETURN act_open_kit(shop, doing, r);
        WHEN 'extend'         THEN RETURN act_extend(shop, doing, r);
        WHEN 'open container' THEN RETURN act_open_container(shop, doing, r);
        WHEN 'book job'       THEN RETURN act_book_job(shop, doing, r);
        WHEN 'move job'       THEN RETURN act_move_job(shop, doing, r);
        WHEN 'cancel job'     THEN RETURN act_cancel_job(shop, doing, r);
        WHEN 'take over'      THEN RETURN act_take_over(shop, doing, r);
        WHEN 'close job'      THEN RETURN act_close_job(shop, doing, r);
        WHEN 'correct job'    THEN RETURN act_correct_job(shop, doing, r);
        WHEN 'revise bill'    THEN RETURN act_revise_bill(shop, doing, r);
        WHEN 'dispose'        THEN RETURN act_dispose(shop, doing, r);
    END CASE;
END $$;

ALTER FUNCTION circlip.dispatch(shop bigint, doing uuid, what text, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.draw(shop bigint, locked circlip.shelf_lot[], doing uuid, for_job text, lines jsonb, target text, today date) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
DECLARE
    line      record;
    c         record;
    from_kept bigint;
    from_free bigint;
    left_kept bigint;
    left_free bigint;
    answer    done;
BEGIN
    FOR line IN SELECT l->>'item' AS item, coalesce(l->>'lot', '') AS lot, (l->>'qty')::bigint AS qty
        FROM jsonb_array_elements(lines) AS l
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
            answer.moved := answer.moved || move(shop, doing, line.item, c.lot, 'shelf', target, for_job,
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

ALTER FUNCTION circlip.draw(shop bigint, locked circlip.shelf_lot[], doing uuid, for_job text, lines jsonb, target text, today date) OWNER TO circlip_owner;

CREATE FUNCTION circlip.fit_parts(shop bigint, r jsonb) RETURNS void
    LANGUAGE plpgsql
    AS $$
DECLARE
    strange record;
    of_it   item;
    held    bigint;
BEGIN
    SELECT p->>'container' AS container, c.item INTO strange
        FROM jsonb_array_elements(r->'parts') WITH ORDINALITY AS j(p, n)
        LEFT JOIN container AS c ON c.workshop = shop AND c.container = p->>'container'
        WHERE p ? 'container' AND (c.container IS NULL OR c.item <> r->>'item') ORDER BY n LIMIT 1;
    IF strange.item IS NOT NULL THEN
        PERFORM refuse('conflict', jsonb_build_object('item', r->'item',
            'reason', format('container %s is for %s', strange.container, strange.item)));
    ELSIF FOUND THEN
        PERFORM refuse('not found', jsonb_build_object('item', r->'item',
            'reason', format('no container %s; add it to the book''s containers with its empty weight', strange.container)));
    END IF;
    SELECT * INTO of_it FROM item AS i WHERE i.workshop = shop AND i.item = r->>'item';
    SELECT sum((p->>'qty')::bigint) INTO held FROM jsonb_array_elements(r->'parts') AS p;
    IF held <> (r->>'found')::bigint THEN
        PERFORM refuse('conflict', jsonb_build_object('item', r->'item',
            'reason', format('its containers hold %s %s, found %s %s, expected as much in all',
                in_measure(held, of_it.measure), of_it.measure, in_measure((r->>'found')::bigint, of_it.measure), of_it.measure)));
    END IF;
END $$;

ALTER FUNCTION circlip.fit_parts(shop bigint, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.fit_together(shop bigint, r jsonb) RETURNS void
    LANGUAGE plpgsql
    AS $$
DECLARE
    of_unit  unit;
    of_model model;
    missing  text;
    other    service;
    no       text := 'not found';
    wrong    text;
BEGIN
    SELECT * INTO of_unit FROM unit AS u WHERE u.workshop = shop AND u.unit = r->>'unit';
    SELECT * INTO of_model FROM model AS m WHERE m.workshop = shop AND m.model = coalesce(of_unit.model, r->>'model');
    SELECT c INTO missing FROM jsonb_array_elements_text(r->'services') AS c
        WHERE NOT EXISTS (SELECT FROM service AS s WHERE s.workshop = shop AND s.service = c) LIMIT 1;
    SELECT * INTO other FROM service AS s WHERE s.workshop = shop AND s.family <> of_model.family
        AND s.service IN (SELECT jsonb_array_elements_text(r->'services')) ORDER BY s.service LIMIT 1;
    IF r->>'unit' <> '' AND of_unit.unit IS NULL THEN
        wrong := format('no unit %s', r->>'unit');
    ELSIF of_model.model IS NULL THEN
        wrong := format('no model %s', r->>'model');
    ELSIF missing IS NOT NULL THEN
        wrong := format('no service %s', missing);
    ELSIF r->>'model' <> '' AND r->>'model' <> of_model.model THEN
        no := 'conflict';
        wrong := format('wrong unit: %s is a %s, found %s', of_unit.unit, of_model.model, r->>'model');
    ELSIF other.service IS NOT NULL THEN
        no := 'conflict';
        wrong := format('wrong unit: service %s is for family %s, and %s is of %s', other.service, other.family,
            of_model.model, of_model.family);
    END IF;
    IF wrong IS NOT NULL THEN
        PERFORM refuse(no, jsonb_build_object('job', r->>'job', 'reason', wrong));
    END IF;
END $$;

ALTER FUNCTION circlip.fit_together(shop bigint, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.forget_count(shop bigint, of_item text, of_lot text, number bigint) RETURNS void
    LANGUAGE plpgsql
    AS $$
DECLARE
    wrong date;
BEGIN
    SELECT c.counted_on INTO wrong FROM item_count AS c JOIN movement AS m USING (workshop, item, act)
        WHERE c.workshop = shop AND c.item = of_item AND m.lot = of_lot AND m.seq = number AND m.reverses IS NULL
        FOR UPDATE OF c;
    IF FOUND THEN
        DELETE FROM count_part AS p WHERE p.workshop = shop AND p.item = of_item AND p.counted_on = wrong;
        DELETE FROM item_count AS c WHERE c.workshop = shop AND c.item = of_item AND c.counted_on = wrong;
    END IF;
END $$;

ALTER FUNCTION circlip.forget_count(shop bigint, of_item text, of_lot text, number bigint) OWNER TO circlip_owner;

CREATE FUNCTION circlip.give_back(shop bigint, doing uuid, for_job text, lines jsonb, today date) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
DECLARE
    line    record;
    c       record;
    lacking bigint;
    part    bigint;
    answer  done;
BEGIN
    FOR line IN SELECT l->>'item' AS item, coalesce(l->>'lot', '') AS lot, (l->>'qty')::bigint AS qty
        FROM jsonb_array_elements(lines) AS l
    LOOP
        lacking := line.qty;
        FOR c IN SELECT t.lot, t.qty FROM taken(shop, for_job) AS t
            JOIN balance AS b ON b.workshop = shop AND b.item = t.item AND b.lot = t.lot
            WHERE t.item = line.item AND line.lot IN ('', t.lot) AND t.qty > 0
            ORDER BY b.expires_on DESC, b.received_on DESC, b.lot DESC
        LOOP
            EXIT WHEN lacking = 0;
            part := LEAST(c.qty, lacking);
            answer.moved := answer.moved || move(shop, doing, line.item, c.lot, 'job', 'shelf', for_job, part, today);
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

ALTER FUNCTION circlip.give_back(shop bigint, doing uuid, for_job text, lines jsonb, today date) OWNER TO circlip_owner;

CREATE TABLE circlip.balance (
    workshop bigint NOT NULL,
    item text NOT NULL COLLATE pg_catalog."C",
    lot text NOT NULL COLLATE pg_catalog."C",
    received_on date NOT NULL,
    expires_on date NOT NULL,
    on_hand bigint DEFAULT 0 NOT NULL,
    reserved bigint DEFAULT 0 NOT NULL,
    seq bigint DEFAULT 0 NOT NULL,
    kept_seq bigint DEFAULT 0 NOT NULL,
    head bytea DEFAULT decode(repeat('00'::text, 32), 'hex'::text) NOT NULL,
    CONSTRAINT balance_head CHECK ((octet_length(head) = 32)),
    CONSTRAINT balance_on_hand CHECK ((on_hand >= 0)),
    CONSTRAINT balance_reserved CHECK (((reserved >= 0) AND (reserved <= on_hand)))
)
WITH (fillfactor='50');

ALTER TABLE circlip.balance OWNER TO circlip_owner;

CREATE FUNCTION circlip.go_on(shop bigint, doing uuid, old circlip.balance, added text, expiry date, amount bigint, why text, today date) RETURNS circlip.movement[]
    LANGUAGE plpgsql
    AS $$
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

ALTER FUNCTION circlip.go_on(shop bigint, doing uuid, old circlip.balance, added text, expiry date, amount bigint, why text, today date) OWNER TO circlip_owner;

CREATE FUNCTION circlip.gone_through(shop bigint, of_item text, of_lot text) RETURNS TABLE(what text, happened_on date)
    LANGUAGE sql STABLE
    BEGIN ATOMIC
 WITH RECURSIVE step AS (
          SELECT m.act,
             m.ref,
             m.happened_on
            FROM circlip.movement m
           WHERE ((m.workshop = gone_through.shop) AND (m.item = gone_through.of_item) AND (m.lot = gone_through.of_lot) AND (m.from_place = 'lot'::text))
         UNION
          SELECT came.act,
             came.ref,
             came.happened_on
            FROM ((step
              JOIN circlip.movement went ON (((went.workshop = gone_through.shop) AND (went.item = gone_through.of_item) AND (went.act = step.act) AND (went.to_place = 'lot'::text))))
              JOIN circlip.movement came ON (((came.workshop = gone_through.shop) AND (came.item = gone_through.of_item) AND (came.lot = went.lot) AND (came.from_place = 'lot'::text))))
         )
  SELECT s.ref,
     s.happened_on
    FROM step s;
END;

ALTER FUNCTION circlip.gone_through(shop bigint, of_item text, of_lot text) OWNER TO circlip_owner;

CREATE FUNCTION circlip.hold_items(shop bigint, what text, r jsonb) RETURNS void
    LANGUAGE plpgsql
    AS $$
DECLARE
    items text[] := items_of(r->'lines') || items_of(r->'parts') || items_of(r->'used') || items_of(r->'wasted')
        || items_of(r->'back') || items_of(r->'more') || items_of(r->'less') || ARRAY[r->>'item', r->>'kit'];
    held  bigint;
BEGIN
    CASE what
        WHEN 'place', 'book job', 'revise bill', 'dispose' THEN RETURN; -- they move nothing
        WHEN 'release', 'move job', 'cancel job', 'close job' THEN items := items || items_kept(shop, r->>'job');
        WHEN 'take over' THEN items := items || items_kept(shop, r->>'from');
        WHEN 'set aside all' THEN items := items || ARRAY(SELECT l->>'item' FROM jsonb_array_elements(r->'jobs') AS j
            CROSS JOIN jsonb_array_elements(j->'lines') AS l);
        ELSE
    END CASE;
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

ALTER FUNCTION circlip.hold_items(shop bigint, what text, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.hold_jobs(shop bigint, what text, r jsonb) RETURNS void
    LANGUAGE plpgsql
    AS $$
DECLARE
    jobs  text[] := ARRAY[r->>'job', r->>'from'] || ARRAY(SELECT j->>'job' FROM jsonb_array_elements(coalesce(r->'jobs', '[]')) AS j);
    there text[];
    held  bigint;
BEGIN
    IF what = 'reverse' THEN
        jobs := jobs || ARRAY(SELECT m.ref FROM movement AS m WHERE m.workshop = shop AND m.item = r->>'item'
            AND m.lot = r->>'lot' AND m.seq = (r->>'seq')::bigint AND 'job' IN (m.from_place, m.to_place));
    END IF;
    jobs := array_remove(jobs, NULL);
    there := ARRAY(SELECT j.job::text FROM job AS j WHERE j.workshop = shop AND j.job = ANY (jobs)
        ORDER BY j.job FOR NO KEY UPDATE);
    FOR held IN SELECT DISTINCT hashtextextended('job ' || j, shop) FROM unnest(jobs) AS j WHERE j <> ALL (there) ORDER BY 1 LOOP
        PERFORM pg_advisory_xact_lock(held);
    END LOOP;
    IF what <> 'book job' AND EXISTS (SELECT FROM job AS j
        WHERE j.workshop = shop AND j.job = ANY (jobs) AND j.job <> ALL (there)) THEN
        RAISE EXCEPTION 'a job of % was booked meanwhile', jobs USING ERRCODE = 'serialization_failure';
    END IF;
END $$;

ALTER FUNCTION circlip.hold_jobs(shop bigint, what text, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.import_faults(shop bigint) RETURNS TABLE(ordinal bigint, problem text, recorded_qty bigint, recorded_on date, on_hand bigint)
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path TO 'circlip', 'pg_temp'
    AS $$
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

ALTER FUNCTION circlip.import_faults(shop bigint) OWNER TO circlip_owner;

CREATE TABLE circlip.lot (
    workshop bigint NOT NULL,
    item circlip.code NOT NULL,
    lot circlip.code NOT NULL,
    received_on date NOT NULL,
    expires_on date DEFAULT 'infinity'::date NOT NULL,
    unit_cost bigint DEFAULT 0 NOT NULL,
    CONSTRAINT lot_unit_cost CHECK ((unit_cost >= 0))
);

ALTER TABLE circlip.lot OWNER TO circlip_owner;

CREATE FUNCTION circlip.import_lots(shop bigint) RETURNS SETOF circlip.lot
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path TO 'circlip', 'pg_temp'
    AS $$
BEGIN
    INSERT INTO lot (workshop, item, lot, received_on, expires_on, unit_cost)
        SELECT shop, s.item, s.lot, s.received_on, s.expires_on, s.unit_cost FROM staged_lot AS s
        ORDER BY s.item, s.lot
        ON CONFLICT DO NOTHING;
    RETURN QUERY
        SELECT l.* FROM lot AS l JOIN staged_lot AS s ON l.workshop = shop AND l.item = s.item AND l.lot = s.lot
        WHERE (l.received_on, l.expires_on, l.unit_cost) <> (s.received_on, s.expires_on, s.unit_cost);
END $$;

ALTER FUNCTION circlip.import_lots(shop bigint) OWNER TO circlip_owner;

CREATE FUNCTION circlip.import_movements(shop bigint) RETURNS bigint
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path TO 'circlip', 'pg_temp'
    AS $$
DECLARE
    staged bigint := (SELECT count(*) FROM staged_movement);
BEGIN
    IF staged > 0 THEN
        INSERT INTO import (workshop, rows) VALUES (shop, staged);
    END IF;
    RETURN staged;
END $$;

ALTER FUNCTION circlip.import_movements(shop bigint) OWNER TO circlip_owner;

CREATE FUNCTION circlip.import_papers(shop bigint) RETURNS void
    LANGUAGE plpgsql
    SET search_path TO 'circlip', 'pg_temp'
    AS $$
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

ALTER FUNCTION circlip.import_papers(shop bigint) OWNER TO circlip_owner;

CREATE FUNCTION circlip.import_sheets(shop bigint, sheets text[], orders text[], placed date[]) RETURNS bigint
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path TO 'circlip', 'pg_temp'
    AS $$
DECLARE
    doing    uuid := gen_random_uuid();
    recorded bigint;
BEGIN
    INSERT INTO act (workshop, act, kind, request_sha256, result, proof)
    VALUES (shop, doing, 'sheets', sha256(convert_to(jsonb_build_array(sheets, orders, placed)::text, 'UTF8')),
        jsonb_build_object('sheets', cardinality(sheets)), sha256(''));
    INSERT INTO order_sheet (workshop, sheet, order_code, placed_on, act)
        SELECT shop, n.sheet, n.order_code, n.placed_on, doing
        FROM unnest(sheets, orders, placed) AS n (sheet, order_code, placed_on)
        WHERE EXISTS (SELECT FROM order_line AS o WHERE o.workshop = shop AND o.order_code = n.order_code);
    GET DIAGNOSTICS recorded = ROW_COUNT;
    IF recorded <> cardinality(sheets) THEN
        RAISE EXCEPTION 'import of % sheets, found orders for % of them', cardinality(sheets), recorded
            USING ERRCODE = 'foreign_key_violation', CONSTRAINT = 'order_sheet_order_known', TABLE = 'order_sheet';
    END IF;
    RETURN recorded;
END $$;

ALTER FUNCTION circlip.import_sheets(shop bigint, sheets text[], orders text[], placed date[]) OWNER TO circlip_owner;

CREATE FUNCTION circlip.in_kit(shop bigint, of_kit text, parts jsonb) RETURNS void
    LANGUAGE plpgsql
    AS $$
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

ALTER FUNCTION circlip.in_kit(shop bigint, of_kit text, parts jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.in_measure(steps bigint, measure text) RETURNS text
    LANGUAGE sql IMMUTABLE STRICT PARALLEL SAFE
    RETURN CASE measure WHEN 'ea'::text THEN (steps)::text ELSE (trim_scale(((steps)::numeric / 10.0)))::text END;

ALTER FUNCTION circlip.in_measure(steps bigint, measure text) OWNER TO circlip_owner;

CREATE FUNCTION circlip.item_measure_stays() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
BEGIN
    RAISE EXCEPTION 'item % is kept in %, found %, expected the same measure; give the new measure a new item code',
        OLD.item, OLD.measure, NEW.measure
        USING ERRCODE = 'check_violation', CONSTRAINT = 'item_measure_stays', TABLE = 'item';
END $$;

ALTER FUNCTION circlip.item_measure_stays() OWNER TO circlip_owner;

CREATE VIEW circlip.kept AS
 SELECT set_aside.workshop,
    set_aside.item,
    set_aside.lot,
    set_aside.job,
    (sum(set_aside.qty))::bigint AS qty
   FROM circlip.set_aside
  GROUP BY set_aside.workshop, set_aside.item, set_aside.lot, set_aside.job
 HAVING (sum(set_aside.qty) <> (0)::numeric);

ALTER TABLE circlip.kept OWNER TO circlip_owner;

CREATE FUNCTION circlip.items_kept(shop bigint, for_job text) RETURNS text[]
    LANGUAGE sql STABLE
    BEGIN ATOMIC
 SELECT ARRAY( SELECT DISTINCT k.item
            FROM circlip.kept k
           WHERE ((k.workshop = items_kept.shop) AND (k.job = items_kept.for_job))) AS "array";
END;

ALTER FUNCTION circlip.items_kept(shop bigint, for_job text) OWNER TO circlip_owner;

CREATE FUNCTION circlip.items_of(lines jsonb) RETURNS text[]
    LANGUAGE sql IMMUTABLE PARALLEL SAFE
    RETURN ARRAY(SELECT (l.value ->> 'item'::text) FROM jsonb_array_elements(COALESCE(items_of.lines, '[]'::jsonb)) l(value));

ALTER FUNCTION circlip.items_of(lines jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.join_lot(shop bigint, INOUT locked circlip.shelf_lot[], of_item text, of_lot text, received date, expiry date, cost bigint, OUT how text) RETURNS record
    LANGUAGE plpgsql
    AS $$
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

ALTER FUNCTION circlip.join_lot(shop bigint, INOUT locked circlip.shelf_lot[], of_item text, of_lot text, received date, expiry date, cost bigint, OUT how text) OWNER TO circlip_owner;

CREATE FUNCTION circlip.keep(shop bigint, doing uuid, of_item text, of_lot text, for_job text, amount bigint, reason text, today date) RETURNS circlip.set_aside
    LANGUAGE plpgsql
    AS $$
DECLARE
    made set_aside;
BEGIN
    INSERT INTO set_aside (workshop, item, lot, job, qty, why, happened_on, act)
    VALUES (shop, of_item, of_lot, for_job, amount, reason, today, doing)
    RETURNING * INTO made;
    RETURN made;
END $$;

ALTER FUNCTION circlip.keep(shop bigint, doing uuid, of_item text, of_lot text, for_job text, amount bigint, reason text, today date) OWNER TO circlip_owner;

CREATE FUNCTION circlip.keep_free(shop bigint, locked text[], doing uuid, for_job text, of_item text, of_lot text, good_on date, today date, INOUT lacking bigint, OUT kept circlip.set_aside[]) RETURNS record
    LANGUAGE plpgsql
    AS $$
DECLARE
    c    record;
    part bigint;
BEGIN
    FOR c IN SELECT b.lot, b.on_hand - b.reserved AS free FROM balance AS b
        WHERE b.workshop = shop AND b.item = of_item AND b.lot = ANY (locked) AND of_lot IN ('', b.lot)
          AND b.on_hand > b.reserved AND b.expires_on > good_on
        ORDER BY b.expires_on, b.received_on, b.lot
    LOOP
        part := LEAST(c.free, lacking);
        kept := kept || keep(shop, doing, of_item, c.lot, for_job, part, 'set aside', today);
        lacking := lacking - part;
        EXIT WHEN lacking = 0;
    END LOOP;
END $$;

ALTER FUNCTION circlip.keep_free(shop bigint, locked text[], doing uuid, for_job text, of_item text, of_lot text, good_on date, today date, INOUT lacking bigint, OUT kept circlip.set_aside[]) OWNER TO circlip_owner;

CREATE FUNCTION circlip.known(shop bigint, of_item text, of_lot text) RETURNS void
    LANGUAGE plpgsql
    AS $$
BEGIN
    IF NOT EXISTS (SELECT FROM item WHERE workshop = shop AND item = of_item) THEN
        PERFORM refuse('not found', jsonb_build_object('item', of_item));
    END IF;
    IF of_lot <> '' AND NOT EXISTS (SELECT FROM lot WHERE workshop = shop AND item = of_item AND lot = of_lot) THEN
        PERFORM refuse('not found', jsonb_build_object('item', of_item, 'lot', of_lot));
    END IF;
END $$;

ALTER FUNCTION circlip.known(shop bigint, of_item text, of_lot text) OWNER TO circlip_owner;

CREATE TABLE circlip.job (
    workshop bigint NOT NULL,
    job circlip.code NOT NULL,
    unit text COLLATE pg_catalog."C",
    model text COLLATE pg_catalog."C",
    services text[] NOT NULL COLLATE pg_catalog."C",
    booked_on date,
    bench_date date NOT NULL,
    state text DEFAULT 'booked'::text NOT NULL,
    done_on date,
    cancelled_on date,
    told_state text,
    told_bench_date date,
    done_by text,
    CONSTRAINT job_cancelled_dates CHECK ((cancelled_on >= booked_on)),
    CONSTRAINT job_cancelled_on CHECK (((cancelled_on IS NULL) OR (state = ANY (ARRAY['cancelled'::text, 'no-show'::text])))),
    CONSTRAINT job_done_by CHECK (((done_by IS NULL) OR ((state = 'done'::text) AND (btrim(done_by) <> ''::text)))),
    CONSTRAINT job_done_on CHECK (((state = 'done'::text) = (done_on IS NOT NULL))),
    CONSTRAINT job_has_a_service CHECK ((cardinality(services) > 0)),
    CONSTRAINT job_state CHECK ((state = ANY (ARRAY['booked'::text, 'done'::text, 'cancelled'::text, 'no-show'::text]))),
    CONSTRAINT job_unit_or_model CHECK (((unit IS NOT NULL) OR (model IS NOT NULL)))
);

ALTER TABLE circlip.job OWNER TO circlip_owner;

COMMENT ON COLUMN circlip.job.told_state IS 'as the last book said that changed the row; a book that says it again has no news of
what acts did since. NULL: no book told of the job';

COMMENT ON COLUMN circlip.job.told_bench_date IS 'likewise';

CREATE FUNCTION circlip.known_job(shop bigint, for_job text) RETURNS circlip.job
    LANGUAGE plpgsql
    AS $$
DECLARE
    of_job job;
BEGIN
    SELECT * INTO of_job FROM job AS j WHERE j.workshop = shop AND j.job = for_job;
    IF NOT FOUND THEN
        PERFORM refuse('not found', jsonb_build_object('job', for_job, 'reason', 'no job has this code'));
    END IF;
    RETURN of_job;
END $$;

ALTER FUNCTION circlip.known_job(shop bigint, for_job text) OWNER TO circlip_owner;

CREATE FUNCTION circlip.let_go(shop bigint, doing uuid, of_item text, of_lot text, amount bigint, today date) RETURNS circlip.set_aside[]
    LANGUAGE plpgsql
    AS $$
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

ALTER FUNCTION circlip.let_go(shop bigint, doing uuid, of_item text, of_lot text, amount bigint, today date) OWNER TO circlip_owner;

CREATE FUNCTION circlip.lock_lot(shop bigint, of_item text, of_lot text) RETURNS circlip.balance
    LANGUAGE plpgsql
    AS $$
DECLARE
    found balance;
BEGIN
    SELECT * INTO found FROM balance AS b
        WHERE b.workshop = shop AND b.item = of_item AND b.lot = of_lot FOR NO KEY UPDATE;
    PERFORM known(shop, of_item, of_lot);
    RETURN found;
END $$;

ALTER FUNCTION circlip.lock_lot(shop bigint, of_item text, of_lot text) OWNER TO circlip_owner;

CREATE FUNCTION circlip.lock_lots(shop bigint, items text[], named text[] DEFAULT '{}'::text[]) RETURNS circlip.shelf_lot[]
    LANGUAGE plpgsql
    AS $$
BEGIN
    RETURN ARRAY(SELECT ROW(b.item, b.lot)::shelf_lot FROM balance AS b
        WHERE b.workshop = shop AND b.item = ANY (items) AND (b.on_hand > 0 OR b.lot = ANY (named))
        ORDER BY b.item, b.expires_on, b.received_on, b.lot
        FOR NO KEY UPDATE);
END $$;

ALTER FUNCTION circlip.lock_lots(shop bigint, items text[], named text[]) OWNER TO circlip_owner;

CREATE FUNCTION circlip.lock_order(shop bigint, r jsonb) RETURNS void
    LANGUAGE plpgsql
    AS $$
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

ALTER FUNCTION circlip.lock_order(shop bigint, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.lose(shop bigint, locked circlip.shelf_lot[], doing uuid, of_item text, of_lot text, amount bigint, target text, for_ref text, today date) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
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

ALTER FUNCTION circlip.lose(shop bigint, locked circlip.shelf_lot[], doing uuid, of_item text, of_lot text, amount bigint, target text, for_ref text, today date) OWNER TO circlip_owner;

CREATE FUNCTION circlip.lot_name(base text, added text) RETURNS text
    LANGUAGE sql IMMUTABLE PARALLEL SAFE
    RETURN (rtrim("left"(base, (64 - char_length(added)))) || added);

ALTER FUNCTION circlip.lot_name(base text, added text) OWNER TO circlip_owner;

CREATE FUNCTION circlip.lots_named(shop bigint, items text[], base text) RETURNS text[]
    LANGUAGE sql STABLE
    RETURN ARRAY(SELECT (l.lot)::text AS lot FROM circlip.lot l WHERE ((l.workshop = lots_named.shop) AND ((l.item)::text = ANY (lots_named.items)) AND starts_with((l.lot)::text, "left"(lots_named.base, 56))));

ALTER FUNCTION circlip.lots_named(shop bigint, items text[], base text) OWNER TO circlip_owner;

CREATE FUNCTION circlip.taken(shop bigint, for_job text) RETURNS TABLE(item text, lot text, qty bigint)
    LANGUAGE sql STABLE
    BEGIN ATOMIC
 SELECT m.item,
     m.lot,
     (sum(
         CASE m.to_place
             WHEN 'job'::text THEN m.qty
             ELSE (- m.qty)
         END))::bigint AS sum
    FROM circlip.movement m
   WHERE ((m.workshop = taken.shop) AND (m.ref = taken.for_job) AND (('job'::text = m.from_place) OR ('job'::text = m.to_place)))
   GROUP BY m.item, m.lot
  HAVING (sum(
         CASE m.to_place
             WHEN 'job'::text THEN m.qty
             ELSE (- m.qty)
         END) <> (0)::numeric);
END;

ALTER FUNCTION circlip.taken(shop bigint, for_job text) OWNER TO circlip_owner;

CREATE FUNCTION circlip.lots_taken(shop bigint, for_job text) RETURNS text[]
    LANGUAGE sql STABLE
    BEGIN ATOMIC
 SELECT ARRAY( SELECT DISTINCT t.lot
            FROM circlip.taken(lots_taken.shop, lots_taken.for_job) t(item, lot, qty)) AS "array";
END;

ALTER FUNCTION circlip.lots_taken(shop bigint, for_job text) OWNER TO circlip_owner;

CREATE FUNCTION circlip.move(shop bigint, doing uuid, of_item text, of_lot text, source text, target text, for_ref text, amount bigint, today date, wrong bigint DEFAULT NULL::bigint) RETURNS circlip.movement
    LANGUAGE plpgsql
    AS $$
DECLARE
    made movement;
BEGIN
    INSERT INTO movement (workshop, item, lot, from_place, to_place, ref, qty, happened_on, act, reverses)
    VALUES (shop, of_item, of_lot, source, target, for_ref, amount, today, doing, wrong)
    RETURNING * INTO made;
    RETURN made;
END $$;

ALTER FUNCTION circlip.move(shop bigint, doing uuid, of_item text, of_lot text, source text, target text, for_ref text, amount bigint, today date, wrong bigint) OWNER TO circlip_owner;

CREATE FUNCTION circlip.note_count(shop bigint, doing uuid, r jsonb) RETURNS void
    LANGUAGE plpgsql
    AS $$
DECLARE
    of_item text := r->>'item';
    today   date := (r->>'on')::date;
BEGIN
    PERFORM known(shop, of_item, '');
    PERFORM fit_parts(shop, r);
    INSERT INTO item_count AS c (workshop, item, counted_on, qty, act)
    VALUES (shop, of_item, today, (r->>'found')::bigint, doing)
    ON CONFLICT (workshop, item, counted_on) DO UPDATE SET qty = excluded.qty, act = excluded.act WHERE c.act IS NOT NULL;
    IF NOT FOUND THEN
        PERFORM refuse('conflict', jsonb_build_object('item', of_item,
            'reason', format('the book has a count of it on %s, which stands; count it on another day', today)));
    END IF;
    DELETE FROM count_part AS p WHERE p.workshop = shop AND p.item = of_item AND p.counted_on = today;
    INSERT INTO count_part (workshop, item, counted_on, number, container, qty, gross_g, tare_g, temp_c, opened_on)
        SELECT shop, of_item, today, n, p->>'container', (p->>'qty')::bigint, (p->>'gross_g')::double precision,
            (p->>'tare_g')::double precision, (p->>'temp_c')::double precision, (p->>'opened_on')::date
        FROM jsonb_array_elements(r->'parts') WITH ORDINALITY AS j(p, n);
END $$;

ALTER FUNCTION circlip.note_count(shop bigint, doing uuid, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.note_reading(shop bigint, of_job circlip.job, today date, r jsonb) RETURNS void
    LANGUAGE plpgsql
    AS $$
DECLARE
    found_h double precision := (r->>'hours')::double precision;
    is_new  boolean := coalesce((r->>'reset')::boolean, false);
    near    reading;
    wrong   text;
BEGIN
    IF r IS NULL THEN
        RETURN;
    END IF;
    PERFORM FROM unit AS u WHERE u.workshop = shop AND u.unit = of_job.unit FOR NO KEY UPDATE;
    IF NOT FOUND THEN
        wrong := 'it names no unit whose meter could have been read';
    END IF;
    SELECT * INTO near FROM reading AS k WHERE k.workshop = shop AND k.unit = of_job.unit AND k.read_on <= today
        ORDER BY k.read_on DESC LIMIT 1;
    IF near.read_on = today AND (near.hours, near.reset) = (found_h, is_new) THEN
        RETURN;
    ELSIF near.read_on = today THEN
        wrong := format('unit %s: the meter was read at %s h on the same day, found %s h', of_job.unit, near.hours, found_h);
    ELSIF near.hours > found_h AND NOT is_new THEN
        wrong := format('unit %s: the meter was read at %s h on %s, found %s h, expected no less unless it was replaced',
            of_job.unit, near.hours, near.read_on, found_h);
    END IF;
    SELECT * INTO near FROM reading AS k WHERE k.workshop = shop AND k.unit = of_job.unit AND k.read_on > today
        ORDER BY k.read_on LIMIT 1;
    IF near.hours < found_h AND NOT near.reset THEN
        wrong := format('unit %s: the meter was read at %s h on %s, found %s h, expected no more', of_job.unit, near.hours,
            near.read_on, found_h);
    END IF;
    IF wrong IS NOT NULL THEN
        PERFORM refuse('conflict', jsonb_build_object('job', of_job.job, 'reason', wrong));
    END IF;
    INSERT INTO reading (workshop, unit, read_on, hours, reset) VALUES (shop, of_job.unit, today, found_h, is_new);
END $$;

ALTER FUNCTION circlip.note_reading(shop bigint, of_job circlip.job, today date, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.note_setup(shop bigint, of_job circlip.job, at_moment text, today date, r jsonb) RETURNS void
    LANGUAGE plpgsql
    AS $$
BEGIN
    IF r IS NULL THEN
        RETURN;
    ELSIF of_job.unit IS NULL THEN
        PERFORM refuse('conflict', jsonb_build_object('job', of_job.job,
            'reason', 'it names no unit whose settings could be kept'));
    END IF;
    INSERT INTO setup (workshop, unit, job, moment, on_day, air_bar, rebound_clicks, compression, volume_spacers, note)
    VALUES (shop, of_job.unit, of_job.job, at_moment, today, (r->>'air_bar')::double precision,
        (r->>'rebound_clicks')::integer, r->>'compression', (r->>'volume_spacers')::integer, r->>'note')
    ON CONFLICT (workshop, job, moment) DO UPDATE SET on_day = excluded.on_day, air_bar = excluded.air_bar,
        rebound_clicks = excluded.rebound_clicks, compression = excluded.compression,
        volume_spacers = excluded.volume_spacers, note = excluded.note;
END $$;

ALTER FUNCTION circlip.note_setup(shop bigint, of_job circlip.job, at_moment text, today date, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.on_shelf(to_place text, qty bigint) RETURNS bigint
    LANGUAGE sql IMMUTABLE PARALLEL SAFE
    RETURN CASE WHEN (to_place = 'shelf'::text) THEN qty ELSE (- qty) END;

ALTER FUNCTION circlip.on_shelf(to_place text, qty bigint) OWNER TO circlip_owner;

CREATE FUNCTION circlip.open_balance() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
BEGIN
    INSERT INTO circlip.balance (workshop, item, lot, received_on, expires_on)
    VALUES (NEW.workshop, NEW.item, NEW.lot, NEW.received_on, NEW.expires_on);
    RETURN NULL;
END $$;

ALTER FUNCTION circlip.open_balance() OWNER TO circlip_owner;

CREATE FUNCTION circlip.open_job(shop bigint, for_job text, today date) RETURNS circlip.job
    LANGUAGE plpgsql
    AS $$
DECLARE
    of_job job := known_job(shop, for_job);
    since  date;
BEGIN
    IF of_job.state <> 'booked' THEN
        since := coalesce(of_job.done_on, of_job.cancelled_on);
        PERFORM refuse('conflict', jsonb_build_object('job', for_job,
            'reason', 'it is ' || of_job.state || coalesce(' since ' || since, '')));
    ELSIF today < of_job.booked_on THEN
        PERFORM refuse('conflict', jsonb_build_object('job', for_job,
            'reason', format('found %s, expected no day before it was booked, %s', today, of_job.booked_on)));
    END IF;
    RETURN of_job;
END $$;

ALTER FUNCTION circlip.open_job(shop bigint, for_job text, today date) OWNER TO circlip_owner;

CREATE FUNCTION circlip.open_lot(shop bigint, INOUT locked circlip.shelf_lot[], of_item text, base text, received date, expiry date, cost bigint, OUT name text) RETURNS record
    LANGUAGE plpgsql
    AS $$
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

ALTER FUNCTION circlip.open_lot(shop bigint, INOUT locked circlip.shelf_lot[], of_item text, base text, received date, expiry date, cost bigint, OUT name text) OWNER TO circlip_owner;

CREATE FUNCTION circlip.perform(shop bigint, doing uuid, what text, r jsonb) RETURNS jsonb
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path TO 'circlip', 'pg_temp'
    AS $$
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
            IF what = 'dispose' THEN
                answer := answer || jsonb_build_object('number', (SELECT d.number FROM disposal AS d
                    WHERE d.workshop = shop AND d.happened_on = (r->>'on')::date AND d.act = doing));
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

ALTER FUNCTION circlip.perform(shop bigint, doing uuid, what text, r jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.post_import() RETURNS trigger
    LANGUAGE plpgsql
    SET search_path TO 'circlip', 'pg_temp'
    SET work_mem TO '64MB'
    AS $$
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

ALTER FUNCTION circlip.post_import() OWNER TO circlip_owner;

CREATE FUNCTION circlip.post_movement() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
BEGIN
    UPDATE circlip.balance AS b
    SET on_hand = b.on_hand + CASE WHEN NEW.to_place = 'shelf' THEN NEW.qty ELSE -NEW.qty END,
        seq = b.seq + 1,
        head = sha256(b.head || circlip.movement_bytes(NEW.workshop, NEW.item, NEW.lot, NEW.from_place, NEW.to_place,
            NEW.ref, b.seq + 1, NEW.qty, NEW.happened_on))
    WHERE b.workshop = NEW.workshop AND b.item = NEW.item AND b.lot = NEW.lot
    RETURNING b.seq, b.head INTO NEW.seq, NEW.hash;
    IF NOT FOUND THEN
        RAISE EXCEPTION 'movement of item % lot %, expected a lot that was received', NEW.item, NEW.lot
            USING ERRCODE = 'foreign_key_violation', CONSTRAINT = 'movement_lot_known', TABLE = 'movement';
    END IF;
    IF NEW.reverses IS NOT NULL AND NOT EXISTS (
        SELECT FROM circlip.movement AS wrong
        WHERE wrong.workshop = NEW.workshop AND wrong.item = NEW.item AND wrong.lot = NEW.lot
          AND wrong.seq = NEW.reverses AND wrong.reverses IS NULL
          AND wrong.from_place = NEW.to_place AND wrong.to_place = NEW.from_place AND wrong.qty = NEW.qty
          AND NOT EXISTS (
            SELECT FROM circlip.movement AS earlier
            WHERE earlier.workshop = NEW.workshop AND earlier.item = NEW.item AND earlier.lot = NEW.lot
              AND earlier.reverses = NEW.reverses)) THEN
        RAISE EXCEPTION 'movement of item % lot % reverses %, expected the mirror of a movement not yet reversed',
            NEW.item, NEW.lot, NEW.reverses
            USING ERRCODE = 'check_violation', CONSTRAINT = 'movement_reverses', TABLE = 'movement';
    END IF;
    RETURN NEW;
END $$;

ALTER FUNCTION circlip.post_movement() OWNER TO circlip_owner;

CREATE FUNCTION circlip.post_set_aside() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
BEGIN
    UPDATE circlip.balance AS b
    SET reserved = b.reserved + NEW.qty, kept_seq = b.kept_seq + 1
    WHERE b.workshop = NEW.workshop AND b.item = NEW.item AND b.lot = NEW.lot
    RETURNING b.kept_seq INTO NEW.number;
    IF NOT FOUND THEN
        RAISE EXCEPTION 'set-aside of item % lot %, expected a lot that was received', NEW.item, NEW.lot
            USING ERRCODE = 'foreign_key_violation', CONSTRAINT = 'set_aside_lot_known', TABLE = 'set_aside';
    END IF;
    IF NEW.qty < 0 AND NEW.qty + coalesce((
        SELECT sum(s.qty) FROM circlip.set_aside AS s
        WHERE s.workshop = NEW.workshop AND s.item = NEW.item AND s.lot = NEW.lot AND s.job = NEW.job), 0) < 0 THEN
        RAISE EXCEPTION 'set-aside of item % lot % for job %: % given back, more than was set aside', NEW.item, NEW.lot,
            NEW.job, -NEW.qty
            USING ERRCODE = 'check_violation', CONSTRAINT = 'set_aside_of_job', TABLE = 'set_aside';
    END IF;
    RETURN NEW;
END $$;

ALTER FUNCTION circlip.post_set_aside() OWNER TO circlip_owner;

CREATE FUNCTION circlip.refresh_statistics() RETURNS void
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path TO 'circlip', 'pg_temp'
    AS $$
BEGIN
    ANALYZE item, offer, bom_line, unit, reading, job, job_use, stock_row, order_line, item_count,
        lot, balance, act, movement, set_aside;
END $$;

ALTER FUNCTION circlip.refresh_statistics() OWNER TO circlip_owner;

CREATE FUNCTION circlip.refuse(kind text, what jsonb) RETURNS void
    LANGUAGE plpgsql
    AS $$
BEGIN
    RAISE EXCEPTION '%', kind USING ERRCODE = 'CLREF', DETAIL = what || jsonb_build_object('kind', kind);
END $$;

ALTER FUNCTION circlip.refuse(kind text, what jsonb) OWNER TO circlip_owner;

CREATE FUNCTION circlip.refuse_change() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
BEGIN
    RAISE EXCEPTION '% of % refused: the ledger is only ever added to; correct a movement by reversing it',
        TG_OP, TG_TABLE_NAME USING ERRCODE = 'CLIMM', TABLE = TG_TABLE_NAME;
END $$;

ALTER FUNCTION circlip.refuse_change() OWNER TO circlip_owner;

CREATE FUNCTION circlip.release_all(shop bigint, locked circlip.shelf_lot[], doing uuid, for_job text, today date) RETURNS circlip.done
    LANGUAGE plpgsql
    AS $$
DECLARE
    c      record;
    answer done;
BEGIN
    FOR c IN SELECT k.item, k.lot, k.qty FROM kept AS k
        WHERE k.workshop = shop AND k.job = for_job AND ROW(k.item, k.lot)::shelf_lot = ANY (locked)
        ORDER BY k.item, k.lot
    LOOP
        answer.kept := answer.kept || keep(shop, doing, c.item, c.lot, for_job, -c.qty, 'released', today);
    END LOOP;
    RETURN answer;
END $$;

ALTER FUNCTION circlip.release_all(shop bigint, locked circlip.shelf_lot[], doing uuid, for_job text, today date) OWNER TO circlip_owner;

CREATE FUNCTION circlip.release_told(shop bigint, put_off text[]) RETURNS SETOF text
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path TO 'circlip', 'pg_temp'
    AS $$
DECLARE
    over   record;
    answer jsonb;
BEGIN
    PERFORM lock_lots(shop, ARRAY(SELECT DISTINCT k.item FROM kept AS k JOIN job AS j USING (workshop, job)
        WHERE workshop = shop AND (j.state <> 'booked' OR k.job = ANY (put_off))));
    FOR over IN SELECT s.job, greatest(max(s.happened_on), j.done_on, j.cancelled_on) AS today
        FROM set_aside AS s JOIN job AS j USING (workshop, job)
        WHERE workshop = shop AND (j.state <> 'booked' OR s.job = ANY (put_off))
        GROUP BY s.job, j.done_on, j.cancelled_on HAVING sum(s.qty) > 0 ORDER BY s.job
    LOOP
        answer := perform(shop, gen_random_uuid(), 'release',
            jsonb_build_object('job', over.job, 'on', over.today, 'lines', '[]'::jsonb));
        IF answer ? 'refused' THEN
            RAISE EXCEPTION 'release of job %: %', over.job, answer USING ERRCODE = 'serialization_failure';
        END IF;
        RETURN NEXT over.job;
    END LOOP;
END $$;

ALTER FUNCTION circlip.release_told(shop bigint, put_off text[]) OWNER TO circlip_owner;

CREATE FUNCTION circlip.seal_day(shop bigint, today date) RETURNS bytea
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path TO 'circlip', 'pg_temp'
    AS $$
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

ALTER FUNCTION circlip.seal_day(shop bigint, today date) OWNER TO circlip_owner;

CREATE FUNCTION circlip.service_listed_known() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
DECLARE
    missing record;
BEGIN
    IF TG_TABLE_NAME = 'job' THEN
        SELECT w.job AS code, s.service INTO missing
            FROM written AS w CROSS JOIN LATERAL unnest(w.services) AS s(service)
            WHERE NOT EXISTS (SELECT FROM service AS k WHERE k.workshop = w.workshop AND k.service = s.service)
            LIMIT 1;
    ELSE
        SELECT w.service AS code, s.service INTO missing
            FROM written AS w CROSS JOIN LATERAL unnest(w.covers) AS s(service)
            WHERE NOT EXISTS (SELECT FROM service AS k WHERE k.workshop = w.workshop AND k.service = s.service)
            LIMIT 1;
    END IF;
    IF FOUND THEN
        RAISE EXCEPTION '% % lists service %, expected one that the workshop has', TG_TABLE_NAME, missing.code, missing.service
            USING ERRCODE = 'foreign_key_violation', CONSTRAINT = TG_TABLE_NAME || '_service_known', TABLE = TG_TABLE_NAME;
    END IF;
    RETURN NULL;
END $$;

ALTER FUNCTION circlip.service_listed_known() OWNER TO circlip_owner;

CREATE FUNCTION circlip.service_still_listed() RETURNS trigger
    LANGUAGE plpgsql
    AS $$
BEGIN
    IF EXISTS (SELECT FROM job WHERE workshop = OLD.workshop AND services @> ARRAY[OLD.service::text])
        OR EXISTS (SELECT FROM service WHERE workshop = OLD.workshop AND covers @> ARRAY[OLD.service::text]) THEN
        RAISE EXCEPTION 'service % is listed by a job or covered by a service, expected one that nothing relies on', OLD.service
            USING ERRCODE = 'foreign_key_violation', CONSTRAINT = 'service_still_listed', TABLE = 'service';
    END IF;
    RETURN OLD;
END $$;

ALTER FUNCTION circlip.service_still_listed() OWNER TO circlip_owner;

CREATE FUNCTION circlip.stage() RETURNS void
    LANGUAGE plpgsql SECURITY DEFINER
    SET search_path TO 'circlip', 'pg_temp'
    AS $$
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

ALTER FUNCTION circlip.stage() OWNER TO circlip_owner;

CREATE FUNCTION circlip.still_good(shop bigint, lines jsonb, that_day date) RETURNS void
    LANGUAGE plpgsql
    AS $_$
DECLARE
    old record;
BEGIN
    IF NOT jsonb_path_exists(lines, '$[*].lot ? (@ <> "")') THEN
        RETURN;
    END IF;
    SELECT l.item, l.lot, l.expires_on INTO old
        FROM jsonb_array_elements(lines) WITH ORDINALITY AS j(line, n)
        JOIN lot AS l ON l.workshop = shop AND l.item = j.line->>'item' AND l.lot = j.line->>'lot'
        WHERE l.expires_on <= that_day ORDER BY n LIMIT 1;
    IF FOUND THEN
        PERFORM refuse('conflict', jsonb_build_object('item', old.item, 'lot', old.lot,
            'reason', format('it expires on %s and is wanted for %s', old.expires_on, that_day)));
    END IF;
END $_$;

ALTER FUNCTION circlip.still_good(shop bigint, lines jsonb, that_day date) OWNER TO circlip_owner;

CREATE FUNCTION circlip.together(a circlip.done, b circlip.done) RETURNS circlip.done
    LANGUAGE sql IMMUTABLE PARALLEL SAFE
    RETURN ROW(((a).moved || (b).moved), ((a).kept || (b).kept))::circlip.done;

ALTER FUNCTION circlip.together(a circlip.done, b circlip.done) OWNER TO circlip_owner;

CREATE AGGREGATE circlip.chain(head bytea, bytes bytea) (
    SFUNC = circlip.chain_next,
    STYPE = bytea
);

ALTER AGGREGATE circlip.chain(head bytea, bytes bytea) OWNER TO circlip_owner;

CREATE TABLE circlip.act (
    workshop bigint NOT NULL,
    act uuid NOT NULL,
    kind text NOT NULL,
    request_sha256 bytea NOT NULL,
    result jsonb NOT NULL,
    proof bytea NOT NULL,
    at timestamp with time zone DEFAULT now() NOT NULL
);

ALTER TABLE circlip.act OWNER TO circlip_owner;

CREATE TABLE circlip.alternate (
    workshop bigint NOT NULL,
    item circlip.code NOT NULL,
    alternate circlip.code NOT NULL,
    rank integer DEFAULT 1 NOT NULL,
    note text,
    CONSTRAINT alternate_not_itself CHECK (((item)::text <> (alternate)::text))
);

ALTER TABLE circlip.alternate OWNER TO circlip_owner;

CREATE TABLE circlip.bom_line (
    workshop bigint NOT NULL,
    service circlip.code NOT NULL,
    model circlip.code NOT NULL,
    item circlip.code NOT NULL,
    valid_from date DEFAULT '-infinity'::date NOT NULL,
    qty bigint NOT NULL,
    need double precision DEFAULT 1 NOT NULL,
    waste double precision DEFAULT 0 NOT NULL,
    valid_to date DEFAULT 'infinity'::date NOT NULL,
    exact_model text GENERATED ALWAYS AS (NULLIF((model)::text, '*'::text)) STORED COLLATE pg_catalog."C",
    note text,
    CONSTRAINT bom_line_dates CHECK ((valid_from < valid_to)),
    CONSTRAINT bom_line_need CHECK (((need >= (0)::double precision) AND (need <= (1)::double precision))),
    CONSTRAINT bom_line_qty CHECK ((qty > 0)),
    CONSTRAINT bom_line_waste CHECK ((waste >= (0)::double precision))
);

ALTER TABLE circlip.bom_line OWNER TO circlip_owner;

CREATE TABLE circlip.container (
    workshop bigint NOT NULL,
    container circlip.code NOT NULL,
    name text NOT NULL,
    item text COLLATE pg_catalog."C",
    tare_g double precision NOT NULL,
    volume_ml double precision,
    CONSTRAINT container_sizes CHECK (((tare_g >= (0)::double precision) AND (volume_ml > (0)::double precision)))
);

ALTER TABLE circlip.container OWNER TO circlip_owner;

CREATE TABLE circlip.count_part (
    workshop bigint NOT NULL,
    item circlip.code NOT NULL,
    counted_on date NOT NULL,
    number integer NOT NULL,
    container text COLLATE pg_catalog."C",
    qty bigint NOT NULL,
    gross_g double precision,
    tare_g double precision,
    temp_c double precision,
    opened_on date,
    CONSTRAINT count_part_number CHECK ((number > 0)),
    CONSTRAINT count_part_opened CHECK ((opened_on <= counted_on)),
    CONSTRAINT count_part_qty CHECK ((qty >= 0)),
    CONSTRAINT count_part_weighed CHECK ((((gross_g IS NULL) = (tare_g IS NULL)) AND (gross_g >= tare_g) AND (tare_g >= (0)::double precision) AND ((temp_c IS NULL) OR (gross_g IS NOT NULL))))
);

ALTER TABLE circlip.count_part OWNER TO circlip_owner;

CREATE TABLE circlip.delivery (
    workshop bigint NOT NULL,
    item text NOT NULL COLLATE pg_catalog."C",
    lot text NOT NULL COLLATE pg_catalog."C",
    seq bigint NOT NULL,
    order_code text NOT NULL COLLATE pg_catalog."C",
    packs integer NOT NULL,
    CONSTRAINT delivery_packs CHECK ((packs > 0))
);

ALTER TABLE circlip.delivery OWNER TO circlip_owner;

CREATE TABLE circlip.disposal (
    workshop bigint NOT NULL,
    happened_on date NOT NULL,
    number integer NOT NULL,
    stream text NOT NULL,
    moment text NOT NULL,
    volume_ml double precision,
    weight_g double precision,
    carrier text,
    document text,
    note text,
    act uuid,
    CONSTRAINT disposal_amount CHECK (((volume_ml > (0)::double precision) AND (weight_g > (0)::double precision) AND ((volume_ml IS NOT NULL) OR (weight_g IS NOT NULL)))),
    CONSTRAINT disposal_carrier CHECK (((moment = 'gathered'::text) OR (carrier IS NOT NULL))),
    CONSTRAINT disposal_moment CHECK ((moment = ANY (ARRAY['gathered'::text, 'handed-over'::text]))),
    CONSTRAINT disposal_number CHECK ((number > 0)),
    CONSTRAINT disposal_stream CHECK ((stream = ANY (ARRAY['oil'::text, 'grease'::text, 'solvent'::text])))
);

ALTER TABLE circlip.disposal OWNER TO circlip_owner;

COMMENT ON COLUMN circlip.disposal.act IS 'the act that wrote it down; NULL: a book told of it';

CREATE TABLE circlip.groove (
    workshop bigint NOT NULL,
    item circlip.code NOT NULL,
    root_mm double precision NOT NULL,
    bore_mm double precision NOT NULL,
    width_mm double precision NOT NULL,
    CONSTRAINT groove_sizes CHECK (((root_mm > (0)::double precision) AND (bore_mm > root_mm) AND (width_mm > (0)::double precision)))
);

ALTER TABLE circlip.groove OWNER TO circlip_owner;

CREATE TABLE circlip.holiday (
    workshop bigint NOT NULL,
    day date NOT NULL,
    supplier text DEFAULT ''::text NOT NULL COLLATE pg_catalog."C",
    name text DEFAULT ''::text NOT NULL,
    exact_supplier text GENERATED ALWAYS AS (NULLIF(supplier, ''::text)) STORED COLLATE pg_catalog."C"
);

ALTER TABLE circlip.holiday OWNER TO circlip_owner;

CREATE TABLE circlip.import (
    workshop bigint NOT NULL,
    import bigint NOT NULL,
    rows bigint NOT NULL,
    at timestamp with time zone DEFAULT now() NOT NULL
);

ALTER TABLE circlip.import OWNER TO circlip_owner;

ALTER TABLE circlip.import ALTER COLUMN import ADD GENERATED ALWAYS AS IDENTITY (
    SEQUENCE NAME circlip.import_import_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

CREATE TABLE circlip.inspection (
    workshop bigint NOT NULL,
    item text NOT NULL COLLATE pg_catalog."C",
    lot text NOT NULL COLLATE pg_catalog."C",
    new_lot text NOT NULL COLLATE pg_catalog."C",
    inspected_on date NOT NULL,
    inspected_by text NOT NULL,
    note text DEFAULT ''::text NOT NULL,
    until date NOT NULL,
    act uuid NOT NULL,
    CONSTRAINT inspection_signed CHECK ((btrim(inspected_by) <> ''::text)),
    CONSTRAINT inspection_until CHECK ((until > inspected_on))
);

ALTER TABLE circlip.inspection OWNER TO circlip_owner;

CREATE TABLE circlip.item (
    workshop bigint NOT NULL,
    item circlip.code NOT NULL,
    name text NOT NULL,
    kind text NOT NULL,
    measure text NOT NULL,
    material text,
    shelf_months integer,
    critical boolean DEFAULT true NOT NULL,
    inside_mm double precision,
    section_mm double precision,
    hardness double precision,
    density_kg_m3 double precision,
    viscosity_40c double precision,
    flash_point_c double precision,
    bin text,
    gtin text,
    opened_months integer,
    CONSTRAINT item_kind CHECK ((kind = ANY (ARRAY['seal'::text, 'wiper'::text, 'glide-ring'::text, 'o-ring'::text, 'backup-ring'::text, 'oil'::text, 'grease'::text, 'solvent'::text, 'spacer'::text, 'bushing'::text, 'hardware'::text, 'kit'::text, 'other'::text]))),
    CONSTRAINT item_measure CHECK ((measure = ANY (ARRAY['ea'::text, 'ml'::text, 'g'::text]))),
    CONSTRAINT item_opened_months CHECK ((opened_months > 0)),
    CONSTRAINT item_shelf_months CHECK ((shelf_months > 0)),
    CONSTRAINT item_sizes CHECK (((inside_mm > (0)::double precision) AND (section_mm > (0)::double precision) AND (hardness > (0)::double precision) AND (density_kg_m3 > (0)::double precision) AND (viscosity_40c > (0)::double precision)))
);

ALTER TABLE circlip.item OWNER TO circlip_owner;

CREATE TABLE circlip.item_count (
    workshop bigint NOT NULL,
    item circlip.code NOT NULL,
    counted_on date NOT NULL,
    qty bigint NOT NULL,
    gross_g double precision,
    tare_g double precision,
    temp_c double precision,
    act uuid,
    CONSTRAINT item_count_qty CHECK ((qty >= 0)),
    CONSTRAINT item_count_weighed CHECK ((((gross_g IS NULL) = (tare_g IS NULL)) AND (gross_g >= tare_g) AND (tare_g >= (0)::double precision)))
);

ALTER TABLE circlip.item_count OWNER TO circlip_owner;

COMMENT ON COLUMN circlip.item_count.act IS 'the act that counted; NULL: a book told of it';

CREATE TABLE circlip.job_act (
    workshop bigint NOT NULL,
    act uuid NOT NULL,
    job text NOT NULL COLLATE pg_catalog."C",
    what text NOT NULL,
    from_job text COLLATE pg_catalog."C",
    reason text DEFAULT ''::text NOT NULL,
    happened_on date NOT NULL,
    CONSTRAINT job_act_from CHECK ((((what = 'taken over'::text) = (from_job IS NOT NULL)) AND (from_job <> job))),
    CONSTRAINT job_act_reason CHECK (((what = 'closed'::text) OR (btrim(reason) <> ''::text))),
    CONSTRAINT job_act_what CHECK ((what = ANY (ARRAY['closed'::text, 'corrected'::text, 'taken over'::text])))
);

ALTER TABLE circlip.job_act OWNER TO circlip_owner;

CREATE TABLE circlip.job_use (
    workshop bigint NOT NULL,
    job circlip.code NOT NULL,
    item circlip.code NOT NULL,
    lot text DEFAULT ''::text NOT NULL COLLATE pg_catalog."C",
    qty bigint NOT NULL,
    CONSTRAINT job_use_qty CHECK ((qty > 0))
);

ALTER TABLE circlip.job_use OWNER TO circlip_owner;

CREATE TABLE circlip.kit_part (
    workshop bigint NOT NULL,
    kit circlip.code NOT NULL,
    item circlip.code NOT NULL,
    qty bigint NOT NULL,
    CONSTRAINT kit_part_not_itself CHECK (((kit)::text <> (item)::text)),
    CONSTRAINT kit_part_qty CHECK ((qty > 0))
);

ALTER TABLE circlip.kit_part OWNER TO circlip_owner;

CREATE TABLE circlip.migration (
    number integer NOT NULL,
    name text NOT NULL,
    sha256 bytea NOT NULL,
    applied_at timestamp with time zone DEFAULT now() NOT NULL
);

ALTER TABLE circlip.migration OWNER TO circlip_owner;

CREATE TABLE circlip.model (
    workshop bigint NOT NULL,
    model circlip.code NOT NULL,
    name text NOT NULL,
    family circlip.code NOT NULL,
    CONSTRAINT model_not_star CHECK (((model)::text <> '*'::text))
);

ALTER TABLE circlip.model OWNER TO circlip_owner;

CREATE VIEW circlip.moved AS
 SELECT m.workshop,
    m.item
   FROM (circlip.movement m
     JOIN circlip.act a USING (workshop, act))
  WHERE (a.kind <> 'import'::text)
UNION
 SELECT late.workshop,
    late.item
   FROM ( SELECT m.workshop,
            m.item,
            m.happened_on,
            max(m.happened_on) OVER (PARTITION BY m.workshop, m.item ORDER BY m.recorded_at GROUPS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING) AS told
           FROM circlip.movement m) late
  WHERE (late.happened_on <= late.told)
UNION
 SELECT movement.workshop,
    movement.item
   FROM circlip.movement
  GROUP BY movement.workshop, movement.item, movement.act
 HAVING (min(movement.ref) <> max(movement.ref))
UNION
 SELECT c.workshop,
    (c.item)::text AS item
   FROM circlip.item_count c
  WHERE ((c.act IS NOT NULL) AND (EXISTS ( SELECT
           FROM circlip.movement m
          WHERE ((m.workshop = c.workshop) AND (m.item = (c.item)::text)))));

ALTER TABLE circlip.moved OWNER TO circlip_owner;

CREATE VIEW circlip.moves AS
 SELECT m.workshop,
    m.item,
    m.lot,
    m.seq AS number,
    (m.act)::text AS act,
    m.from_place,
    m.to_place,
    m.reverses,
    m.ref,
    m.qty,
    m.happened_on,
    l.received_on,
    NULLIF(l.expires_on, 'infinity'::date) AS expires_on,
    l.unit_cost,
    d.packs,
    i.inspected_by,
    NULLIF(i.note, ''::text) AS note
   FROM ((((circlip.movement m
     JOIN circlip.lot l USING (workshop, item, lot))
     JOIN circlip.moved USING (workshop, item))
     LEFT JOIN circlip.delivery d USING (workshop, item, lot, seq))
     LEFT JOIN circlip.inspection i ON (((i.workshop = m.workshop) AND (i.item = m.item) AND (i.new_lot = m.lot) AND (i.act = m.act))))
UNION ALL
 SELECT c.workshop,
    moved.item,
    ''::text AS lot,
    row_number() OVER (PARTITION BY c.workshop, moved.item ORDER BY c.counted_on) AS number,
    ''::text AS act,
    'difference'::text AS from_place,
    'shelf'::text AS to_place,
    NULL::bigint AS reverses,
    (c.counted_on)::text AS ref,
    0 AS qty,
    c.counted_on AS happened_on,
    NULL::date AS received_on,
    NULL::date AS expires_on,
    NULL::bigint AS unit_cost,
    NULL::integer AS packs,
    NULL::text AS inspected_by,
    NULL::text AS note
   FROM (circlip.item_count c
     JOIN circlip.moved USING (workshop, item))
  WHERE (NOT (EXISTS ( SELECT
           FROM circlip.movement m
          WHERE ((m.workshop = c.workshop) AND (m.item = (c.item)::text) AND (m.ref = (c.counted_on)::text) AND (('difference'::text = m.from_place) OR ('difference'::text = m.to_place))))));

ALTER TABLE circlip.moves OWNER TO circlip_owner;

CREATE TABLE circlip.offer (
    workshop bigint NOT NULL,
    item circlip.code NOT NULL,
    supplier circlip.code NOT NULL,
    from_packs integer DEFAULT 1 NOT NULL,
    supplier_code text,
    pack_qty bigint NOT NULL,
    min_packs integer DEFAULT 1 NOT NULL,
    multiple integer DEFAULT 1 NOT NULL,
    price bigint NOT NULL,
    lead_days integer,
    CONSTRAINT offer_lead_days CHECK ((lead_days >= 0)),
    CONSTRAINT offer_packs CHECK (((from_packs > 0) AND (pack_qty > 0) AND (min_packs > 0) AND (multiple > 0))),
    CONSTRAINT offer_price CHECK ((price >= 0))
);

ALTER TABLE circlip.offer OWNER TO circlip_owner;

CREATE TABLE circlip.order_sheet (
    workshop bigint NOT NULL,
    sheet circlip.code NOT NULL,
    order_code circlip.code NOT NULL,
    placed_on date NOT NULL,
    act uuid NOT NULL
);

ALTER TABLE circlip.order_sheet OWNER TO circlip_owner;

CREATE TABLE circlip.reading (
    workshop bigint NOT NULL,
    unit circlip.code NOT NULL,
    read_on date NOT NULL,
    hours double precision NOT NULL,
    reset boolean DEFAULT false NOT NULL,
    CONSTRAINT reading_hours CHECK ((hours >= (0)::double precision))
);

ALTER TABLE circlip.reading OWNER TO circlip_owner;

CREATE TABLE circlip.seal (
    workshop bigint NOT NULL,
    day date NOT NULL,
    hash bytea NOT NULL,
    sealed_at timestamp with time zone DEFAULT now() NOT NULL
);

ALTER TABLE circlip.seal OWNER TO circlip_owner;

CREATE TABLE circlip.seal_head (
    workshop bigint NOT NULL,
    item text NOT NULL COLLATE pg_catalog."C",
    lot text NOT NULL COLLATE pg_catalog."C",
    seq bigint NOT NULL,
    day date NOT NULL,
    head bytea NOT NULL
);

ALTER TABLE circlip.seal_head OWNER TO circlip_owner;

CREATE TABLE circlip.season (
    workshop bigint NOT NULL,
    week integer NOT NULL,
    factor double precision NOT NULL,
    CONSTRAINT season_factor CHECK ((factor >= (0)::double precision)),
    CONSTRAINT season_week CHECK (((week >= 1) AND (week <= 53)))
);

ALTER TABLE circlip.season OWNER TO circlip_owner;

CREATE TABLE circlip.service (
    workshop bigint NOT NULL,
    service circlip.code NOT NULL,
    name text NOT NULL,
    family circlip.code NOT NULL,
    every_hours double precision,
    every_months integer,
    covers text[] DEFAULT '{}'::text[] NOT NULL COLLATE pg_catalog."C",
    bench_minutes integer,
    CONSTRAINT service_bench_minutes CHECK ((bench_minutes >= 0)),
    CONSTRAINT service_every CHECK (((every_hours > (0)::double precision) AND (every_months > 0))),
    CONSTRAINT service_not_itself CHECK (((service)::text <> ALL (covers)))
);

ALTER TABLE circlip.service OWNER TO circlip_owner;

CREATE TABLE circlip.setting (
    workshop bigint NOT NULL,
    key circlip.code NOT NULL,
    value text NOT NULL
);

ALTER TABLE circlip.setting OWNER TO circlip_owner;

CREATE TABLE circlip.setup (
    workshop bigint NOT NULL,
    unit circlip.code NOT NULL,
    job circlip.code NOT NULL,
    moment text NOT NULL,
    on_day date NOT NULL,
    air_bar double precision,
    rebound_clicks integer,
    compression text,
    volume_spacers integer,
    note text,
    CONSTRAINT setup_moment CHECK ((moment = ANY (ARRAY['before'::text, 'after'::text]))),
    CONSTRAINT setup_numbers CHECK (((air_bar >= (0)::double precision) AND (rebound_clicks >= 0) AND (volume_spacers >= 0)))
);

ALTER TABLE circlip.setup OWNER TO circlip_owner;

CREATE TABLE circlip.stock_row (
    workshop bigint NOT NULL,
    item circlip.code NOT NULL,
    lot circlip.code NOT NULL,
    qty bigint NOT NULL,
    counted_on date NOT NULL,
    cure_mark text,
    expires_on date,
    unit_cost bigint,
    CONSTRAINT stock_row_qty CHECK ((qty >= 0)),
    CONSTRAINT stock_row_unit_cost CHECK ((unit_cost >= 0))
);

ALTER TABLE circlip.stock_row OWNER TO circlip_owner;

CREATE TABLE circlip.supplier (
    workshop bigint NOT NULL,
    supplier circlip.code NOT NULL,
    name text NOT NULL,
    order_weekday text,
    cutoff text,
    lead_days integer,
    min_order bigint,
    carriage bigint,
    carriage_free_from bigint,
    CONSTRAINT supplier_cutoff CHECK ((cutoff ~ '^([01][0-9]|2[0-3]):[0-5][0-9]$'::text)),
    CONSTRAINT supplier_lead_days CHECK ((lead_days >= 0)),
    CONSTRAINT supplier_money CHECK (((min_order >= 0) AND (carriage >= 0) AND (carriage_free_from >= 0))),
    CONSTRAINT supplier_weekday CHECK ((order_weekday = ANY (ARRAY['mon'::text, 'tue'::text, 'wed'::text, 'thu'::text, 'fri'::text, 'sat'::text, 'sun'::text])))
);

ALTER TABLE circlip.supplier OWNER TO circlip_owner;

CREATE TABLE circlip.unit (
    workshop bigint NOT NULL,
    unit circlip.code NOT NULL,
    model circlip.code NOT NULL,
    holder text NOT NULL,
    unit_group text COLLATE pg_catalog."C",
    hours_per_week double precision,
    in_service date,
    retired date,
    CONSTRAINT unit_dates CHECK ((retired >= in_service)),
    CONSTRAINT unit_holder CHECK ((holder = ANY (ARRAY['fleet'::text, 'customer'::text]))),
    CONSTRAINT unit_hours_per_week CHECK ((hours_per_week >= (0)::double precision))
);

ALTER TABLE circlip.unit OWNER TO circlip_owner;

CREATE TABLE circlip.workshop (
    workshop bigint NOT NULL,
    name text NOT NULL COLLATE pg_catalog."C",
    CONSTRAINT workshop_name_not_blank CHECK ((btrim(name) <> ''::text))
);

ALTER TABLE circlip.workshop OWNER TO circlip_owner;

ALTER TABLE circlip.workshop ALTER COLUMN workshop ADD GENERATED ALWAYS AS IDENTITY (
    SEQUENCE NAME circlip.workshop_workshop_seq
    START WITH 1
    INCREMENT BY 1
    NO MINVALUE
    NO MAXVALUE
    CACHE 1
);

ALTER TABLE ONLY circlip.act
    ADD CONSTRAINT act_pkey PRIMARY KEY (workshop, act);

ALTER TABLE ONLY circlip.alternate
    ADD CONSTRAINT alternate_pkey PRIMARY KEY (workshop, item, alternate);

ALTER TABLE ONLY circlip.balance
    ADD CONSTRAINT balance_pkey PRIMARY KEY (workshop, item, lot);

ALTER TABLE ONLY circlip.bom_line
    ADD CONSTRAINT bom_line_pkey PRIMARY KEY (workshop, service, model, item, valid_from);

ALTER TABLE ONLY circlip.container
    ADD CONSTRAINT container_pkey PRIMARY KEY (workshop, container);

ALTER TABLE ONLY circlip.count_part
    ADD CONSTRAINT count_part_pkey PRIMARY KEY (workshop, item, counted_on, number);

ALTER TABLE ONLY circlip.delivery
    ADD CONSTRAINT delivery_pkey PRIMARY KEY (workshop, item, lot, seq);

ALTER TABLE ONLY circlip.disposal
    ADD CONSTRAINT disposal_pkey PRIMARY KEY (workshop, happened_on, number);

ALTER TABLE ONLY circlip.groove
    ADD CONSTRAINT groove_pkey PRIMARY KEY (workshop, item);

ALTER TABLE ONLY circlip.holiday
    ADD CONSTRAINT holiday_pkey PRIMARY KEY (workshop, day, supplier);

ALTER TABLE ONLY circlip.import
    ADD CONSTRAINT import_pkey PRIMARY KEY (workshop, import);

ALTER TABLE ONLY circlip.inspection
    ADD CONSTRAINT inspection_pkey PRIMARY KEY (workshop, item, new_lot);

ALTER TABLE ONLY circlip.item_count
    ADD CONSTRAINT item_count_pkey PRIMARY KEY (workshop, item, counted_on);

ALTER TABLE ONLY circlip.item
    ADD CONSTRAINT item_pkey PRIMARY KEY (workshop, item);

ALTER TABLE ONLY circlip.job_act
    ADD CONSTRAINT job_act_pkey PRIMARY KEY (workshop, act);

ALTER TABLE ONLY circlip.job
    ADD CONSTRAINT job_pkey PRIMARY KEY (workshop, job);

ALTER TABLE ONLY circlip.job_use
    ADD CONSTRAINT job_use_pkey PRIMARY KEY (workshop, job, item, lot);

ALTER TABLE ONLY circlip.kit_part
    ADD CONSTRAINT kit_part_pkey PRIMARY KEY (workshop, kit, item);

ALTER TABLE ONLY circlip.lot
    ADD CONSTRAINT lot_dates_follow UNIQUE (workshop, item, lot, received_on, expires_on);

ALTER TABLE ONLY circlip.lot
    ADD CONSTRAINT lot_pkey PRIMARY KEY (workshop, item, lot);

ALTER TABLE ONLY circlip.migration
    ADD CONSTRAINT migration_pkey PRIMARY KEY (number);

ALTER TABLE ONLY circlip.model
    ADD CONSTRAINT model_pkey PRIMARY KEY (workshop, model);

ALTER TABLE ONLY circlip.movement
    ADD CONSTRAINT movement_pkey PRIMARY KEY (workshop, item, lot, seq);

ALTER TABLE ONLY circlip.offer
    ADD CONSTRAINT offer_pkey PRIMARY KEY (workshop, item, supplier, from_packs);

ALTER TABLE ONLY circlip.order_line
    ADD CONSTRAINT order_line_pkey PRIMARY KEY (workshop, order_code, item);

ALTER TABLE ONLY circlip.order_sheet
    ADD CONSTRAINT order_sheet_order_once UNIQUE (workshop, order_code);

ALTER TABLE ONLY circlip.order_sheet
    ADD CONSTRAINT order_sheet_pkey PRIMARY KEY (workshop, sheet);

ALTER TABLE ONLY circlip.reading
    ADD CONSTRAINT reading_pkey PRIMARY KEY (workshop, unit, read_on);

ALTER TABLE ONLY circlip.seal_head
    ADD CONSTRAINT seal_head_pkey PRIMARY KEY (workshop, item, lot, seq);

ALTER TABLE ONLY circlip.seal
    ADD CONSTRAINT seal_pkey PRIMARY KEY (workshop, day);

ALTER TABLE ONLY circlip.season
    ADD CONSTRAINT season_pkey PRIMARY KEY (workshop, week);

ALTER TABLE ONLY circlip.service
    ADD CONSTRAINT service_pkey PRIMARY KEY (workshop, service);

ALTER TABLE ONLY circlip.set_aside
    ADD CONSTRAINT set_aside_pkey PRIMARY KEY (workshop, item, lot, number);

ALTER TABLE ONLY circlip.setting
    ADD CONSTRAINT setting_pkey PRIMARY KEY (workshop, key);

ALTER TABLE ONLY circlip.setup
    ADD CONSTRAINT setup_pkey PRIMARY KEY (workshop, job, moment);

ALTER TABLE ONLY circlip.stock_row
    ADD CONSTRAINT stock_row_pkey PRIMARY KEY (workshop, item, lot);

ALTER TABLE ONLY circlip.supplier
    ADD CONSTRAINT supplier_pkey PRIMARY KEY (workshop, supplier);

ALTER TABLE ONLY circlip.unit
    ADD CONSTRAINT unit_pkey PRIMARY KEY (workshop, unit);

ALTER TABLE ONLY circlip.workshop
    ADD CONSTRAINT workshop_name_unique UNIQUE (name);

ALTER TABLE ONLY circlip.workshop
    ADD CONSTRAINT workshop_pkey PRIMARY KEY (workshop);

CREATE INDEX act_by_hand ON circlip.act USING btree (workshop, act) WHERE (kind <> 'import'::text);

CREATE INDEX delivery_by_order ON circlip.delivery USING btree (workshop, order_code, item);

CREATE UNIQUE INDEX job_act_closed_once ON circlip.job_act USING btree (workshop, job) WHERE (what = 'closed'::text);

CREATE INDEX movement_of_job ON circlip.movement USING btree (workshop, ref) WHERE (('job'::text = from_place) OR ('job'::text = to_place));

CREATE UNIQUE INDEX movement_reversed_once ON circlip.movement USING btree (workshop, item, lot, reverses) WHERE (reverses IS NOT NULL);

CREATE INDEX set_aside_by_job ON circlip.set_aside USING btree (workshop, job, item, lot) INCLUDE (qty);

CREATE INDEX set_aside_by_lot ON circlip.set_aside USING btree (workshop, item, lot, job) INCLUDE (qty);

CREATE TRIGGER bom_line_no_overlap_insert AFTER INSERT ON circlip.bom_line REFERENCING NEW TABLE AS written FOR EACH STATEMENT EXECUTE FUNCTION circlip.bom_line_no_overlap();

CREATE TRIGGER bom_line_no_overlap_update AFTER UPDATE ON circlip.bom_line REFERENCING NEW TABLE AS written FOR EACH STATEMENT EXECUTE FUNCTION circlip.bom_line_no_overlap();

CREATE TRIGGER item_measure_stays BEFORE UPDATE OF measure ON circlip.item FOR EACH ROW WHEN ((old.measure IS DISTINCT FROM new.measure)) EXECUTE FUNCTION circlip.item_measure_stays();

CREATE TRIGGER job_service_known_insert AFTER INSERT ON circlip.job REFERENCING NEW TABLE AS written FOR EACH STATEMENT EXECUTE FUNCTION circlip.service_listed_known();

CREATE TRIGGER job_service_known_update AFTER UPDATE ON circlip.job REFERENCING NEW TABLE AS written FOR EACH STATEMENT EXECUTE FUNCTION circlip.service_listed_known();

CREATE CONSTRAINT TRIGGER movement_act_known AFTER INSERT ON circlip.movement DEFERRABLE INITIALLY DEFERRED FOR EACH ROW WHEN ((pg_trigger_depth() = 0)) EXECUTE FUNCTION circlip.act_known();

ALTER TABLE circlip.movement ENABLE ALWAYS TRIGGER movement_act_known;

CREATE TRIGGER open_balance AFTER INSERT ON circlip.lot FOR EACH ROW EXECUTE FUNCTION circlip.open_balance();

ALTER TABLE circlip.lot ENABLE ALWAYS TRIGGER open_balance;

CREATE TRIGGER post_import AFTER INSERT ON circlip.import FOR EACH ROW EXECUTE FUNCTION circlip.post_import();

ALTER TABLE circlip.import ENABLE ALWAYS TRIGGER post_import;

CREATE TRIGGER post_movement BEFORE INSERT ON circlip.movement FOR EACH ROW WHEN (((pg_trigger_depth() = 0) OR (new.hash IS NULL))) EXECUTE FUNCTION circlip.post_movement();

ALTER TABLE circlip.movement ENABLE ALWAYS TRIGGER post_movement;

CREATE TRIGGER post_set_aside BEFORE INSERT ON circlip.set_aside FOR EACH ROW EXECUTE FUNCTION circlip.post_set_aside();

ALTER TABLE circlip.set_aside ENABLE ALWAYS TRIGGER post_set_aside;

CREATE TRIGGER refuse_change BEFORE DELETE OR UPDATE ON circlip.act FOR EACH ROW EXECUTE FUNCTION circlip.refuse_change();

ALTER TABLE circlip.act ENABLE ALWAYS TRIGGER refuse_change;

CREATE TRIGGER refuse_change BEFORE INSERT OR DELETE OR UPDATE ON circlip.balance FOR EACH ROW WHEN ((pg_trigger_depth() = 0)) EXECUTE FUNCTION circlip.refuse_change();

ALTER TABLE circlip.balance ENABLE ALWAYS TRIGGER refuse_change;

CREATE TRIGGER refuse_change BEFORE DELETE OR UPDATE ON circlip.delivery FOR EACH ROW EXECUTE FUNCTION circlip.refuse_change();

ALTER TABLE circlip.delivery ENABLE ALWAYS TRIGGER refuse_change;

CREATE TRIGGER refuse_change BEFORE DELETE OR UPDATE ON circlip.import FOR EACH ROW EXECUTE FUNCTION circlip.refuse_change();

ALTER TABLE circlip.import ENABLE ALWAYS TRIGGER refuse_change;

CREATE TRIGGER refuse_change BEFORE DELETE OR UPDATE ON circlip.inspection FOR EACH ROW EXECUTE FUNCTION circlip.refuse_change();

ALTER TABLE circlip.inspection ENABLE ALWAYS TRIGGER refuse_change;

CREATE TRIGGER refuse_change BEFORE DELETE OR UPDATE ON circlip.job_act FOR EACH ROW EXECUTE FUNCTION circlip.refuse_change();

ALTER TABLE circlip.job_act ENABLE ALWAYS TRIGGER refuse_change;

CREATE TRIGGER refuse_change BEFORE DELETE OR UPDATE ON circlip.lot FOR EACH ROW EXECUTE FUNCTION circlip.refuse_change();

ALTER TABLE circlip.lot ENABLE ALWAYS TRIGGER refuse_change;

CREATE TRIGGER refuse_change BEFORE DELETE OR UPDATE ON circlip.movement FOR EACH ROW EXECUTE FUNCTION circlip.refuse_change();

ALTER TABLE circlip.movement ENABLE ALWAYS TRIGGER refuse_change;

CREATE TRIGGER refuse_change BEFORE DELETE OR UPDATE ON circlip.order_sheet FOR EACH ROW EXECUTE FUNCTION circlip.refuse_change();

ALTER TABLE circlip.order_sheet ENABLE ALWAYS TRIGGER refuse_change;

CREATE TRIGGER refuse_change BEFORE DELETE OR UPDATE ON circlip.seal FOR EACH ROW EXECUTE FUNCTION circlip.refuse_change();

ALTER TABLE circlip.seal ENABLE ALWAYS TRIGGER refuse_change;

CREATE TRIGGER refuse_change BEFORE DELETE OR UPDATE ON circlip.seal_head FOR EACH ROW EXECUTE FUNCTION circlip.refuse_change();

ALTER TABLE circlip.seal_head ENABLE ALWAYS TRIGGER refuse_change;

CREATE TRIGGER refuse_change BEFORE DELETE OR UPDATE ON circlip.set_aside FOR EACH ROW EXECUTE FUNCTION circlip.refuse_change();

ALTER TABLE circlip.set_aside ENABLE ALWAYS TRIGGER refuse_change;

CREATE TRIGGER refuse_truncate BEFORE TRUNCATE ON circlip.act FOR EACH STATEMENT EXECUTE FUNCTION circlip.refuse_change();

ALTER TABLE circlip.act ENABLE ALWAYS TRIGGER refuse_truncate;

CREATE TRIGGER refuse_truncate BEFORE TRUNCATE ON circlip.balance FOR EACH STATEMENT EXECUTE FUNCTION circlip.refuse_change();

ALTER TABLE circlip.balance ENABLE ALWAYS TRIGGER refuse_truncate;

CREATE TRIGGER refuse_truncate BEFORE TRUNCATE ON circlip.delivery FOR EACH STATEMENT EXECUTE FUNCTION circlip.refuse_change();

ALTER TABLE circlip.delivery ENABLE ALWAYS TRIGGER refuse_truncate;

CREATE TRIGGER refuse_truncate BEFORE TRUNCATE ON circlip.import FOR EACH STATEMENT EXECUTE FUNCTION circlip.refuse_change();

ALTER TABLE circlip.import ENABLE ALWAYS TRIGGER refuse_truncate;

CREATE TRIGGER refuse_truncate BEFORE TRUNCATE ON circlip.inspection FOR EACH STATEMENT EXECUTE FUNCTION circlip.refuse_change();

ALTER TABLE circlip.inspection ENABLE ALWAYS TRIGGER refuse_truncate;

CREATE TRIGGER refuse_truncate BEFORE TRUNCATE ON circlip.job_act FOR EACH STATEMENT EXECUTE FUNCTION circlip.refuse_change();

ALTER TABLE circlip.job_act ENABLE ALWAYS TRIGGER refuse_truncate;

CREATE TRIGGER refuse_truncate BEFORE TRUNCATE ON circlip.lot FOR EACH STATEMENT EXECUTE FUNCTION circlip.refuse_change();

ALTER TABLE circlip.lot ENABLE ALWAYS TRIGGER refuse_truncate;

CREATE TRIGGER refuse_truncate BEFORE TRUNCATE ON circlip.movement FOR EACH STATEMENT EXECUTE FUNCTION circlip.refuse_change();

ALTER TABLE circlip.movement ENABLE ALWAYS TRIGGER refuse_truncate;

CREATE TRIGGER refuse_truncate BEFORE TRUNCATE ON circlip.order_sheet FOR EACH STATEMENT EXECUTE FUNCTION circlip.refuse_change();

ALTER TABLE circlip.order_sheet ENABLE ALWAYS TRIGGER refuse_truncate;

CREATE TRIGGER refuse_truncate BEFORE TRUNCATE ON circlip.seal FOR EACH STATEMENT EXECUTE FUNCTION circlip.refuse_change();

ALTER TABLE circlip.seal ENABLE ALWAYS TRIGGER refuse_truncate;

CREATE TRIGGER refuse_truncate BEFORE TRUNCATE ON circlip.seal_head FOR EACH STATEMENT EXECUTE FUNCTION circlip.refuse_change();

ALTER TABLE circlip.seal_head ENABLE ALWAYS TRIGGER refuse_truncate;

CREATE TRIGGER refuse_truncate BEFORE TRUNCATE ON circlip.set_aside FOR EACH STATEMENT EXECUTE FUNCTION circlip.refuse_change();

ALTER TABLE circlip.set_aside ENABLE ALWAYS TRIGGER refuse_truncate;

CREATE TRIGGER service_service_known_insert AFTER INSERT ON circlip.service REFERENCING NEW TABLE AS written FOR EACH STATEMENT EXECUTE FUNCTION circlip.service_listed_known();

CREATE TRIGGER service_service_known_update AFTER UPDATE ON circlip.service REFERENCING NEW TABLE AS written FOR EACH STATEMENT EXECUTE FUNCTION circlip.service_listed_known();

CREATE TRIGGER service_still_listed BEFORE DELETE ON circlip.service FOR EACH ROW EXECUTE FUNCTION circlip.service_still_listed();

CREATE CONSTRAINT TRIGGER set_aside_act_known AFTER INSERT ON circlip.set_aside DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION circlip.act_known();

ALTER TABLE circlip.set_aside ENABLE ALWAYS TRIGGER set_aside_act_known;

ALTER TABLE ONLY circlip.alternate
    ADD CONSTRAINT alternate_alternate_known FOREIGN KEY (workshop, alternate) REFERENCES circlip.item(workshop, item);

ALTER TABLE ONLY circlip.alternate
    ADD CONSTRAINT alternate_item_known FOREIGN KEY (workshop, item) REFERENCES circlip.item(workshop, item);

ALTER TABLE ONLY circlip.alternate
    ADD CONSTRAINT alternate_workshop_fkey FOREIGN KEY (workshop) REFERENCES circlip.workshop(workshop);

ALTER TABLE ONLY circlip.balance
    ADD CONSTRAINT balance_lot_known FOREIGN KEY (workshop, item, lot, received_on, expires_on) REFERENCES circlip.lot(workshop, item, lot, received_on, expires_on);

ALTER TABLE ONLY circlip.bom_line
    ADD CONSTRAINT bom_line_item_known FOREIGN KEY (workshop, item) REFERENCES circlip.item(workshop, item);

ALTER TABLE ONLY circlip.bom_line
    ADD CONSTRAINT bom_line_model_known FOREIGN KEY (workshop, exact_model) REFERENCES circlip.model(workshop, model);

ALTER TABLE ONLY circlip.bom_line
    ADD CONSTRAINT bom_line_service_known FOREIGN KEY (workshop, service) REFERENCES circlip.service(workshop, service);

ALTER TABLE ONLY circlip.bom_line
    ADD CONSTRAINT bom_line_workshop_fkey FOREIGN KEY (workshop) REFERENCES circlip.workshop(workshop);

ALTER TABLE ONLY circlip.container
    ADD CONSTRAINT container_item_known FOREIGN KEY (workshop, item) REFERENCES circlip.item(workshop, item);

ALTER TABLE ONLY circlip.container
    ADD CONSTRAINT container_workshop_fkey FOREIGN KEY (workshop) REFERENCES circlip.workshop(workshop);

ALTER TABLE ONLY circlip.count_part
    ADD CONSTRAINT count_part_container_known FOREIGN KEY (workshop, container) REFERENCES circlip.container(workshop, container);

ALTER TABLE ONLY circlip.count_part
    ADD CONSTRAINT count_part_count_known FOREIGN KEY (workshop, item, counted_on) REFERENCES circlip.item_count(workshop, item, counted_on);

ALTER TABLE ONLY circlip.delivery
    ADD CONSTRAINT delivery_order_line_known FOREIGN KEY (workshop, order_code, item) REFERENCES circlip.order_line(workshop, order_code, item);

ALTER TABLE ONLY circlip.disposal
    ADD CONSTRAINT disposal_workshop_fkey FOREIGN KEY (workshop) REFERENCES circlip.workshop(workshop);

ALTER TABLE ONLY circlip.groove
    ADD CONSTRAINT groove_item_known FOREIGN KEY (workshop, item) REFERENCES circlip.item(workshop, item);

ALTER TABLE ONLY circlip.groove
    ADD CONSTRAINT groove_workshop_fkey FOREIGN KEY (workshop) REFERENCES circlip.workshop(workshop);

ALTER TABLE ONLY circlip.holiday
    ADD CONSTRAINT holiday_supplier_known FOREIGN KEY (workshop, exact_supplier) REFERENCES circlip.supplier(workshop, supplier);

ALTER TABLE ONLY circlip.holiday
    ADD CONSTRAINT holiday_workshop_fkey FOREIGN KEY (workshop) REFERENCES circlip.workshop(workshop);

ALTER TABLE ONLY circlip.import
    ADD CONSTRAINT import_workshop_fkey FOREIGN KEY (workshop) REFERENCES circlip.workshop(workshop);

ALTER TABLE ONLY circlip.inspection
    ADD CONSTRAINT inspection_lot_known FOREIGN KEY (workshop, item, lot) REFERENCES circlip.lot(workshop, item, lot);

ALTER TABLE ONLY circlip.inspection
    ADD CONSTRAINT inspection_new_lot_known FOREIGN KEY (workshop, item, new_lot) REFERENCES circlip.lot(workshop, item, lot);

ALTER TABLE ONLY circlip.item_count
    ADD CONSTRAINT item_count_item_known FOREIGN KEY (workshop, item) REFERENCES circlip.item(workshop, item);

ALTER TABLE ONLY circlip.item_count
    ADD CONSTRAINT item_count_workshop_fkey FOREIGN KEY (workshop) REFERENCES circlip.workshop(workshop);

ALTER TABLE ONLY circlip.item
    ADD CONSTRAINT item_workshop_fkey FOREIGN KEY (workshop) REFERENCES circlip.workshop(workshop);

ALTER TABLE ONLY circlip.job_act
    ADD CONSTRAINT job_act_job_known FOREIGN KEY (workshop, job) REFERENCES circlip.job(workshop, job);

ALTER TABLE ONLY circlip.job
    ADD CONSTRAINT job_model_known FOREIGN KEY (workshop, model) REFERENCES circlip.model(workshop, model);

ALTER TABLE ONLY circlip.job
    ADD CONSTRAINT job_unit_known FOREIGN KEY (workshop, unit) REFERENCES circlip.unit(workshop, unit);

ALTER TABLE ONLY circlip.job_use
    ADD CONSTRAINT job_use_item_known FOREIGN KEY (workshop, item) REFERENCES circlip.item(workshop, item);

ALTER TABLE ONLY circlip.job_use
    ADD CONSTRAINT job_use_job_known FOREIGN KEY (workshop, job) REFERENCES circlip.job(workshop, job);

ALTER TABLE ONLY circlip.job
    ADD CONSTRAINT job_workshop_fkey FOREIGN KEY (workshop) REFERENCES circlip.workshop(workshop);

ALTER TABLE ONLY circlip.kit_part
    ADD CONSTRAINT kit_part_item_known FOREIGN KEY (workshop, item) REFERENCES circlip.item(workshop, item);

ALTER TABLE ONLY circlip.kit_part
    ADD CONSTRAINT kit_part_kit_known FOREIGN KEY (workshop, kit) REFERENCES circlip.item(workshop, item);

ALTER TABLE ONLY circlip.kit_part
    ADD CONSTRAINT kit_part_workshop_fkey FOREIGN KEY (workshop) REFERENCES circlip.workshop(workshop);

ALTER TABLE ONLY circlip.lot
    ADD CONSTRAINT lot_item_known FOREIGN KEY (workshop, item) REFERENCES circlip.item(workshop, item);

ALTER TABLE ONLY circlip.model
    ADD CONSTRAINT model_workshop_fkey FOREIGN KEY (workshop) REFERENCES circlip.workshop(workshop);

ALTER TABLE ONLY circlip.offer
    ADD CONSTRAINT offer_item_known FOREIGN KEY (workshop, item) REFERENCES circlip.item(workshop, item);

ALTER TABLE ONLY circlip.offer
    ADD CONSTRAINT offer_supplier_known FOREIGN KEY (workshop, supplier) REFERENCES circlip.supplier(workshop, supplier);

ALTER TABLE ONLY circlip.offer
    ADD CONSTRAINT offer_workshop_fkey FOREIGN KEY (workshop) REFERENCES circlip.workshop(workshop);

ALTER TABLE ONLY circlip.order_line
    ADD CONSTRAINT order_line_item_known FOREIGN KEY (workshop, item) REFERENCES circlip.item(workshop, item);

ALTER TABLE ONLY circlip.order_line
    ADD CONSTRAINT order_line_supplier_known FOREIGN KEY (workshop, supplier) REFERENCES circlip.supplier(workshop, supplier);

ALTER TABLE ONLY circlip.order_line
    ADD CONSTRAINT order_line_workshop_fkey FOREIGN KEY (workshop) REFERENCES circlip.workshop(workshop);

ALTER TABLE ONLY circlip.order_sheet
    ADD CONSTRAINT order_sheet_workshop_fkey FOREIGN KEY (workshop) REFERENCES circlip.workshop(workshop);

ALTER TABLE ONLY circlip.reading
    ADD CONSTRAINT reading_unit_known FOREIGN KEY (workshop, unit) REFERENCES circlip.unit(workshop, unit);

ALTER TABLE ONLY circlip.seal_head
    ADD CONSTRAINT seal_head_seal_known FOREIGN KEY (workshop, day) REFERENCES circlip.seal(workshop, day) DEFERRABLE INITIALLY DEFERRED;

ALTER TABLE ONLY circlip.seal
    ADD CONSTRAINT seal_workshop_fkey FOREIGN KEY (workshop) REFERENCES circlip.workshop(workshop);

ALTER TABLE ONLY circlip.season
    ADD CONSTRAINT season_workshop_fkey FOREIGN KEY (workshop) REFERENCES circlip.workshop(workshop);

ALTER TABLE ONLY circlip.service
    ADD CONSTRAINT service_workshop_fkey FOREIGN KEY (workshop) REFERENCES circlip.workshop(workshop);

ALTER TABLE ONLY circlip.setting
    ADD CONSTRAINT setting_workshop_fkey FOREIGN KEY (workshop) REFERENCES circlip.workshop(workshop);

ALTER TABLE ONLY circlip.setup
    ADD CONSTRAINT setup_job_known FOREIGN KEY (workshop, job) REFERENCES circlip.job(workshop, job);

ALTER TABLE ONLY circlip.setup
    ADD CONSTRAINT setup_unit_known FOREIGN KEY (workshop, unit) REFERENCES circlip.unit(workshop, unit);

ALTER TABLE ONLY circlip.setup
    ADD CONSTRAINT setup_workshop_fkey FOREIGN KEY (workshop) REFERENCES circlip.workshop(workshop);

ALTER TABLE ONLY circlip.stock_row
    ADD CONSTRAINT stock_row_item_known FOREIGN KEY (workshop, item) REFERENCES circlip.item(workshop, item);

ALTER TABLE ONLY circlip.stock_row
    ADD CONSTRAINT stock_row_workshop_fkey FOREIGN KEY (workshop) REFERENCES circlip.workshop(workshop);

ALTER TABLE ONLY circlip.supplier
    ADD CONSTRAINT supplier_workshop_fkey FOREIGN KEY (workshop) REFERENCES circlip.workshop(workshop);

ALTER TABLE ONLY circlip.unit
    ADD CONSTRAINT unit_model_known FOREIGN KEY (workshop, model) REFERENCES circlip.model(workshop, model);

ALTER TABLE ONLY circlip.unit
    ADD CONSTRAINT unit_workshop_fkey FOREIGN KEY (workshop) REFERENCES circlip.workshop(workshop);

GRANT USAGE ON SCHEMA circlip TO circlip_app;

GRANT SELECT ON TABLE circlip.movement TO circlip_app;

GRANT SELECT ON TABLE circlip.set_aside TO circlip_app;

REVOKE ALL ON FUNCTION circlip.act_book_job(shop bigint, doing uuid, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.act_book_job(shop bigint, doing uuid, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.act_cancel_job(shop bigint, doing uuid, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.act_cancel_job(shop bigint, doing uuid, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.act_close_job(shop bigint, doing uuid, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.act_close_job(shop bigint, doing uuid, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.act_correct_job(shop bigint, doing uuid, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.act_correct_job(shop bigint, doing uuid, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.act_count(shop bigint, doing uuid, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.act_count(shop bigint, doing uuid, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.act_deliver(shop bigint, doing uuid, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.act_deliver(shop bigint, doing uuid, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.act_dispose(shop bigint, doing uuid, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.act_dispose(shop bigint, doing uuid, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.act_extend(shop bigint, doing uuid, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.act_extend(shop bigint, doing uuid, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.act_known() FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.act_known() TO circlip_app;

REVOKE ALL ON FUNCTION circlip.act_move_job(shop bigint, doing uuid, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.act_move_job(shop bigint, doing uuid, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.act_open_container(shop bigint, doing uuid, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.act_open_container(shop bigint, doing uuid, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.act_open_kit(shop bigint, doing uuid, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.act_open_kit(shop bigint, doing uuid, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.act_place(shop bigint, doing uuid, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.act_place(shop bigint, doing uuid, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.act_receive(shop bigint, doing uuid, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.act_receive(shop bigint, doing uuid, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.act_release(shop bigint, doing uuid, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.act_release(shop bigint, doing uuid, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.act_reverse(shop bigint, doing uuid, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.act_reverse(shop bigint, doing uuid, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.act_revise_bill(shop bigint, doing uuid, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.act_revise_bill(shop bigint, doing uuid, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.act_set_aside(shop bigint, doing uuid, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.act_set_aside(shop bigint, doing uuid, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.act_set_aside_all(shop bigint, doing uuid, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.act_set_aside_all(shop bigint, doing uuid, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.act_take(shop bigint, doing uuid, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.act_take(shop bigint, doing uuid, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.act_take_back(shop bigint, doing uuid, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.act_take_back(shop bigint, doing uuid, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.act_take_over(shop bigint, doing uuid, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.act_take_over(shop bigint, doing uuid, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.act_undo(shop bigint, doing uuid, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.act_undo(shop bigint, doing uuid, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.act_waste(shop bigint, doing uuid, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.act_waste(shop bigint, doing uuid, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.bom_line_no_overlap() FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.bom_line_no_overlap() TO circlip_app;

REVOKE ALL ON FUNCTION circlip.bring_uses(shop bigint, for_job text, moved circlip.movement[]) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.bring_uses(shop bigint, for_job text, moved circlip.movement[]) TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.order_line TO circlip_app;

REVOKE ALL ON FUNCTION circlip.came(line circlip.order_line) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.came(line circlip.order_line) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.candidates(shop bigint, locked circlip.shelf_lot[], of_item text, of_lot text, for_job text, today date) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.candidates(shop bigint, locked circlip.shelf_lot[], of_item text, of_lot text, for_job text, today date) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.chain_next(state bytea, head bytea, bytes bytea) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.chain_next(state bytea, head bytea, bytes bytea) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.framed(body text) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.framed(body text) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.movement_bytes(shop bigint, item text, lot text, from_place text, to_place text, ref text, seq bigint, qty bigint, happened_on date) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.movement_bytes(shop bigint, item text, lot text, from_place text, to_place text, ref text, seq bigint, qty bigint, happened_on date) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.content(shop bigint, item text, lot text, from_place text, to_place text, ref text, qty bigint, happened_on date) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.content(shop bigint, item text, lot text, from_place text, to_place text, ref text, qty bigint, happened_on date) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.dispatch(shop bigint, doing uuid, what text, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.dispatch(shop bigint, doing uuid, what text, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.draw(shop bigint, locked circlip.shelf_lot[], doing uuid, for_job text, lines jsonb, target text, today date) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.draw(shop bigint, locked circlip.shelf_lot[], doing uuid, for_job text, lines jsonb, target text, today date) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.fit_parts(shop bigint, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.fit_parts(shop bigint, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.fit_together(shop bigint, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.fit_together(shop bigint, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.forget_count(shop bigint, of_item text, of_lot text, number bigint) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.forget_count(shop bigint, of_item text, of_lot text, number bigint) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.give_back(shop bigint, doing uuid, for_job text, lines jsonb, today date) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.give_back(shop bigint, doing uuid, for_job text, lines jsonb, today date) TO circlip_app;

GRANT SELECT ON TABLE circlip.balance TO circlip_app;

REVOKE ALL ON FUNCTION circlip.go_on(shop bigint, doing uuid, old circlip.balance, added text, expiry date, amount bigint, why text, today date) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.go_on(shop bigint, doing uuid, old circlip.balance, added text, expiry date, amount bigint, why text, today date) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.gone_through(shop bigint, of_item text, of_lot text) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.gone_through(shop bigint, of_item text, of_lot text) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.hold_items(shop bigint, what text, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.hold_items(shop bigint, what text, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.hold_jobs(shop bigint, what text, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.hold_jobs(shop bigint, what text, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.import_faults(shop bigint) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.import_faults(shop bigint) TO circlip_app;

GRANT SELECT ON TABLE circlip.lot TO circlip_app;

REVOKE ALL ON FUNCTION circlip.import_lots(shop bigint) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.import_lots(shop bigint) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.import_movements(shop bigint) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.import_movements(shop bigint) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.import_papers(shop bigint) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.import_papers(shop bigint) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.import_sheets(shop bigint, sheets text[], orders text[], placed date[]) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.import_sheets(shop bigint, sheets text[], orders text[], placed date[]) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.in_kit(shop bigint, of_kit text, parts jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.in_kit(shop bigint, of_kit text, parts jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.in_measure(steps bigint, measure text) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.in_measure(steps bigint, measure text) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.item_measure_stays() FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.item_measure_stays() TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.kept TO circlip_app;

REVOKE ALL ON FUNCTION circlip.items_kept(shop bigint, for_job text) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.items_kept(shop bigint, for_job text) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.items_of(lines jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.items_of(lines jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.join_lot(shop bigint, INOUT locked circlip.shelf_lot[], of_item text, of_lot text, received date, expiry date, cost bigint, OUT how text) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.join_lot(shop bigint, INOUT locked circlip.shelf_lot[], of_item text, of_lot text, received date, expiry date, cost bigint, OUT how text) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.keep(shop bigint, doing uuid, of_item text, of_lot text, for_job text, amount bigint, reason text, today date) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.keep(shop bigint, doing uuid, of_item text, of_lot text, for_job text, amount bigint, reason text, today date) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.keep_free(shop bigint, locked text[], doing uuid, for_job text, of_item text, of_lot text, good_on date, today date, INOUT lacking bigint, OUT kept circlip.set_aside[]) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.keep_free(shop bigint, locked text[], doing uuid, for_job text, of_item text, of_lot text, good_on date, today date, INOUT lacking bigint, OUT kept circlip.set_aside[]) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.known(shop bigint, of_item text, of_lot text) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.known(shop bigint, of_item text, of_lot text) TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.job TO circlip_app;

REVOKE ALL ON FUNCTION circlip.known_job(shop bigint, for_job text) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.known_job(shop bigint, for_job text) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.let_go(shop bigint, doing uuid, of_item text, of_lot text, amount bigint, today date) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.let_go(shop bigint, doing uuid, of_item text, of_lot text, amount bigint, today date) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.lock_lot(shop bigint, of_item text, of_lot text) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.lock_lot(shop bigint, of_item text, of_lot text) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.lock_lots(shop bigint, items text[], named text[]) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.lock_lots(shop bigint, items text[], named text[]) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.lock_order(shop bigint, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.lock_order(shop bigint, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.lose(shop bigint, locked circlip.shelf_lot[], doing uuid, of_item text, of_lot text, amount bigint, target text, for_ref text, today date) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.lose(shop bigint, locked circlip.shelf_lot[], doing uuid, of_item text, of_lot text, amount bigint, target text, for_ref text, today date) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.lot_name(base text, added text) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.lot_name(base text, added text) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.lots_named(shop bigint, items text[], base text) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.lots_named(shop bigint, items text[], base text) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.taken(shop bigint, for_job text) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.taken(shop bigint, for_job text) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.lots_taken(shop bigint, for_job text) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.lots_taken(shop bigint, for_job text) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.move(shop bigint, doing uuid, of_item text, of_lot text, source text, target text, for_ref text, amount bigint, today date, wrong bigint) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.move(shop bigint, doing uuid, of_item text, of_lot text, source text, target text, for_ref text, amount bigint, today date, wrong bigint) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.note_count(shop bigint, doing uuid, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.note_count(shop bigint, doing uuid, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.note_reading(shop bigint, of_job circlip.job, today date, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.note_reading(shop bigint, of_job circlip.job, today date, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.note_setup(shop bigint, of_job circlip.job, at_moment text, today date, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.note_setup(shop bigint, of_job circlip.job, at_moment text, today date, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.on_shelf(to_place text, qty bigint) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.on_shelf(to_place text, qty bigint) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.open_balance() FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.open_balance() TO circlip_app;

REVOKE ALL ON FUNCTION circlip.open_job(shop bigint, for_job text, today date) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.open_job(shop bigint, for_job text, today date) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.open_lot(shop bigint, INOUT locked circlip.shelf_lot[], of_item text, base text, received date, expiry date, cost bigint, OUT name text) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.open_lot(shop bigint, INOUT locked circlip.shelf_lot[], of_item text, base text, received date, expiry date, cost bigint, OUT name text) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.perform(shop bigint, doing uuid, what text, r jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.perform(shop bigint, doing uuid, what text, r jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.post_import() FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.post_import() TO circlip_app;

REVOKE ALL ON FUNCTION circlip.post_movement() FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.post_movement() TO circlip_app;

REVOKE ALL ON FUNCTION circlip.post_set_aside() FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.post_set_aside() TO circlip_app;

REVOKE ALL ON FUNCTION circlip.refresh_statistics() FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.refresh_statistics() TO circlip_app;

REVOKE ALL ON FUNCTION circlip.refuse(kind text, what jsonb) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.refuse(kind text, what jsonb) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.refuse_change() FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.refuse_change() TO circlip_app;

REVOKE ALL ON FUNCTION circlip.release_all(shop bigint, locked circlip.shelf_lot[], doing uuid, for_job text, today date) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.release_all(shop bigint, locked circlip.shelf_lot[], doing uuid, for_job text, today date) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.release_told(shop bigint, put_off text[]) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.release_told(shop bigint, put_off text[]) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.seal_day(shop bigint, today date) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.seal_day(shop bigint, today date) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.service_listed_known() FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.service_listed_known() TO circlip_app;

REVOKE ALL ON FUNCTION circlip.service_still_listed() FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.service_still_listed() TO circlip_app;

REVOKE ALL ON FUNCTION circlip.stage() FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.stage() TO circlip_app;

REVOKE ALL ON FUNCTION circlip.still_good(shop bigint, lines jsonb, that_day date) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.still_good(shop bigint, lines jsonb, that_day date) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.together(a circlip.done, b circlip.done) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.together(a circlip.done, b circlip.done) TO circlip_app;

REVOKE ALL ON FUNCTION circlip.chain(bytea, bytea) FROM PUBLIC;
GRANT ALL ON FUNCTION circlip.chain(bytea, bytea) TO circlip_app;

GRANT SELECT ON TABLE circlip.act TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.alternate TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.bom_line TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.container TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.count_part TO circlip_app;

GRANT SELECT ON TABLE circlip.delivery TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.disposal TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.groove TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.holiday TO circlip_app;

GRANT SELECT ON TABLE circlip.import TO circlip_app;

GRANT SELECT ON TABLE circlip.inspection TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.item TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.item_count TO circlip_app;

GRANT SELECT ON TABLE circlip.job_act TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.job_use TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.kit_part TO circlip_app;

GRANT SELECT ON TABLE circlip.migration TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.model TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.moved TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.moves TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.offer TO circlip_app;

GRANT SELECT ON TABLE circlip.order_sheet TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.reading TO circlip_app;

GRANT SELECT ON TABLE circlip.seal TO circlip_app;

GRANT SELECT ON TABLE circlip.seal_head TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.season TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.service TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.setting TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.setup TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.stock_row TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.supplier TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.unit TO circlip_app;

GRANT SELECT,INSERT,DELETE,UPDATE ON TABLE circlip.workshop TO circlip_app;
