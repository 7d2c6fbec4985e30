MERGE INTO kit_part AS t USING staged_kits AS s
ON t.workshop = @workshop AND t.kit = s.kit AND t.item = s.item
WHEN MATCHED AND t.qty IS DISTINCT FROM s.qty THEN UPDATE SET
    qty = s.qty
WHEN NOT MATCHED THEN INSERT (workshop, kit, item, qty)
    VALUES (@workshop, s.kit, s.item, s.qty)
