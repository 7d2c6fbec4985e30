-- A part stands once it is told, with the tare it was reckoned with.
MERGE INTO count_part AS t USING staged_count_parts AS s
ON t.workshop = @workshop AND t.item = s.item AND t.counted_on = s.date AND t.number = s.number
WHEN NOT MATCHED THEN INSERT (workshop, item, counted_on, number, container, qty, gross_g, tare_g, temp_c, opened_on)
    VALUES (@workshop, s.item, s.date, s.number, s.container, s.found, s.gross_g, s.tared, s.temp_c, s.opened_on)
