package inventory

// History is what a workshop's papers tell of one item's shelf: rows that are
// new, and what the ledger already holds, which is never changed.
type History struct {
	Item     string
	Lots     []ShelfLot // every lot that a row names; OnHand and SetAside are not read
	Standing []Movement // already in the ledger
	Counted  []Count    // counts already in the ledger: they stand, whatever is told later
	Moves    []Posted   // new to the ledger, told one by one by lot and number
	Events   []Event    // new rows, in any order
	Life     Life       // of a lot that only a count brings to light
	UnitCost UnitCost   // likewise
}

// ShelfLot is a lot and the day on which it was written down as part of the
// opening shelf; a zero Opened means that it came later.
type ShelfLot struct {
	Lot
	Opened Date
}

// Event is one row of the papers: what happened on a day. Act names the row,
// so that the same row told twice is known again.
type Event struct {
	Act  string
	Row  int // of the book
	Kind EventKind
	Ref  string // the job or order
	Lot  string // empty for a count, and for a use of whichever lot expires first
	On   Date
	Qty  Quantity
}

// EventKind is what sort of row an event is. Within a day events happen in
// this order; a count tells of the shelf at the day's end.
type EventKind int

// The kinds of events.
const (
	Opening EventKind = iota
	Receiving
	Using
	Counting
)

// Posted is a movement and the act that made it.
type Posted struct {
	Movement
	Act    string
	Number int64 // in its lot, of one that was told by itself; 0: made of a row
}

// Shortfall is a use of more than the shelf had: what was missing is booked as
// found by difference, and somebody should look into it.
type Shortfall struct {
	Event
	Day  Date     // on which the shelf was short: of the use, or a later one
	From string   // lot; empty: whichever
	Used Quantity // on Day
	Had  Quantity
}

// Replayed is what a history comes to.
type Replayed struct {
	Movements  []Posted // in the order to record them: no lot falls below zero on the way
	Lots       []Lot    // those of the movements, by code
	Shortfalls []Shortfall
}
