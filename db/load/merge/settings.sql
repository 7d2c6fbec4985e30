MERGE INTO setting AS t USING staged_settings AS s
ON t.workshop = @workshop AND t.key = s.key
WHEN MATCHED AND t.value IS DISTINCT FROM s.value THEN UPDATE SET
    value = s.value
WHEN NOT MATCHED THEN INSERT (workshop, key, value)
    VALUES (@workshop, s.key, s.value)
