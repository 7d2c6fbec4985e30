SELECT model, name, family
FROM model WHERE workshop = @workshop
ORDER BY model
