MERGE INTO job AS t USING staged_jobs AS s
ON t.workshop = @workshop AND t.job = s.job
WHEN MATCHED AND (t.unit, t.model, t.services, t.booked_on, t.bench_date, t.state, t.done_on)
        IS DISTINCT FROM (s.unit, s.model, s.service, s.booked_on, s.bench_date, s.state, s.done_on) THEN UPDATE SET
    unit = s.unit, model = s.model, services = s.service, booked_on = s.booked_on, bench_date = s.bench_date,
        state = s.state, done_on = s.done_on
WHEN NOT MATCHED THEN INSERT (workshop, job, unit, model, services, booked_on, bench_date, state, done_on)
    VALUES (@workshop, s.job, s.unit, s.model, s.service, s.booked_on, s.bench_date, s.state, s.done_on)
