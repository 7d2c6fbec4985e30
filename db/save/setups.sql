SELECT job, moment, unit, on_day - DATE '1970-01-01', air_bar, rebound_clicks, compression, volume_spacers, note
FROM setup WHERE workshop = @workshop
ORDER BY job, moment DESC
