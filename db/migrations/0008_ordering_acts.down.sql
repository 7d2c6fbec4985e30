CREATE OR REPLACE FUNCTION dispatch(shop bigint, doing uuid, what text, r jsonb) RETURNS done LANGUAGE plpgsql AS $$
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

DROP FUNCTION hold_items, act_take_back, act_open_container, act_extend, go_on, lock_lot, gone_through, act_open_kit, in_kit,
    act_deliver, lock_order, came, act_place, open_lot, join_lot, lots_named, lot_name;
DROP TABLE inspection, delivery, order_sheet;
