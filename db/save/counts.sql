SELECT item, counted_on - DATE '1970-01-01', CASE WHEN gross_g IS NULL AND NOT EXISTS (SELECT FROM count_part AS p
    WHERE (p.workshop, p.item, p.counted_on) = (c.workshop, c.item, c.counted_on)) THEN qty END, gross_g, tare_g, temp_c
FROM item_count AS c WHERE workshop = @workshop
ORDER BY item, counted_on
