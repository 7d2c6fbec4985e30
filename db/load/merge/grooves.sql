MERGE INTO groove AS t USING staged_grooves AS s
ON t.workshop = @workshop AND t.item = s.item
WHEN MATCHED AND (t.root_mm, t.bore_mm, t.width_mm)
        IS DISTINCT FROM (s.root_mm, s.bore_mm, s.width_mm) THEN UPDATE SET
    root_mm = s.root_mm, bore_mm = s.bore_mm, width_mm = s.width_mm
WHEN NOT MATCHED THEN INSERT (workshop, item, root_mm, bore_mm, width_mm)
    VALUES (@workshop, s.item, s.root_mm, s.bore_mm, s.width_mm)
