package stock

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// someUse draws what one job takes: nothing first, then up to three quantities.
func someUse(t *rapid.T) use {
	u := use{{prob: rapid.Float64Range(0.01, 1).Draw(t, "nothing")}}
	total := u[0].prob
	for range rapid.IntRange(1, 3).Draw(t, "quantities") {
		p := portion{qty: u[len(u)-1].qty + rapid.IntRange(1, 3).Draw(t, "more"), prob: rapid.Float64Range(0.01, 1).Draw(t, "prob")}
		u, total = append(u, p), total+p.prob
	}
	for k := range u {
		u[k].prob /= total
	}
	return u
}

// convolved is the law of a sum by the definition.
func convolved(uses []use) []float64 {
	law := []float64{1}
	for _, u := range uses {
		next := make([]float64, len(law)+u.most())
		for x, prob := range law {
			for _, p := range u {
				next[x+p.qty] += prob * p.prob
			}
		}
		law = next
	}
	return law
}

func TestSumsAreConvolutions(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var list []use
		byUse, byLaw := newSum(nothing), newSum(nothing)
		for range rapid.IntRange(0, 12).Draw(t, "jobs") {
			u := someUse(t)
			list = append(list, u)
			byUse.add(u)
			byLaw.addLaw(u.powers(1)[1])
		}
		want := 0.0
		for x, prob := range convolved(list) {
			want += prob
			for _, sum := range []*sumLaw{&byUse, &byLaw} {
				law := sum.cdf()
				if got := law.at(x); math.Abs(got-want) > 1e-12 {
					t.Fatalf("at most %d: %v, want %v", x, got, want)
				}
			}
		}
	})
}

// One job taken out of the law of many leaves the law of the others, from
// whichever end; the errors do not grow over hundreds of jobs.
func TestOneJobTakenOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		out := someUse(t)
		if out.hard() {
			t.Skip("no end has half")
		}
		others := newSum(nothing)
		other := someUse(t)
		for range rapid.IntRange(0, 300).Draw(t, "jobs") {
			others.add(other)
		}
		all := newSum(others.pmf())
		all.add(out)
		law, want := all.cdf(), others.cdf()
		got := law.without(out, make([]float64, len(law.p)))
		for x := want.lo - 2; x < want.lo+len(want.p)+2; x++ {
			if math.Abs(got.at(x)-want.at(x)) > 1e-11 {
				t.Fatalf("at most %d: %v, want %v", x, got.at(x), want.at(x))
			}
		}
	})
}

// Every event's job meets the law of all other events, also where their laws
// cannot be taken out again.
func TestOthersOfEachEvent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 9).Draw(t, "events")
		var takers []typeUse
		for k := range n {
			takers = append(takers, typeUse{k, someUse(t)})
		}
		m := newMarginal(takers)
		var list []use
		for k := range takers {
			prob := rapid.Float64Range(0.05, 1).Draw(t, "comes")
			m.note(k, []call{{k, true}}, prob)
			own := use{{prob: 1}}
			for _, p := range takers[k].use[1:] {
				own = own.shifted(p.qty, prob*p.prob)
			}
			list = append(list, own)
		}
		m.settle()
		seen := make([]bool, n)
		m.leaveOut(func(chances []chance, rest cdf) {
			e := int(chances[0].event)
			seen[e] = true
			others := slices.Delete(slices.Clone(list), e, e+1)
			want := 0.0
			for x, prob := range convolved(others) {
				want += prob
				if x%m.grid == 0 && math.Abs(rest.at(x/m.grid)-want) > 1e-11 {
					t.Fatalf("event %d, others at most %d: %v, want %v", e, x, rest.at(x/m.grid), want)
				}
			}
		})
		if slices.Contains(seen, false) {
			t.Fatalf("visited %v", seen)
		}
	})
}

