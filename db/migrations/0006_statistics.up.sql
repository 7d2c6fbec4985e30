-- What the planner knows of the tables is as old as the last ANALYZE. After a
-- first load that is nothing at all, and the next query would join thousands of
-- rows in loops; the server's own round may be a minute away. Only a table's
-- owner may ANALYZE it, so the program's role asks this function.
CREATE FUNCTION refresh_statistics() RETURNS void
    LANGUAGE plpgsql SECURITY DEFINER SET search_path = circlip, pg_temp AS $$
BEGIN
    ANALYZE item, offer, bom_line, unit, reading, job, job_use, stock_row, order_line, item_count,
        lot, balance, act, movement, set_aside;
END $$;
