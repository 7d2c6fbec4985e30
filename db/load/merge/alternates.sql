MERGE INTO alternate AS t USING staged_alternates AS s
ON t.workshop = @workshop AND t.item = s.item AND t.alternate = s.alternate
WHEN MATCHED AND (t.rank, t.note)
        IS DISTINCT FROM (s.rank, s.note) THEN UPDATE SET
    rank = s.rank, note = s.note
WHEN NOT MATCHED THEN INSERT (workshop, item, alternate, rank, note)
    VALUES (@workshop, s.item, s.alternate, s.rank, s.note)
