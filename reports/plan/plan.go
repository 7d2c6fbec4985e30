// Package plan is where shelf, jobs and forecast meet: one act turns a
// workshop as it stands into what will be used, what to order by when, which
// kit is ready, and where the oil went. Commands, workbook and pages all call
// it, so that a figure is computed once. It is pure: a Shop in, a Plan out.
//
// Words: an arrival is a job that is expected, booked or not. The protection
// time of an item runs from today until the day before the delivery after the
// next one: what an order placed now must last for. The level is how much of
// it position (on hand and on order) should cover.
//
//	p, err := plan.Make(shop, plan.Options{})
//	fmt.Println(p.Readiness.WithOrder)
package plan

import (
	"circlip/inventory"
	"circlip/inventory/audit"
)

// Options pick another point of the readiness curve than the settings'.
type Options struct {
	Readiness float64          // target share of jobs ready; 0: the settings'
	Budget    *inventory.Money // most to spend, carriage included; nil: the settings'. More than the target costs is not spent
	EveryWeek bool             // also the laws of use from today to the end of each week
}

// Plan is everything the reorder sheet, the terminal and the JSON show.
// Quantities are in each item's steps, money in minor units.
type Plan struct {
	Workshop  string
	AsOf      inventory.Date
	Currency  inventory.Currency
	Weeks     []Span
	Arrivals  []Arrival
	Orders    []Order
	Items     []Item
	Readiness Readiness
	Curve     []Point    // from an empty shelf, whatever the limits
	Limits    []Limit    // what limits cut, and what that costs in readiness
	Forward   []Forward  // what is worth ordering before it is needed
	Chase     []Chase    // what is on order and late, or comes too late for a job
	Expiring  []Expiring // lots that will age out
	Kits      []inventory.JobKit
	Bench     []inventory.BenchDay
	Oil       audit.Audit // of the fluids
	Warnings  []string
}

// Span is one week of the horizon; the first may begin inside its week.
type Span struct {
	Week     inventory.Week
	From, To inventory.Date
}

// Arrival is the expected number of jobs of one service on one model in one
// week, by where they come from.
type Arrival struct {
	Week                             int // index into Plan.Weeks
	Service, Model                   string
	Booked, Fleet, Returning, WalkIn float64
}

// Jobs is the expected number from all causes together.
func (a Arrival) Jobs() float64 { return a.Booked + a.Fleet + a.Returning + a.WalkIn }

// Demand is the law of what an item will be used in a span, in its measure.
type Demand struct {
	Mean, SD           float64
	P10, P50, P90, P98 float64
}

// Item is what was computed for one item.
type Item struct {
	Item                              inventory.Item
	OnHand, SetAside, Free, OnOrder   inventory.Quantity
	Usable                            inventory.Quantity // on hand that outlives its expected use
	Position                          inventory.Quantity // usable − set aside for later + on order
	ProtectUntil                      inventory.Date
	Protection                        Demand // over the protection time
	OrderUpTo, OrderQty               inventory.Quantity
	Availability, AvailabilityWithout float64 // P(demand ≤ position) with and without the order
	Value                             inventory.Money
	Waits                             bool     // a job waits for it
	Why                               []Cause  // adds up to OrderQty
	Week, Through                     []Demand // by week of the horizon: in it, and from today to its end
}

// Order is one order to one supplier.
type Order struct {
	Supplier               inventory.Supplier
	PlaceBy                inventory.Date
	Moved                  string // why it goes on another day than its usual one: "a day early: holiday on Mon 5 Apr"; empty: it does not
	Earlier                int    // orders that were placed with the supplier before
	Lines                  []Line
	Goods, Carriage, Total inventory.Money
}

// Line is one item of an order.
type Line struct {
	Item         inventory.Item
	SupplierCode string
	Packs        int
	PackQty, Qty inventory.Quantity
	Price, Total inventory.Money
	ExpectedOn   inventory.Date
	Why          []Cause
}

// Cause is one reason for a part of an order's quantity. What is there already
// counts with a minus.
type Cause struct {
	Cause CauseKind
	Qty   inventory.Quantity
}

// CauseKind names a reason.
type CauseKind string

// The reasons, in the order in which they are told.
const (
	ForBooked    CauseKind = "booked jobs"
	ForFleet     CauseKind = "fleet due by hours"
	ForReturning CauseKind = "customers' units due"
	ForWalkIn    CauseKind = "walk-ins"
	ForReadiness CauseKind = "to reach readiness"
	OnShelf      CauseKind = "on the shelf"
	Coming       CauseKind = "on order"
	WholePacks   CauseKind = "whole packs"
)

// Readiness is the share of the jobs between this order's delivery and the next
// one's that find all their critical lines on their own day.
type Readiness struct {
	Target, WithoutOrder, WithOrder float64
	Aim                             float64 // what the order is chosen for, the target or more
	StandardError                   float64 // of the two; 0: exact
	Exact                           bool
	Jobs                            float64 // expected in the longest protection time
}

// Point is one point of the curve of readiness against stock value.
type Point struct {
	StockValue inventory.Money
	Readiness  float64
}
