package stock

import (
	"fmt"
	"math"
	"sort"
)

// Stream is jobs of one type that come singly and unforeseen. Given one gamma
// variable with mean 1, which scales all windows together, the counts in the
// windows are independent Poisson numbers; the count up to the end of any
// window is negative binomial with the stream's shape as its size. Streams are
// independent of each other and of the events.
type Stream struct {
	Type  int
	Means []float64 // by window: expected jobs after the end of the window before and up to the end of this one
	Shape float64   // of the gamma variable; 0 or +Inf: it is 1, and the counts are Poisson
}

// check names what of a stream cannot be.
func (s Stream) check(types, windows int) error {
	if s.Type < 0 || s.Type >= types {
		return fmt.Errorf("type %d, expected 0 to %d", s.Type, types-1)
	}
	if len(s.Means) != windows {
		return fmt.Errorf("%d means, expected one for each of %d windows", len(s.Means), windows)
	}
	for w, mean := range s.Means {
		if !(mean >= 0) || mean > maxJobs {
			return fmt.Errorf("mean %v in window %d, expected 0 to %d jobs", mean, w, maxJobs)
		}
	}
	if !(s.Shape >= 0) {
		return fmt.Errorf("shape %v, expected zero or more", s.Shape)
	}
	return nil
}

// reach is the most jobs of all streams together that are told apart; false:
// they may be more than a scenario counts.
func reach(streams []Stream) (int, bool) {
	most := 0
	for _, s := range streams {
		law, ok := s.mixing().count(s.upTo(len(s.Means) - 1))
		if most += law.lo + len(law.p) - 1; !ok || most > maxJobs {
			return most, false
		}
	}
	return most, true
}

// upTo is how many jobs are expected up to the end of a window.
func (s Stream) upTo(window int) float64 { return sum(s.Means[:window+1]) }

// mixing is the law by which the stream's rate varies.
func (s Stream) mixing() mixing {
	if s.Shape == 0 {
		return mixing(math.Inf(1))
	}
	return mixing(s.Shape)
}

// mixing is the shape of a gamma variable with mean 1 that scales the mean of a
// Poisson number; +Inf: it does not vary.
type mixing float64

func (r mixing) none() bool { return math.IsInf(float64(r), 1) }

// ratio is what the probability of one more job tends to, over that of one
// less, as they become many.
func (r mixing) ratio(mean float64) float64 {
	if r.none() {
		return 0
	}
	return mean / (float64(r) + mean)
}

// count is the law of the number of jobs: negative binomial, or Poisson. What
// lies beyond its ends is below dropped. False: it reaches beyond maxJobs.
func (r mixing) count(mean float64) (pmf, bool) {
	size, limit := float64(r), r.ratio(mean)
	switch {
	case mean == 0:
		return nothing, true
	case r.none():
		return byRatio(int(mean), maxJobs, 0, func(n int) float64 { return mean / float64(n) })
	}
	mode := max(0, math.Floor((size-1)/size*mean))
	return byRatio(int(mode), maxJobs, limit, func(n int) float64 {
		return (float64(n-1) + size) / (size + mean) * mean / float64(n)
	})
}

// binomial is the law of how many of n jobs fall into a share of the time.
func binomial(n int, share float64) pmf {
	switch {
	case n == 0 || share <= 0:
		return nothing
	case share >= 1:
		return pmf{n, []float64{1}}
	}
	odds := share / (1 - share)
	law, _ := byRatio(min(n, int(float64(n+1)*share)), n, 0, func(k int) float64 {
		return odds * float64(n-k+1) / float64(k)
	})
	return law
}

// byRatio is the law with one mode of which ratio tells each probability over
// the one before it, from 1 on; past the mode the ratios come down, or up to
// their limit. It begins at the mode, which cannot underflow, and goes both
// ways until less than dropped is left, or to the most, which it does not pass.
// False: more than that lies beyond.
func byRatio(mode, most int, limit float64, ratio func(n int) float64) (pmf, bool) {
	var below []float64
	for n, weight := mode, 1.0; n > 0 && weight > negligible; n-- {
		weight /= ratio(n)
		below = append(below, weight)
	}
	p := make([]float64, 0, 2*len(below)+16)
	for k := len(below) - 1; k >= 0; k-- {
		p = append(p, below[k])
	}
	p = append(p, 1)
	total, ended := sum(p), false
	for n, weight := mode+1, 1.0; n <= most; n++ {
		r := ratio(n)
		weight *= r
		p = append(p, weight)
		total += weight
		if bound := max(r, limit); bound < 1 && weight*bound/(1-bound) < dropped*total {
			ended = true
			break
		}
	}
	for k := range p {
		p[k] /= total
	}
	return pmf{mode - len(below), p}, ended
}

// dear is the logarithm below which the probability of nothing would leave too
// little room for its multiples.
const dear = -500

// compound is the law of what a number of jobs takes by law u, by the recursion
// of Panjer (1981), whose terms here are all positive. Where the chance that
// nothing is taken is too small to begin with, the number is halved: halves of
// mean and shape add up to the whole.
func (r mixing) compound(mean float64, u use) pmf {
	idle, taken := u.idle()
	if mean == 0 || taken == 0 {
		return nothing
	}
	size := float64(r)
	a, b, begin := 0.0, mean, -mean*(1-idle)
	if !r.none() {
		a = r.ratio(mean)
		b = (size - 1) * a
		begin = -size * math.Log1p(mean*(1-idle)/size)
	}
	if begin < dear {
		half := (r / 2).compound(mean/2, u)
		whole := newSum(half)
		whole.addLaw(half)
		return whole.pmf()
	}
	g := []float64{math.Exp(begin)}
	for k, small := 1, 0; small < u.most() || float64(k) <= mean*taken; k++ {
		next := 0.0
		for _, portion := range u {
			if portion.qty > 0 && portion.qty <= k {
				next += (a + b*float64(portion.qty)/float64(k)) * portion.prob * g[k-portion.qty]
			}
		}
		next /= 1 - a*idle
		g = append(g, next)
		if small++; next > dropped*1e-2 {
			small = 0
		}
	}
	return pmf{0, g}
}

// idle is how often a job takes nothing, and what it takes on average.
func (u use) idle() (idle, taken float64) {
	for _, p := range u {
		if p.qty == 0 {
			idle += p.prob
		}
		taken += p.prob * float64(p.qty)
	}
	return idle, taken
}

// after is the law of how many more than its like a stream's job meets: of
// jobs that come, the more there are of them the more often one is looked at.
// With the rate's gamma variable G, E[N·h(N−1)] = E[G·m·h(N)], and the law of G
// weighed by G is gamma with a shape one higher and the same scale; so the
// others are negative binomial with size r+1 and mean m·(r+1)/r, in whichever
// window the job itself comes. That is the whole stream again, as if the job
// had not been taken out of it, and a geometric number (size 1) with mean m/r
// beside; of a Poisson stream it is the stream alone.
func (r mixing) after(mean float64, u use) pmf {
	if r.none() {
		return nothing
	}
	return mixing(1).compound(mean/float64(r), u)
}

// table is a law made ready to be drawn from.
type table struct {
	lo  int
	cum []float64
}

func (f pmf) table() table {
	t := table{f.lo, make([]float64, len(f.p))}
	total := 0.0
	for k, prob := range f.p {
		total += prob
		t.cum[k] = total
	}
	return t
}

// at is the value that u in [0, 1) stands for.
func (t table) at(u float64) int {
	k := sort.Search(len(t.cum), func(k int) bool { return t.cum[k] > u })
	return t.lo + min(k, len(t.cum)-1)
}
