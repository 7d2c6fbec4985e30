package inventory

import (
	"fmt"
	"slices"
	"strings"
)

// Tried is what a job that is not booked yet would find.
type Tried struct {
	Kit    JobKit // on the day asked for, without a job's code
	First  Date   // the first working day on which it is ready or coming; zero: none found
	Sooner Date   // an earlier one, if Order goes with the next orders; zero: there is none
	Order  []Wanted
}

// Wanted is what would have to go with the next order for a job on a day.
type Wanted struct {
	Item     string
	Qty      Quantity // what the job lacks, not yet in whole packs
	Besides  Quantity // what booked jobs lack of it, who come first
	Supplier string
	Offered  string // what is ordered: the item, or a kit that holds it
	ComesOn  Date
}

// Try answers what a job of these services on a model could be promised on a
// day. A job that is booked keeps what it was promised, whatever its bench
// date: the new one is promised what is left after all of them, as Kits would.
//
// First is looked for from the day on, Monday to Friday without the workshop's
// holidays, for as many weeks as the horizon has; it counts the shelf and what
// is on order. Sooner also counts an order placed now with the usual offer of
// each critical item that lacks (see UsualOffer): on the next day on which the
// supplier takes one, its lead later. What booked jobs lack of these items is
// told beside it, since it must be ordered too.
//
// A service or model that the book does not know, or that do not fit each
// other, and a day before AsOf are errors.
func Try(shop Shop, services []string, model string, on Date) (Tried, error) {
	if err := checkTry(shop, services, model, on); err != nil {
		return Tried{}, err
	}
	bill, shelf := NewBill(shop), newPromises(shop)
	lacked := map[string]Quantity{}
	for _, kit := range shelf.kitsOf(shop, bill) {
		for _, l := range kit.Lines {
			lacked[l.Item] += l.Short
		}
	}
	kitOn := func(day Date) JobKit {
		return shelf.fork().kit(bill, Job{Services: services, Model: model, BenchDate: day}, day)
	}
	tried := Tried{Kit: kitOn(on)}
	days, market := NewCalendar(shop), newMarket(shop)
	for day := on; day < on+Date(7*shop.Settings.HorizonWeeks) && tried.First.IsZero(); day++ {
		if !days.works(day) {
			continue
		}
		kit := kitOn(day)
		if kit.State != Short {
			tried.First = day
		} else if tried.Sooner.IsZero() {
			if order, helps := market.orderFor(kit, day, lacked); helps {
				tried.Sooner, tried.Order = day, order
			}
		}
	}
	return tried, nil
}

// checkTry returns the first reason for which nothing can be tried, or nil.
func checkTry(shop Shop, services []string, model string, on Date) error {
	at := slices.IndexFunc(shop.Models, func(m Model) bool { return m.Code == model })
	switch {
	case len(services) == 0:
		return fmt.Errorf("%w: found no service, expected at least one of the book's", ErrInvalid)
	case at < 0:
		return fmt.Errorf("model %w: found %q, expected one of the book's: %s", ErrNotFound, model, listed(shop.Models, func(m Model) string { return m.Code }))
	case on < shop.AsOf:
		return fmt.Errorf("%w: found the day %s, expected %s or later", ErrInvalid, on, shop.AsOf)
	}
	for _, code := range services {
		k := slices.IndexFunc(shop.Services, func(s Service) bool { return s.Code == code })
		if k < 0 {
			return fmt.Errorf("service %w: found %q, expected one of the book's: %s", ErrNotFound, code, listed(shop.Services, func(s Service) string { return s.Code }))
		}
		if of, family := shop.Services[k].Family, shop.Models[at].Family; of != family {
			return fmt.Errorf("%w: found service %q, which is for family %q, and model %q of family %q; expected a service of the model's family", ErrInvalid, code, of, model, family)
		}
	}
	return nil
}

// listed names a few of the codes that there are.
func listed[T any](all []T, code func(T) string) string {
	const few = 12
	var names []string
	for _, x := range all {
		names = append(names, code(x))
	}
	if len(names) > few {
		names = append(names[:few], "…")
	}
	return strings.Join(names, ", ")
}

// orderFor is what to order now so that a kit which is short on a day is not,
// or that no order comes in time.
func (m market) orderFor(kit JobKit, day Date, lacked map[string]Quantity) ([]Wanted, bool) {
	var order []Wanted
	for _, l := range kit.Lines {
		if !l.Critical || l.Short == 0 {
			continue
		}
		if k := slices.IndexFunc(order, func(w Wanted) bool { return w.Item == l.Item }); k >= 0 {
			order[k].Qty += l.Short
			continue
		}
		w, offered := m.soonest(l.Item)
		if !offered || w.ComesOn > day {
			return nil, false
		}
		w.Qty, w.Besides = l.Short, lacked[l.Item]
		order = append(order, w)
	}
	return order, true
}
