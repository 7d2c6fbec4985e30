MERGE INTO holiday AS t USING staged_holidays AS s
ON t.workshop = @workshop AND t.day = s.date AND t.supplier = s.supplier
WHEN MATCHED AND t.name <> coalesce(s.name, '') THEN UPDATE SET name = coalesce(s.name, '')
WHEN NOT MATCHED THEN INSERT (workshop, day, supplier, name)
    VALUES (@workshop, s.date, s.supplier, coalesce(s.name, ''))
