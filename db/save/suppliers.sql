SELECT supplier, name, order_weekday, cutoff, lead_days, min_order, carriage, carriage_free_from
FROM supplier WHERE workshop = @workshop
ORDER BY supplier
