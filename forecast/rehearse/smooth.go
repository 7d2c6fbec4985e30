package rehearse

import "math"

// rate follows the weekly use of one item and forecasts that of a week to
// come. All start at the first week with use and forecast 0 before it.
type rate interface {
	see(use float64)
	mean() float64
}

// croston is exponential smoothing of sizes and intervals at weeks with use
// (Croston 1972, Operational Research Quarterly 23, 289); factor 1-α/2 makes
// it SBA (Syntetos and Boylan 2005, International Journal of Forecasting 21, 303).
type croston struct {
	alpha, factor, size, interval float64
	since                         float64
}

func (c *croston) see(use float64) {
	c.since++
	if use <= 0 {
		return
	}
	if c.interval == 0 {
		c.size, c.interval = use, c.since
	} else {
		c.size += c.alpha * (use - c.size)
		c.interval += c.alpha * (c.since - c.interval)
	}
	c.since = 0
}

func (c *croston) mean() float64 {
	if c.interval == 0 {
		return 0
	}
	return c.factor * c.size / c.interval
}

// tsb smooths the probability of use every week and the size at weeks with
// use (Teunter, Syntetos and Babai 2011, EJOR 214, 606).
type tsb struct {
	alpha, size, prob float64
	weeks             float64
}

func (t *tsb) see(use float64) {
	t.weeks++
	switch {
	case t.prob == 0 && use > 0:
		t.size, t.prob = use, 1/t.weeks
	case use > 0:
		t.size += t.alpha * (use - t.size)
		t.prob += t.alpha * (1 - t.prob)
	default:
		t.prob -= t.alpha * t.prob
	}
}

func (t *tsb) mean() float64 { return t.size * t.prob }

// recent is the mean of the last so many weeks, of fewer where fewer are known.
type recent struct {
	weeks int
	uses  []float64
	sum   float64
}

func (r *recent) see(use float64) {
	r.uses = append(r.uses, use)
	r.sum += use
	if n := len(r.uses); n > r.weeks {
		r.sum -= r.uses[n-1-r.weeks]
	}
}

func (r *recent) mean() float64 {
	if len(r.uses) == 0 {
		return 0
	}
	return r.sum / float64(min(len(r.uses), r.weeks))
}

// outlook is what a textbook method holds of an item on a Monday: mean use a
// week, the root mean square of its errors a week ahead over the last 52
// weeks, and the mean use of the weeks among those 52 that had any.
type outlook struct{ mean, sigma, size float64 }

const yearWeeks = 52

// outlooks runs a forecast over an item's past and then the weeks replayed;
// the first is that of week 0.
func outlooks(r rate, uses []int, past int) []outlook {
	var list []outlook
	errors, squares, sizes := make([]float64, len(uses)), 0.0, 0.0
	busy := 0
	for week := 0; ; week++ {
		if week >= past {
			o := outlook{mean: r.mean()}
			if n := min(week, yearWeeks); n > 0 {
				o.sigma = math.Sqrt(max(squares, 0) / float64(n))
			}
			if busy > 0 {
				o.size = sizes / float64(busy)
			}
			list = append(list, o)
		}
		if week == len(uses) {
			return list
		}
		e := float64(uses[week]) - r.mean()
		errors[week] = e * e
		squares += e * e
		sizes, busy = sizes+float64(uses[week]), busy+min(uses[week], 1)
		if old := week - yearWeeks; old >= 0 {
			squares -= errors[old]
			sizes, busy = sizes-float64(uses[old]), busy-min(uses[old], 1)
		}
		r.see(float64(uses[week]))
	}
}
