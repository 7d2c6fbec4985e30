SELECT item, counted_on - DATE '1970-01-01', number, container, CASE WHEN gross_g IS NULL THEN qty END, gross_g, tare_g,
    temp_c, opened_on - DATE '1970-01-01'
FROM count_part WHERE workshop = @workshop
ORDER BY item, counted_on, number
