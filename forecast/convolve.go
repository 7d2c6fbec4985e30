package forecast

import "gonum.org/v1/gonum/floats"

// Convolve is the law of the sum of two independent numbers.
func (f PMF) Convolve(g PMF) PMF {
	f, g = f.whole(), g.whole()
	if len(f.p) < len(g.p) {
		f, g = g, f
	}
	if len(g.p) == 1 {
		return f.scaled(g.p[0], g.low)
	}
	step := gcd(f.step, g.step)
	wide, narrow := f.step/step, g.step/step
	sum := make([]float64, (len(f.p)-1)*wide+(len(g.p)-1)*narrow+1)
	for j, q := range g.p {
		if q == 0 {
			continue
		}
		out := sum[j*narrow:]
		if wide == 1 {
			addScaled(out[:len(f.p)], f.p, q)
			continue
		}
		for i, r := range f.p {
			out[i*wide] += r * q
		}
	}
	return PMF{low: f.low + g.low, step: step, p: sum}.trim()
}

// addScaled adds q·p to out, both of one length.
func addScaled(out, p []float64, q float64) { floats.AddScaled(out, q, p) }

// scaled moves f by a value; the factor is 1 but for what trimming took.
func (f PMF) scaled(factor float64, by int) PMF {
	if factor == 1 {
		return PMF{low: f.low + by, step: f.step, p: f.p}
	}
	p := make([]float64, len(f.p))
	addScaled(p, f.p, factor)
	return PMF{low: f.low + by, step: f.step, p: p}
}

// Times is the law of a number multiplied by a whole factor of at least 0.
func (f PMF) Times(factor int) PMF {
	if factor < 1 {
		return PMF{}
	}
	f = f.whole()
	return PMF{low: f.low * factor, step: f.step * factor, p: f.p}
}

// Perhaps is the law of a number that is f's with probability prob, else 0.
func (f PMF) Perhaps(prob float64) PMF {
	prob = probability(prob)
	return mix([]PMF{{}, f}, []float64{1 - prob, prob})
}

// Thin is the law of how many of a count are left when each is kept with
// probability keep. The count must not be negative.
func (f PMF) Thin(keep float64) PMF {
	keep = probability(keep)
	low, high := f.Range()
	if low < 0 || high == 0 || keep == 1 {
		return f
	}
	left := make([]float64, high+1)
	binomial := []float64{1} // the law of what is left of n
	for n := 0; n <= high; n++ {
		if q := f.At(n); q > 0 {
			addScaled(left[:n+1], binomial, q)
		}
		binomial = append(binomial, 0)
		for k := n + 1; k > 0; k-- {
			binomial[k] = binomial[k]*(1-keep) + binomial[k-1]*keep
		}
		binomial[0] *= 1 - keep
	}
	return PMF{step: 1, p: left}.trim()
}

// mix is the law of a number drawn from laws[i] with probability weights[i].
func mix(laws []PMF, weights []float64) PMF {
	low, high, step := 0, 0, 0
	for i, law := range laws {
		l, h := law.Range()
		if i == 0 {
			low, high = l, h
		}
		if len(law.p) > 1 {
			step = gcd(step, law.step)
		}
		step = gcd(step, l-low)
		low, high = min(low, l), max(high, h)
	}
	step = max(step, 1)
	p := make([]float64, (high-low)/step+1)
	for i, law := range laws {
		for value, q := range law.Each {
			p[(value-low)/step] += q * weights[i]
		}
	}
	return PMF{low: low, step: step, p: p}.trim()
}

func gcd(a, b int) int {
	for b != 0 {
		a, b = b, a%b
	}
	if a < 0 {
		return -a
	}
	return a
}
