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

// nothing is the law of a sum before anything is added.
var nothing = pmf{0, []float64{1}}

// at is the probability of at most y.
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

// sumLaw is the law of a sum that grows by one quantity at a time, in place:
// from the top down, each probability is made of those below it, which are
// still the old ones.
type sumLaw struct {
	lo int
	p  []float64
}

// newSum begins with a law, which it copies.
func newSum(a pmf) sumLaw {
	return sumLaw{a.lo, append(make([]float64, 0, 2*len(a.p)+64), a.p...)}
}

// add adds an independent quantity; the first portion of its law is 0.
func (s *sumLaw) add(u use) {
	n := len(s.p)
	for range u.most() {
		s.p = append(s.p, 0)
	}
	none := u[0].prob
	for k := len(s.p) - 1; k >= 0; k-- {
		sum := s.p[k] * none
		for _, portion := range u[1:] {
			if from := k - portion.qty; from >= 0 && from < n {
				sum += s.p[from] * portion.prob
			}
		}
		s.p[k] = sum
	}
	s.trim()
}

// addLaw adds an independent quantity by its table.
func (s *sumLaw) addLaw(a pmf) {
	n := len(s.p)
	for range len(a.p) - 1 {
		s.p = append(s.p, 0)
	}
	for k := len(s.p) - 1; k >= 0; k-- {
		sum := 0.0
		for from := max(0, k-len(a.p)+1); from <= min(k, n-1); from++ {
			sum += s.p[from] * a.p[k-from]
		}
		s.p[k] = sum
	}
	s.lo += a.lo
	s.trim()
}

// negligible is the tail that a law may lose on each side at each step.
const negligible = 1e-18

// trim cuts the tails. Three hundred events with three outcomes each reach to
// 600 and more, and live within some forty of that.
func (s *sumLaw) trim() {
	lo, hi := 0, len(s.p)
	for tail := s.p[lo]; tail < negligible && lo < hi-1; tail += s.p[lo] {
		lo++
	}
	for tail := s.p[hi-1]; tail < negligible && hi > lo+1; tail += s.p[hi-1] {
		hi--
	}
	copy(s.p, s.p[lo:hi])
	s.lo, s.p = s.lo+lo, s.p[:hi-lo]
}

// pmf is a copy of the law.
func (s *sumLaw) pmf() pmf { return pmf{s.lo, append([]float64(nil), s.p...)} }

// cdf is the law added up. Past its end it is 1, whatever the sum lost on the
// way there.
func (s *sumLaw) cdf() cdf {
	p := make([]float64, len(s.p))
	sum := 0.0
	for k, prob := range s.p {
		sum += prob
		p[k] = min(sum, 1)
	}
	return cdf{s.lo, p}
}

// powers are the laws of what 0, 1, …, most jobs take, each by the law u.
func (u use) powers(most int) []pmf {
	all := make([]pmf, most+1)
	all[0] = nothing
	sum := newSum(nothing)
	for n := 1; n <= most; n++ {
		sum.add(u)
		all[n] = sum.pmf()
	}
	return all
}

// hard: the law has less than half of its probability at either end.
func (u use) hard() bool { return u[0].prob < 0.5 && u[len(u)-1].prob < 0.5 }

// without is the law of all the jobs but one that takes by law u, from the law
// of them all: F(x) = Σ u(k)·G(x−k) solved for G, into room as long as F.
// Solved from an end of u that has at least half of its probability, an error
// is carried on less than whole, so it cannot grow; a hard u has no such end.
func (f cdf) without(u use, room []float64) cdf {
	if u[0].prob >= 0.5 {
		return f.peelUp(u, room)
	}
	return f.peelDown(u, room)
}

// peelUp solves for G(x) by rising x; u begins at quantity 0.
func (f cdf) peelUp(u use, room []float64) cdf {
	g := room[:len(f.p)]
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
func (f cdf) peelDown(u use, room []float64) cdf {
	g := room[:len(f.p)]
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

// clamp takes off what rounding put a probability beyond 0 or 1.
func clamp(p float64) float64 {
	if p < 0 {
		return 0
	}
	return min(p, 1)
}
