package plan

import (
	"fmt"

	"circlip/inventory"
)

// limits tells what each limit took off the order that was wanted, and what
// readiness that costs beside what is ordered.
func (b *buyer) limits(c chosen, budget *inventory.Money) []Limit {
	all := append(b.agedCuts(c), b.cabinetCut(c)...)
	if budget != nil && c.before.total > int64(*budget) {
		all = append(all, Limit{
			Kind: BudgetLimit, Allowed: b.money(*budget), Wanted: b.money(inventory.Money(c.before.total)),
			Cut: b.cuts(quantities(c.before.buys, len(b.position)), quantities(c.basket.buys, len(b.position))),
		})
	}
	ordered := quantities(c.basket.buys, len(b.position))
	with := b.ready(ordered).Workshop
	for k := range all {
		more := quantities(c.basket.buys, len(b.position))
		for _, cut := range all[k].Cut {
			more[b.view.itemAt[cut.Item.Code]] += cut.Qty
		}
		all[k].Without, all[k].With = b.ready(more).Workshop, with
	}
	return append(all, b.minimums(c.basket, with)...)
}

// quantities is what is bought by item, of so many.
func quantities(buys []buy, items int) []inventory.Quantity {
	qty := make([]inventory.Quantity, items)
	for _, w := range buys {
		qty[w.item] += w.qty
	}
	return qty
}

// cuts are the items of which less is kept than was wanted.
func (b *buyer) cuts(wanted, kept []inventory.Quantity) []Cut {
	var cuts []Cut
	for i, item := range b.view.Items {
		if kept[i] < wanted[i] {
			cuts = append(cuts, Cut{item, wanted[i] - kept[i]})
		}
	}
	return cuts
}

// agedCuts is one limit for each item that would age out.
func (b *buyer) agedCuts(c chosen) []Limit {
	var all []Limit
	for _, cut := range b.cuts(b.ordered(c.wanted), b.ordered(c.aged)) {
		i := b.view.itemAt[cut.Item.Code]
		wanted := b.usual(i, c.wanted[i])
		most, _ := b.keeping.most(i, wanted)
		all = append(all, Limit{
			Kind: ShelfLifeLimit, Of: cut.Item.Code, Wanted: b.amount(i, wanted), Cut: []Cut{cut},
			Allowed: fmt.Sprintf("%s, used before %s in nine cases of ten", b.amount(i, most), b.keeping.expires[i]),
		})
	}
	return all
}

// cabinetCut is what the cabinet does not take.
func (b *buyer) cabinetCut(c chosen) []Limit {
	cuts := b.cuts(b.ordered(c.aged), b.ordered(c.kept))
	if len(cuts) == 0 {
		return nil
	}
	return []Limit{{
		Kind: FlammableLimit, Cut: cuts,
		Allowed: litres(b.cabinet.limit) + " on hand, on order and ordered",
		Wanted:  litres(b.cabinet.limit - b.cabinet.room(b.ordered(c.aged))),
	}}
}

// minimums are the orders that stay below what their supplier takes.
func (b *buyer) minimums(bought basket, with float64) []Limit {
	var all []Limit
	for _, at := range bought.short {
		s := b.view.Suppliers[at]
		var others []buy
		goods := inventory.Money(0)
		for _, w := range bought.buys {
			if b.source(w.item).offers[w.offer].Supplier != s.Code {
				others = append(others, w)
				continue
			}
			goods += inventory.Money(w.total)
		}
		all = append(all, Limit{
			Kind: MinimumLimit, Of: s.Code, Allowed: "goods of " + b.money(s.MinOrder) + " or more", Wanted: "goods of " + b.money(goods),
			Without: with, With: b.ready(quantities(others, len(b.position))).Workshop,
		})
	}
	return all
}

func (b *buyer) money(m inventory.Money) string {
	c := b.view.Settings.Currency
	return c.Code + " " + c.Format(m)
}

// amount is a quantity of an item with its unit.
func (b *buyer) amount(item int, q inventory.Quantity) string {
	m := b.view.Items[item].Measure
	return m.Format(q) + " " + string(m)
}

// litres is a quantity of a fluid.
func litres(q inventory.Quantity) string {
	return fmt.Sprintf("%.1f l", inventory.Millilitre.Number(q)/1000)
}

// sayLimits warns of what limits took off, of what may age out all the same,
// and of orders that a supplier may not take.
func (b *buyer) sayLimits(c chosen, limits []Limit) {
	v := b.view
	for k, l := range limits {
		if l.Kind == MinimumLimit {
			s := v.supplier[l.Of]
			limits[k].Warning = v.warn("order to %s: %s are below its minimum of %s; add what will be needed next, or wait: without the order %s of the jobs are ready instead of %s", s.Name, l.Wanted, b.money(s.MinOrder), percent(l.With), percent(l.Without))
			continue
		}
		of := string(l.Kind)
		if l.Of != "" {
			of += " of " + l.Of
		}
		limits[k].Warning = v.warn("%s: wanted %s, allowed %s; %s of the jobs are ready, with what was cut it would be %s", of, l.Wanted, l.Allowed, percent(l.With), percent(l.Without))
	}
	for _, w := range c.basket.buys {
		if most, strict := b.keeping.most(w.item, w.qty); strict < most {
			v.warn("%s: %s are ordered, which booked jobs need; all but %s may age out on %s", v.Items[w.item].Code, b.amount(w.item, w.qty), b.amount(w.item, strict), b.keeping.expires[w.item])
		}
	}
	if b.cabinet.limited && b.cabinet.filled > b.cabinet.limit {
		v.warn("flammable litres: %s are on hand and on order already, above the limit of %s", litres(b.cabinet.filled), litres(b.cabinet.limit))
	}
	if c.basket.apart > 0 {
		v.warn("the choice of suppliers may cost up to %s more than the cheapest there is; it was too large to try all", b.money(inventory.Money(c.basket.apart)))
	}
}

func percent(share float64) string { return fmt.Sprintf("%.1f %%", 100*share) }
