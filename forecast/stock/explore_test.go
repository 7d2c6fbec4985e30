package stock

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"testing"
	"time"
)

// workshopLike is a random problem of a size.
func workshopLike(seed uint64, items, types, events int, windows int) Problem {
	rng := rand.New(rand.NewPCG(seed, 1))
	p := Problem{Windows: windows}
	for i := range items {
		cost := int64(100 + rng.IntN(4000))
		pack := 1
		if i%5 == 0 {
			pack = []int{2, 5, 10}[rng.IntN(3)]
		}
		p.Items = append(p.Items, Item{Window: rng.IntN(windows), Pack: pack, Cost: cost})
	}
	shared := max(1, items/50)
	perType := max(3, 12*items/(10*types))
	needs := []float64{1, 1, 1, .8, .5, .3, .1}
	for range types {
		var t JobType
		seen := map[int]bool{}
		for len(t.Lines) < perType {
			it := rng.IntN(items)
			if len(t.Lines) < 2 {
				it = rng.IntN(shared)
			}
			if seen[it] {
				continue
			}
			seen[it] = true
			sz := Fixed(1 + rng.IntN(2))
			if rng.IntN(3) == 0 {
				sz = Spread(1.02)
			}
			t.Lines = append(t.Lines, Line{Item: it, Sizes: sz, Need: needs[rng.IntN(len(needs))], Critical: rng.IntN(10) > 0})
		}
		p.Types = append(p.Types, t)
	}
	for range events {
		a := rng.IntN(types)
		b := (a + 1) % types
		total := rng.Float64() * rng.Float64()
		var e Event
		for w := range windows {
			e = append(e, Outcome{a, w, total * .8 / float64(windows)}, Outcome{b, w, total * .2 / float64(windows)})
		}
		p.Events = append(p.Events, e)
	}
	return p
}

func smallProblem(rng *rand.Rand) Problem {
	items := 3 + rng.IntN(3)
	types := 2 + rng.IntN(3)
	windows := 1 + rng.IntN(2)
	p := Problem{Windows: windows}
	for range items {
		cost := int64(math.Exp(rng.Float64()*4) * 100)
		p.Items = append(p.Items, Item{Window: rng.IntN(windows), Pack: 1 + rng.IntN(2)*rng.IntN(2), Cost: cost})
	}
	needs := []float64{1, 1, .8, .5, .3, .1}
	for range types {
		var t JobType
		for i := range items {
			if rng.IntN(2) == 0 {
				sz := Fixed(1 + rng.IntN(2)*rng.IntN(2))
				if rng.IntN(4) == 0 {
					sz = Spread(1.02)
				}
				t.Lines = append(t.Lines, Line{Item: i, Sizes: sz, Need: needs[rng.IntN(len(needs))], Critical: rng.IntN(8) > 0})
			}
		}
		p.Types = append(p.Types, t)
	}
	for range 4 + rng.IntN(8) {
		a := rng.IntN(types)
		b := (a + 1) % types
		total := rng.Float64()
		var e Event
		for w := range windows {
			e = append(e, Outcome{a, w, total * .8 / float64(windows)}, Outcome{b, w, total * .2 / float64(windows)})
		}
		p.Events = append(p.Events, e)
	}
	return p
}

type frontier struct {
	cost  []int64
	ready []float64
}

// brute: all levels.
func brute(j *Joint) ([]curvePoint, bool) {
	w := newShelf(j, make([]int, len(j.problem.Items)))
	n := len(w.from)
	tops := make([]int, n)
	combos := 1
	cols := make([]chances, n)
	for i := range n {
		if len(w.waiters[i]) == 0 {
			continue
		}
		tops[i] = w.ladders[i].packs[len(w.ladders[i].packs)-1]
		var lv []int
		for k := range tops[i] + 1 {
			lv = append(lv, k*j.problem.Items[i].Pack)
		}
		cols[i] = j.demands[i].chances(lv)
		combos *= tops[i] + 1
	}
	if combos > 40000 {
		return nil, false
	}
	var pts []curvePoint
	packs := make([]int, n)
	var rec func(i int, ready [][]float64, cost int64)
	rec = func(i int, ready [][]float64, cost int64) {
		if i == n {
			t := sum(j.alwaysN)
			for _, r := range ready {
				t += sum(r)
			}
			pts = append(pts, curvePoint{slices.Clone(packs), cost, t / w.jobs})
			return
		}
		for k := 0; k <= tops[i]; k++ {
			packs[i] = k
			next := ready
			if len(w.waiters[i]) > 0 {
				next = slices.Clone(ready)
				for _, u := range w.waiters[i] {
					part := j.rows[u.row].parts[u.part]
					next[u.row] = slices.Clone(next[u.row])
					col := cols[i].patterns[part.pattern]
					for x, v := range part.vector {
						next[u.row][x] *= col[int(v)*(tops[i]+1)+k]
					}
				}
			}
			rec(i+1, next, cost+int64(k)*j.problem.Items[i].Cost)
		}
	}
	var base [][]float64
	for _, r := range j.rows {
		base = append(base, r.weight)
	}
	rec(0, base, 0)
	slices.SortFunc(pts, func(a, b curvePoint) int {
		if a.cost != b.cost {
			return int(a.cost - b.cost)
		}
		return int(math.Copysign(1, b.ready-a.ready))
	})
	var f []curvePoint
	for _, p := range pts {
		if len(f) == 0 || p.ready > f[len(f)-1].ready+1e-12 {
			f = append(f, p)
		}
	}
	return f, true
}

