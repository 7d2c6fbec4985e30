package learn

import (
	"math"
	"slices"
	"sort"
)

// Receipt is one delivery: the days that the supplier quoted and those it took.
type Receipt struct{ Quoted, Took int }

// Lead is the law of a supplier's days from order to delivery. Days rise, are
// never negative, and Prob sums to 1.
type Lead struct {
	Days []int
	Prob []float64

	Quoted   int     // as asked for
	Late     float64 // mean of days beyond the quoted ones, shrunk towards none
	Receipts int     // that the law rests on
	LeftOut  int     // receipts before their order
	Basis    Basis
}

const (
	leadWeight   = 10  // receipts that the quoted days are worth for the mean lateness
	enoughLeads  = 10  // receipts from which on there is a law and not a shift
	quotedWeight = 1.0 // receipts on the quoted day that the law starts from
)

// leadSmear is how a receipt counts for the days around its own: what came on
// Tuesday might as well have come on Monday or Wednesday.
var leadSmear = []struct {
	off    int
	weight float64
}{{-1, 0.25}, {0, 0.5}, {1, 0.25}}

// LeadOf learns the law of the days from order to delivery for quoted days,
// from what past deliveries took beyond their own quote. Below 10 receipts it is
// the quoted days shifted by the mean lateness, shrunk as if 10 more had come on
// time; from 10 on each receipt's lateness is as likely as the other, smeared
// over a day either side, with one more on time (a Dirichlet posterior mean).
func LeadOf(quoted int, receipts []Receipt) Lead {
	lead := Lead{Quoted: max(0, quoted)}
	var late []int
	for _, r := range receipts {
		if r.Took < 0 {
			lead.LeftOut++
			continue
		}
		late = append(late, r.Took-max(0, r.Quoted))
	}
	sum := 0.0
	for _, days := range late {
		sum += float64(days)
	}
	lead.Receipts = len(late)
	lead.Late = sum / float64(len(late)+leadWeight)
	switch {
	case len(late) == 0:
		lead.fill(map[int]float64{lead.Quoted: 1})
	case len(late) < enoughLeads:
		lead.Basis = TooFew
		lead.fill(aroundDays(float64(lead.Quoted) + lead.Late))
	default:
		lead.Basis = Learnt
		lead.fill(lead.smeared(late))
	}
	return lead
}

// aroundDays is the law on the two whole days around a mean.
func aroundDays(mean float64) map[int]float64 {
	mean = max(0, mean)
	day := math.Floor(mean)
	return map[int]float64{int(day): 1 - (mean - day), int(day) + 1: mean - day}
}

func (l *Lead) smeared(late []int) map[int]float64 {
	total := float64(len(late)) + quotedWeight
	law := map[int]float64{l.Quoted: quotedWeight / total}
	for _, days := range late {
		for _, s := range leadSmear {
			law[max(0, l.Quoted+days+s.off)] += s.weight / total
		}
	}
	return law
}

func (l *Lead) fill(law map[int]float64) {
	for day, p := range law {
		if p > 0 {
			l.Days = append(l.Days, day)
		}
	}
	slices.Sort(l.Days)
	for _, day := range l.Days {
		l.Prob = append(l.Prob, law[day])
	}
}

// Mean is the expected number of days.
func (l Lead) Mean() float64 {
	sum := 0.0
	for i, day := range l.Days {
		sum += l.Prob[i] * float64(day)
	}
	return sum
}

// Quantile is the least number of days within which a delivery comes with at
// least that probability; 0 for a law without days.
func (l Lead) Quantile(prob float64) int {
	if len(l.Days) == 0 {
		return 0
	}
	sums := make([]float64, len(l.Prob))
	sum := 0.0
	for i, p := range l.Prob {
		sum += p
		sums[i] = sum
	}
	i := sort.SearchFloat64s(sums, unit(prob)-1e-12)
	return l.Days[min(i, len(l.Days)-1)]
}