func TestUseOfSeveralLines(t *testing.T) {
	line := func(qty int, need float64, critical bool) Line {
		return Line{Sizes: Fixed(qty), Need: need, Critical: critical}
	}
	for name, tt := range map[string]struct {
		lines []Line
		want  use
		slack float64
	}{
		"one line":            {[]Line{line(2, 0.3, true)}, use{{0, 0.7, 0}, {2, 0.3, 0.3}}, 0.7},
		"always taken":        {[]Line{line(2, 1, true)}, use{{2, 1, 1}}, 0},
		"never waited for":    {[]Line{line(2, 0.3, false)}, use{{0, 0.7, 0}, {2, 0.3, 0}}, 1},
		"two lines add up":    {[]Line{line(1, 0.5, true), line(1, 0.5, true)}, use{{0, 0.25, 0}, {1, 0.5, 0.5}, {2, 0.25, 0.25}}, 0.25},
		"one of two waits":    {[]Line{line(1, 0.5, true), line(1, 0.5, false)}, use{{0, 0.25, 0}, {1, 0.5, 0.25}, {2, 0.25, 0.25}}, 0.5},
		"none of it is waste": {[]Line{line(0, 1, true)}, use{{0, 1, 0}}, 1},
	} {
		got := use{{prob: 1}}
		for _, l := range tt.lines {
			got = got.and(l)
		}
		if !slices.Equal(got, tt.want) || math.Abs(got.slack()-tt.slack) > 1e-15 {
			t.Errorf("%s: %v with slack %v, want %v with %v", name, got, got.slack(), tt.want, tt.slack)
		}
	}
}

// A scenario's conditional law by drawing it: 3 jobs of one type, 2 of another
// and 1 that is certain, against a million throws with a fixed seed.
func TestDemandOfOneScenario(t *testing.T) {
	p := Problem{
		Windows: 1,
		Items:   []Item{{Pack: 1}},
		Types: []JobType{
			{Lines: []Line{{Sizes: Spread(1.4), Need: 0.7, Critical: true}}},
			{Lines: []Line{{Sizes: Fixed(2), Need: 0.25, Critical: true}}},
			{Lines: []Line{{Sizes: Fixed(3), Need: 1, Critical: true}}},
		},
	}
	j, err := Given(p, []Scenario{{Prob: 1, Counts: []int{3, 2, 1}}})
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(1, 2))
	const throws = 1_000_000
	atMost := make([]int, 14)
	for range throws {
		demand := 3
		for range 3 {
			if rng.Float64() < 0.7 {
				demand++
				if rng.Float64() < 0.4 {
					demand++
				}
			}
		}
		for range 2 {
			if rng.Float64() < 0.25 {
				demand += 2
			}
		}
		for level := demand; level < len(atMost); level++ {
			atMost[level]++
		}
	}
	for level, n := range atMost {
		got, drawn := j.Availability(0, level), float64(n)/throws
		if math.Abs(got-drawn) > 4*math.Sqrt(0.25/throws) {
			t.Errorf("at most %d: %v, drawn %v", level, got, drawn)
		}
	}
}

// Quantities told in steps that are nothing beside a pack are taken at their
// mean. That costs most where so many jobs take just about so many packs, as
// here 32 of 62.4 ml take 1,997 ml of two litres, but not 0.2 points.
func TestWaveringIsSteadied(t *testing.T) {
	taker := []typeUse{{0, (use{{prob: 1}}).and(Line{Sizes: Spread(62.4), Need: 1, Critical: true})}}
	steady, scale := steadied(taker, 1000)
	if scale != 16 || len(steady[0].use) != 1 || steady[0].use[0].qty != 998 { // 62.4 × 16 = 998.4
		t.Errorf("scale %d, %v", scale, steady[0].use)
	}
	if same, scale := steadied(taker, 10); scale != 1 || !slices.Equal(same[0].use, taker[0].use) {
		t.Errorf("beside a pack of 10: scale %d, %v", scale, same[0].use)
	}
	p := Problem{Windows: 1, Items: []Item{{Pack: 1000, Cost: 4000}},
		Types: []JobType{{Lines: []Line{{Sizes: Spread(62.4), Need: 1, Critical: true}}}}}
	for range 80 {
		p.Events = append(p.Events, Event{{Prob: 0.5}})
	}
	sampled, err := New(p, Effort{States: 1})
	if err != nil {
		t.Fatal(err)
	}
	exact, err := New(p, Effort{})
	if err != nil {
		t.Fatal(err)
	}
	for packs := range 5 {
		got, want := sampled.Readiness([]int{packs * 1000}), exact.Readiness([]int{packs * 1000})
		if math.Abs(got.Workshop-want.Workshop) > 2e-3 || math.Abs(got.Availability[0]-want.Availability[0]) > 2e-3 {
			t.Errorf("%d packs: %v, want %v", packs, got, want)
		}
	}
}

