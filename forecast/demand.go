package forecast

import (
	"runtime"
	"slices"
	"sync"
	"sync/atomic"
)

// Line is what one job takes of one item: the quantity's law in whole steps
// of the caller's choice (see Around), with probability Need.
type Line struct {
	Item int     // the caller's number of the item
	Need float64 // probability that a job takes it at all
	Size PMF     // how much it takes then
}

// Takings is what the jobs of some futures take of the shelf. It is safe for
// concurrent use.
type Takings struct {
	futures []Future
	kinds   [][][]int // by future, rung and week: the kind of job
	takes   [][]take  // by kind, rising by item
	items   int
}

// take is the law of what a job of one kind uses of one item. Where it is
// always size or nothing, chance is the probability of the former.
type take struct {
	item   int
	law    PMF
	plain  bool
	size   int
	chance float64
}

// NewTakings ties futures to lines: kind tells, for the services that a rung
// does on a model in a week, which of the lists of lines holds. Items are
// numbered from 0.
func NewTakings(futures []Future, items int, lines [][]Line, kind func(services []int, model, week int) int) *Takings {
	t := &Takings{futures: futures, kinds: make([][][]int, len(futures)), items: items}
	for i, f := range futures {
		t.kinds[i] = make([][]int, len(f.Rungs))
		for r, rung := range f.Rungs {
			t.kinds[i][r] = make([]int, len(rung.Done))
			for week := range rung.Done {
				t.kinds[i][r][week] = kind(rung.Services, f.Model, week)
			}
		}
	}
	for _, list := range lines {
		t.takes = append(t.takes, takesOf(list))
	}
	return t
}

// takesOf adds up the lines of one kind by item.
func takesOf(lines []Line) []take {
	lines = slices.Clone(lines)
	slices.SortStableFunc(lines, func(a, b Line) int { return a.Item - b.Item })
	var takes []take
	for _, l := range lines {
		need := probability(l.Need)
		law := l.Size.Perhaps(need)
		low, high := l.Size.Range()
		if n := len(takes); n > 0 && takes[n-1].item == l.Item {
			takes[n-1].law = takes[n-1].law.Convolve(law)
			takes[n-1].plain = false
			continue
		}
		takes = append(takes, take{item: l.Item, law: law, plain: low == high, size: low, chance: need})
	}
	return takes
}

// Laws is the law of what is used of each item in a span, in the order of the
// items. Units are independent of each other. Of one unit, the jobs that
// follow each other inside a span from today nest: a later one is done in it
// only if the one before is, so that how many are done is one event and not
// several. It works on all processors; the result does not depend on their
// number.
func (t *Takings) Laws(span Span) []PMF {
	sums := make([]sum, t.items)
	for i := range t.futures {
		t.add(sums, i, span)
	}
	laws := make([]PMF, t.items)
	var next atomic.Int64
	var all sync.WaitGroup
	for range runtime.GOMAXPROCS(0) {
		all.Go(func() {
			for i := next.Add(1) - 1; i < int64(t.items); i = next.Add(1) - 1 {
				laws[i] = sums[i].law()
			}
		})
	}
	all.Wait()
	return laws
}

// rare is the probability below which an arrival is left out: of ten thousand
// of them nothing shows in a law's printed digits.
const rare = 1e-12

// outcome is one rung's arrival in a span as one kind of job.
type outcome struct {
	rung, kind int
	prob       float64 // that it is done in the span
}

// add adds what one future takes to the items' sums.
func (t *Takings) add(sums []sum, at int, span Span) {
	f := t.futures[at]
	outcomes, nested := t.outcomes(at, span)
	if !nested {
		t.addExclusive(sums, f, outcomes)
		return
	}
	for _, item := range t.touched(outcomes) {
		sums[item].laws = append(sums[item].laws, t.follow(f, outcomes, item, -1, 1))
	}
}

// outcomes lists what a future may bring in a span, and whether any of it
// follows another.
func (t *Takings) outcomes(at int, span Span) (list []outcome, nested bool) {
	for r, rung := range t.futures[at].Rungs {
		first := len(list)
		for week, kind := range t.kinds[at][r] {
			prob := span.Share(week) * rung.Done[week]
			if prob < rare {
				continue
			}
			if i := slices.IndexFunc(list[first:], func(o outcome) bool { return o.kind == kind }); i >= 0 {
				list[first+i].prob += prob
				continue
			}
			list = append(list, outcome{r, kind, prob})
		}
		if len(list) > first && span.whole {
			nested = nested || slices.ContainsFunc(list[:first], func(o outcome) bool { return o.rung == rung.After })
		}
	}
	return list, nested
}

