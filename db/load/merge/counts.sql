-- A count stands once it is told.
MERGE INTO item_count AS t USING staged_counts AS s
ON t.workshop = @workshop AND t.item = s.item AND t.counted_on = s.date
WHEN NOT MATCHED THEN INSERT (workshop, item, counted_on, qty, gross_g, tare_g, temp_c)
    VALUES (@workshop, s.item, s.date, s.found, s.gross_g, s.tare_g, s.temp_c)
