-- The opening shelf stands once it is told.
MERGE INTO stock_row AS t USING staged_stock AS s
ON t.workshop = @workshop AND t.item = s.item AND t.lot = s.lot
WHEN NOT MATCHED THEN INSERT (workshop, item, lot, qty, counted_on, cure_mark, expires_on, unit_cost)
    VALUES (@workshop, s.item, s.lot, s.qty, s.counted_on, s.cure_date, s.expires_on, s.unit_cost)
