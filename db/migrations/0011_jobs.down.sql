CREATE OR REPLACE FUNCTION act_take(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
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

CREATE OR REPLACE FUNCTION act_set_aside(shop bigint, doing uuid, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
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

DROP FUNCTION act_set_aside_all, keep_free, release_all, give_back, draw, still_good, open_job, known_job, together, items_kept, items_of,
    taken;
DROP INDEX movement_of_job;
-- A set-aside that was taken over cannot be told in the old words: then this way
-- down is refused.
ALTER TABLE set_aside DROP CONSTRAINT set_aside_why;
ALTER TABLE set_aside ADD CONSTRAINT set_aside_why CHECK (CASE WHEN why = 'set aside' THEN qty > 0
    ELSE qty < 0 AND why IN ('taken', 'released', 'lost') END);
DROP TABLE job_act;
