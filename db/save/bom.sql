SELECT service, model, item, NULLIF(valid_from, '-infinity') - DATE '1970-01-01', qty, need, waste, NULLIF(valid_to, 'infinity') - DATE '1970-01-01', note
FROM bom_line WHERE workshop = @workshop
ORDER BY service, model, item, valid_from
