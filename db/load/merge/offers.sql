MERGE INTO offer AS t USING staged_offers AS s
ON t.workshop = @workshop AND t.item = s.item AND t.supplier = s.supplier AND t.from_packs = s.from_packs
WHEN MATCHED AND (t.supplier_code, t.pack_qty, t.min_packs, t.multiple, t.price, t.lead_days)
        IS DISTINCT FROM (s.supplier_code, s.pack_qty, s.min_packs, s.multiple, s.price, s.lead_days) THEN UPDATE SET
    supplier_code = s.supplier_code, pack_qty = s.pack_qty, min_packs = s.min_packs, multiple = s.multiple,
        price = s.price, lead_days = s.lead_days
WHEN NOT MATCHED THEN INSERT (workshop, item, supplier, from_packs, supplier_code, pack_qty, min_packs, multiple,
    price, lead_days)
    VALUES (@workshop, s.item, s.supplier, s.from_packs, s.supplier_code, s.pack_qty, s.min_packs, s.multiple,
        s.price, s.lead_days)
