package plan

import "circlip/inventory"

// Limit is what one limit took off the order, and what that costs. Limits are
// held to in turn, each on what those before it left: shelf life, flammable
// litres, budget. A supplier's minimum takes nothing off: it is told where an
// order stays below it.
type Limit struct {
	Kind    LimitKind
	Of      string  // supplier or item it is about; empty: the whole order
	Allowed string  // the limit, with its unit
	Wanted  string  // what the order would have come to, with its unit
	Cut     []Cut   // what is not ordered because of it
	Without float64 // readiness of the order with what was cut beside it; of the order where a minimum is not met
	With    float64 // of the order; without that supplier's lines where a minimum is not met, since it may not take them
	Warning string  // the one among the plan's that tells the same
}

// Cut is what a limit takes off an order.
type Cut struct {
	Item inventory.Item
	Qty  inventory.Quantity
}

// LimitKind names a limit.
type LimitKind string

// The limits.
const (
	BudgetLimit    LimitKind = "budget"
	ShelfLifeLimit LimitKind = "shelf life"
	FlammableLimit LimitKind = "flammable litres"
	MinimumLimit   LimitKind = "supplier minimum"
)

// Forward is what is worth adding to an order now, although it is not needed
// before the next one: what the whole costs less than ordering it later.
type Forward struct {
	Supplier inventory.Supplier
	Lines    []Line          // only what is added: packs beside the order's, and what they add to it
	Goods    inventory.Money // of what is added
	Carriage inventory.Money // that is saved
	Holding  inventory.Money // that it costs to keep the goods for so long
	Saving   inventory.Money // Carriage and price breaks less Holding
	Why      string
}
