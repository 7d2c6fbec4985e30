package stock_test

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"

	"circlip/forecast/stock"
)

// someStreams adds up to two streams of few jobs.
func someStreams(t *rapid.T, p *stock.Problem) {
	for range rapid.IntRange(0, 2).Draw(t, "streams") {
		s := stock.Stream{
			Type:  rapid.IntRange(0, len(p.Types)-1).Draw(t, "stream's type"),
			Shape: rapid.SampledFrom([]float64{0, 0.7, 3, math.Inf(1)}).Draw(t, "shape"),
		}
		for range p.Windows {
			s.Means = append(s.Means, rapid.SampledFrom([]float64{0, 0.05, 0.4}).Draw(t, "mean"))
		}
		p.Streams = append(p.Streams, s)
	}
}

// negativeMultinomial is the chance of just these counts in the windows, by
// the closed form: Poisson counts of means G·means integrated over a gamma
// variable G (Johnson, Kotz & Balakrishnan 1997, from memory).
func negativeMultinomial(s stock.Stream, counts []int) float64 {
	mean, n := 0.0, 0
	log := 0.0
	for w, k := range counts {
		mean, n = mean+s.Means[w], n+k
		if k > 0 {
			log += float64(k) * math.Log(s.Means[w])
		}
		factorial, _ := math.Lgamma(float64(k) + 1)
		log -= factorial
	}
	if s.Shape == 0 || math.IsInf(s.Shape, 1) {
		return math.Exp(log - mean)
	}
	all, _ := math.Lgamma(s.Shape + float64(n))
	size, _ := math.Lgamma(s.Shape)
	return math.Exp(log + all - size + s.Shape*math.Log(s.Shape) - (s.Shape+float64(n))*math.Log(s.Shape+mean))
}

// everyCount goes through all counts of a stream by window, up to so many.
func everyCount(s stock.Stream, most int, visit func(counts []int, prob float64)) {
	counts := make([]int, len(s.Means))
	var fill func(window, left int)
	fill = func(window, left int) {
		if window == len(counts) {
			visit(counts, negativeMultinomial(s, counts))
			return
		}
		for n := 0; n <= left && (n == 0 || s.Means[window] > 0); n++ {
			counts[window] = n
			fill(window+1, left-n)
		}
		counts[window] = 0
	}
	fill(0, most)
}

// byHand lists all scenarios of a problem with one stream, out of the closed
// form of its counts and of all its events' outcomes.
func byHand(p stock.Problem, most int) []stock.Scenario {
	var list []stock.Scenario
	counts := make([]int, len(p.Types)*p.Windows)
	var happen func(e int, prob float64)
	happen = func(e int, prob float64) {
		if e == len(p.Events) {
			list = append(list, stock.Scenario{Prob: prob, Counts: append([]int(nil), counts...)})
			return
		}
		none := 1.0
		for _, o := range p.Events[e] {
			none -= o.Prob
			counts[o.Type*p.Windows+o.Window]++
			happen(e+1, prob*o.Prob)
			counts[o.Type*p.Windows+o.Window]--
		}
		happen(e+1, prob*max(0, none))
	}
	everyCount(p.Streams[0], most, func(n []int, prob float64) {
		for w, k := range n {
			counts[p.Streams[0].Type*p.Windows+w] += k
		}
		happen(0, prob)
		for w, k := range n {
			counts[p.Streams[0].Type*p.Windows+w] -= k
		}
	})
	return list
}

