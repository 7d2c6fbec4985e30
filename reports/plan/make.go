package plan

import (
	"slices"
	"strings"

	"circlip/inventory"
	"circlip/inventory/audit"
)

// Make plans a shop: the jobs to come, what they take, how much to hold so
// that they are ready, what to order for it, the kits of the booked jobs, and
// the oil. The same shop gives the same plan, on however many processors.
func Make(shop inventory.Shop, o Options) (Plan, error) {
	out, err := Foresee(shop)
	if err != nil {
		return Plan{}, err
	}
	kits, oil := besides(out.view.Shop, shop)
	v, s := out.view, out.shelf
	h := v.holdings(s)
	target := shop.Settings.Readiness
	if o.Readiness > 0 {
		target = o.Readiness
	}
	c, err := s.choose(h, target)
	if err != nil {
		return Plan{}, err
	}
	items := v.items(s, h, c)
	orders := v.orders(s, items)
	with := s.ready(c.joint, items)
	p := Plan{
		Workshop: shop.Settings.Workshop, AsOf: shop.AsOf, Currency: shop.Settings.Currency,
		Weeks:     v.weeks(),
		Arrivals:  v.arrivals(out.jobs, out.types),
		Orders:    orders,
		Items:     items,
		Readiness: Readiness{Target: target, Aim: s.aim(target), WithoutOrder: c.without.Workshop, WithOrder: with.Workshop, StandardError: with.StandardError, Exact: with.Exact, Jobs: out.protected()},
	}
	for _, point := range c.curve {
		p.Curve = append(p.Curve, Point{inventory.Money(point.Value), point.Readiness})
	}
	v.demands(&p, out, o.EveryWeek)
	v.sayWhatIsLeftOut()
	p.Warnings, p.Kits = v.warnings, <-kits
	p.Chase, p.Expiring = v.chases(p.Kits), v.expiring(s)
	audited := <-oil
	p.Oil, p.OilByUse = audited.periods, audited.services
	return p, nil
}

// protected is how many jobs are expected within the longest protection time.
func (o *Outlook) protected() float64 {
	spans := o.shelf.spans(rhythm.lasts)
	if len(spans) == 0 {
		return 0
	}
	sum := 0.0
	for _, weeks := range o.jobs {
		for week, by := range weeks {
			sum += by.sum() * spans[len(spans)-1].Share(week)
		}
	}
	return sum
}

// oil is where the fluids went.
type oil struct {
	periods  []audit.Period
	services []audit.Service
}

// besides starts what needs nothing of the forecast: the kits of the booked
// jobs, with the needs that were learnt of what is not always taken, and the oil, held to the book's bill of
// materials. It is there when it is asked for.
func besides(taught, book inventory.Shop) (kits chan []inventory.JobKit, fluids chan oil) {
	kits, fluids = make(chan []inventory.JobKit, 1), make(chan oil, 1)
	go func() { kits <- inventory.Kits(certain(taught, book)) }()
	go func() { fluids <- oil{audit.Periods(book), audit.Services(book)} }()
	return kits, fluids
}

// certain is a taught shop in which a line that the book has every job take is
// taken by every job: one that a few jobs went without is still laid out for all.
func certain(taught, book inventory.Shop) inventory.Shop {
	taught.BOM = slices.Clone(taught.BOM)
	for i, line := range book.BOM {
		if line.Need >= 1 {
			taught.BOM[i].Need = 1
		}
	}
	return taught
}

// items lists every item with what is there and what to order.
func (v *view) items(s *shelf, h held, c chosen) []Item {
	items := make([]Item, len(v.Items))
	for i, item := range v.Items {
		items[i] = Item{
			Item: item, OnHand: h.onHand[i], SetAside: h.setAside[i], Free: h.onHand[i] - h.setAside[i],
			OnOrder: h.onOrder[i], Usable: h.usable[i], Position: h.position(i),
			ProtectUntil: s.rhythms[i].protectUntil,
			OrderUpTo:    h.position(i),
			Value:        v.value(item, s.rhythms[i]),
			Waits:        s.waits[i],
		}
		if c.packs[i] > 0 {
			items[i].OrderQty = inventory.Quantity(c.packs[i]) * s.rhythms[i].offer.PackQty
		}
	}
	return items
}

// value is the stock of an item at its lots' own costs.
func (v *view) value(item inventory.Item, r rhythm) inventory.Money {
	var sum inventory.Money
	for _, l := range v.lotsOf[item.Code] {
		sum += v.valueOf(l, item, r)
	}
	return sum
}

// sayWhatIsLeftOut warns of what the book asks for and the plan does not do.
func (v *view) sayWhatIsLeftOut() {
	set := v.Settings
	if !set.Learn {
		v.warn("learn = no: the book's own figures stand as they are, and walk-ins are not forecast")
	}
	if set.Budget != nil {
		v.warn("budget = %s: orders are not held to a weekly budget yet", set.Currency.Format(*set.Budget))
	}
	if set.FlammableLimitL != nil {
		v.warn("flammable_limit_l = %v: orders are not held to it yet; look at what is in the cabinet before sending", *set.FlammableLimitL)
	}
	if len(v.kitted) > 0 {
		slices.Sort(v.kitted)
		v.warn("parts that nobody sells by themselves are planned as the kits that hold them: %s", strings.Join(v.kitted, ", "))
	}
	v.sayNotOffered()
}

// sayNotOffered warns of what jobs take and nobody sells.
func (v *view) sayNotOffered() {
	for i, item := range v.Items {
		if len(v.offers[item.Code]) == 0 && v.needed[i] {
			if _, only := v.onlyInKit(item.Code); !only {
				v.warn("%s is needed and no supplier offers it: it cannot be ordered, and the readiness with the order counts it as it is", item.Code)
			}
		}
	}
}
