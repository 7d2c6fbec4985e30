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
	expect   int    // takings
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
	for _, s := range l.shop.Spoils {
		if a := l.accounts[s.Item]; a != nil {
			a.recorded = append(a.recorded, dated{s.Date, s.Qty})
		}
	}
	bills := newBills(l.shop, l.accounts)
	cards := l.jobCards()
	done, booked := l.jobsByDay()
	for _, j := range done { // so that no list grows in steps
		for _, allowed := range bills.of(j, j.DoneOn) {
			allowed.expect += len(allowed.lines)
		}
	}
	for _, a := range l.accounts {
		a.takings = make([]taking, 0, a.expect)
		a.cards = make([]card, 0, a.expect)
		a.recorded = slices.Grow(a.recorded, a.expect)
	}
	for _, j := range done {
		l.done(j, bills.of(j, j.DoneOn), cards[j.Code])
	}
	for _, j := range booked {
		day := max(j.BenchDate, l.shop.AsOf)
		for _, allowed := range bills.of(j, day) {
			for i := range allowed.lines {
				allowed.coming = append(allowed.coming, allowed.allow(&allowed.lines[i], day, j))
			}
		}
	}
	for _, a := range l.accounts {
		byDay(a.recorded)
	}
}

// jobsByDay is the jobs that were done, and those that are booked for the next
// weeks.
func (l ledger) jobsByDay() (done, booked []*inventory.Job) {
	for i := range l.shop.Jobs {
		switch j := &l.shop.Jobs[i]; {
		case j.State == inventory.Done:
			done = append(done, j)
		case j.State == inventory.Booked && j.BenchDate <= l.shop.AsOf+7*weeksAhead:
			booked = append(booked, j)
		}
	}
	slices.SortStableFunc(done, func(x, y *inventory.Job) int { return cmp.Compare(x.DoneOn, y.DoneOn) })
	slices.SortStableFunc(booked, func(x, y *inventory.Job) int {
		return cmp.Compare(max(x.BenchDate, l.shop.AsOf), max(y.BenchDate, l.shop.AsOf))
	})
	return done, booked
}

// jobCard is what a job's card says was used, and what was spoiled beside it.
type jobCard struct {
	used    []inventory.JobUse
	spoiled []inventory.Spoiled
}

func (l ledger) jobCards() map[string]jobCard {
	cards := make(map[string]jobCard, len(l.shop.Jobs))
	for first, end := 0, 0; first < len(l.shop.Uses); first = end {
		job := l.shop.Uses[first].Job // most often a job's uses lie together
		for end < len(l.shop.Uses) && l.shop.Uses[end].Job == job {
			end++
		}
		c := cards[job]
		if c.used == nil {
			c.used = l.shop.Uses[first:end:end]
		} else {
			c.used = append(c.used, l.shop.Uses[first:end]...)
		}
		cards[job] = c
	}
	for _, s := range l.shop.Spoils {
		c := cards[s.Job]
		c.spoiled = append(c.spoiled, s)
		cards[s.Job] = c
	}
	return cards
}

// done puts one done job into the accounts of what its bill or its card has.
func (l ledger) done(j *inventory.Job, allowed []allowance, card jobCard) {
	for i := range allowed {
		allowed[i].used, allowed[i].spoilt = 0, 0
	}
	next := 0
	for _, u := range card.used {
		a := l.accounts[u.Item]
		if a == nil {
			continue
		}
		a.recorded = append(a.recorded, dated{j.DoneOn, u.Qty})
		if i := at(allowed, a, next); i >= 0 {
			allowed[i].used += u.Qty
			next = i + 1
		}
	}
	for _, s := range card.spoiled {
		if i := at(allowed, l.accounts[s.Item], 0); i >= 0 {
			allowed[i].spoilt += s.Qty
		}
	}
	for i := range allowed {
		allowed[i].took(j, len(card.used) > 0)
	}
}

// at is where an account stands among allowances, looked for from where it
// should be; below zero: nowhere.
func at(allowed []allowance, a *account, from int) int {
	for n := range allowed {
		if i := (from + n) % len(allowed); allowed[i].account == a {
			return i
		}
	}
	return -1
}

// took adds what a done job was allowed of an item, line by line, and shares
// out what its card says. What need not have been taken is known not to have
// been where the card has other things and not this.
func (a *allowance) took(j *inventory.Job, hasCard bool) {
	first, sum := len(a.takings), 0.0
	for i := range a.lines {
		b := &a.lines[i]
		t := a.allow(b, j.DoneOn, j)
		t.onCard = a.used > 0 || (hasCard && b.Need < 1)
		sum += t.standard
		a.takings = append(a.takings, t)
	}
	recorded := a.item.Measure.Number(a.used + a.spoilt)
	for i := range a.takings[first:] {
		t := &a.takings[first+i]
		if sum > 0 {
			t.recorded = recorded * t.standard / sum
		} else {
			t.recorded = recorded / float64(len(a.lines))
		}
	}
	if a.used > 0 {
		a.cards = append(a.cards, a.card())
	}
}

// allow is what one line of the bill allows a job. Its variance is that of
// being taken or not, and of pieces also that of one more being needed; how
// much a fluid itself varies is learnt later.
func (a *account) allow(b *inventory.BOMLine, on inventory.Date, j *inventory.Job) taking {
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
