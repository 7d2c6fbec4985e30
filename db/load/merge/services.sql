MERGE INTO service AS t USING staged_services AS s
ON t.workshop = @workshop AND t.service = s.service
WHEN MATCHED AND (t.name, t.family, t.every_hours, t.every_months, t.covers, t.bench_minutes)
        IS DISTINCT FROM (s.name, s.family, s.every_hours, s.every_months, s.covers, s.bench_minutes) THEN UPDATE SET
    name = s.name, family = s.family, every_hours = s.every_hours, every_months = s.every_months, covers = s.covers,
        bench_minutes = s.bench_minutes
WHEN NOT MATCHED THEN INSERT (workshop, service, name, family, every_hours, every_months, covers, bench_minutes)
    VALUES (@workshop, s.service, s.name, s.family, s.every_hours, s.every_months, s.covers, s.bench_minutes)
