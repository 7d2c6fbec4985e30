MERGE INTO container AS t USING staged_containers AS s
ON t.workshop = @workshop AND t.container = s.container
WHEN MATCHED AND (t.name, t.item, t.tare_g, t.volume_ml)
        IS DISTINCT FROM (s.name, s.item, s.tare_g, s.volume_ml) THEN UPDATE SET
    name = s.name, item = s.item, tare_g = s.tare_g, volume_ml = s.volume_ml
WHEN NOT MATCHED THEN INSERT (workshop, container, name, item, tare_g, volume_ml)
    VALUES (@workshop, s.container, s.name, s.item, s.tare_g, s.volume_ml)
