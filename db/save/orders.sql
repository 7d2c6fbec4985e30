SELECT o.order_code, o.item, o.supplier, o.packs, o.placed_on - DATE '1970-01-01', o.due_on - DATE '1970-01-01',
    o.received_on - DATE '1970-01-01', o.received_packs, o.closed_on - DATE '1970-01-01', o.pack_qty, o.price, s.sheet
FROM order_line AS o LEFT JOIN order_sheet AS s ON s.workshop = o.workshop AND s.order_code = o.order_code
WHERE o.workshop = @workshop
ORDER BY o.order_code, o.item
