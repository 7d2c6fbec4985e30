SELECT key, value
FROM setting WHERE workshop = @workshop
ORDER BY key
