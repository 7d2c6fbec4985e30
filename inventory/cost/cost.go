// Package cost says what stock is worth and where its money went: what each
// item cost last and on the mean, what the shelf is worth, what was spent with
// each supplier and on each service, what parts a job takes, and what was lost.
// It is pure: the ledger's movements go in, amounts come out.
//
// Words: a lot has one cost a unit, from its delivery to its end. The value of
// a lot is what is on hand of it at that cost, rounded once, half away from
// zero, to the minor unit. The value of a move is the value of its lot after it
// less that before it. So every amount is within one minor unit of its quantity
// at its cost, and all of them together are exact:
//
//	opening + bought + found + kits − used − wasted − missing = stock value
//
// Spend is goods received. What suppliers ask for bringing them is not
// recorded, and is in none of these figures.
//
//	account, err := cost.Of(shop, records)
//	if err != nil {
//		return err
//	}
//	fmt.Println(account.Currency.Format(account.Stock))
package cost

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"circlip/inventory"
)

// Records are the ledger of a workshop up to a day.
type Records struct {
	Lots  []inventory.Lot // every lot that ever was, with what is on hand at the end of the day
	Moves []Move          // of each lot in the order in which they happened
}

// Move is one movement of the ledger, seen from the shelf.
type Move struct {
	On        inventory.Date
	Item, Lot string
	Place     inventory.Place    // the other end
	Ref       string             // the job or the order it belongs to
	Supplier  string             // of the order; empty: not known, or no delivery
	Undoes    bool               // it is the mirror of an earlier one
	Qty       inventory.Quantity // above zero onto the shelf, below zero off it
}

// Account is what stock was worth and where its money went up to a day. Lists
// are in the order of their keys, months in time.
type Account struct {
	Workshop string
	Currency inventory.Currency
	AsOf     inventory.Date

	Stock     inventory.Money // what the shelf is worth
	Expired   inventory.Money // of it, lots that may no longer be used
	Flow      Flow            // how it came to that
	Items     []Item          // those that ever were on the shelf
	Months    []MonthFlow     // from that of the first move to that of AsOf, none left out
	Suppliers []SupplierSpend
	Services  []ServiceSpend
	Jobs      []JobCost
	Done      Done

	Estimated int // lots without a cost of their own, valued at the item's usual offer or its share of a kit's
	Unpriced  int // lots without a cost of their own that nobody offers: worth nothing here
}

// SupplierSpend is what was received from a supplier in a month, less what went
// back. A delivery of no known order has a supplier without a code.
type SupplierSpend struct {
	Month    Month
	Supplier inventory.Supplier
	Spend    inventory.Money
}

// ServiceSpend is the parts that jobs took for a service in a month. What went
// to a job that the book does not know has a service without a code.
type ServiceSpend struct {
	Month   Month
	Service inventory.Service
	Spend   inventory.Money
}

// Of makes the account of a shop from its ledger. It fails with
// inventory.ErrInvalid where the two do not belong together, or where a lot's
// movements do not come to what is on hand of it.
func Of(shop inventory.Shop, r Records) (Account, error) {
	shelf, err := newShelf(shop, r.Lots)
	if err != nil {
		return Account{}, err
	}
	values, err := shelf.values(r.Moves)
	if err != nil {
		return Account{}, err
	}
	a := Account{Workshop: shop.Settings.Workshop, Currency: shop.Settings.Currency, AsOf: shop.AsOf}
	a.Estimated, a.Unpriced = shelf.uncosted()
	a.Expired = shelf.expired(shop.AsOf)
	a.Items = shelf.items(shop, r.Moves)
	for _, i := range a.Items {
		a.Stock += i.Value
	}
	a.Months = months(shop.AsOf, r.Moves, values)
	for _, m := range a.Months {
		a.Flow = a.Flow.plus(m.Flow)
	}
	a.Suppliers = bySupplier(shop, r.Moves, values)
	book := newJobBook(shop)
	taken := book.taken(r.Moves, values)
	a.Services = byService(shop, taken)
	a.Jobs, a.Done = book.costs(taken, r.Moves)
	return a, nil
}

// lotKey names a lot.
type lotKey struct{ item, lot string }

// shelfLot is a lot and what values it.
type shelfLot struct {
	inventory.Lot
	measure   inventory.Measure
	cost      inventory.UnitCost // its own, or the item's usual offer
	estimated bool
}

// worth is the value of a quantity of the lot.
func (l *shelfLot) worth(q inventory.Quantity) inventory.Money {
	return inventory.Value(q, l.measure, l.cost)
}

