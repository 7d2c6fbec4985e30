SELECT item, counted_on - DATE '1970-01-01', CASE WHEN gross_g IS NULL THEN qty END, gross_g, tare_g, temp_c
FROM item_count WHERE workshop = @workshop
ORDER BY item, counted_on
