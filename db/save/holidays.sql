SELECT day - DATE '1970-01-01', supplier, name
FROM holiday WHERE workshop = @workshop
ORDER BY day, supplier
