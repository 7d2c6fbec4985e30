package plan

import (
	"cmp"
	"fmt"
	"slices"

	"circlip/inventory"
)

// Pick is packs of an item that a person orders from a supplier.
type Pick struct {
	Supplier, Item string
	Packs          int                // 0: none
	PackQty        inventory.Quantity // of the supplier's packs; 0: the smallest it sells
}

// Judged is what an order comes to as a person made it: the price of every line
// by its price breaks, without the reasons; carriage; the jobs that are ready
// with it; and each limit and rule that it breaks, in a sentence.
type Judged struct {
	Orders    []Order
	Readiness Readiness
	Broken    []string
}

// Judge is Outlook.Judge for a shop of which there is no outlook yet.
func Judge(shop inventory.Shop, o Options, picks []Pick) (Judged, error) {
	out, err := Foresee(shop)
	if err != nil {
		return Judged{}, err
	}
	return out.Judge(o, picks)
}

// Judge tells what picks, all orders of the week together, come to. Options and
// settings say what they are held against. It fails where a supplier or item is
// not known, or the supplier does not offer the item in such packs.
func (o *Outlook) Judge(opt Options, picks []Pick) (Judged, error) {
	b, err := o.newBuyer()
	if err != nil {
		return Judged{}, err
	}
	buys, broken, err := b.picked(picks)
	if err != nil {
		return Judged{}, err
	}
	j := Judged{Orders: b.orders(buys), Readiness: b.readiness(buys), Broken: broken}
	j.Readiness.Target, j.Readiness.Aim = o.target(opt)
	j.Readiness.Jobs = o.protected()
	j.Broken = append(j.Broken, b.brokenTerms(j.Orders, o.view.budget(opt))...)
	j.Broken = append(j.Broken, b.brokenLimits(quantities(buys, len(b.position)))...)
	return j, nil
}

// picked prices picks, those of the same packs together, and says which rules
// of their offers they break.
func (b *buyer) picked(picks []Pick) (buys []buy, broken []string, err error) {
	for _, p := range picks {
		item, offer, err := b.find(p)
		if err != nil {
			return nil, nil, err
		}
		same := func(w buy) bool { return w.item == item && b.source(item).small(w.offer) == offer }
		if at := slices.IndexFunc(buys, same); at >= 0 {
			buys[at] = b.asked(item, offer, buys[at].packs+p.Packs)
		} else if p.Packs > 0 {
			buys = append(buys, b.asked(item, offer, p.Packs))
		}
	}
	slices.SortStableFunc(buys, func(x, y buy) int { return cmp.Compare(x.item, y.item) })
	for _, w := range buys {
		broken = append(broken, b.brokenRules(w)...)
	}
	return buys, broken, nil
}

// asked is so many packs of an offer for few packs, or of one of its breaks: the
// cheapest that comes in time and keeps the rules, as the plan would buy them;
// where there is none, the breaks that they reach.
func (b *buyer) asked(item, small, packs int) buy {
	src := b.source(item)
	var ways []buy
	for k, o := range src.offers {
		if src.small(k) == small && src.inTime(k) && sells(o, packs) {
			ways = append(ways, b.priced(item, k, packs))
		}
	}
	if len(ways) == 0 {
		return b.priced(item, small, packs)
	}
	return slices.MinFunc(ways, func(x, y buy) int {
		return cmp.Or(cmp.Compare(x.total, y.total), cmp.Compare(src.priced[x.offer].Arrives, src.priced[y.offer].Arrives), cmp.Compare(x.offer, y.offer))
	})
}

// sells reports whether an offer's own rules allow so many packs.
func sells(o inventory.Offer, packs int) bool {
	return packs >= max(o.FromPacks, o.MinPacks) && packs%max(1, o.Multiple) == 0
}

