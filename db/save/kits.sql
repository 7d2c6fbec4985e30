SELECT kit, item, qty
FROM kit_part WHERE workshop = @workshop
ORDER BY kit, item
