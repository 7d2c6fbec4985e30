package stock

// pmf is a law on whole numbers: p[k] is the probability of lo + k.
type pmf struct {
	lo int
	p  []float64
}

// cdf is a law on whole numbers: p[k] is the probability of at most lo + k;
// below lo it is 0 and past the end 1.
type cdf struct {
	lo int
	p  []float64
}

var nothing = pmf{0, []float64{1}}

func (f cdf) at(y int) float64 {
	k := y - f.lo
	if k < 0 {
		return 0
	}
	if k >= len(f.p) {
		return 1
	}
	return f.p[k]
}

// pmf of what one job takes; its first portion is 0.
func (u use) pmf() pmf {
	p := make([]float64, u.most()+1)
	for _, portion := range u {
		p[portion.qty] += portion.prob
	}
	return pmf{0, p}
}

// negligible is the tail that a law may lose on each side.
const negligible = 1e-18

// plus is the law of the sum of two independent quantities.
func (a pmf) plus(b pmf) pmf {
	if len(a.p) < len(b.p) {
		a, b = b, a
	}
	p := make([]float64, len(a.p)+len(b.p)-1)
	for j, pb := range b.p {
		if pb == 0 {
			continue
		}
		row := p[j : j+len(a.p)]
		for i, pa := range a.p {
			row[i] += pa * pb
		}
	}
	return pmf{a.lo + b.lo, p}.trimmed()
}

func (a pmf) trimmed() pmf {
	lo, hi := 0, len(a.p)
	for tail := a.p[lo]; tail < negligible && lo < hi-1; tail += a.p[lo] {
		lo++
	}
	for tail := a.p[hi-1]; tail < negligible && hi > lo+1; tail += a.p[hi-1] {
		hi--
	}
	return pmf{a.lo + lo, a.p[lo:hi]}
}

func (a pmf) cdf() cdf {
	p := make([]float64, len(a.p))
	sum := 0.0
	for k, prob := range a.p {
		sum += prob
		p[k] = min(sum, 1)
	}
	return cdf{a.lo, p}
}

// powers are the laws of what 0, 1, …, most jobs take, each by itself.
func powers(one pmf, most int) []pmf {
	all := make([]pmf, most+1)
	all[0] = nothing
	for n := 1; n <= most; n++ {
		all[n] = all[n-1].plus(one)
	}
	return all
}

// without is the law of all the jobs but one that takes by law u, from the law
// of them all: F(x) = Σ u(k)·G(x−k) solved for G. Solved from the end where u
// has at least half of its probability, each error is carried on less than
// whole, so it cannot grow. False: there is no such end.
func (f cdf) without(u use, into []float64) (cdf, bool) {
	switch last := len(u) - 1; {
	case u[0].prob >= 0.5:
		return f.peelUp(u, into), true
	case u[last].prob >= 0.5:
		return f.peelDown(u, into), true
	}
	return cdf{}, false
}

// peelUp solves for G(x) by rising x; u begins at quantity 0.
func (f cdf) peelUp(u use, into []float64) cdf {
	g := into[:len(f.p)]
	whole := 1 / u[0].prob
	for k, rest := range f.p {
		for _, portion := range u[1:] {
			if portion.qty <= k {
				rest -= portion.prob * g[k-portion.qty]
			}
		}
		g[k] = rest * whole
	}
	return cdf{f.lo, g}
}

// peelDown solves for G(x−most) by falling x. G ends at most below where F
// does, and is 1 there.
func (f cdf) peelDown(u use, into []float64) cdf {
	g := into[:len(f.p)]
	last := u[len(u)-1]
	whole := 1 / last.prob
	for k := len(g) - 1; k >= 0; k-- {
		rest := f.p[k]
		for _, portion := range u[:len(u)-1] {
			if higher := k + last.qty - portion.qty; higher < len(g) {
				rest -= portion.prob * g[higher]
			} else {
				rest -= portion.prob
			}
		}
		g[k] = rest * whole
	}
	return cdf{f.lo - last.qty, g}
}

func clamp(p float64) float64 {
	if p < 0 {
		return 0
	}
	return min(p, 1)
}
