MERGE INTO job AS t USING (
    SELECT s.job, s.unit, s.model, s.service, s.booked_on, s.state AS told_state, s.bench_date AS told_bench_date,
        a.bench_date, a.state, a.done_on, a.cancelled_on, a.done_by
    FROM staged_jobs AS s JOIN all_jobs AS a ON a.job = s.job
) AS s
ON t.workshop = @workshop AND t.job = s.job
WHEN MATCHED AND (t.unit, t.model, t.services, t.booked_on, t.bench_date, t.state, t.done_on, t.cancelled_on,
        t.done_by)
        IS DISTINCT FROM (s.unit, s.model, s.service, s.booked_on, s.bench_date, s.state, s.done_on, s.cancelled_on,
            s.done_by)
    THEN UPDATE SET
    unit = s.unit, model = s.model, services = s.service, booked_on = s.booked_on, bench_date = s.bench_date,
        state = s.state, done_on = s.done_on, cancelled_on = s.cancelled_on, done_by = s.done_by, told_state = s.told_state,
        told_bench_date = s.told_bench_date
WHEN NOT MATCHED THEN INSERT (workshop, job, unit, model, services, booked_on, bench_date, state, done_on, cancelled_on,
    done_by, told_state, told_bench_date)
    VALUES (@workshop, s.job, s.unit, s.model, s.service, s.booked_on, s.bench_date, s.state, s.done_on, s.cancelled_on,
        s.done_by, s.told_state, s.told_bench_date)
