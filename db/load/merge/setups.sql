-- What was written down once stays where the book has a blank cell.
MERGE INTO setup AS t USING (
    SELECT s.job, s.moment, a.unit, s.date, coalesce(s.air_bar, was.air_bar) AS air_bar,
        coalesce(s.rebound_clicks, was.rebound_clicks) AS rebound_clicks,
        coalesce(s.compression, was.compression) AS compression,
        coalesce(s.volume_spacers, was.volume_spacers) AS volume_spacers, coalesce(s.note, was.note) AS note
    FROM staged_setups AS s JOIN all_jobs AS a ON a.job = s.job
    LEFT JOIN setup AS was ON was.workshop = @workshop AND was.job = s.job AND was.moment = s.moment
) AS s
ON t.workshop = @workshop AND t.job = s.job AND t.moment = s.moment
WHEN MATCHED AND (t.unit, t.on_day, t.air_bar, t.rebound_clicks, t.compression, t.volume_spacers, t.note)
        IS DISTINCT FROM (s.unit, s.date, s.air_bar, s.rebound_clicks, s.compression, s.volume_spacers, s.note)
    THEN UPDATE SET
    unit = s.unit, on_day = s.date, air_bar = s.air_bar, rebound_clicks = s.rebound_clicks,
        compression = s.compression, volume_spacers = s.volume_spacers, note = s.note
WHEN NOT MATCHED THEN INSERT (workshop, job, moment, unit, on_day, air_bar, rebound_clicks, compression, volume_spacers,
    note)
    VALUES (@workshop, s.job, s.moment, s.unit, s.date, s.air_bar, s.rebound_clicks, s.compression, s.volume_spacers,
        s.note)
