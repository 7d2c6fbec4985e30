package stock_test

import (
	"cmp"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"circlip/forecast/stock"
)

// best is the cheapest packs for a readiness, of all that are not dominated.
type best struct {
	cost      int64
	readiness float64
}

// frontier tries all levels that can be ordered on top of a position. False:
// there are too many.
func frontier(j *stock.Joint, p stock.Problem, from []int) ([]best, bool) {
	most, combinations := make([]int, len(p.Items)), 1
	for i, it := range p.Items {
		if j.Waits(i) {
			most[i] = max(0, (j.LevelFor(i, 1-1e-6)-from[i]+it.Pack)/it.Pack) + it.Least + it.Multiple
		}
		combinations *= most[i] + 1
	}
	if combinations > 30_000 {
		return nil, false
	}
	var all []best
	j.EveryLevel(from, most, func(packs []int, readiness float64) {
		cost := int64(0)
		for i, n := range packs {
			if it := p.Items[i]; n > 0 && (n < it.Least || n%max(1, it.Multiple) > 0) {
				return
			}
			cost += int64(n) * p.Items[i].Cost
		}
		all = append(all, best{cost, readiness})
	})
	slices.SortFunc(all, func(a, b best) int {
		return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(b.readiness, a.readiness))
	})
	var front []best
	for _, b := range all {
		if len(front) == 0 || b.readiness > front[len(front)-1].readiness+1e-12 {
			front = append(front, b)
		}
	}
	return front, true
}

func leastCost(front []best, readiness float64) (int64, bool) {
	i := slices.IndexFunc(front, func(b best) bool { return b.readiness >= readiness-1e-12 })
	if i < 0 {
		return 0, false
	}
	return front[i].cost, true
}

// gaps is how far levels are from the best ones.
type gaps struct {
	cases, best int
	sum, worst  float64
}

func (g *gaps) add(gap float64) {
	g.cases++
	g.sum += gap
	g.worst = max(g.worst, gap)
	if gap < 1e-9 {
		g.best++
	}
}

// Against all levels of small workshops: what Reach costs above the cheapest
// levels of all, and what Within misses of the best readiness; from an empty
// shelf, and from shelves that hold something and suppliers who sell not less
// than some packs. The limits are what was measured (see the log), rounded up.
// Few packs of very different cost, as here, are the hard case.
func TestLevelsAgainstAllLevels(t *testing.T) {
	targets := []float64{.7, .8, .9, .95, .97, .99}
	for name, tt := range map[string]struct {
		cases      int
		stocked    bool
		dearer     float64 // on average, of the money added
		cheapestIn float64 // of the cases, at 0.97
	}{
		"an empty shelf":                {150, false, 0.005, 0.95},
		"something there, least orders": {80, true, 0.005, 0.95},
	} {
		t.Run(name, func(t *testing.T) {
			reach, within := make([]gaps, len(targets)), make([]gaps, len(targets))
			for seed, cases := uint64(0), 0; cases < tt.cases; seed++ {
				p := bench(seed)
				from := make([]int, len(p.Items))
				if tt.stocked {
					stocked(seed, p, from)
				}
				if againstAll(t, p, from, targets, reach, within) {
					cases++
				}
			}
			for k, target := range targets {
				r, w := reach[k], within[k]
				t.Logf("%.2f: reach is cheapest in %d of %d, on average %.2f %% dearer, at worst %.0f %%; within misses %.2f points, at worst %.0f",
					target, r.best, r.cases, 100*r.sum/float64(r.cases), 100*r.worst, 100*w.sum/float64(w.cases), 100*w.worst)
				if r.sum/float64(r.cases) > tt.dearer {
					t.Errorf("reach %v is %v dearer on average", target, r.sum/float64(r.cases))
				}
				if w.sum/float64(w.cases) > 0.005 {
					t.Errorf("within the cost of %v misses %v on average", target, w.sum/float64(w.cases))
				}
			}
			if at97 := reach[4]; float64(at97.best) < float64(at97.cases)*tt.cheapestIn {
				t.Errorf("reach 0.97 is cheapest in %d of %d only", at97.best, at97.cases)
			}
		})
	}
}

