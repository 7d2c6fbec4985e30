package audit

import (
	"math"

	"circlip/inventory"
)

// Limits are how the two charts are set. All but RunLength and Lambda are in
// standard deviations.
type Limits struct {
	Lambda    float64 // weight of the latest period in the EWMA
	Width     float64 // the EWMA signals beyond so many of its own standard deviations
	K         float64 // the CUSUM takes K off each period
	H, HLow   float64 // and signals beyond H where oil goes missing, beyond HLow where it is left over
	Alone     float64 // one period beyond this signals by itself
	RunLength float64 // mean number of periods to a signal where nothing is wrong
}

// limits are where the charts find a tenth too much in a service of a quarter of
// a fluid's use within six weekly counts nine times in ten, on workshops as
// invented_test.go makes them; the price is a false signal in 210 periods of an
// item. What is left over costs nobody anything and may take longer to show,
// which makes half of the false signals rarer. No formula covers charts that run
// side by side: both are simulated.
var limits = Limits{Lambda: 0.2, Width: 3.2, K: 0.5, H: 3.8, HLow: 5.7, Alone: 4, RunLength: 210}

// ChartLimits is how the charts of every item are set: an item counted every
// week signals falsely about once in four years.
func ChartLimits() Limits { return limits }

// marks is where the charts stand after each period. A mark rests on its period
// and those before it alone, so that no later count moves it. Later job cards may:
// the spread of jobs is learnt from all cards of the item, see learn, and sigma
// with it.
func marks(periods []Period, measure inventory.Measure) []Mark {
	marks := make([]Mark, len(periods))
	charts := begun()
	spread := supposed
	for i, p := range periods {
		m := Mark{Sigma: expected(p, measure), Fresh: i > 0 && charts.periods == 0}
		m.Z = measure.Number(p.Excess()) / m.Sigma
		m.Score = spread.score(m.Z)
		if i > 0 {
			spread = spread.learn(m.Z-marks[i-1].Z, sharedCount(periods[i-1], p)/(marks[i-1].Sigma*m.Sigma))
		}
		charts = charts.after(m.Score)
		m.EWMA, m.EWMALimit, m.High, m.Low = charts.ewma, charts.ewmaLimit(), charts.high, charts.low
		m.Signal = charts.signal(m.Score)
		if m.Signal != "" {
			charts = charts.anew()
		}
		marks[i] = m
	}
	return marks
}

// expected is the standard deviation of a period's excess, as jobs and counts
// let expect it; at least one step of the measure, in which all is written down.
func expected(p Period, measure inventory.Measure) float64 {
	return math.Max(math.Hypot(p.JobSpread, p.CountSpread), measure.Number(1))
}

// charts are a two-sided tabular CUSUM and an EWMA of the same scores, about a
// target of 0 with standard deviation 1, since they last began anew (NIST/SEMATECH
// e-Handbook of Statistical Methods, 6.3.2.3 and 6.3.2.4).
type charts struct {
	ewma, high, low float64
	periods         int
}

func (c charts) anew() charts { return charts{} }

// begun is where the charts begin with an item's first period: the CUSUM half-way
// to its upper limit, so that a loss from the start shows soon (the fast
// initial response of Lucas & Crosier 1982, from memory). Where nothing is wrong
// the head start is gone after a few periods.
func begun() charts { return charts{high: limits.H / 2} }

func (c charts) after(score float64) charts {
	return charts{
		ewma:    ewma(c.ewma, score, limits.Lambda),
		high:    cusum(c.high, score, limits.K),
		low:     cusum(c.low, -score, limits.K),
		periods: c.periods + 1,
	}
}

func (c charts) ewmaLimit() float64 { return limits.Width * ewmaSpread(limits.Lambda, c.periods) }

// signal is what the charts say, the last score included. A single huge period
// signals although neither sum may have got far: a bottle found must be told
// even where oil went missing the weeks before (Lucas 1982 joins such a limit
// to a CUSUM; from memory).
func (c charts) signal(score float64) Signal {
	switch limit := c.ewmaLimit(); {
	case score > limits.Alone, c.high > limits.H, c.ewma > limit:
		return High
	case score < -limits.Alone, c.low > limits.HLow, c.ewma < -limit:
		return Low
	}
	return ""
}

// ewma is the exponentially weighted moving average with one more value x.
func ewma(before, x, lambda float64) float64 { return lambda*x + (1-lambda)*before }

// ewmaSpread is the standard deviation of the EWMA of n independent values,
// whose own is 1, begun at their mean: exact, not its limit for large n.
func ewmaSpread(lambda float64, n int) float64 {
	return math.Sqrt(lambda / (2 - lambda) * (1 - math.Pow(1-lambda, 2*float64(n))))
}

// cusum is the upper tabular CUSUM with one more deviation from the target; of
// the negated deviations it is the lower one.
func cusum(before, deviation, k float64) float64 { return math.Max(0, before+deviation-k) }
