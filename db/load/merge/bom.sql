MERGE INTO bom_line AS t USING staged_bom AS s
ON t.workshop = @workshop AND t.service = s.service AND t.model = s.model AND t.item = s.item
    AND t.valid_from = coalesce(s."from", '-infinity')
WHEN MATCHED AND (t.qty, t.need, t.waste, t.valid_to, t.note)
        IS DISTINCT FROM (s.qty, s.need, s.waste, coalesce(s."to", 'infinity'), s.note) THEN UPDATE SET
    qty = s.qty, need = s.need, waste = s.waste, valid_to = coalesce(s."to", 'infinity'), note = s.note
WHEN NOT MATCHED THEN INSERT (workshop, service, model, item, valid_from, qty, need, waste, valid_to, note)
    VALUES (@workshop, s.service, s.model, s.item, coalesce(s."from", '-infinity'), s.qty, s.need, s.waste,
        coalesce(s."to", 'infinity'), s.note)
