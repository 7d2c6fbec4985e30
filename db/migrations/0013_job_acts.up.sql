-- The acts of jobs themselves, and the one door as it is with them.

-- What a unit's meter showed. A day has one reading, and a meter only falls
-- when it is replaced.
CREATE FUNCTION note_reading(shop bigint, of_job job, today date, r jsonb) RETURNS void LANGUAGE plpgsql AS $$
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

-- How the unit was set when it came, 'before', or when it left, 'after'.
CREATE FUNCTION note_setup(shop bigint, of_job job, at_moment text, today date, r jsonb) RETURNS void LANGUAGE plpgsql AS $$
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

-- Refuses a unit, a model or services that the book does not have, or that do
-- not go together.
CREATE FUNCTION fit_together(shop bigint, r jsonb) RETURNS void LANGUAGE plpgsql AS $$
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

CREATE FUNCTION act_book_job(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
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

-- Another bench day: what is set aside was chosen for the old one and goes back.
CREATE FUNCTION act_move_job(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
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

CREATE FUNCTION act_cancel_job(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
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

-- What is set aside for one job goes to another that has a better claim: what
-- the lines say or all, of lots still good on its bench day.
CREATE FUNCTION act_take_over(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
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

-- The lots that a job took of: they may be empty.
CREATE FUNCTION lots_taken(shop bigint, for_job text) RETURNS text[] LANGUAGE sql STABLE
BEGIN ATOMIC
    SELECT ARRAY(SELECT DISTINCT t.lot FROM taken(shop, for_job) AS t);
END;

-- A job that is done: what it did not need comes back, what it used and spoiled
-- goes, the rest of what was set aside is free again. Its uses are what it took
-- in all.
CREATE FUNCTION act_close_job(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
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

-- Brings the uses of a job along with movements that correct it. A use that a
-- book told without a lot gives way where its lot has none.
CREATE FUNCTION bring_uses(shop bigint, for_job text, moved movement[]) RETURNS void LANGUAGE plpgsql AS $$
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

-- What a closed job used more or less than was said: new movements, the old ones
-- stay.
CREATE FUNCTION act_correct_job(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
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

-- A movement undone, and the job that it went to with it.
CREATE FUNCTION act_undo(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
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

-- Locks the jobs that a request speaks of. A movement that is undone is a job's
-- where it went there. A job that is not there yet has no row to be locked: its
-- code is, and where it was booked by then the act starts anew.
CREATE FUNCTION hold_jobs(shop bigint, what text, r jsonb) RETURNS void LANGUAGE plpgsql AS $$
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
