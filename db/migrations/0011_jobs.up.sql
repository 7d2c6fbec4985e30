-- Acts of jobs: booked, moved to another day, called off, closed, corrected,
-- and what is set aside for them on the way.
--
-- Locks are taken in one order here too: the jobs by code, then the items, the
-- balances and new lots as everywhere, then the unit.

-- What was said of a job once and stays: that it was closed, why it was
-- corrected, why it took over what another job had.
CREATE TABLE job_act (
    workshop    bigint NOT NULL,
    act         uuid NOT NULL,
    job         text COLLATE "C" NOT NULL,
    what        text NOT NULL,
    from_job    text COLLATE "C", -- that had it before
    reason      text NOT NULL DEFAULT '',
    happened_on date NOT NULL,
    PRIMARY KEY (workshop, act),
    CONSTRAINT job_act_job_known FOREIGN KEY (workshop, job) REFERENCES job,
    CONSTRAINT job_act_what CHECK (what IN ('closed', 'corrected', 'taken over')),
    CONSTRAINT job_act_from CHECK ((what = 'taken over') = (from_job IS NOT NULL) AND from_job <> job),
    CONSTRAINT job_act_reason CHECK (what = 'closed' OR btrim(reason) <> '')
);
CREATE UNIQUE INDEX job_act_closed_once ON job_act (workshop, job) WHERE what = 'closed';

CREATE TRIGGER refuse_change BEFORE UPDATE OR DELETE ON job_act FOR EACH ROW EXECUTE FUNCTION refuse_change();
CREATE TRIGGER refuse_truncate BEFORE TRUNCATE ON job_act FOR EACH STATEMENT EXECUTE FUNCTION refuse_change();
ALTER TABLE job_act ENABLE ALWAYS TRIGGER refuse_change;
ALTER TABLE job_act ENABLE ALWAYS TRIGGER refuse_truncate;

-- 'taken over' goes both ways: off one job and onto another.
ALTER TABLE set_aside DROP CONSTRAINT set_aside_why;
ALTER TABLE set_aside ADD CONSTRAINT set_aside_why CHECK (CASE why
    WHEN 'set aside' THEN qty > 0
    WHEN 'taken over' THEN qty <> 0
    ELSE qty < 0 AND why IN ('taken', 'released', 'lost') END);

CREATE INDEX movement_of_job ON movement (workshop, ref) WHERE 'job' IN (from_place, to_place);

-- What a job has taken and not given back.
CREATE FUNCTION taken(shop bigint, for_job text) RETURNS TABLE (item text, lot text, qty bigint) LANGUAGE sql STABLE
BEGIN ATOMIC
    SELECT m.item, m.lot, sum(CASE m.to_place WHEN 'job' THEN m.qty ELSE -m.qty END)::bigint
    FROM movement AS m
    WHERE m.workshop = shop AND m.ref = for_job AND 'job' IN (m.from_place, m.to_place)
    GROUP BY m.item, m.lot HAVING sum(CASE m.to_place WHEN 'job' THEN m.qty ELSE -m.qty END) <> 0;
END;

CREATE FUNCTION items_of(lines jsonb) RETURNS text[] LANGUAGE sql IMMUTABLE PARALLEL SAFE
    RETURN ARRAY(SELECT l->>'item' FROM jsonb_array_elements(coalesce(lines, '[]')) AS l);

-- The items of which anything is set aside for a job. It stays so while the
-- job is locked, but for what gets lost.
CREATE FUNCTION items_kept(shop bigint, for_job text) RETURNS text[] LANGUAGE sql STABLE
BEGIN ATOMIC
    SELECT ARRAY(SELECT DISTINCT k.item FROM kept AS k WHERE k.workshop = shop AND k.job = for_job);
END;

CREATE FUNCTION together(a done, b done) RETURNS done LANGUAGE sql IMMUTABLE PARALLEL SAFE
    RETURN ROW((a).moved || (b).moved, (a).kept || (b).kept)::done;

-- A job that is there, locked since hold_jobs.
CREATE FUNCTION known_job(shop bigint, for_job text) RETURNS job LANGUAGE plpgsql AS $$
DECLARE
    of_job job;
BEGIN
    SELECT * INTO of_job FROM job AS j WHERE j.workshop = shop AND j.job = for_job;
    IF NOT FOUND THEN
        PERFORM refuse('not found', jsonb_build_object('job', for_job, 'reason', 'no job has this code'));
    END IF;
    RETURN of_job;
END $$;

-- The same, booked by the day and neither done nor called off.
CREATE FUNCTION open_job(shop bigint, for_job text, today date) RETURNS job LANGUAGE plpgsql AS $$
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

-- Refuses lots that lines name and that are no longer good on a day.
CREATE FUNCTION still_good(shop bigint, lines jsonb, that_day date) RETURNS void LANGUAGE plpgsql AS $$
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
END $$;

-- Stock that a job takes or spoils, of the lots that are locked: first what is
-- set aside for it, then what is free.
CREATE FUNCTION draw(shop bigint, locked shelf_lot[], doing uuid, for_job text, lines jsonb, target text, today date)
    RETURNS done LANGUAGE plpgsql AS $$
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

-- What a job took and did not need comes back to the shelf, the longest-lived
-- lots first. All lots that the job took of are locked.
CREATE FUNCTION give_back(shop bigint, doing uuid, for_job text, lines jsonb, today date) RETURNS done LANGUAGE plpgsql AS $$
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

-- Gives back all that is set aside for a job, of the lots that are locked.
CREATE FUNCTION release_all(shop bigint, locked shelf_lot[], doing uuid, for_job text, today date) RETURNS done
    LANGUAGE plpgsql AS $$
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

CREATE OR REPLACE FUNCTION act_take(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
BEGIN
    PERFORM open_job(shop, r->>'job', (r->>'on')::date);
    RETURN draw(shop, lock_lots(shop, items_of(r->'lines')), doing, r->>'job', r->'lines', 'job', (r->>'on')::date);
END $$;

-- Free stock of the lots that are locked and good on a day, kept back for a job
-- as far as it goes, first expired first; lacking is what it did not go for.
CREATE FUNCTION keep_free(shop bigint, locked text[], doing uuid, for_job text, of_item text, of_lot text, good_on date,
        today date, INOUT lacking bigint, OUT kept set_aside[]) LANGUAGE plpgsql AS $$
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

-- Stock kept back for a job: free stock that is good on its bench day.
CREATE OR REPLACE FUNCTION act_set_aside(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
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

-- The same for many jobs, in the order of their bench days, each as far as the
-- stock goes.
CREATE FUNCTION act_set_aside_all(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
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
