package db

import (
	"context"

	"github.com/jackc/pgx/v5"
)

// The rules of counts and of spent fluid.
const (
	ruleParts    = "the containers of a count hold what was found"
	ruleCounted  = "a count by an act has its act"
	ruleDisposed = "a disposal by an act has its act, and the act its disposal"
	ruleNumbered = "disposals of a day, and containers of a count, are numbered without a gap"
)

// A count by an act may be gone: another of the day took its place, or it was
// undone.
const countsSQL = `
WITH gathered AS (
	SELECT act, happened_on, number FROM circlip.disposal WHERE workshop = @workshop
), written AS (
	SELECT act, (result->>'number')::integer AS number FROM circlip.act WHERE workshop = @workshop AND kind = 'dispose'
)
SELECT rule, '', '', 0::bigint, found, expected FROM (
SELECT @parts::text, sum(p.qty) || ' in those of the count of item ' || c.item || ' on ' || c.counted_on, c.qty::text
FROM circlip.item_count AS c JOIN circlip.count_part AS p USING (workshop, item, counted_on)
WHERE workshop = @workshop
GROUP BY c.item, c.counted_on, c.qty HAVING sum(p.qty) <> c.qty
UNION ALL
SELECT @counted, 'a count of item ' || c.item || ' on ' || c.counted_on || ' by act ' || c.act, 'an act that counted'
FROM circlip.item_count AS c
WHERE c.workshop = @workshop AND c.act IS NOT NULL AND NOT EXISTS (SELECT FROM circlip.act AS a
	WHERE a.workshop = c.workshop AND a.act = c.act AND a.kind = 'count' AND NOT a.result ? 'refused')
UNION ALL
SELECT @disposed, CASE WHEN a.act IS NULL THEN 'disposal ' || d.number || ' of ' || d.happened_on ELSE 'act ' || a.act END || ' alone', 'both'
FROM (SELECT * FROM gathered WHERE act IS NOT NULL) AS d FULL JOIN written AS a USING (act, number)
WHERE d.act IS NULL OR a.act IS NULL
UNION ALL
SELECT @numbered, count(*) || ' disposals of ' || happened_on || ' numbered to ' || max(number), '1, 2, 3'
FROM gathered GROUP BY happened_on HAVING count(*) <> max(number)
UNION ALL
SELECT @numbered, count(*) || ' containers of item ' || item || ' on ' || counted_on || ' numbered to ' || max(number), '1, 2, 3'
FROM circlip.count_part WHERE workshop = @workshop
GROUP BY item, counted_on HAVING count(*) <> max(number)
) AS f (rule, found, expected) ORDER BY rule, found`

// counts holds counts against their containers, and what acts wrote down against
// the acts.
func (c *checker) counts(ctx context.Context, tx pgx.Tx) error {
	return c.findAll(ctx, tx, countsSQL, pgx.NamedArgs{"workshop": c.workshop, "parts": ruleParts, "counted": ruleCounted,
		"disposed": ruleDisposed, "numbered": ruleNumbered})
}
