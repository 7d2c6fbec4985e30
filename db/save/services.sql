SELECT service, name, family, every_hours, every_months, covers, bench_minutes
FROM service WHERE workshop = @workshop
ORDER BY service
