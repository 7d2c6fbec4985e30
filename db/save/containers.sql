SELECT container, name, item, tare_g, volume_ml
FROM container WHERE workshop = @workshop
ORDER BY container
