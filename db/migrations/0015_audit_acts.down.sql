CREATE OR REPLACE VIEW moved AS
    SELECT workshop, m.item FROM movement AS m JOIN act AS a USING (workshop, act) WHERE a.kind <> 'import'
    UNION
    SELECT workshop, item FROM (
        SELECT m.workshop, m.item, m.happened_on, max(m.happened_on) OVER (PARTITION BY m.workshop, m.item
            ORDER BY m.recorded_at GROUPS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING) AS told
        FROM movement AS m) AS late
    WHERE happened_on <= told
    UNION
    SELECT workshop, item FROM movement GROUP BY workshop, item, act HAVING min(ref) <> max(ref);

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
    END CASE;
END $$;

CREATE OR REPLACE FUNCTION hold_items(shop bigint, what text, r jsonb) RETURNS void LANGUAGE plpgsql AS $$
DECLARE
    items text[] := items_of(r->'lines') || items_of(r->'parts') || items_of(r->'used') || items_of(r->'wasted')
        || items_of(r->'back') || items_of(r->'more') || items_of(r->'less') || ARRAY[r->>'item', r->>'kit'];
    held  bigint;
BEGIN
    CASE what
        WHEN 'place', 'book job' THEN RETURN; -- they move nothing
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
    UPDATE job AS j SET state = 'done', done_on = today WHERE j.workshop = shop AND j.job = of_job.job;
    DELETE FROM job_use AS u WHERE u.workshop = shop AND u.job = of_job.job;
    INSERT INTO job_use (workshop, job, item, lot, qty)
        SELECT shop, of_job.job, t.item, t.lot, t.qty FROM taken(shop, of_job.job) AS t;
    INSERT INTO job_act (workshop, act, job, what, happened_on) VALUES (shop, doing, of_job.job, 'closed', today);
    RETURN answer;
END $$;

CREATE OR REPLACE FUNCTION act_undo(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
DECLARE
    answer done := act_take_back(shop, doing, r);
    undone movement := answer.moved[1];
BEGIN
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

CREATE OR REPLACE FUNCTION act_count(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
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

DROP FUNCTION act_dispose, act_revise_bill, forget_count, note_count, fit_parts;
ALTER TABLE disposal DROP COLUMN act;
ALTER TABLE item_count DROP COLUMN act;
