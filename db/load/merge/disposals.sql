-- What was written down once stays where the book has a blank cell.
MERGE INTO disposal AS t USING (
    SELECT s.date, s.number, s.stream, s.moment, coalesce(s.volume_ml, was.volume_ml) AS volume_ml,
        coalesce(s.weight_g, was.weight_g) AS weight_g, coalesce(s.carrier, was.carrier) AS carrier,
        coalesce(s.document, was.document) AS document, coalesce(s.note, was.note) AS note
    FROM staged_disposals AS s
    LEFT JOIN disposal AS was ON was.workshop = @workshop AND was.happened_on = s.date AND was.number = s.number
) AS s
ON t.workshop = @workshop AND t.happened_on = s.date AND t.number = s.number
WHEN MATCHED AND (t.volume_ml, t.weight_g, t.carrier, t.document, t.note)
        IS DISTINCT FROM (s.volume_ml, s.weight_g, s.carrier, s.document, s.note) THEN UPDATE SET
    volume_ml = s.volume_ml, weight_g = s.weight_g, carrier = s.carrier, document = s.document, note = s.note
WHEN NOT MATCHED THEN INSERT (workshop, happened_on, number, stream, moment, volume_ml, weight_g, carrier, document, note)
    VALUES (@workshop, s.date, s.number, s.stream, s.moment, s.volume_ml, s.weight_g, s.carrier, s.document, s.note)