// find is the item and the offer for few packs that a pick means.
func (b *buyer) find(p Pick) (item, offer int, err error) {
	item, known := b.view.itemAt[p.Item]
	if !known {
		return 0, 0, fmt.Errorf("item %s: not in the book, expected one of its %d items", p.Item, len(b.view.Items))
	}
	if _, known := b.supplierAt[p.Supplier]; !known {
		return 0, 0, fmt.Errorf("supplier %s: not in the book, expected one of its %d suppliers", p.Supplier, len(b.view.Suppliers))
	}
	if p.Packs < 0 || p.Packs > mostPacks {
		return 0, 0, fmt.Errorf("%s from %s: found %d packs, expected 0 to %d", p.Item, p.Supplier, p.Packs, mostPacks)
	}
	offer = -1
	for k, o := range b.view.offers[p.Item] {
		if o.Supplier != p.Supplier || p.PackQty != 0 && o.PackQty != p.PackQty {
			continue
		}
		if offer < 0 || o.PackQty < b.source(item).offers[offer].PackQty {
			offer = k
		}
	}
	if offer < 0 {
		packs := ""
		if p.PackQty != 0 {
			packs = " in packs of " + b.amount(item, p.PackQty)
		}
		return 0, 0, fmt.Errorf("supplier %s does not offer %s%s: expected an offer in the book", p.Supplier, p.Item, packs)
	}
	return item, b.source(item).small(offer), nil
}

// mostPacks is more packs than anybody orders.
const mostPacks = 1_000_000

// brokenRules are the supplier's rules for packs that a line breaks, and whether
// it comes too late for the jobs that the order is for.
func (b *buyer) brokenRules(w buy) []string {
	src := b.source(w.item)
	o, code := src.offers[w.offer], b.view.Items[w.item].Code
	var broken []string
	if least := max(o.MinPacks, o.FromPacks); w.packs < least {
		broken = append(broken, fmt.Sprintf("%s from %s: %d packs, the supplier sells no fewer than %d", code, o.Supplier, w.packs, least))
	}
	if o.Multiple > 1 && w.packs%o.Multiple != 0 {
		broken = append(broken, fmt.Sprintf("%s from %s: %d packs, the supplier sells them in multiples of %d", code, o.Supplier, w.packs, o.Multiple))
	}
	if !src.inTime(w.offer) {
		broken = append(broken, fmt.Sprintf("%s from %s: comes on %s, the readiness counts it as there on %s", code, o.Supplier, src.rhythms[w.offer].expectedOn, src.rhythms[src.usual].expectedOn))
	}
	return broken
}

// brokenTerms are the suppliers' minimums and the budget that orders break.
func (b *buyer) brokenTerms(orders []Order, budget *inventory.Money) []string {
	var broken []string
	spent := inventory.Money(0)
	for _, o := range orders {
		spent += o.Total
		if o.Goods < o.Supplier.MinOrder {
			broken = append(broken, fmt.Sprintf("order to %s: goods of %s, its minimum is %s", o.Supplier.Code, b.money(o.Goods), b.money(o.Supplier.MinOrder)))
		}
	}
	if budget != nil && spent > *budget {
		broken = append(broken, fmt.Sprintf("budget: the orders come to %s, carriage included, %s may be spent", b.money(spent), b.money(*budget)))
	}
	return broken
}

// brokenLimits are what would age out, and what the cabinet does not take.
func (b *buyer) brokenLimits(ordered []inventory.Quantity) []string {
	var broken []string
	for i, qty := range ordered {
		if most, _ := b.keeping.most(i, qty); qty > most {
			broken = append(broken, fmt.Sprintf("shelf life of %s: %s ordered, no more than %s are used before %s in nine cases of ten", b.view.Items[i].Code, b.amount(i, qty), b.amount(i, most), b.keeping.expires[i]))
		}
	}
	filled := b.cabinet.limit - b.cabinet.room(ordered)
	if b.cabinet.limited && filled > b.cabinet.limit && filled > b.cabinet.filled {
		broken = append(broken, fmt.Sprintf("flammable litres: %s on hand, on order and ordered, the limit is %s", litres(filled), litres(b.cabinet.limit)))
	}
	return broken
}
