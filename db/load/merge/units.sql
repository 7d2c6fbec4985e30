MERGE INTO unit AS t USING staged_units AS s
ON t.workshop = @workshop AND t.unit = s.unit
WHEN MATCHED AND (t.model, t.holder, t.unit_group, t.hours_per_week, t.in_service, t.retired)
        IS DISTINCT FROM (s.model, s.holder, s."group", s.hours_per_week, s.in_service, s.retired) THEN UPDATE SET
    model = s.model, holder = s.holder, unit_group = s."group", hours_per_week = s.hours_per_week,
        in_service = s.in_service, retired = s.retired
WHEN NOT MATCHED THEN INSERT (workshop, unit, model, holder, unit_group, hours_per_week, in_service, retired)
    VALUES (@workshop, s.unit, s.model, s.holder, s."group", s.hours_per_week, s.in_service, s.retired)
