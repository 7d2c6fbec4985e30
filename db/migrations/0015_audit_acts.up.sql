-- Acts that an audit of fluids lives on: a count that is kept with the
-- containers it was made of, another quantity in a bill of materials from a day
-- on, spent fluid that was gathered or handed over, and who did a job.
--
-- A count's row is locked before the balances, as a load does it.

ALTER TABLE item_count ADD COLUMN act uuid;
COMMENT ON COLUMN item_count.act IS 'the act that counted; NULL: a book told of it';
ALTER TABLE disposal ADD COLUMN act uuid;
COMMENT ON COLUMN disposal.act IS 'the act that wrote it down; NULL: a book told of it';

-- Refuses parts of a count in containers that nobody knows or that are for
-- another item, and parts that do not add up to it.
CREATE FUNCTION fit_parts(shop bigint, r jsonb) RETURNS void LANGUAGE plpgsql AS $$
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

-- Keeps what was found of an item on a day, and in which containers. Of two acts
-- that count it on one day the later stands; what a book told of stands, as it
-- would be told again.
CREATE FUNCTION note_count(shop bigint, doing uuid, r jsonb) RETURNS void LANGUAGE plpgsql AS $$
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

-- A count of which a movement is undone was wrong: it is no longer one. The row
-- of another act that counted on the same day stays.
CREATE FUNCTION forget_count(shop bigint, of_item text, of_lot text, number bigint) RETURNS void LANGUAGE plpgsql AS $$
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

-- What was found on the shelf of an item, or of one lot: the difference is
-- booked, what is too much to the newest lot. That nothing was found of what was
-- never received is a count like any other.
CREATE OR REPLACE FUNCTION act_count(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
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

-- A movement undone, and the job that it went to, or the count that made it,
-- with it.
CREATE OR REPLACE FUNCTION act_undo(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
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

-- Another quantity of a line of the bill of materials from a day on: the line in
-- force on that day ends there, and one that is like it otherwise begins. The
-- lock is the one that guards the bill.
CREATE FUNCTION act_revise_bill(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
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

-- Spent fluid that was gathered or handed over. Its number is the next of the
-- day, given to one at a time and not while a book tells of others.
CREATE FUNCTION act_dispose(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
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

-- A job that is done: what it did not need comes back, what it used and spoiled
-- goes, the rest of what was set aside is free again. Its uses are what it took
-- in all.
CREATE OR REPLACE FUNCTION act_close_job(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
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

CREATE OR REPLACE FUNCTION hold_items(shop bigint, what text, r jsonb) RETURNS void LANGUAGE plpgsql AS $$
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

CREATE OR REPLACE FUNCTION dispatch(shop bigint, doing uuid, what text, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
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

-- The one door, as it was; a disposal's answer tells its number.
CREATE OR REPLACE FUNCTION perform(shop bigint, doing uuid, what text, r jsonb) RETURNS jsonb
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

-- Items whose ledger does not follow from the rows of the book's other tables:
-- as before, and those that an act counted, whether it found a difference or not.
CREATE OR REPLACE VIEW moved AS
    SELECT workshop, m.item FROM movement AS m JOIN act AS a USING (workshop, act) WHERE a.kind <> 'import'
    UNION
    SELECT workshop, item FROM (
        SELECT m.workshop, m.item, m.happened_on, max(m.happened_on) OVER (PARTITION BY m.workshop, m.item
            ORDER BY m.recorded_at GROUPS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING) AS told
        FROM movement AS m) AS late
    WHERE happened_on <= told
    UNION
    SELECT workshop, item FROM movement GROUP BY workshop, item, act HAVING min(ref) <> max(ref)
    UNION
    SELECT c.workshop, c.item::text FROM item_count AS c
    WHERE c.act IS NOT NULL AND EXISTS (SELECT FROM movement AS m WHERE m.workshop = c.workshop AND m.item = c.item);
