package reports

import (
	"math"
	"slices"
	"sync"

	"circlip/inventory/audit"
)

// How soon a steady loss is said to be seen, and on how many of the latest
// periods that rests.
const (
	seenWithin  = 6
	seenPeriods = 26
)

// seenPerWeek is the steady loss a week, in the item's measure, that the charts
// signal within seenWithin counts on average; 0 where nothing is known of the
// spread. The spread is what is to be expected, or what the periods showed
// where that is more: by the median of what successive ones differ by, which
// neither a lasting loss nor one odd count moves.
func seenPerWeek(of audit.ItemAudit) float64 {
	from := max(0, len(of.Periods)-seenPeriods)
	var sigmas, days, steps []float64
	for i, p := range of.Periods[from:] {
		sigmas = append(sigmas, markOf(of, from+i).Sigma)
		days = append(days, float64(p.Days()))
		if i > 0 {
			steps = append(steps, math.Abs(of.Item.Measure.Number(p.Excess()-of.Periods[from+i-1].Excess())))
		}
	}
	if len(sigmas) == 0 || middle(days) == 0 {
		return 0
	}
	spread := middle(sigmas)
	if len(steps) >= seenWithin {
		const medianStep = 0.6745 * math.Sqrt2 // of two normal values, in standard deviations of one
		spread = max(spread, middle(steps)/medianStep)
	}
	return shiftSeen() * spread * 7 / middle(days)
}

// shiftSeen is the lasting shift, in standard deviations, that the charts
// signal after seenWithin periods on average; every item has the same charts.
var shiftSeen = sync.OnceValue(func() float64 {
	low, high := 0.0, 10.0
	for high-low > 1e-3 {
		if shift := (low + high) / 2; audit.ChartLimits().Delay(shift) > seenWithin {
			low = shift
		} else {
			high = shift
		}
	}
	return high
})

// middle is the median of some numbers; 0 of none.
func middle(numbers []float64) float64 {
	if len(numbers) == 0 {
		return 0
	}
	sorted := slices.Sorted(slices.Values(numbers))
	return (sorted[(len(sorted)-1)/2] + sorted[len(sorted)/2]) / 2
}
