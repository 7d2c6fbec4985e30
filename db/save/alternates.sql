SELECT item, alternate, rank, note
FROM alternate WHERE workshop = @workshop
ORDER BY item, alternate