// A law on a coarser grid keeps its mean, and nearly its shape.
func TestCoarseGridKeepsMeans(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := someUse(t)
		for k := range u {
			u[k].qty *= 37
			u[k].waited = u[k].prob
		}
		grid := rapid.IntRange(1, 60).Draw(t, "grid")
		mean := func(u use, step int) (taken, all, waited float64) {
			for _, p := range u {
				taken += p.prob * float64(p.qty*step)
				all += p.prob
				waited += p.waited
			}
			return taken, all, waited
		}
		taken, all, waited := mean(u, 1)
		got, gotAll, gotWaited := mean(coarser(u, grid), grid)
		if math.Abs(got-taken) > 1e-6*taken || math.Abs(gotAll-all) > 1e-12 || math.Abs(gotWaited-waited) > 1e-12 {
			t.Errorf("mean %v of %v waited %v, want %v of %v waited %v", got, gotAll, gotWaited, taken, all, waited)
		}
	})
}

func TestMoney(t *testing.T) {
	for _, tt := range []struct {
		what      string
		got, want int64
	}{
		{"packs at a price", times(3, 250), 750},
		{"no packs", times(0, math.MaxInt64), 0},
		{"beyond 64 bits", times(1<<40, 1<<40), math.MaxInt64},
		{"sum", plus(1, 2), 3},
		{"sum beyond 64 bits", plus(math.MaxInt64, 1), math.MaxInt64},
		{"a third of a pack", share(1, 3, 100), 33},
		{"half up", share(1, 2, 101), 51},
		{"a large share is exact", share(3_000_000_000, 7, 1_000_000_000), 428571428571428571},
		{"a share beyond 64 bits", share(math.MaxInt64, 1, math.MaxInt64), math.MaxInt64},
		{"of what has no pack", share(5, 0, 100), 0},
	} {
		if tt.got != tt.want {
			t.Errorf("%s: %d, want %d", tt.what, tt.got, tt.want)
		}
	}
}

// Mixed chances have the mean that is wanted, and are chances, whether it lies
// between the two means or beyond.
func TestMixtures(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		share := rapid.Float64Range(0, 1)
		n := rapid.IntRange(1, 6).Draw(t, "vectors")
		low, high := make([]float64, n), make([]float64, n)
		meanLow, meanHigh := 0.0, 0.0
		for v := range n {
			a, b := share.Draw(t, "chance"), share.Draw(t, "chance")
			low[v], high[v] = min(a, b), max(a, b)
			meanLow, meanHigh = meanLow+low[v]/float64(n), meanHigh+high[v]/float64(n)
		}
		want := share.Draw(t, "wanted")
		mix, mean := mixture(meanLow, meanHigh, want), 0.0
		for v := range n {
			got := mix.of(low[v], high[v])
			if !(got >= -1e-12 && got <= 1+1e-12) {
				t.Fatalf("a chance of %v", got)
			}
			mean += got / float64(n)
		}
		if math.Abs(mean-want) > 1e-9 {
			t.Errorf("mean %v, want %v of %v and %v", mean, want, meanLow, meanHigh)
		}
	})
}
