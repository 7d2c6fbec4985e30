-- Sheets that a saved book tells among its orders. A workshop that was loaded
-- from one refuses a sheet that was placed before, wherever it was placed.

-- Records the sheets of orders that are there, all by one act that moves
-- nothing. A sheet or an order that is recorded already, or an order that is not
-- there, stops it.
CREATE FUNCTION import_sheets(shop bigint, sheets text[], orders text[], placed date[]) RETURNS bigint
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = circlip, pg_temp AS $$
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
