MERGE INTO season AS t USING staged_season AS s
ON t.workshop = @workshop AND t.week = s.week
WHEN MATCHED AND t.factor IS DISTINCT FROM s.factor THEN UPDATE SET
    factor = s.factor
WHEN NOT MATCHED THEN INSERT (workshop, week, factor)
    VALUES (@workshop, s.week, s.factor)
