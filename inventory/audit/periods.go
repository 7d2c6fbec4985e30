package audit

import (
	"cmp"
	"math"
	"slices"

	"circlip/inventory"
)

// Periods lists every period between successive counts of every fluid (items
// measured in ml or g), the opening shelf being the first count, in the order
// of the shop's items and then of time.
func Periods(shop inventory.Shop) []Period {
	ledger := gather(shop, Fluids)
	var periods []Period
	for _, item := range shop.Items {
		if Fluids.holds(item) {
			periods = append(periods, ledger.periods(item)...)
		}
	}
	return periods
}

// periods are those between an item's successive counts.
func (l ledger) periods(item inventory.Item) (periods []Period) {
	counts := l.counts[item.Code]
	for i := 1; i < len(counts); i++ {
		periods = append(periods, l.period(item, counts[i-1], counts[i]))
	}
	return periods
}

// attribution is what the estimates of an item are made from.
func (l ledger) attribution(item inventory.Item) attribution {
	return attribution{takings: l.standard[item.Code]}
}

// dated is an amount of an item on a day.
type dated struct {
	on  inventory.Date
	qty inventory.Quantity
}

type ledger struct {
	counts   map[string][]inventory.Count // by item, by date, one a day
	received map[string][]dated
	recorded map[string][]dated
	standard map[string][]taking
}

func gather(shop inventory.Shop, scope Scope) ledger {
	l := ledger{map[string][]inventory.Count{}, map[string][]dated{}, map[string][]dated{}, map[string][]taking{}}
	for _, c := range slices.Concat(shop.Openings, shop.Counts) {
		l.counts[c.Item] = append(l.counts[c.Item], c)
	}
	for item, counts := range l.counts {
		slices.SortStableFunc(counts, func(a, b inventory.Count) int { return cmp.Compare(a.Date, b.Date) })
		l.counts[item] = lastOfEachDay(counts)
	}
	for _, r := range shop.Receipts {
		l.received[r.Item] = append(l.received[r.Item], dated{r.Date, r.Qty})
	}
	measures := map[string]inventory.Measure{}
	for _, i := range shop.Items {
		measures[i.Code] = i.Measure
	}
	doneOn := map[string]inventory.Date{}
	bills := newBills(shop, func(item string) bool { return (measures[item] == inventory.Each) == (scope == Parts) })
	for _, j := range shop.Jobs {
		if j.State != inventory.Done {
			continue
		}
		doneOn[j.Code] = j.DoneOn
		for _, b := range bills.of(j) {
			amount := measures[b.Item].Number(b.Qty) * (1 + b.Waste) * b.Need
			l.standard[b.Item] = append(l.standard[b.Item], taking{on: j.DoneOn, job: j.Code, service: b.Service, model: j.Model, person: j.DoneBy, standard: amount})
		}
	}
	for _, u := range shop.Uses {
		if on, done := doneOn[u.Job]; done {
			l.recorded[u.Item] = append(l.recorded[u.Item], dated{on, u.Qty})
		}
	}
	return l
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

func (l ledger) period(item inventory.Item, from, to inventory.Count) Period {
	p := Period{Item: item.Code, From: from.Date, To: to.Date, Opening: from.Qty, Closing: to.Qty}
	p.Received = within(l.received[item.Code], from.Date, to.Date)
	p.Recorded = within(l.recorded[item.Code], from.Date, to.Date)
	allowed := 0.0
	jobs := map[string]bool{}
	for _, t := range l.standard[item.Code] {
		if from.Date < t.on && t.on <= to.Date {
			allowed += t.standard
			jobs[t.job] = true
		}
	}
	p.Jobs = len(jobs)
	p.Standard = inventory.Quantity(math.Round(allowed * float64(item.Measure.Steps())))
	return p
}

func within(amounts []dated, from, to inventory.Date) inventory.Quantity {
	var sum inventory.Quantity
	for _, d := range amounts {
		if from < d.on && d.on <= to {
			sum += d.qty
		}
	}
	return sum
}
