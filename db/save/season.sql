SELECT week, factor
FROM season WHERE workshop = @workshop
ORDER BY week