func TestStreamsAreTheirScenarios(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := tiny(t)
		p.Windows = min(p.Windows, 2)
		for i := range p.Items {
			p.Items[i].Window = min(p.Items[i].Window, p.Windows-1)
		}
		p.Events = p.Events[:min(2, len(p.Events))]
		for e := range p.Events {
			for o := range p.Events[e] {
				p.Events[e][o].Window = min(p.Events[e][o].Window, p.Windows-1)
				p.Events[e][o].Then = nil
			}
		}
		someStreams(t, &p)
		if len(p.Streams) == 0 {
			return
		}
		p.Streams = p.Streams[:1]
		levels := levelsFor(t, p)
		j, err := stock.New(p, stock.Effort{})
		if err != nil {
			t.Fatal(err)
		}
		byHand, err := stock.Given(p, byHand(p, 40))
		if err != nil {
			t.Fatal(err)
		}
		got, want := j.Readiness(levels), byHand.Readiness(levels)
		if !got.Exact {
			t.Skip("too many")
		}
		if math.Abs(got.Workshop-want.Workshop) > 1e-9 || math.Abs(got.Jobs-want.Jobs) > 1e-9 {
			t.Errorf("%v of %v jobs, want %v of %v", got.Workshop, got.Jobs, want.Workshop, want.Jobs)
		}
		for i, a := range got.Availability {
			if math.Abs(a-want.Availability[i]) > 1e-9 {
				t.Errorf("item %d is enough in %v, want %v", i, a, want.Availability[i])
			}
		}
	})
}

// streamed is one job type that takes one item in one window.
func streamed(sizes []stock.Size, need float64, streams ...stock.Stream) stock.Problem {
	p := oneItem(sizes)
	p.Types[0].Lines[0].Need = need
	p.Streams = streams
	return p
}

var efforts = map[string]stock.Effort{"exact": {States: 100_000}, "simulated": {States: 1, Batches: 2, PerBatch: 64}}

func same(t *testing.T, what string, p, q stock.Problem, tolerance float64) {
	t.Helper()
	for name, effort := range efforts {
		a, err := stock.New(p, effort)
		if err != nil {
			t.Fatal(err)
		}
		b, err := stock.New(q, effort)
		if err != nil {
			t.Fatal(err)
		}
		for level := range 25 {
			at := fmt.Sprintf("%s, %s, level %d", what, name, level)
			near(t, at+" availability", a.Availability(0, level), b.Availability(0, level), tolerance)
			near(t, at+" readiness", a.Readiness([]int{level}).Workshop, b.Readiness([]int{level}).Workshop, tolerance)
		}
	}
}

func TestStreamsThatAreTheSame(t *testing.T) {
	poisson := func(mean float64) stock.Stream { return stock.Stream{Means: []float64{mean}} }
	mixed := func(mean, shape float64) stock.Stream { return stock.Stream{Means: []float64{mean}, Shape: shape} }
	two := stock.Fixed(2)
	same(t, "two Poisson streams are one of both means", streamed(two, 1, poisson(1.5), poisson(2.25)), streamed(two, 1, poisson(3.75)), 1e-11)
	same(t, "a shape without end is a Poisson stream", streamed(two, 0.7, mixed(3, math.Inf(1))), streamed(two, 0.7, poisson(3)), 0)
	same(t, "a very large shape nearly is", streamed(two, 0.7, mixed(3, 1e9)), streamed(two, 0.7, poisson(3)), 1e-8)
	same(t, "two mixed streams of one scale are one of both shapes", streamed(two, 0.7, mixed(1, 0.5), mixed(3, 1.5)), streamed(two, 0.7, mixed(4, 2)), 1e-10)
	same(t, "a stream that brings nothing", streamed(two, 0.7, mixed(2, 0.5), mixed(0, 0.1)), streamed(two, 0.7, mixed(2, 0.5)), 0)
}

