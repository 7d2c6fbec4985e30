SELECT unit, read_on - DATE '1970-01-01', hours, reset
FROM reading WHERE workshop = @workshop
ORDER BY unit, read_on
