SELECT unit, model, holder, unit_group, hours_per_week, in_service - DATE '1970-01-01', retired - DATE '1970-01-01'
FROM unit WHERE workshop = @workshop
ORDER BY unit
