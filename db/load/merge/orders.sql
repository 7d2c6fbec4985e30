-- Pack and price stay those of the offer when the order was first told. What
-- came and what was given up stays too where the book, being older, is blank.
MERGE INTO order_line AS t USING (
    SELECT s.*, coalesce(s.received_on, was.received_on) AS came_on, coalesce(s.closed_on, was.closed_on) AS ended_on,
        CASE WHEN s.received_on IS NULL THEN was.received_packs ELSE s.received_packs END AS came_packs
    FROM priced_orders AS s
    LEFT JOIN order_line AS was ON was.workshop = @workshop AND was.order_code = s."order" AND was.item = s.item
) AS s
ON t.workshop = @workshop AND t.order_code = s."order" AND t.item = s.item
WHEN MATCHED AND (t.supplier, t.packs, t.placed_on, t.due_on, t.received_on, t.received_packs, t.closed_on, t.pack_qty,
        t.price)
        IS DISTINCT FROM (s.supplier, s.packs, s.placed_on, s.due_on, s.came_on, s.came_packs, s.ended_on, s.pack_qty,
            s.price) THEN UPDATE SET
    supplier = s.supplier, packs = s.packs, placed_on = s.placed_on, due_on = s.due_on, received_on = s.came_on,
        received_packs = s.came_packs, closed_on = s.ended_on, pack_qty = s.pack_qty, price = s.price
WHEN NOT MATCHED THEN INSERT (workshop, order_code, item, supplier, packs, placed_on, due_on, received_on,
    received_packs, closed_on, pack_qty, price)
    VALUES (@workshop, s."order", s.item, s.supplier, s.packs, s.placed_on, s.due_on, s.came_on, s.came_packs,
        s.ended_on, s.pack_qty, s.price)
