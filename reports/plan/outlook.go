package plan

import (
	"fmt"
	"sync"

	"circlip/forecast"
	"circlip/forecast/stock"
	"circlip/inventory"
)

// Outlook is what is to come at a workshop, whatever lies on its shelf: the
// jobs foreseen and what they take.
type Outlook struct {
	view    *view
	futures []forecast.Future
	streams []forecast.Stream
	types   *jobTypes
	jobs    [][]bySource // by type and week
	shelf   *shelf
	joint   func() (*stock.Joint, error) // made when first asked for
	whole   func() (*stock.Joint, error) // the same with all effort
	takings func() *forecast.Takings
}

// Foresee works out what is to come at a shop. Its lots and orders play no
// part in it.
func Foresee(shop inventory.Shop) (*Outlook, error) {
	v, err := newView(shop)
	if err != nil {
		return nil, err
	}
	o := &Outlook{view: v, types: v.newJobTypes()}
	if o.futures, err = v.futures(); err != nil {
		return nil, err
	}
	o.streams = v.walkIns()
	o.jobs = v.expectedJobs(o.futures, o.streams, o.types)
	o.shelf = v.newShelf(o.futures, o.streams, o.types, v.expectedUse(o.jobs, o.types))
	o.joint = sync.OnceValues(func() (*stock.Joint, error) { return o.shelf.lawWith(brief) })
	o.whole = sync.OnceValues(o.shelf.law)
	o.takings = sync.OnceValue(func() *forecast.Takings {
		return forecast.NewTakings(o.futures, o.streams, len(v.Items), o.shelf.lines(o.types), o.types.byWeek)
	})
	return o, nil
}

// law is the joint law of what the coming jobs take.
func (s *shelf) law() (*stock.Joint, error) { return s.lawWith(stock.Effort{}) }

// brief is the effort of a plan that only has to order: its levels rest on each
// item's exact law anyway, and shortages meet by some hundreds of scenarios.
var brief = stock.Effort{States: 768, Batches: 4, PerBatch: 192}

func (s *shelf) lawWith(effort stock.Effort) (*stock.Joint, error) {
	joint, err := stock.New(s.problem, effort)
	if err != nil {
		return nil, fmt.Errorf("readiness: %w", err)
	}
	return joint, nil
}

// Packs is how many packs of each item, in the order of the shop's items, to
// order from its usual supplier so that the readiness is reached from a
// position: usable on hand and on order, less what is owed, in steps. It may be
// called from several goroutines.
func (o *Outlook) Packs(position []inventory.Quantity, readiness float64) ([]int, error) {
	joint, err := o.joint()
	if err != nil {
		return nil, err
	}
	return o.shelf.packs(joint, position, o.shelf.aim(readiness)), nil
}

// Usual is, by item of the shop, the offer that sets its rhythm; false where
// nobody offers it.
func (o *Outlook) Usual(item int) (inventory.Offer, bool) {
	return o.shelf.rhythms[item].offer, o.shelf.offered[item]
}

// Services is the law of how many jobs with each service of the shop come in a
// week of the horizon.
func (o *Outlook) Services(week int) []forecast.PMF {
	lines := make([][]forecast.Line, len(o.types.types))
	for at, t := range o.types.types {
		for _, s := range t.services {
			lines[at] = append(lines[at], forecast.Line{Item: s, Need: 1, Size: forecast.Certain(1)})
		}
	}
	n := len(o.view.Services)
	t := forecast.NewTakings(o.futures, o.streams, n, lines, o.types.byWeek)
	return t.Laws(o.view.cal.InWeek(week), everyItem(n))
}

// Use is the law of what is taken in a week of the horizon of some items, by
// their places in the shop, in Step of each.
func (o *Outlook) Use(week int, items []int) []forecast.PMF {
	return o.takings().Laws(o.view.cal.InWeek(week), items)
}

// Step is what one step of an item's laws is, in steps of its measure.
func (o *Outlook) Step(item int) inventory.Quantity { return o.shelf.step[item] }
