MERGE INTO model AS t USING staged_models AS s
ON t.workshop = @workshop AND t.model = s.model
WHEN MATCHED AND (t.name, t.family)
        IS DISTINCT FROM (s.name, s.family) THEN UPDATE SET
    name = s.name, family = s.family
WHEN NOT MATCHED THEN INSERT (workshop, model, name, family)
    VALUES (@workshop, s.model, s.name, s.family)
