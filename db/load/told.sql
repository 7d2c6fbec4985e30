-- Orders with their pack and price: as told, as kept, or else those of their
-- offer, the one from the most packs that the order reaches, or from the fewest.
CREATE TEMP VIEW priced_orders AS
    SELECT s."row", s."order", s.item, s.supplier, s.packs, s.placed_on, s.due_on, s.received_on, s.received_packs,
        s.closed_on, coalesce(s.pack_qty, kept.pack_qty, o.pack_qty) AS pack_qty,
        coalesce(s.price, kept.price, o.price) AS price, was.received_on IS NOT NULL AS recorded
    FROM staged_orders AS s
    LEFT JOIN order_line AS was ON was.workshop = current_setting('circlip.workshop')::bigint
        AND was.order_code = s."order" AND was.item = s.item
    LEFT JOIN order_line AS kept ON kept.workshop = was.workshop AND kept.order_code = was.order_code
        AND kept.item = was.item AND kept.supplier = s.supplier
    LEFT JOIN LATERAL (
        SELECT offer.pack_qty, offer.price FROM offer
        WHERE offer.workshop = current_setting('circlip.workshop')::bigint
            AND offer.item = s.item AND offer.supplier = s.supplier
        ORDER BY offer.from_packs > s.packs, abs(offer.from_packs - s.packs)
        LIMIT 1) AS o ON true;

-- Uses that no row has told, as far as the job has not taken them already: by
-- hand, while it was booked, or among the moves. Rows of lots that it took of
-- come first. What was corrected since stays corrected. A use that a row told
-- stays told when its movement was reversed later: such a movement has an act
-- named after its row (a UUID of version 5, RFC 9562), and the row still stands.
CREATE TEMP VIEW fresh_use AS
    WITH fresh AS (
        SELECT s.* FROM staged_job_use AS s
        WHERE NOT EXISTS (SELECT FROM job_use AS kept
            WHERE kept.workshop = current_setting('circlip.workshop')::bigint
                AND kept.job = s.job AND kept.item = s.item AND kept.lot = s.lot)
            AND NOT EXISTS (SELECT FROM job_act AS c
                WHERE (c.workshop, c.job, c.what) = (current_setting('circlip.workshop')::bigint, s.job, 'corrected'))
    ), took AS (
        SELECT ref AS job, item, lot, CASE to_place WHEN 'job' THEN qty ELSE -qty END AS qty
        FROM movement
        WHERE workshop = current_setting('circlip.workshop')::bigint AND 'job' IN (from_place, to_place)
            AND ref IN (SELECT job FROM fresh)
        UNION ALL
        SELECT ref, item, lot, CASE "to" WHEN 'job' THEN qty ELSE -qty END FROM new_moves AS m
        WHERE 'job' IN ("from", "to") AND NOT EXISTS (SELECT FROM staged_moves AS wrong
            WHERE m."from" = 'job' AND wrong.item = m.item AND wrong.lot = m.lot AND wrong.number = m.reverses
                AND substr(wrong.act, 15, 1) = '5')
        UNION ALL
        SELECT job, item, '', -qty FROM job_use
        WHERE workshop = current_setting('circlip.workshop')::bigint AND job IN (SELECT job FROM fresh)
    ), untold AS (
        SELECT job, item, greatest(sum(qty), 0) AS qty, array_agg(lot) AS lots FROM took GROUP BY job, item
    ), counted AS (
        SELECT s.*, coalesce(u.qty, 0) AS untold, sum(s.qty) OVER (PARTITION BY s.job, s.item
            ORDER BY s.lot = ANY (u.lots) DESC NULLS LAST, s."row") AS so_far
        FROM fresh AS s LEFT JOIN untold AS u USING (job, item)
    )
    SELECT "row", job, item, lot, least(qty, so_far - untold)::bigint AS qty FROM counted WHERE so_far > untold;

-- What the book tells of the shelf that the workshop has not been told before,
-- in the order of inventory.EventKind. What is among the moves is not told a
-- second time, nor is a delivery that the ledger has by an act.
CREATE TEMP TABLE told ON COMMIT DROP AS
    SELECT s.item, 0 AS kind, s.row, concat_ws(E'\x1f', 'stock', s.item, s.lot) AS act, 'stock' AS ref, s.lot,
        s.counted_on AS day, s.qty
    FROM staged_stock AS s
    WHERE NOT EXISTS (SELECT FROM stock_row AS kept
        WHERE kept.workshop = current_setting('circlip.workshop')::bigint AND kept.item = s.item AND kept.lot = s.lot)
        AND NOT EXISTS (SELECT FROM staged_moves AS m
            WHERE m.item = s.item AND m.lot = s.lot AND m."from" = 'opening')
    UNION ALL
    SELECT s.item, 1, s.row, concat_ws(E'\x1f', 'orders', s."order", s.item), s."order", s."order",
        s.received_on, coalesce(s.received_packs, s.packs) * s.pack_qty
    FROM priced_orders AS s
    WHERE s.received_on IS NOT NULL AND NOT s.recorded
        AND NOT EXISTS (SELECT FROM staged_moves AS m
            WHERE m.item = s.item AND m.ref = s."order" AND m."from" = 'supplier')
        AND NOT EXISTS (SELECT FROM movement AS kept
            WHERE kept.workshop = current_setting('circlip.workshop')::bigint AND kept.item = s.item
                AND kept.ref = s."order" AND kept.from_place = 'supplier')
    UNION ALL
    SELECT s.item, 2, s.row, concat_ws(E'\x1f', 'job_use', s.job, s.item, s.lot), s.job, s.lot, j.done_on, s.qty
    FROM fresh_use AS s
    JOIN job AS j ON j.workshop = current_setting('circlip.workshop')::bigint AND j.job = s.job
    UNION ALL
    SELECT s.item, 3, s.row, concat_ws(E'\x1f', 'counts', s.item, s.date::text), s.date::text, '', s.date, s.found
    FROM staged_counts AS s
    WHERE NOT EXISTS (SELECT FROM item_count AS kept
        WHERE kept.workshop = current_setting('circlip.workshop')::bigint AND kept.item = s.item
            AND kept.counted_on = s.date)
        AND NOT EXISTS (SELECT FROM staged_moves AS m
            WHERE m.item = s.item AND m.ref = s.date::text AND 'difference' IN (m."from", m."to"));
CREATE INDEX told_item ON told (item);
ANALYZE told;
