-- Sheets that the book tells and that were not recorded: each is spent from now
-- on, as if it had been placed here.
SELECT import_sheets(@workshop, array_agg(n.sheet), array_agg(n."order"), array_agg(n.placed_on))
FROM (SELECT s.sheet, s."order", min(s.placed_on) AS placed_on FROM staged_orders AS s
    WHERE s.sheet IS NOT NULL
        AND NOT EXISTS (SELECT FROM order_sheet AS kept WHERE kept.workshop = @workshop AND kept.sheet = s.sheet)
    GROUP BY s.sheet, s."order" ORDER BY s.sheet) AS n
HAVING count(*) > 0
