package audit

import (
	"cmp"
	"slices"

	"circlip/inventory"
)

// weeksAhead is how far booked jobs are looked at for a weighing that would
// tell more.
const weeksAhead = 6

// ledger is what a shop tells of its audited items, each on an account of its
// own.
type ledger struct {
	shop     inventory.Shop
	accounts map[string]*account
	services []string
	models   []string
}

// account is what is known of one item, everything by day, so that a period is
// a stretch of each list.
type account struct {
	item     inventory.Item
	settings inventory.Settings
	counts   []inventory.Count                        // one a day
	parts    map[inventory.Date][]inventory.CountPart // of the counts
	known    map[string]float64                       // tares of containers, in g
	packs    []inventory.Quantity                     // that the item is on offer in
	orders   []inventory.OrderLine
	received []dated
	other    []dated
	recorded []dated
	takings  []taking
	coming   []taking
	bill     []inventory.BOMLine
	cards    []card // of done jobs, see learn
	learnt   cardLesson
}

// dated is an amount of an item on a day.
type dated struct {
	on  inventory.Date
	qty inventory.Quantity
}

// openLedger has an empty account of every item of the scope.
func openLedger(shop inventory.Shop, scope Scope) ledger {
	l := ledger{shop: shop, accounts: map[string]*account{}}
	for _, i := range shop.Items {
		if scope.holds(i) {
			l.accounts[i.Code] = &account{item: i, settings: shop.Settings}
		}
	}
	return l
}

// gather is all that a shop tells of the items of a scope.
func gather(shop inventory.Shop, scope Scope) ledger {
	l := openLedger(shop, scope)
	for _, s := range shop.Services {
		l.services = append(l.services, s.Code)
	}
	for _, m := range shop.Models {
		l.models = append(l.models, m.Code)
	}
	l.counted()
	l.weighed()
	l.offered()
	l.moved()
	l.bench()
	for _, a := range l.accounts {
		a.learn()
	}
	return l
}

// counted is every item's counts by day, the opening shelf being the first. Of
// two on a day the later in the book stands.
func (l ledger) counted() {
	for _, counts := range [][]inventory.Count{l.shop.Openings, l.shop.Counts} {
		for _, c := range counts {
			if a := l.accounts[c.Item]; a != nil {
				a.counts = append(a.counts, c)
			}
		}
	}
	for _, a := range l.accounts {
		slices.SortStableFunc(a.counts, func(x, y inventory.Count) int { return cmp.Compare(x.Date, y.Date) })
		a.counts = lastOfEachDay(a.counts)
	}
}

// weighed is the containers that the counts were made of.
func (l ledger) weighed() {
	for _, p := range l.shop.CountParts {
		if a := l.accounts[p.Item]; a != nil {
			if a.parts == nil {
				a.parts = map[inventory.Date][]inventory.CountPart{}
			}
			a.parts[p.Date] = append(a.parts[p.Date], p)
		}
	}
	tares := make(map[string]float64, len(l.shop.Containers))
	for _, c := range l.shop.Containers {
		tares[c.Code] = c.TareG
	}
	for _, a := range l.accounts {
		a.known = tares
	}
}

// offered is how the items are bought, and what is on its way.
func (l ledger) offered() {
	for _, o := range l.shop.Offers {
		if a := l.accounts[o.Item]; a != nil && o.PackQty > 0 && !slices.Contains(a.packs, o.PackQty) {
			a.packs = append(a.packs, o.PackQty)
			slices.Sort(a.packs)
		}
	}
	for _, o := range l.shop.Orders {
		if a := l.accounts[o.Item]; a != nil {
			a.orders = append(a.orders, o)
		}
	}
	for _, b := range l.shop.BOM {
		if a := l.accounts[b.Item]; a != nil && (b.To.IsZero() || b.To > l.shop.AsOf) {
			a.bill = append(a.bill, b)
		}
	}
}

// moved is what came onto the shelf or left it on record, for no job.
func (l ledger) moved() {
	for _, r := range l.shop.Receipts {
		if a := l.accounts[r.Item]; a != nil {
			a.received = append(a.received, dated{r.Date, r.Qty})
		}
	}
	for _, o := range l.shop.Others {
		if a := l.accounts[o.Item]; a != nil {
			a.other = append(a.other, dated{o.Date, o.Qty})
		}
	}
	for _, a := range l.accounts {
		byDay(a.received)
		byDay(a.other)
	}
}

func byDay(moves []dated) {
	slices.SortStableFunc(moves, func(x, y dated) int { return cmp.Compare(x.on, y.on) })
}