// shelf is every lot, by its name.
type shelf struct {
	lots  []*shelfLot
	named map[lotKey]*shelfLot
}

// newShelf gives every lot its measure and its cost.
func newShelf(shop inventory.Shop, lots []inventory.Lot) (*shelf, error) {
	items := make(map[string]inventory.Item, len(shop.Items))
	for _, i := range shop.Items {
		items[i.Code] = i
	}
	usual := usualCosts{shop, map[string]inventory.UnitCost{}}
	s := &shelf{named: make(map[lotKey]*shelfLot, len(lots))}
	for _, l := range lots {
		item, known := items[l.Item]
		if !known {
			return nil, fmt.Errorf("cost of item %s lot %s: %w: found no such item in the book, expected book and ledger of one moment; read both again",
				l.Item, l.Code, inventory.ErrInvalid)
		}
		of := &shelfLot{Lot: l, measure: item.Measure, cost: l.UnitCost}
		if of.cost == 0 {
			of.cost = usual.of(item)
			of.estimated = of.cost != 0
		}
		s.lots = append(s.lots, of)
		s.named[lotKey{l.Item, l.Code}] = of
	}
	return s, nil
}

// uncosted counts the lots whose cost nobody stated: those that an offer values
// and those that none does.
func (s *shelf) uncosted() (estimated, unpriced int) {
	for _, l := range s.lots {
		switch {
		case l.estimated:
			estimated++
		case l.cost == 0:
			unpriced++
		}
	}
	return estimated, unpriced
}

// expired is what the lots are worth that may not be used on the day.
func (s *shelf) expired(on inventory.Date) (worth inventory.Money) {
	for _, l := range s.lots {
		if !l.UsableOn(on) {
			worth += l.worth(l.OnHand)
		}
	}
	return worth
}

// usualCosts answers what one of an item usually costs, and remembers it.
type usualCosts struct {
	shop  inventory.Shop
	known map[string]inventory.UnitCost
}

// of is the cost of an item, zero where nobody offers it.
func (u usualCosts) of(item inventory.Item) inventory.UnitCost {
	c, known := u.known[item.Code]
	if !known {
		c = inventory.UsualCost(u.shop, item)
		u.known[item.Code] = c
	}
	return c
}

// values is the value of every move, below zero where it left the shelf.
func (s *shelf) values(moves []Move) ([]inventory.Money, error) {
	values := make([]inventory.Money, len(moves))
	onHand := make(map[lotKey]inventory.Quantity, len(s.lots))
	for n, m := range moves {
		key := lotKey{m.Item, m.Lot}
		lot, known := s.named[key]
		if !known {
			return nil, fmt.Errorf("cost of item %s lot %s: %w: found a movement on %s of a lot that is not there, expected lots and movements of one moment; read both again",
				m.Item, m.Lot, inventory.ErrInvalid, m.On)
		}
		before := onHand[key]
		onHand[key] = before + m.Qty
		values[n] = lot.worth(before+m.Qty) - lot.worth(before)
	}
	for _, l := range s.lots {
		if found := onHand[lotKey{l.Item, l.Code}]; found != l.OnHand {
			return nil, fmt.Errorf("cost of item %s lot %s: %w: found movements that come to %s %s, expected the %s on hand; prove the ledger with circlip check",
				l.Item, l.Code, inventory.ErrInvalid, l.measure.Format(found), l.measure, l.measure.Format(l.OnHand))
		}
	}
	return values, nil
}

// spendKey is a month and a supplier or a service.
type spendKey struct {
	month Month
	code  string
}

// inTime lists keys by month, then code.
func inTime(spend map[spendKey]inventory.Money) []spendKey {
	return slices.SortedFunc(maps.Keys(spend), func(a, b spendKey) int {
		return cmp.Or(a.month.compare(b.month), cmp.Compare(a.code, b.code))
	})
}

// bySupplier adds up deliveries, less returns.
func bySupplier(shop inventory.Shop, moves []Move, values []inventory.Money) []SupplierSpend {
	spend := map[spendKey]inventory.Money{}
	for n, m := range moves {
		if m.Place == inventory.FromOrder {
			spend[spendKey{MonthOf(m.On), m.Supplier}] += values[n]
		}
	}
	suppliers := map[string]inventory.Supplier{}
	for _, s := range shop.Suppliers {
		suppliers[s.Code] = s
	}
	var list []SupplierSpend
	for _, k := range inTime(spend) {
		supplier, known := suppliers[k.code]
		if !known {
			supplier.Code = k.code
		}
		list = append(list, SupplierSpend{k.month, supplier, spend[k]})
	}
	return list
}
