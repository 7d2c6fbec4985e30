SELECT order_code, item, supplier, packs, placed_on - DATE '1970-01-01', due_on - DATE '1970-01-01', received_on - DATE '1970-01-01', received_packs,
    closed_on - DATE '1970-01-01', pack_qty, price
FROM order_line WHERE workshop = @workshop
ORDER BY order_code, item
