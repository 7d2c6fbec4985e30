package plan

import "circlip/inventory"

// Expiring is a lot that will not be used up before it expires, or has expired.
type Expiring struct {
	Item     inventory.Item
	Lot      inventory.Lot
	Value    inventory.Money    // of what is on hand
	Expected inventory.Quantity // of it that is expected to be used before it expires
	Over     inventory.Quantity // on hand less that
	Jobs     []string           // booked jobs on or before its last day that could use it, by bench date
	Extend   inventory.Date     // first day it would no longer be good after an inspection; zero: it cannot be extended
}

// expiring lists the lots that age out within the horizon, the first first.
func (v *view) expiring(s *shelf, kits []inventory.JobKit) []Expiring { return nil }
