-- What a job took stands once it is told: a new quantity is a fault by then, but
-- for a job that was corrected since.
MERGE INTO job_use AS t USING (
    SELECT s.* FROM staged_job_use AS s WHERE NOT EXISTS (SELECT FROM job_act AS c
        WHERE (c.workshop, c.job, c.what) = (@workshop, s.job, 'corrected'))
) AS s
ON t.workshop = @workshop AND t.job = s.job AND t.item = s.item AND t.lot = s.lot
WHEN NOT MATCHED THEN INSERT (workshop, job, item, lot, qty)
    VALUES (@workshop, s.job, s.item, s.lot, s.qty)
