package audit

import (
	"iter"
	"math"
	"sort"

	"circlip/inventory"
)

// periods are those between an item's successive counts.
func (l ledger) periods(item inventory.Item) []Period {
	a := l.accounts[item.Code]
	var periods []Period
	for i := 1; i < len(a.counts); i++ {
		periods = append(periods, a.period(a.counts[i-1], a.counts[i]))
	}
	a.explain(periods)
	return periods
}

// period sums up what lies between two counts. What happens on the day of a
// count lies before it.
func (a *account) period(from, to inventory.Count) Period {
	p := Period{Item: a.item.Code, From: from.Date, To: to.Date, Opening: from.Qty, Closing: to.Qty}
	p.Received = within(a.received, from.Date, to.Date)
	p.Other = within(a.other, from.Date, to.Date)
	p.Recorded = within(a.recorded, from.Date, to.Date)
	lo := sort.Search(len(a.takings), func(i int) bool { return a.takings[i].on > from.Date })
	hi := sort.Search(len(a.takings), func(i int) bool { return a.takings[i].on > to.Date })
	var allowed, variance, unread, uncarded float64
	for _, takings := range byJob(a.takings[lo:hi]) {
		job := tookOf(takings)
		p.Jobs++
		if job.certain && !job.onCard {
			p.NoCard++
			uncarded += job.standard
		}
		allowed += job.standard
		variance += job.variance
		unread += a.learnt.unread(job)
	}
	p.Standard, p.Uncarded = a.item.Measure.Nearest(allowed), a.item.Measure.Nearest(uncarded)
	p.JobSpread, p.CardSpread = math.Sqrt(variance), math.Sqrt(unread)
	p.CountSpread = math.Sqrt(a.countVariance(from, to))
	return p
}

// byJob is the takings of each job, which lie together, behind the index of the
// first of them.
func byJob(takings []taking) iter.Seq2[int, []taking] {
	return func(yield func(int, []taking) bool) {
		for from, to := 0, 0; from < len(takings); from = to {
			for to = from + 1; to < len(takings) && takings[to].job == takings[from].job; to++ {
			}
			if !yield(from, takings[from:to]) {
				return
			}
		}
	}
}

// tookOf is the takings of one job together.
func tookOf(takings []taking) taking {
	job := takings[0]
	for _, t := range takings[1:] {
		job.standard += t.standard
		job.variance += t.variance
		job.recorded += t.recorded
		job.certain = job.certain || t.certain
		job.onCard = job.onCard && t.onCard
	}
	return job
}

// within sums up what lies after the day from until the day to.
func within(moves []dated, from, to inventory.Date) (sum inventory.Quantity) {
	first := sort.Search(len(moves), func(i int) bool { return moves[i].on > from })
	for _, m := range moves[first:] {
		if m.on > to {
			break
		}
		sum += m.qty
	}
	return sum
}
