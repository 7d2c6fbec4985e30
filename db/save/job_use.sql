SELECT job, item, lot, qty
FROM job_use WHERE workshop = @workshop
ORDER BY job, item, lot
