package stock

// Offer is one price of one supplier for packs of an item, from so many packs.
// Rows of one supplier and pack size with rising FromPacks are price breaks.
type Offer struct {
	Supplier  string
	FromPacks int   // 0: 1
	MinPacks  int   // 0: 1
	Multiple  int   // 0: 1
	PackQty   int   // steps in a pack
	Price     int64 // minor units a pack
	Arrives   int   // day of arrival, on any scale; the earlier the better
}

// Choice is an offer and how many packs of it.
type Choice struct {
	Offer int // index of the offer whose price holds
	Packs int
	Qty   int   // steps
	Total int64 // minor units
}