// stocked puts something on the shelf and limits what can be ordered.
func stocked(seed uint64, p stock.Problem, from []int) {
	rng := rand.New(rand.NewPCG(seed, 3))
	for i := range p.Items {
		from[i] = rng.IntN(4) - 1
		p.Items[i].Least, p.Items[i].Multiple = rng.IntN(3), rng.IntN(3)
	}
}

// againstAll adds one workshop to the gaps. False: it is no case, as it has
// too many scenarios or levels, or nothing to buy.
func againstAll(t *testing.T, p stock.Problem, from []int, targets []float64, reach, within []gaps) bool {
	j, err := stock.New(p, stock.Effort{States: 1500})
	if err != nil {
		t.Fatal(err)
	}
	if _, exact := j.Scenarios(); !exact || j.Readiness(from).Workshop == 1 {
		return false
	}
	front, ok := frontier(j, p, from)
	if !ok {
		return false
	}
	curve := j.Walk(from)
	side := curve.Reach(0).Added // of items that no job waits for
	for k, target := range targets {
		least, ok := leastCost(front, target)
		if !ok || least == 0 {
			continue
		}
		levels := curve.Reach(target)
		if said := j.Readiness(levels.Level).Workshop; math.Abs(said-levels.Readiness) > 1e-9 || said < target-1e-9 {
			t.Errorf("target %v: says %v, is %v", target, levels.Readiness, said)
		}
		gap := float64(levels.Added-side)/float64(least) - 1
		if gap < -1e-9 {
			t.Errorf("target %v: cheaper than the cheapest, so one of the two is wrong", target)
		}
		reach[k].add(gap)
		within[k].add(max(0, target-curve.Within(least).Readiness))
	}
	return true
}

// Going up one pack at a time by the gain in readiness, as marginal analysis
// on a sum would, is stuck at the start: a job of two parts gains nothing by
// the first. The walk is not.
func TestWalkIsNotStuckAtTheFirstPart(t *testing.T) {
	p := needs(1, 1)
	p.Events = []stock.Event{{{Type: 0, Prob: 0.9}}}
	j, err := stock.New(p, stock.Effort{})
	if err != nil {
		t.Fatal(err)
	}
	for _, levels := range [][]int{{0, 0}, {1, 0}, {0, 1}} {
		near(t, "readiness with a part missing", j.Readiness(levels).Workshop, 0, 1e-12)
	}
	if got := j.Walk(nil).Reach(0.97).Packs; !slices.Equal(got, []int{1, 1}) {
		t.Errorf("packs %v, want one of each", got)
	}
}

