package learn

import (
	"math"
	"slices"
)

// Ahead is the booking curve: how long before their bench date jobs are booked.
// The zero Ahead has every job booked on its day.
type Ahead struct {
	Jobs  int // that it rests on
	Basis Basis

	beyond []float64 // by days from 0: share booked more days ahead than that
	tail   float64   // what is left of the share from day to day after those
}

const (
	aheadWeight = 5  // jobs booked on their day that the curve starts from
	aheadTail   = 10 // jobs left from which on the curve is geometric
	enoughAhead = 30 // jobs from which on the curve is learnt
	mostAhead   = 730
)

// AheadOf learns the booking curve from the days between booking and bench date
// of past jobs; a job entered after its bench date counts as booked on it, one
// more than two years ahead as two years. The curve is the share of the jobs,
// with 5 more booked on their day; where fewer than 10 are booked longer ahead
// it falls geometrically, at the rate of their mean.
func AheadOf(days []int) Ahead {
	sorted := slices.Clone(days)
	for i, d := range sorted {
		sorted[i] = min(max(0, d), mostAhead)
	}
	slices.Sort(sorted)
	curve := Ahead{Jobs: len(days), Basis: aheadBasis(len(days))}
	total := float64(len(days) + aheadWeight)
	left, from := 0, 0
	for {
		left = countFrom(sorted, from)
		if left < aheadTail {
			break
		}
		from++
		curve.beyond = append(curve.beyond, float64(countFrom(sorted, from))/total)
	}
	curve.end(sorted[len(sorted)-left:], from, total)
	return curve
}

func aheadBasis(jobs int) Basis {
	switch {
	case jobs == 0:
		return FromBook
	case jobs < enoughAhead:
		return TooFew
	}
	return Learnt
}

// countFrom is how many of rising numbers are at least so many.
func countFrom(sorted []int, least int) int {
	at, _ := slices.BinarySearch(sorted, least)
	return len(sorted) - at
}

// end adds the geometric tail of the jobs booked at least from days ahead.
func (a *Ahead) end(rest []int, from int, total float64) {
	if len(rest) == 0 {
		return
	}
	excess := 0.0
	for _, d := range rest {
		excess += float64(d - from)
	}
	mean := excess / float64(len(rest))
	a.tail = mean / (1 + mean)
	if len(a.beyond) == 0 { // too few jobs for anything else
		a.beyond = []float64{float64(len(rest)) / total * a.tail}
	}
}

// Beyond is the share of jobs that are booked more than so many days ahead of
// their bench date. It never rises with the days; before 0 it is 1.
func (a Ahead) Beyond(days int) float64 {
	last := len(a.beyond) - 1
	switch {
	case days < 0:
		return 1
	case last < 0:
		return 0
	case days <= last:
		return a.beyond[days]
	}
	return a.beyond[last] * math.Pow(a.tail, float64(days-last))
}