// A job in need of a part with a probability of 0.4 is one of a stream with so
// much of the mean: the count of these is negative binomial with the same
// size. Availability is theirs; readiness is 1 for the others.
func TestThinnedStreams(t *testing.T) {
	for _, shape := range []float64{0, 0.3, 1, 2.5} {
		thin := streamed(stock.Fixed(1), 0.4, stock.Stream{Means: []float64{5}, Shape: shape})
		all := streamed(stock.Fixed(1), 1, stock.Stream{Means: []float64{2}, Shape: shape})
		for name, effort := range efforts {
			a, err := stock.New(thin, effort)
			if err != nil {
				t.Fatal(err)
			}
			b, err := stock.New(all, effort)
			if err != nil {
				t.Fatal(err)
			}
			for level := range 20 {
				at := fmt.Sprintf("%s, shape %v, level %d", name, shape, level)
				near(t, at+" availability", a.Availability(0, level), b.Availability(0, level), 1e-10)
				near(t, at+" readiness", a.Readiness([]int{level}).Workshop, 0.6+0.4*b.Readiness([]int{level}).Workshop, 1e-10)
			}
		}
	}
}

// n events of probability mean/n are a Poisson number but for less than their
// squares' sum (Le Cam 1960), so that chances differ by less than that.
func TestPoissonStreamIsManySmallEvents(t *testing.T) {
	const n, mean = 3000, 2.4
	p := streamed(stock.Spread(1.3), 0.8)
	for range n {
		p.Events = append(p.Events, stock.Event{{Prob: mean / n}})
	}
	same(t, "a Poisson stream is many small events", p, streamed(stock.Spread(1.3), 0.8, stock.Stream{Means: []float64{mean}, Shape: math.Inf(1)}), mean*mean/n)
}

// The counts of published tables as streams: what is read from the marginals
// (simulated) and from the counts (exact) is both the table's.
// 4b_poisson_base_stock.csv, 4c_newsvendor.csv.
func TestPublishedBaseStocksOfStreams(t *testing.T) {
	for name, effort := range efforts {
		joints := map[string]*stock.Joint{}
		for _, row := range published(t, "4b_poisson_base_stock.csv") {
			if joints[row["m"]] == nil {
				j, err := stock.New(streamed(stock.Fixed(1), 1, stock.Stream{Means: []float64{number(t, row["m"])}}), effort)
				if err != nil {
					t.Fatal(err)
				}
				joints[row["m"]] = j
			}
			j, level := joints[row["m"]], whole(t, row["S"])
			at := name + " mean " + row["m"] + " level " + row["S"]
			near(t, at+" ready", j.Readiness([]int{level}).Workshop, number(t, row["ready_rate"]), 1e-11)
			near(t, at+" availability", j.Availability(0, level), number(t, row["csl"]), 1e-11)
		}
	}
}

// A workshop of units and streams: the simulated readiness against the exact,
// as for units alone.
func TestSimulatedStreamsAreWithinTheirError(t *testing.T) {
	cases, covered, worst := 0, 0, 0.0
	for workshop := range uint64(3) {
		p := midsize(workshop)
		p.Events = p.Events[:8]
		for typ := range 2 {
			s := stock.Stream{Type: typ, Means: make([]float64, 2), Shape: []float64{0, 2}[typ]}
			s.Means[typ%2] = 0.8
			p.Streams = append(p.Streams, s)
		}
		exact, err := stock.New(p, stock.Effort{States: 200_000})
		if err != nil {
			t.Fatal(err)
		}
		if n, all := exact.Scenarios(); !all {
			t.Fatalf("more than 200,000 states: %d", n)
		}
		curve := exact.Walk(nil)
		for seed := range uint64(5) {
			sampled, err := stock.New(p, stock.Effort{States: 1, Seed: seed})
			if err != nil {
				t.Fatal(err)
			}
			for _, target := range []float64{.7, .9, .97} {
				levels := curve.Reach(target)
				got := sampled.Readiness(levels.Level)
				off := math.Abs(got.Workshop - levels.Readiness)
				if cases++; off <= 2.262*got.StandardError {
					covered++
				}
				worst = max(worst, off)
			}
		}
	}
	t.Logf("%d of %d within 2.262 standard errors; at worst %.4f off", covered, cases, worst)
	if covered*100 < cases*90 || worst > 0.002 {
		t.Errorf("%d of %d within 2.262 standard errors, %v off at worst", covered, cases, worst)
	}
}