func TestWalkRules(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := tiny(t)
		for i := range p.Items {
			p.Items[i].Least = rapid.IntRange(0, 3).Draw(t, "least")
			p.Items[i].Multiple = rapid.IntRange(0, 3).Draw(t, "multiple")
			if rapid.IntRange(0, 5).Draw(t, "for sale") == 0 {
				p.Items[i].Pack = 0
			}
		}
		effort := stock.Effort{}
		if rapid.Bool().Draw(t, "simulated") {
			effort = stock.Effort{States: 1, Batches: 2, PerBatch: 25}
		}
		from := rapid.SliceOfN(rapid.IntRange(-3, 5), len(p.Items), len(p.Items)).Draw(t, "position")
		kept := slices.Clone(from)
		j, err := stock.New(p, effort)
		if err != nil {
			t.Fatal(err)
		}
		curve := j.Walk(from)
		points := curve.Points(0)
		rises(t, points)
		near := j.Readiness(from).Workshop
		if math.Abs(points[0].Readiness-near) > 1e-9 {
			t.Errorf("the curve begins at %v, and the positions are good for %v", points[0].Readiness, near)
		}
		for k, point := range points {
			at := curve.At(curve.Steps() - 1 - k)
			if math.Abs(at.Readiness-point.Readiness) > 1e-9 || at.Value > point.Value {
				t.Errorf("point %d: %v worth %d by itself, %v on the curve", k, at.Readiness, at.Value, point)
			}
			possible(t, j, p, from, at)
		}
		target := rapid.Float64Range(0, 1).Draw(t, "target")
		reached := curve.Reach(target)
		if top := points[len(points)-1].Readiness; reached.Readiness < min(target, top)-1e-9 {
			t.Errorf("reaches %v of %v, and the curve %v", reached.Readiness, target, top)
		}
		possible(t, j, p, from, reached)
		budget := int64(rapid.IntRange(0, 5000).Draw(t, "budget"))
		bought := curve.Within(budget)
		if bought.Added > budget || bought.Readiness < near-1e-9 {
			t.Errorf("spends %d of %d and goes from %v to %v", bought.Added, budget, near, bought.Readiness)
		}
		possible(t, j, p, from, bought)
		if !slices.Equal(from, kept) {
			t.Errorf("positions changed from %v to %v", kept, from)
		}
	})
}

// With a limit of packs by item: nothing is bought beyond it; a limit that is
// far off changes nothing; and a tighter one never makes more jobs ready.
func TestNoMorePacksThanMayBe(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := tiny(t)
		n := len(p.Items)
		for i := range p.Items {
			p.Items[i].Least = rapid.IntRange(0, 3).Draw(t, "least")
			p.Items[i].Multiple = rapid.IntRange(0, 3).Draw(t, "multiple")
		}
		j, err := stock.New(p, stock.Effort{})
		if err != nil {
			t.Fatal(err)
		}
		from := rapid.SliceOfN(rapid.IntRange(-3, 5), n, n).Draw(t, "position")
		most := rapid.SliceOfN(rapid.IntRange(-1, 4), n, n).Draw(t, "most")
		target := rapid.Float64Range(0, 1).Draw(t, "target")
		budget := int64(rapid.IntRange(0, 5000).Draw(t, "budget"))
		free, limited := j.Walk(from), j.WalkWithin(from, most)
		for _, l := range []stock.Levels{limited.Reach(target), limited.Within(budget), limited.Reach(1)} {
			possible(t, j, p, from, l)
			for i, packs := range l.Packs {
				if most[i] >= 0 && packs > most[i] {
					t.Errorf("%d packs of item %d, at most %d", packs, i, most[i])
				}
			}
		}
		if a, b := limited.Reach(1).Readiness, free.Reach(1).Readiness; a > b+1e-6 {
			t.Errorf("reaches %v with limits and %v without", a, b)
		}
		far := slices.Repeat([]int{1_000_000}, n)
		if a, b := j.WalkWithin(from, far).Reach(target), free.Reach(target); !reflect.DeepEqual(a, b) {
			t.Errorf("with limits far off %+v, without %+v", a, b)
		}
	})
}

func rises(t *rapid.T, points []stock.Point) {
	for k, point := range points {
		if !(point.Readiness >= 0 && point.Readiness <= 1) {
			t.Fatalf("point %d of the curve: %v", k, point)
		}
		if k > 0 && (point.Value < points[k-1].Value || point.Readiness < points[k-1].Readiness-1e-9) {
			t.Errorf("the curve falls from %v to %v", points[k-1], point)
		}
	}
}

