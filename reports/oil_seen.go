package reports

import (
	"math"
	"slices"

	"circlip/inventory/audit"
)

// How soon a steady loss is said to be seen, and on how many of the latest
// periods that rests.
const (
	seenWithin  = 6
	seenPeriods = 26
)

// seenPerWeek is the steady loss a week, in the item's measure, that the CUSUM
// signals after seenWithin counts on average; 0 where nothing is known of the
// spread. The spread is what is to be expected, or what the periods showed
// where that is more: half the mean square of successive differences, which a
// lasting loss leaves alone.
func seenPerWeek(of audit.ItemAudit) float64 {
	from := max(0, len(of.Periods)-seenPeriods)
	var sigmas, days []float64
	squares := 0.0
	for i, p := range of.Periods[from:] {
		sigmas = append(sigmas, markOf(of, from+i).Sigma)
		days = append(days, float64(p.Days()))
		if i > 0 {
			step := of.Item.Measure.Number(p.Excess() - of.Periods[from+i-1].Excess())
			squares += step * step
		}
	}
	if len(sigmas) == 0 || median(days) == 0 {
		return 0
	}
	spread := median(sigmas)
	if n := len(sigmas) - 1; n >= 5 {
		spread = max(spread, math.Sqrt(squares/float64(2*n)))
	}
	return shiftSeen(seenWithin) * spread * 7 / median(days)
}

// shiftSeen is the shift of the mean, in sigmas, that the audit's CUSUM signals
// after so many periods on average.
func shiftSeen(periods float64) float64 {
	low, high := oilLimits().K, 20.0
	for range 60 {
		if middle := (low + high) / 2; cusumDelay(middle) > periods {
			low = middle
		} else {
			high = middle
		}
	}
	return high
}

// cusumDelay is about how many periods the one-sided CUSUM takes to signal a
// shift: Siegmund, Sequential Analysis (1985), eq. 2.57, with the limit moved
// by 1.166 for the steps being whole periods.
func cusumDelay(shift float64) float64 {
	limits := oilLimits()
	drift, limit := shift-limits.K, limits.H+1.166
	if math.Abs(drift) < 1e-9 {
		return limit * limit
	}
	return (math.Exp(-2*drift*limit) + 2*drift*limit - 1) / (2 * drift * drift)
}

// median is the middle of some numbers; 0 of none.
func median(numbers []float64) float64 {
	if len(numbers) == 0 {
		return 0
	}
	sorted := slices.Sorted(slices.Values(numbers))
	return (sorted[(len(sorted)-1)/2] + sorted[len(sorted)/2]) / 2
}

// limits are those of the charts, and the mean number of periods after which
// they signal where nothing is amiss.
type limits struct{ Lambda, Width, K, H, RunLength float64 }

func oilLimits() limits { return limits{Lambda: 0.2, Width: 3, K: 0.5, H: 5, RunLength: 500} }
