package reports

import (
	"fmt"

	"circlip/inventory"
	"circlip/inventory/audit"
)

// ChangeEvidence is the note that a changed line of the bill of materials keeps:
// what it said, and what the audit of that day rests the change on.
func ChangeEvidence(c audit.Change, item inventory.Item, on inventory.Date) string {
	m := item.Measure
	return fmt.Sprintf("was %s; audit of %s: a job takes %s, waste included, between %s and %s (%s in %s)",
		quantity(c.Line.Qty, m), on, measured(c.PerJob, m), finite(c.Low, m), finite(c.High, m),
		plural(c.Jobs, "job", "jobs"), plural(c.Periods, "period", "periods"))
}