// bench is what jobs were allowed and what their cards say, and what booked
// ones will be allowed.
func (l ledger) bench() {
	spoiled := map[string][]inventory.JobUse{}
	for _, s := range l.shop.Spoils {
		if a := l.accounts[s.Item]; a != nil {
			a.recorded = append(a.recorded, dated{s.Date, s.Qty})
			spoiled[s.Job] = append(spoiled[s.Job], inventory.JobUse{Item: s.Item, Qty: s.Qty})
		}
	}
	cards := make(map[string][]inventory.JobUse, len(l.shop.Jobs))
	for first, u := range l.shop.Uses {
		if first > 0 && l.shop.Uses[first-1].Job == u.Job {
			continue
		}
		end := first + 1
		for end < len(l.shop.Uses) && l.shop.Uses[end].Job == u.Job {
			end++
		}
		cards[u.Job] = append(cards[u.Job], l.shop.Uses[first:end]...)
	}
	bills := newBills(l.shop, func(item string) bool { return l.accounts[item] != nil })
	for i, j := range l.shop.Jobs {
		switch {
		case j.State == inventory.Done:
			l.done(&l.shop.Jobs[i], bills.of(j, j.DoneOn), cards[j.Code], spoiled[j.Code])
		case j.State == inventory.Booked && j.BenchDate <= l.shop.AsOf+7*weeksAhead:
			day := max(j.BenchDate, l.shop.AsOf)
			for _, b := range bills.of(j, day) {
				a := l.accounts[b.Item]
				a.coming = append(a.coming, a.allowed(b, day, &j))
			}
		}
	}
	for _, a := range l.accounts {
		byDay(a.recorded)
		for _, takings := range [][]taking{a.takings, a.coming} {
			slices.SortStableFunc(takings, func(x, y taking) int { return cmp.Compare(x.on, y.on) })
		}
	}
}

// done puts one done job into the accounts of what its bill or its card has.
func (l ledger) done(j *inventory.Job, lines []inventory.BOMLine, uses, spoiled []inventory.JobUse) {
	for _, u := range uses {
		if a := l.accounts[u.Item]; a != nil {
			a.recorded = append(a.recorded, dated{j.DoneOn, u.Qty})
		}
	}
	for len(lines) > 0 { // lines are by item
		item, n := lines[0].Item, 1
		for n < len(lines) && lines[n].Item == item {
			n++
		}
		used, spoilt := sumOf(uses, item), sumOf(spoiled, item)
		l.accounts[item].took(j, lines[:n], used, spoilt, len(uses) > 0)
		lines = lines[n:]
	}
}

func sumOf(uses []inventory.JobUse, item string) (sum inventory.Quantity) {
	for _, u := range uses {
		if u.Item == item {
			sum += u.Qty
		}
	}
	return sum
}

// took adds what a done job was allowed of the account's item, line by line,
// and shares out what its card says. What need not have been taken is known not
// to have been where the card has other things and not this.
func (a *account) took(j *inventory.Job, lines []inventory.BOMLine, used, spoilt inventory.Quantity, hasCard bool) {
	first, allowed := len(a.takings), 0.0
	for _, b := range lines {
		t := a.allowed(b, j.DoneOn, j)
		t.onCard = used > 0 || (hasCard && b.Need < 1)
		allowed += t.standard
		a.takings = append(a.takings, t)
	}
	recorded := a.item.Measure.Number(used + spoilt)
	for i := range a.takings[first:] {
		t := &a.takings[first+i]
		if allowed > 0 {
			t.recorded = recorded * t.standard / allowed
		} else {
			t.recorded = recorded / float64(len(lines))
		}
	}
	if used > 0 {
		a.cards = append(a.cards, a.cardOf(lines, used))
	}
}

// allowed is what one line of the bill allows a job. Its variance is that of
// being taken or not, and of pieces also that of one more being needed; how
// much a fluid itself varies is learnt later.
func (a *account) allowed(b inventory.BOMLine, on inventory.Date, j *inventory.Job) taking {
	need := min(max(b.Need, 0), 1)
	amount := a.item.Measure.Number(b.Qty) * (1 + b.Waste)
	t := taking{on: on, job: j.Code, service: b.Service, model: j.Model, person: j.DoneBy, amount: amount, standard: amount * need, certain: b.Need >= 1}
	t.variance = t.standard * (amount - t.standard)
	if a.item.Measure == inventory.Each {
		_, more := b.Sizes(inventory.Each)
		t.variance += need * more * (1 - more)
	}
	return t
}

func lastOfEachDay(counts []inventory.Count) []inventory.Count {
	kept := counts[:0]
	for i, c := range counts {
		if i+1 == len(counts) || counts[i+1].Date != c.Date {
			kept = append(kept, c)
		}
	}
	return kept
}

// attribution is what the estimates of an item are made from.
func (l ledger) attribution(item inventory.Item) attribution {
	a := l.accounts[item.Code]
	return attribution{takings: a.takings, services: l.services, models: l.models, coming: a.coming, bill: a.bill, asOf: l.shop.AsOf}
}
