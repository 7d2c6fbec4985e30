MERGE INTO reading AS t USING staged_readings AS s
ON t.workshop = @workshop AND t.unit = s.unit AND t.read_on = s.date
WHEN MATCHED AND (t.hours, t.reset)
        IS DISTINCT FROM (s.hours, s.reset) THEN UPDATE SET
    hours = s.hours, reset = s.reset
WHEN NOT MATCHED THEN INSERT (workshop, unit, read_on, hours, reset)
    VALUES (@workshop, s.unit, s.date, s.hours, s.reset)