// addExclusive adds outcomes of which at most one happens.
func (t *Takings) addExclusive(sums []sum, f Future, outcomes []outcome) {
	for _, item := range t.touched(outcomes) {
		s := &sums[item]
		size, chance, plain := 0, 0.0, true
		for _, o := range outcomes {
			k, takes := t.take(o.kind, item)
			if !takes {
				continue
			}
			plain = plain && k.plain && (size == 0 || size == k.size)
			size = k.size
			chance += o.prob * f.Rungs[o.rung].Capture * k.chance
		}
		if plain {
			s.addPlain(size, chance)
			continue
		}
		s.laws = append(s.laws, t.oneOf(f, outcomes, item))
	}
}

// oneOf is the law of an item's use where at most one of the outcomes happens.
func (t *Takings) oneOf(f Future, outcomes []outcome, item int) PMF {
	laws, weights := []PMF{{}}, []float64{1}
	for _, o := range outcomes {
		if k, takes := t.take(o.kind, item); takes {
			prob := o.prob * f.Rungs[o.rung].Capture
			laws, weights = append(laws, k.law), append(weights, prob)
			weights[0] -= prob
		}
	}
	weights[0] = max(0, weights[0])
	return mix(laws, weights)
}

// follow is the law of an item's use by the rungs that follow one, given that
// it was done in the span, which has probability prob, and by all after them.
func (t *Takings) follow(f Future, outcomes []outcome, item, after int, prob float64) PMF {
	laws, weights := []PMF{{}}, []float64{1}
	for i, o := range outcomes {
		if f.Rungs[o.rung].After != after {
			continue
		}
		law := PMF{}
		if k, takes := t.take(o.kind, item); takes {
			law = k.law.Perhaps(f.Rungs[o.rung].Capture)
		}
		// A rung that is two kinds of job in one span leads on from both
		// alike.
		whole := 0.0
		for _, same := range outcomes {
			if same.rung == o.rung {
				whole += same.prob
			}
		}
		law = law.Convolve(t.follow(f, outcomes[i+1:], item, o.rung, whole))
		given := min(1, o.prob/prob)
		laws, weights = append(laws, law), append(weights, given)
		weights[0] -= given
	}
	if len(laws) == 1 {
		return PMF{}
	}
	weights[0] = max(0, weights[0])
	return mix(laws, weights)
}

// touched lists the items that some outcome takes, rising.
func (t *Takings) touched(outcomes []outcome) []int {
	var items []int
	for _, o := range outcomes {
		for _, k := range t.takes[o.kind] {
			items = append(items, k.item)
		}
	}
	slices.Sort(items)
	return slices.Compact(items)
}

func (t *Takings) take(kind, item int) (take, bool) {
	i, found := slices.BinarySearchFunc(t.takes[kind], item, func(k take, item int) int { return k.item - item })
	if !found {
		return take{}, false
	}
	return t.takes[kind][i], true
}

// sum is what the units take of one item, each by itself: yes/no events by
// their size, and laws of any form.
type sum struct {
	sizes  []int
	events [][]float64
	laws   []PMF
}

func (s *sum) addPlain(size int, chance float64) {
	if size == 0 || chance < rare {
		return
	}
	at := slices.Index(s.sizes, size)
	if at < 0 {
		at = len(s.sizes)
		s.sizes, s.events = append(s.sizes, size), append(s.events, nil)
	}
	s.events[at] = append(s.events[at], chance)
}

// law convolves them all, small ones first by halves so that long laws are
// met late.
func (s *sum) law() PMF {
	laws := slices.Clone(s.laws)
	for i, size := range s.sizes {
		laws = append(laws, PoissonBinomial(s.events[i]).Times(size))
	}
	for len(laws) > 1 {
		half := laws[:0]
		for i := 0; i < len(laws); i += 2 {
			if i+1 < len(laws) {
				half = append(half, laws[i].Convolve(laws[i+1]))
			} else {
				half = append(half, laws[i])
			}
		}
		laws = half
	}
	if len(laws) == 0 {
		return PMF{}
	}
	return laws[0]
}
