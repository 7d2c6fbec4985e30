SELECT item, root_mm, bore_mm, width_mm
FROM groove WHERE workshop = @workshop
ORDER BY item
