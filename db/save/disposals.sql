SELECT happened_on - DATE '1970-01-01', number, stream, moment, volume_ml, weight_g, carrier, document, note
FROM disposal WHERE workshop = @workshop
ORDER BY happened_on, number
