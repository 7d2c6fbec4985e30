// Package audit holds what left the shelf against what the jobs account for.
// It is pure: a shop in, periods out.
//
// For a fluid, between two counts: drawn is what left the shelf, standard what
// the bill of materials allows the jobs done, recorded what the job cards say.
// Drawn − recorded is unrecorded; recorded − standard is over standard.
//
//	for _, p := range audit.Periods(shop) {
//		fmt.Println(p.Item, p.From, p.To, p.Unrecorded())
//	}
package audit

import (
	"cmp"
	"math"
	"slices"

	"circlip/inventory"
)

// Period is one item between two counts: after the day From, up to and with
// the day To. Quantities are in the item's steps.
type Period struct {
	Item             string
	From, To         inventory.Date
	Opening, Closing inventory.Quantity // as counted
	Received         inventory.Quantity
	Standard         inventory.Quantity // of the jobs done, shares of jobs and waste included
	Recorded         inventory.Quantity // on the job cards
	Jobs             int                // done, whose bill has the item
}

// Drawn is what left the shelf by the counts; below zero, more was found than
// can have been there.
func (p Period) Drawn() inventory.Quantity { return p.Opening + p.Received - p.Closing }

// Unrecorded is what left the shelf and stands on no job card.
func (p Period) Unrecorded() inventory.Quantity { return p.Drawn() - p.Recorded }

// OverStandard is what the cards say beyond the bill of materials.
func (p Period) OverStandard() inventory.Quantity { return p.Recorded - p.Standard }

// Service is how many jobs of a service took an item in the audited periods,
// and how much the bill of materials allows each.
type Service struct {
	Item, Service  string
	Jobs           int
	StandardPerJob float64 // in the item's measure, mean over the jobs
}

// Periods lists every period between successive counts of every fluid (items
// measured in ml or g), the opening shelf being the first count, in the order
// of the shop's items and then of time.
func Periods(shop inventory.Shop) []Period {
	ledger := gather(shop)
	var periods []Period
	for _, item := range shop.Items {
		if item.Measure == inventory.Each {
			continue
		}
		counts := ledger.counts[item.Code]
		for i := 1; i < len(counts); i++ {
			periods = append(periods, ledger.period(item, counts[i-1], counts[i]))
		}
	}
	return periods
}

// Services sums the jobs done inside the audited periods by item and service,
// in the order of items and services.
func Services(shop inventory.Shop) []Service {
	ledger := gather(shop)
	var services []Service
	for _, item := range shop.Items {
		counts := ledger.counts[item.Code]
		if item.Measure == inventory.Each || len(counts) < 2 {
			continue
		}
		first, last := counts[0].Date, counts[len(counts)-1].Date
		for _, s := range shop.Services {
			row := Service{Item: item.Code, Service: s.Code}
			total := 0.0
			for _, t := range ledger.standard[item.Code] {
				if t.service == s.Code && t.on > first && t.on <= last {
					row.Jobs++
					total += t.amount
				}
			}
			if row.Jobs > 0 {
				row.StandardPerJob = total / float64(row.Jobs)
				services = append(services, row)
			}
		}
	}
	return services
}

// dated is an amount of an item on a day.
type dated struct {
	on  inventory.Date
	qty inventory.Quantity
}

// taking is what the bill allows one done job of an item.
type taking struct {
	on      inventory.Date
	job     string
	service string
	amount  float64 // in the measure
}

type ledger struct {
	counts   map[string][]inventory.Count // by item, by date, one a day
	received map[string][]dated
	recorded map[string][]dated
	standard map[string][]taking
}

func gather(shop inventory.Shop) ledger {
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
	bills := newBills(shop, func(item string) bool { return measures[item] != inventory.Each })
	for _, j := range shop.Jobs {
		if j.State != inventory.Done {
			continue
		}
		doneOn[j.Code] = j.DoneOn
		for _, b := range bills.of(j) {
			amount := measures[b.Item].Number(b.Qty) * (1 + b.Waste) * b.Need
			l.standard[b.Item] = append(l.standard[b.Item], taking{j.DoneOn, j.Code, b.Service, amount})
		}
	}
	for _, u := range shop.Uses {
		if on, done := doneOn[u.Job]; done && measures[u.Item] != inventory.Each {
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
			allowed += t.amount
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
