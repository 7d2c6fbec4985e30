package audit

import (
	"cmp"
	"math"
	"slices"

	"circlip/inventory"

	"gonum.org/v1/gonum/mat"
)

// Choices of what is alike, without a source.
const (
	// Two are alike if their estimates run against each other so far, and
	// neither is told to so much of its standard; or if the periods hold them
	// in all but the same proportion.
	against, parted, sameMix = -0.9, 0.25, 0.999
	// A weighing helps that makes the standard deviation of the difference
	// smaller by so much.
	helps = 0.05
	// No more pairs of a division are told.
	mostPairs = 5
)

// alike finds pairs of a division that the periods cannot tell apart, the worst
// few of them, and the evening among the coming bench days on which a weighing
// would part them most.
func (from attribution) alike(a *ItemAudit, p *panel, f *fit) []Alike {
	if named(f.codes) < 2 {
		return nil
	}
	covariance := f.gram.covariance()
	var pairs []Alike
	for i := range f.codes {
		for j := range i {
			if correlation, are := f.areAlike(covariance, j, i); are {
				pairs = append(pairs, Alike{By: f.by, A: f.codes[j], B: f.codes[i], Correlation: correlation})
			}
		}
	}
	if len(pairs) == 0 {
		return nil
	}
	slices.SortStableFunc(pairs, func(x, y Alike) int { return cmp.Compare(x.Correlation, y.Correlation) })
	pairs = pairs[:min(len(pairs), mostPairs)]
	ahead := from.weighings(a, p, f)
	for k := range pairs {
		ahead.part(&pairs[k])
	}
	return pairs
}

func (f *fit) areAlike(covariance []float64, i, j int) (correlation float64, are bool) {
	n := len(f.codes)
	if f.codes[i] == "" || f.codes[j] == "" || f.halfWidth(i) <= parted || f.halfWidth(j) <= parted {
		return 0, false
	}
	correlation = covariance[i*n+j] / math.Sqrt(covariance[i*n+i]*covariance[j*n+j])
	if mix := f.gram.at[i*n+j]; mix > sameMix {
		correlation = -mix // of the two alone: a third of the same mix would hide it
	}
	return correlation, correlation < against
}

// weighings are what is to come of an item: jobs, and the counts of the usual
// rhythm.
type weighings struct {
	f       *fit
	last    inventory.Date   // the latest count
	usual   []inventory.Date // the counts to come
	days    []inventory.Date // bench days on whose evening one might weigh
	jobs    []taking
	group   []int   // by job
	counted float64 // variance of one count
	open    float64 // share of jobs' variance that cards leave open
	finest  float64 // the least variance
}

func (from attribution) weighings(a *ItemAudit, p *panel, f *fit) *weighings {
	w := &weighings{f: f, last: a.Periods[len(a.Periods)-1].To, finest: p.finest() * p.finest()}
	for _, t := range from.takings {
		if t.on > w.last {
			w.add(t, t.on)
		}
	}
	for _, t := range from.coming {
		day := max(t.on, w.last+1)
		w.add(t, day)
		if !slices.Contains(w.days, day) {
			w.days = append(w.days, day)
		}
	}
	slices.Sort(w.days)
	var lengths []int
	for _, period := range a.Periods {
		lengths = append(lengths, period.Days())
	}
	rhythm := inventory.Date(max(1, middle(lengths)))
	horizon := from.asOf + 7*weeksAhead
	for day := w.last + rhythm; day <= horizon; day += rhythm {
		if day >= from.asOf {
			w.usual = append(w.usual, day)
		}
	}
	if len(w.usual) == 0 {
		w.usual = []inventory.Date{horizon}
	}
	var counts, open []float64
	for _, s := range p.spans {
		counts, open = append(counts, s.count/2), append(open, s.card/math.Max(s.job, w.finest))
	}
	w.counted, w.open = middle(counts), math.Min(1, middle(open))
	return w
}

func (w *weighings) add(t taking, on inventory.Date) {
	t.on = on
	w.jobs = append(w.jobs, t)
	w.group = append(w.group, slices.Index(w.f.codes, t.by(w.f.by)))
}

func middle[T int | float64](of []T) T {
	of = slices.Clone(of)
	slices.Sort(of)
	return of[len(of)/2]
}

// part says when to weigh to tell two groups apart.
func (w *weighings) part(pair *Alike) {
	i, j := slices.Index(w.f.codes, pair.A), slices.Index(w.f.codes, pair.B)
	least := w.difference(w.usual, i, j) * (1 - helps) * (1 - helps)
	for _, day := range w.days {
		at, already := slices.BinarySearch(w.usual, day)
		if already {
			continue
		}
		if v := w.difference(slices.Insert(slices.Clone(w.usual), at, day), i, j); v < least {
			least, pair.WeighOn = v, day
		}
	}
	if pair.WeighOn.IsZero() {
		return
	}
	before := w.last
	for _, day := range w.usual {
		if day < pair.WeighOn {
			before = day
		}
	}
	pair.JobsA, pair.JobsB = w.between(i, before, pair.WeighOn), w.between(j, before, pair.WeighOn)
}

// between counts a group's jobs after one day and until another.
func (w *weighings) between(group int, after, until inventory.Date) (n int) {
	job := ""
	for k, t := range w.jobs {
		if w.group[k] == group && after < t.on && t.on <= until && t.job != job {
			n++
			job = t.job
		}
	}
	return n
}

// difference is the variance of the difference of two groups' ratios once there
// are counts on those days as well. A count is wrong by the same amount in the
// period it ends and, turned, in the one it begins.
func (w *weighings) difference(days []inventory.Date, i, j int) float64 {
	n := len(w.f.codes)
	rows, noise := mat.NewDense(len(days), n, nil), mat.NewSymDense(len(days), nil)
	for t := range days {
		noise.SetSym(t, t, 2*w.counted+w.finest)
		if t > 0 {
			noise.SetSym(t-1, t, -w.counted)
		}
	}
	for k, job := range w.jobs {
		t, _ := slices.BinarySearch(days, job.on)
		if t == len(days) {
			continue
		}
		noise.SetSym(t, t, noise.At(t, t)+w.open*job.variance)
		if g := w.group[k]; g >= 0 {
			rows.Set(t, g, rows.At(t, g)+job.standard/w.f.length[g])
		}
	}
	var chol mat.Cholesky
	var weighted, more mat.Dense
	if !chol.Factorize(noise) || chol.SolveTo(&weighted, rows) != nil {
		return math.Inf(1)
	}
	more.Mul(rows.T(), &weighted)
	return w.f.differenceWith(&more, i, j)
}

// differenceWith is the variance of the difference of two ratios once there is
// more to know them by.
func (f *fit) differenceWith(more *mat.Dense, i, j int) float64 {
	n := len(f.codes)
	g, difference, x := newGram(n), make([]float64, n), make([]float64, n)
	for k := range g.at {
		g.at[k] = f.gram.at[k] + more.At(k/n, k%n)
	}
	difference[i], difference[j] = 1/f.length[i], -1/f.length[j]
	g.allFree()
	g.solve(difference, x)
	return x[i]/f.length[i] - x[j]/f.length[j]
}
