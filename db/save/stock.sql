SELECT item, lot, qty, counted_on - DATE '1970-01-01', cure_mark, expires_on - DATE '1970-01-01', unit_cost
FROM stock_row WHERE workshop = @workshop
ORDER BY item, lot
