package db

import (
	"context"

	"github.com/jackc/pgx/v5"
)

// The rules of jobs.
const (
	ruleOpen     = "only a booked job has anything set aside"
	ruleUsed     = "a job that was closed used what it took"
	ruleClosed   = "a job that was closed is done on that day"
	ruleOwnStock = "no job gives back more than it took"
	ruleTookOver = "what a job took over another gave"
	ruleSaid     = "what was said of a job has its act"
)

// Jobs that a book tells as done took their parts by rows of their own; a job
// that acts closed has its uses from the movements alone.
const jobsSQL = `
WITH took AS (
	SELECT ref AS job, item, lot, min(seq) AS seq, sum(CASE to_place WHEN 'job' THEN qty ELSE -qty END) AS qty
	FROM circlip.movement WHERE workshop = @workshop AND 'job' IN (from_place, to_place)
	GROUP BY ref, item, lot
), closed AS (
	SELECT job, act, happened_on FROM circlip.job_act WHERE workshop = @workshop AND what = 'closed'
), used AS (
	SELECT job, item, lot, qty FROM circlip.job_use JOIN closed USING (job) WHERE workshop = @workshop
)
SELECT @open::text, k.item, k.lot, 0::bigint, k.qty || ' for job ' || k.job || ', which is ' || j.state, 'none'
FROM circlip.kept AS k JOIN circlip.job AS j USING (workshop, job)
WHERE workshop = @workshop AND j.state <> 'booked'
UNION ALL
SELECT @used, item, lot, coalesce(t.seq, 0), coalesce(u.qty, 0) || ' used by job ' || job, coalesce(t.qty, 0) || ' as taken'
FROM used AS u FULL JOIN (SELECT took.* FROM took JOIN closed USING (job) WHERE qty <> 0) AS t USING (job, item, lot)
WHERE u.qty IS DISTINCT FROM t.qty
UNION ALL
SELECT @closed, '', '', 0, 'job ' || c.job || ' ' || j.state || coalesce(' on ' || j.done_on, ''), 'done on ' || c.happened_on
FROM closed AS c JOIN circlip.job AS j ON j.workshop = @workshop AND j.job = c.job
WHERE j.done_on IS DISTINCT FROM c.happened_on
UNION ALL
SELECT @own, item, lot, seq, qty || ' at job ' || job, '0 or more' FROM took WHERE qty < 0
UNION ALL
SELECT @took_over, item, lot, 0, 'a difference of ' || sum(qty), 'as much on as off'
FROM circlip.set_aside WHERE workshop = @workshop AND why = 'taken over'
GROUP BY act, item, lot HAVING sum(qty) <> 0
UNION ALL
SELECT @said, '', '', 0, 'job ' || coalesce(s.job, '') || ' ' || coalesce(s.what, a.kind) || ', act ' || coalesce(s.act, a.act), 'both'
FROM (SELECT * FROM circlip.job_act WHERE workshop = @workshop) AS s
FULL JOIN (
	SELECT act, kind FROM circlip.act
	WHERE workshop = @workshop AND kind IN ('close job', 'correct job', 'take over') AND NOT result ? 'refused') AS a
	ON a.act = s.act AND a.kind = CASE s.what WHEN 'closed' THEN 'close job' WHEN 'corrected' THEN 'correct job' ELSE 'take over' END
WHERE s.act IS NULL OR a.act IS NULL
ORDER BY 1, 2, 3, 4, 5`

// jobs holds what became of jobs against the movements and set-asides.
func (c *checker) jobs(ctx context.Context, tx pgx.Tx) error {
	return c.findAll(ctx, tx, jobsSQL, pgx.NamedArgs{"workshop": c.workshop, "open": ruleOpen, "used": ruleUsed,
		"closed": ruleClosed, "own": ruleOwnStock, "took_over": ruleTookOver, "said": ruleSaid})
}
