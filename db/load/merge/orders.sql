-- Pack and price stay those of the offer when the order was first told.
MERGE INTO order_line AS t USING priced_orders AS s
ON t.workshop = @workshop AND t.order_code = s."order" AND t.item = s.item
WHEN MATCHED AND (t.supplier, t.packs, t.placed_on, t.due_on, t.received_on, t.received_packs, t.pack_qty, t.price)
        IS DISTINCT FROM (s.supplier, s.packs, s.placed_on, s.due_on, s.received_on, s.received_packs, s.pack_qty,
            s.price) THEN UPDATE SET
    supplier = s.supplier, packs = s.packs, placed_on = s.placed_on, due_on = s.due_on, received_on = s.received_on,
        received_packs = s.received_packs, pack_qty = s.pack_qty, price = s.price
WHEN NOT MATCHED THEN INSERT (workshop, order_code, item, supplier, packs, placed_on, due_on, received_on,
    received_packs, pack_qty, price)
    VALUES (@workshop, s."order", s.item, s.supplier, s.packs, s.placed_on, s.due_on, s.received_on, s.received_packs,
        s.pack_qty, s.price)
