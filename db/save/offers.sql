SELECT item, supplier, from_packs, supplier_code, pack_qty, min_packs, multiple, price, lead_days
FROM offer WHERE workshop = @workshop
ORDER BY item, supplier, from_packs
