package plan

import "circlip/inventory"

// Chase is a line on order that is late, or that comes too late for a job.
type Chase struct {
	Order    string
	Supplier inventory.Supplier
	Item     inventory.Item
	Packs    int                // still to come
	Qty      inventory.Quantity // in them
	DueOn    inventory.Date
	DaysLate int            // on the day of the plan; 0: not yet late
	Jobs     []string       // booked jobs that it comes too late for, by bench date
	Bench    inventory.Date // of the first of them; zero: none
	CallBy   inventory.Date // the last day on which a call still helps
	Why      string         // one sentence: what to do and why by then
}

// chases lists what to call suppliers about, the most pressing first.
func (v *view) chases(kits []inventory.JobKit) []Chase { return nil }
