SELECT job, unit, model, services, booked_on - DATE '1970-01-01', bench_date - DATE '1970-01-01', state, done_on - DATE '1970-01-01',
    cancelled_on - DATE '1970-01-01', done_by
FROM job WHERE workshop = @workshop
ORDER BY job
