package plan

import (
	"slices"
	"strings"

	"circlip/inventory"
	"circlip/inventory/audit"
	"circlip/reports/lessons"
)

// Make plans a shop: the jobs to come, what they take, how much to hold so
// that they are ready, what to order for it, the kits of the booked jobs, and
// the oil. The same shop gives the same plan, on however many processors.
func Make(shop inventory.Shop, o Options) (Plan, error) {
	p, _, err := MakeWith(shop, o)
	return p, err
}

// MakeWith is Make, with the outlook that the plan rests on: to judge what a
// person makes of its orders, see Outlook.Judge.
func MakeWith(shop inventory.Shop, o Options) (Plan, *Outlook, error) {
	out, err := Foresee(shop)
	if err != nil {
		return Plan{}, nil, err
	}
	kits, oil := besides(out.view.Shop, shop)
	v := out.view
	b, err := out.newBuyer()
	if err != nil {
		return Plan{}, nil, err
	}
	target, aim := out.target(o)
	curve := b.curve()
	c, err := b.choose(aim, v.budget(o))
	if err != nil {
		return Plan{}, nil, err
	}
	items := b.items(c)
	p := Plan{
		Workshop: shop.Settings.Workshop, AsOf: shop.AsOf, Currency: shop.Settings.Currency,
		Weeks:     v.weeks(),
		Arrivals:  v.arrivals(out.jobs, out.types),
		Orders:    b.explained(c.basket.buys, items),
		Items:     items,
		Readiness: b.readiness(c.basket.buys),
	}
	p.Readiness.Target, p.Readiness.Aim, p.Readiness.Jobs = target, aim, out.protected()
	p.Limits = b.limits(c, v.budget(o))
	p.Forward = b.forward(p.Orders, c.basket.buys, v.budget(o), aim)
	p.Curve = <-curve
	v.demands(&p, out, o.EveryWeek)
	b.sayLimits(c, p.Limits)
	b.sayWhatIsLeftOut()
	p.Warnings, p.Kits = v.warnings, <-kits
	p.Bench = inventory.Bench(shop, p.Kits)
	p.Chase, p.Expiring = v.chases(p.Kits), v.expiring(out.shelf)
	p.Oil = <-oil
	return p, out, nil
}

// target is the readiness asked for, and what is aimed at for it.
func (o *Outlook) target(opt Options) (target, aim float64) {
	target = o.view.Settings.Readiness
	if opt.Readiness > 0 {
		target = opt.Readiness
	}
	return target, o.shelf.aim(target)
}

// budget is the most to spend; nil: no limit.
func (v *view) budget(o Options) *inventory.Money {
	if o.Budget != nil {
		return o.Budget
	}
	return v.Settings.Budget
}

// curve starts the curve of readiness from an empty shelf.
func (b *buyer) curve() chan []Point {
	done := make(chan []Point, 1)
	go func() {
		var points []Point
		for _, point := range b.joint.Walk(nil).Points(curvePoints) {
			points = append(points, Point{inventory.Money(point.Value), point.Readiness})
		}
		done <- points
	}()
	return done
}

// readiness is that without and with what is bought.
func (b *buyer) readiness(buys []buy) Readiness {
	ordered := make([]inventory.Quantity, len(b.position))
	without := b.ready(ordered)
	for _, w := range buys {
		ordered[w.item] += w.qty
	}
	with := b.ready(ordered)
	return Readiness{WithoutOrder: without.Workshop, WithOrder: with.Workshop, StandardError: with.StandardError, Exact: with.Exact}
}

// explained is the orders with the reasons of each line.
func (b *buyer) explained(buys []buy, items []Item) []Order {
	all := b.orders(buys)
	for _, o := range all {
		for k := range o.Lines {
			o.Lines[k].Why = items[b.view.itemAt[o.Lines[k].Item.Code]].Why
		}
	}
	return all
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

// besides starts what needs nothing of the forecast: the kits of the booked
// jobs, with the needs that were learnt of what is not always taken, and the oil, held to the book's bill of
// materials. It is there when it is asked for.
func besides(taught, book inventory.Shop) (kits chan []inventory.JobKit, fluids chan audit.Audit) {
	kits, fluids = make(chan []inventory.JobKit, 1), make(chan audit.Audit, 1)
	go func() { kits <- inventory.Kits(certain(taught, book)) }()
	go func() { fluids <- audit.Of(book, audit.Fluids) }()
	return kits, fluids
}

// Taught is the shop that kits are promised from, with what its past teaches of
// how often a part is needed: whoever asks inventory for a promise beside a plan
// gets the plan's.
func Taught(shop inventory.Shop) inventory.Shop {
	return certain(lessons.Of(shop).Teach(shop), shop)
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
func (b *buyer) items(c chosen) []Item {
	v, h := b.view, b.held
	items := make([]Item, len(v.Items))
	for i, item := range v.Items {
		items[i] = Item{
			Item: item, OnHand: h.onHand[i], SetAside: h.setAside[i], Free: h.onHand[i] - h.setAside[i],
			OnOrder: h.onOrder[i], Usable: h.usable[i], Position: b.position[i],
			ProtectUntil: b.rhythms[i].protectUntil,
			OrderUpTo:    b.position[i],
			Value:        v.value(item, b.rhythms[i]),
			Waits:        b.waits[i],
		}
	}
	for _, w := range c.basket.buys {
		items[w.item].OrderQty = w.qty
		items[w.item].OrderUpTo += w.qty
		items[w.item].Why = b.why(w.item, items[w.item], b.usual(w.item, c.packs[w.item]))
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
func (b *buyer) sayWhatIsLeftOut() {
	v := b.view
	set := v.Settings
	if !set.Learn {
		v.warn("learn = no: the book's own figures stand as they are, and walk-ins are not forecast")
	}
	if len(v.kitted) > 0 {
		slices.Sort(v.kitted)
		v.warn("parts that nobody sells by themselves are planned as the kits that hold them: %s", strings.Join(v.kitted, ", "))
	}
	v.sayNotOffered()
	b.sayBeyondHorizon()
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

// sayBeyondHorizon warns where what is ordered has to last for longer than jobs
// are foreseen: it would be too little for them, and nothing else would tell.
func (b *buyer) sayBeyondHorizon() {
	v, last, longest := b.view, inventory.Date(b.view.cal.End())-1, -1
	for i, r := range b.rhythms {
		beyond := b.offered[i] && v.needed[i] && r.protectUntil > last
		if beyond && (longest < 0 || r.protectUntil > b.rhythms[longest].protectUntil) {
			longest = i
		}
	}
	if longest < 0 {
		return
	}
	until := b.rhythms[longest].protectUntil
	more := int(until-last+week-1) / week
	v.warn("horizon_weeks = %d: jobs are foreseen until %s, and what is ordered of %s must last until %s; no order and no readiness here counts the jobs after the horizon: set horizon_weeks to %d or more",
		v.Settings.HorizonWeeks, last, v.Items[longest].Code, until, len(v.cal.Weeks)+more)
}