func cheapest(pts []curvePoint, target float64) int64 {
	best := int64(math.MaxInt64)
	for _, p := range pts {
		if p.ready >= target-1e-12 && p.cost < best {
			best = p.cost
		}
	}
	return best
}

type curvePoint struct {
	packs []int
	cost  int64
	ready float64
}

func TestFrontier(t *testing.T) {
	if os.Getenv("EXPLORE") == "" {
		t.Skip()
	}
	targets := []float64{.5, .7, .8, .9, .95, .97, .99}
	type acc struct {
		sum, max float64
		n, opt   int
	}
	res := map[string][]acc{}
	names := []string{"walk", "reach", "within"}
	for _, n := range names {
		res[n] = make([]acc, len(targets))
	}
	cases := 0
	for seed := uint64(0); cases < 150; seed++ {
		j, err := New(smallProblem(rand.New(rand.NewPCG(seed, 7))), Effort{States: 20000})
		if err != nil {
			t.Fatal(err)
		}
		if len(j.rows) == 0 || len(j.scenarios.prob) > 1500 {
			continue
		}
		f, ok := brute(j)
		if !ok {
			continue
		}
		cases++
		c := j.Walk(nil)
		for k, target := range targets {
			opt := cheapest(f, target)
			if opt == math.MaxInt64 || opt == 0 {
				continue
			}
			w := int64(math.MaxInt64)
			for _, s := range c.steps {
				if s.readiness >= target-1e-12 {
					w = min(w, s.added)
				}
			}
			l := c.Reach(target)
			rr := j.Readiness(l.Level)
			if math.Abs(rr.Workshop-l.Readiness) > 1e-9 || l.Readiness < target-1e-11 {
				t.Errorf("seed %d target %v: says %v is %v", seed, target, l.Readiness, rr.Workshop)
			}
			wi := c.Within(opt + c.side)
			note := func(name string, gap float64) {
				a := &res[name][k]
				a.n++
				a.sum += gap
				if gap < 1e-9 {
					a.opt++
				}
				a.max = max(a.max, gap)
			}
			note("walk", float64(w)/float64(opt)-1)
			note("reach", float64(l.Added-c.side)/float64(opt)-1)
			note("within", max(0, target-wi.Readiness))
		}
	}
	for _, v := range names {
		fmt.Printf("%-24s", v)
		for k, a := range res[v] {
			fmt.Printf(" %.2f: %5.1f%% max %4.0f%% opt %3d/%d |", targets[k], 100*a.sum/float64(a.n), 100*a.max, a.opt, a.n)
		}
		fmt.Println()
	}
}

func TestExplore(t *testing.T) {
	if os.Getenv("EXPLORE") == "" {
		t.Skip()
	}
	p := workshopLike(1, 1000, 100, 2000, 3)
	t0 := time.Now()
	lap := func(what string) { fmt.Println(what, time.Since(t0)); t0 = time.Now() }
	j, err := New(p, Effort{})
	if err != nil {
		t.Fatal(err)
	}
	lap("new")
	c := j.Walk(nil)
	lap("walk")
	fmt.Println("steps", len(c.steps), "points", len(c.Points(50)))
	for _, target := range []float64{.5, .9, .95, .97, .99} {
		k := 0
		for i, s := range c.steps {
			if s.readiness >= target {
				k = i
			}
		}
		t0 = time.Now()
		l := c.Reach(target)
		lap("reach")
		fmt.Println(target, "walk", c.steps[k].added, "reach", l.Added-c.side, l.Readiness, "side", c.side)
		for s := range uint64(3) {
			k, _ := New(p, Effort{Seed: s + 100})
			q := k.Readiness(l.Level)
			fmt.Print("   ", q.Workshop, " ", q.StandardError)
		}
		fmt.Println()
	}
}
