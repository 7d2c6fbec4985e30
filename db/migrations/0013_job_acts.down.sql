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

CREATE OR REPLACE FUNCTION hold_items(shop bigint, what text, r jsonb) RETURNS void LANGUAGE plpgsql AS $$
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

DROP FUNCTION hold_jobs, act_undo, act_correct_job, bring_uses, act_close_job, lots_taken, act_take_over, act_cancel_job,
    act_move_job, act_book_job, fit_together, note_setup, note_reading;
