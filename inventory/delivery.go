package inventory

// Delivery is what came of an order on a day.
type Delivery struct {
	Workshop        string // of the sheet that told it; empty: told by hand
	Order, Supplier string
	On              Date
	Lines           []DeliveredLine
	Closed          bool // what is still missing will not come

	// Due is the packs of each item that were outstanding when the sheet was
	// written, to tell one that was received already; nil: told by hand.
	Due map[string]int
}

// DeliveredLine is one item of a delivery, as its papers and marks say.
type DeliveredLine struct {
	Item    string
	Packs   int    // that came; none is none
	Price   *Money // a pack, as charged; nil: as ordered
	Lot     string // empty: named after the order
	Cure    Cure   // zero: not marked
	Expires Date   // zero: not printed
}
