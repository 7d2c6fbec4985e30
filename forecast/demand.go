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

// Takings is what the jobs of some futures and streams take of the shelf. It is safe for
// concurrent use.
type Takings struct {
	futures []Future
	kinds   [][][]int // by future and rung: the kind of job in each week
	takes   [][]take  // by item: what each kind that takes it takes
	takers  [][]int   // by item: the futures that may take it
	nothing int       // kind of the rungs without services

	streams      []Stream
	streamKinds  [][]int // by stream: the kind of job in each week
	streamTakers [][]int // by item: the streams that may take it
}

// NewTakings ties futures and streams to lines. Kinds tells, for the services
// that a job does on a model, which of the lists of lines holds in each week;
// it is not asked about jobs without services, which take nothing. Items are
// numbered from 0.
func NewTakings(futures []Future, streams []Stream, items int, lines [][]Line, kinds func(services []int, model int) []int) *Takings {
	t := &Takings{
		futures: futures, kinds: make([][][]int, len(futures)),
		takes: make([][]take, items), takers: make([][]int, items), nothing: len(lines),
	}
	touched := make([][]int, len(lines)) // by kind: its items
	for kind, list := range lines {
		for item, law := range usesOf(list) {
			t.takes[item] = append(t.takes[item], newTake(kind, law))
			touched[kind] = append(touched[kind], item)
		}
	}
	for i, f := range futures {
		t.kinds[i] = make([][]int, len(f.Rungs))
		for r, rung := range f.Rungs {
			if len(rung.Services) == 0 {
				t.kinds[i][r] = slices.Repeat([]int{t.nothing}, len(rung.Done))
				continue
			}
			t.kinds[i][r] = kinds(rung.Services, f.Model)
			note(t.takers, i, t.kinds[i][r], touched)
		}
	}
	t.addStreams(streams, touched, kinds)
	return t
}

// usesOf adds up the lines of one kind by item.
func usesOf(lines []Line) map[int]PMF {
	uses := map[int]PMF{}
	for _, l := range lines {
		law := l.Size.Perhaps(l.Need)
		if law.Quantile(1) > 0 {
			uses[l.Item] = uses[l.Item].Convolve(law)
		}
	}
	return uses
}

// note lists a taker, the latest one, with the items that its kinds touch.
func note(takers [][]int, taker int, kinds []int, touched [][]int) {
	for _, kind := range slices.Compact(slices.Clone(kinds)) {
		for _, item := range touched[kind] {
			if n := len(takers[item]); n == 0 || takers[item][n-1] != taker {
				takers[item] = append(takers[item], taker)
			}
		}
	}
}

// Laws is the law of what is used in a span of each of some items, in their
// order. Units are independent of each other. What one unit brings from today
// to the end of the span is one event: a later job is done in it only if one
// that leads to it is. Where several rungs lead to one stage, which of them
// did is taken to say nothing of how soon the next follows. In a later week a
// unit brings one job at most, unless so many are expected that it cannot be
// so; then they are independent. Streams are independent of the units and of
// each other. It works on all processors; the result does
// not depend on their number.
func (t *Takings) Laws(span Span, items []int) []PMF {
	paths, flows := t.paths(span, items), t.flows(span)
	laws := make([]PMF, len(items))
	var next atomic.Int64
	var all sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(items)) {
		all.Go(func() {
			c := newChain(t.nothing + 1)
			for i := next.Add(1) - 1; i < int64(len(items)); i = next.Add(1) - 1 {
				laws[i] = t.law(items[i], paths, flows, c)
			}
		})
	}
	all.Wait()
	return laws
}

// law adds up what the units and streams take of an item, each by itself.
func (t *Takings) law(item int, paths []path, flows []flow, c *chain) PMF {
	c.takeUp(t.takes[item])
	var sum sum
	for _, i := range t.takers[item] {
		outcomes := paths[i].outcomes
		if !paths[i].apart {
			sum.add(c.use(outcomes))
			continue
		}
		for k := range outcomes {
			sum.add(c.use(outcomes[k : k+1]))
		}
	}
	for _, i := range t.streamTakers[item] {
		sum.addLaw(flows[i].law(c.takes))
	}
	return sum.law()
}

