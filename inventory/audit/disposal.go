package audit

import "circlip/inventory"

// Spent is one stream of a month: what was drawn of the fluids that end in it,
// what was gathered, and what went to a carrier. Volumes are in ml at the
// temperature they were measured at, weights in g; what was given one way only
// counts in that way alone.
type Spent struct {
	Stream              inventory.Stream
	From, To            inventory.Date // first and last day
	DrawnML, DrawnG     float64        // by the periods between counts, spread over their days
	GatheredML          float64
	GatheredG           float64
	HandedOverML        float64
	HandedOverG         float64
	HeldML, HeldG       float64 // in the workshop at the end of To
	WithoutML, WithoutG int     // records that have no volume, no weight
}

// Disposed sums up what was drawn, gathered and handed over, by stream and
// month, oldest first, as far back as anything was gathered.
func Disposed(inventory.Shop) []Spent { return nil }
