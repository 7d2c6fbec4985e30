-- A key stands once.
SELECT s.row, 'job' AS "column", 'the same key as in row ' || d.first AS problem,
    concat_ws(' / ', s.job, s.item, nullif(s.lot, '')) AS found, 'each key once' AS expected
FROM staged_job_use AS s
JOIN (SELECT job, item, lot, min(row) AS first FROM staged_job_use GROUP BY job, item, lot HAVING count(*) > 1) AS d
    ON d.job = s.job AND d.item = s.item AND d.lot = s.lot
WHERE s.row <> d.first
UNION ALL
SELECT s.row, 'job', 'unknown code', s.job, 'jobs'
FROM staged_job_use AS s
WHERE NOT EXISTS (SELECT FROM known_jobs AS k WHERE k.code = s.job)
UNION ALL
SELECT s.row, 'job', 'a job that is ' || j.state, s.job, 'a job that is done'
FROM staged_job_use AS s JOIN all_jobs AS j ON j.job = s.job
WHERE j.state <> 'done'
UNION ALL
-- A lot is one of the opening shelf, of an order, or already in the ledger; what
-- was used up before the opening shelf was counted need not be known.
(WITH lots AS (
    SELECT item, lot FROM staged_stock
    UNION ALL SELECT item, "order" FROM staged_orders
    UNION ALL SELECT item, lot FROM stock_row WHERE workshop = @workshop
    UNION ALL SELECT item, order_code FROM order_line WHERE workshop = @workshop
    UNION ALL SELECT item, lot FROM lot WHERE workshop = @workshop
    UNION ALL SELECT item, lot FROM staged_moves
), opened AS (
    SELECT item, max(counted_on) AS counted_on FROM (
        SELECT item, counted_on FROM staged_stock
        UNION ALL SELECT item, counted_on FROM stock_row WHERE workshop = @workshop) AS shelf
    GROUP BY item
)
SELECT s.row, 'lot', 'unknown lot of ' || s.item, s.lot,
    'a lot of the table stock or an order of the item; blank for whichever expires first'
FROM staged_job_use AS s JOIN all_jobs AS j ON j.job = s.job LEFT JOIN opened AS o ON o.item = s.item
WHERE s.lot <> '' AND (o.counted_on IS NULL OR j.done_on > o.counted_on)
    AND NOT EXISTS (SELECT FROM lots AS l WHERE l.item = s.item AND l.lot = s.lot)
    AND NOT EXISTS (SELECT FROM spoiled AS k WHERE k.refers = 'stock' AND k.code = s.item)
    AND NOT EXISTS (SELECT FROM spoiled AS k WHERE k.refers = 'orders' AND k.code = s.lot))
UNION ALL
SELECT s.row, 'qty', 'already recorded otherwise', in_measure(s.qty, i.measure),
    in_measure(kept.qty, i.measure) || ' as recorded; correct it by a count or a reversing movement'
FROM staged_job_use AS s
JOIN job_use AS kept ON kept.workshop = @workshop
    AND kept.job = s.job AND kept.item = s.item AND kept.lot = s.lot
JOIN all_items AS i ON i.item = s.item
WHERE s.qty <> kept.qty AND NOT EXISTS (SELECT FROM job_act AS c
    WHERE (c.workshop, c.job, c.what) = (@workshop, s.job, 'corrected'))
UNION ALL
SELECT s.row, 'job', 'a job whose use was recorded when it was closed', s.job,
    'what it took as recorded; correct the job by what it took more or less'
FROM staged_job_use AS s
JOIN job_act AS c ON (c.workshop, c.job, c.what) = (@workshop, s.job, 'closed')
WHERE NOT EXISTS (SELECT FROM job_use AS kept
        WHERE kept.workshop = @workshop AND kept.job = s.job AND kept.item = s.item AND kept.lot = s.lot)
    AND NOT EXISTS (SELECT FROM job_act AS c
        WHERE (c.workshop, c.job, c.what) = (@workshop, s.job, 'corrected'))
ORDER BY 1, 2