// rare is the probability below which an arrival is left out: of ten thousand
// of them nothing shows in a law's printed digits.
const rare = 1e-12

// outcome is one rung's arrival in a span as one kind of job.
type outcome struct {
	after, stage, kind int
	prob               float64 // that it is due in the span
	capture            float64 // that it is then done here
}

// path is what one future may bring in a span. An outcome follows those that
// lead to it, and excludes those that follow the same stage; apart, they are
// independent of each other.
type path struct {
	outcomes []outcome
	apart    bool
}

// paths are those of the futures that may take some of the items.
func (t *Takings) paths(span Span, items []int) []path {
	asked := make([]bool, len(t.futures))
	for _, item := range items {
		for _, i := range t.takers[item] {
			asked[i] = true
		}
	}
	paths := make([]path, len(t.futures))
	for i := range paths {
		if asked[i] {
			paths[i] = t.path(i, span)
		}
	}
	return paths
}

func (t *Takings) path(at int, span Span) path {
	rungs := t.futures[at].Rungs
	list := make([]outcome, 0, len(rungs))
	sum := 0.0
	for r, rung := range rungs {
		first := len(list)
		kinds := t.kinds[at][r]
		for week := span.first; week < min(span.end(), len(rung.Done)); week++ {
			prob := span.ShareOf(rung, week) * rung.Done[week]
			if prob < rare {
				continue
			}
			sum += prob
			if n := len(list); n > first && list[n-1].kind == kinds[week] {
				list[n-1].prob += prob
				continue
			}
			list = append(list, outcome{rung.After, rung.Stage, kinds[week], prob, rung.Capture})
		}
	}
	if span.whole {
		return path{outcomes: list}
	}
	// Of a later week it is not known what came before.
	for i := range list {
		list[i].after, list[i].stage = Start, Start
	}
	return path{list, sum > 1}
}

// sum is what the units take of one item: yes/no events by their size, and
// laws of any other form by the step they are on.
type sum struct {
	events map[int][]float64
	laws   map[int][]PMF
}

// add adds a law with a step, given by the probabilities of its multiples.
func (s *sum) add(p []float64, step int) {
	if len(p) < 2 {
		return
	}
	size := len(p) - 1
	if slices.ContainsFunc(p[1:size], func(q float64) bool { return q != 0 }) {
		s.addLaw(PMF{step: step, p: slices.Clone(p)}.trim())
		return
	}
	if s.events == nil {
		s.events = map[int][]float64{}
	}
	s.events[size*step] = append(s.events[size*step], p[size])
}

// addLaw adds a law of any form.
func (s *sum) addLaw(law PMF) {
	if len(law.p) == 0 {
		return
	}
	if s.laws == nil {
		s.laws = map[int][]PMF{}
	}
	s.laws[law.step] = append(s.laws[law.step], law)
}

// fewEvents is how many events are convolved one by one.
const fewEvents = 32

// law convolves them all: first what lies on the same step, since there laws
// are short.
func (s *sum) law() PMF {
	for size, probs := range s.events {
		for some := range slices.Chunk(probs, fewEvents) {
			s.addLaw(PoissonBinomial(some).Times(size))
		}
	}
	var steps []int
	for step := range s.laws {
		steps = append(steps, step)
	}
	slices.Sort(steps)
	var all []PMF
	for _, step := range slices.Backward(steps) {
		all = append(all, byHalves(s.laws[step]))
	}
	return byHalves(all)
}

// byHalves convolves neighbours, and again, so that long laws are met late.
func byHalves(laws []PMF) PMF {
	for len(laws) > 1 {
		var half []PMF
		for pair := range slices.Chunk(laws, 2) {
			if len(pair) == 2 {
				pair[0] = pair[0].Convolve(pair[1])
			}
			half = append(half, pair[0])
		}
		laws = half
	}
	if len(laws) == 0 {
		return PMF{}
	}
	return laws[0]
}