// possible: the packs can be ordered, and all figures of the levels agree.
func possible(t *rapid.T, j *stock.Joint, p stock.Problem, from []int, l stock.Levels) {
	added := int64(0)
	for i, it := range p.Items {
		n := l.Packs[i]
		if n != 0 && (it.Pack == 0 || n < it.Least || n%max(1, it.Multiple) != 0) {
			t.Errorf("%d packs of item %d, %+v", n, i, it)
		}
		if l.Level[i] != from[i]+n*it.Pack {
			t.Errorf("item %d: level %d from %d with %d packs of %d", i, l.Level[i], from[i], n, it.Pack)
		}
		added += int64(n) * it.Cost
	}
	if added != l.Added || l.Value < l.Added {
		t.Errorf("packs for %d; said to add %d to a value of %d", added, l.Added, l.Value)
	}
	if r := j.Readiness(l.Level).Workshop; math.Abs(r-l.Readiness) > 1e-9 {
		t.Errorf("levels said to be good for %v, and are for %v", l.Readiness, r)
	}
}

func TestWalksFromPositions(t *testing.T) {
	p := needs(1, 1)
	p.Items[0] = stock.Item{Pack: 10, Cost: 1000}
	p.Items[1] = stock.Item{Pack: 1, Cost: 500}
	for range 3 {
		p.Events = append(p.Events, stock.Event{{Type: 0, Prob: 1}})
	}
	for name, tt := range map[string]struct {
		from         []int
		packs, level []int
		added, value int64
	}{
		"an empty shelf takes all":                         {[]int{0, 0}, []int{1, 3}, []int{10, 3}, 2500, 2500},
		"nothing is bought on top of enough":               {[]int{4, 5}, []int{0, 0}, []int{4, 5}, 0, 2900},
		"what is there may be any number, packs are whole": {[]int{2, 1}, []int{1, 2}, []int{12, 3}, 2000, 2700},
		"what others wait for already is bought too":       {[]int{-8, -1}, []int{2, 4}, []int{12, 3}, 4000, 4000},
	} {
		t.Run(name, func(t *testing.T) {
			j, err := stock.New(p, stock.Effort{})
			if err != nil {
				t.Fatal(err)
			}
			got := j.Walk(tt.from).Reach(0.97)
			want := stock.Levels{Packs: tt.packs, Level: tt.level, Added: tt.added, Value: tt.value, Readiness: 1}
			if !reflect.DeepEqual(got, want) {
				t.Errorf("got %+v, want %+v", got, want)
			}
		})
	}
}

func TestItemsThatNoJobWaitsFor(t *testing.T) {
	p := needs(1, 1)
	p.Types[0].Lines[1].Critical = false
	for range 10 {
		p.Events = append(p.Events, stock.Event{{Type: 0, Prob: 0.5}})
	}
	j, err := stock.New(p, stock.Effort{})
	if err != nil {
		t.Fatal(err)
	}
	curve := j.Walk(nil)
	// Binomial(10, 0.5) is at most 7 in 0.945 and at most 6 in 0.828 (tables).
	for _, target := range []float64{0, 0.5, 0.99} {
		if got := curve.Reach(target).Packs[1]; got != 7 {
			t.Errorf("target %v: %d of the item that is not critical, want 7 for an availability of 0.90", target, got)
		}
	}
	if got := curve.Within(350).Packs; got[0] == 0 || got[1] != 0 {
		t.Errorf("packs %v for 350: jobs come first", got)
	}
	if got := curve.Within(math.MaxInt64).Packs; got[1] != 7 {
		t.Errorf("packs %v for any money", got)
	}
}

func TestCurveIsThinned(t *testing.T) {
	j, err := stock.New(workshop(1, 60, 12, 200, 2), stock.Effort{})
	if err != nil {
		t.Fatal(err)
	}
	curve := j.Walk(nil)
	all, few := curve.Points(0), curve.Points(20)
	if len(few) < 10 || len(few) > 25 || len(few) >= len(all) {
		t.Errorf("%d points of %d", len(few), len(all))
	}
	if few[0] != all[0] || few[len(few)-1] != all[len(all)-1] {
		t.Error("the ends of the curve are not its ends")
	}
	if first, last := all[0], all[len(all)-1]; first.Readiness > 0.2 || last.Readiness < 0.9995 {
		t.Errorf("the curve goes from %v to %v", first, last)
	}
}
