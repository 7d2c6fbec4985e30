package stock

import (
	"fmt"
	"math/rand/v2"
	"os"
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
	perType := max(3, 2*items/types)
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

func TestExplore(t *testing.T) {
	if os.Getenv("EXPLORE") == "" {
		t.Skip()
	}
	p := workshopLike(1, 1000, 100, 2000, 3)
	t0 := time.Now()
	j, err := New(p, Effort{})
	if err != nil {
		t.Fatal(err)
	}
	fmt.Println("new", time.Since(t0))
	v, l, pt := 0, 0, 0
	for _, d := range j.demands {
		if d == nil {
			continue
		}
		v += len(d.vectors)
		pt += len(d.patterns)
		for _, x := range d.laws {
			l += len(x.p)
		}
	}
	nn := 0
	for _, r := range j.rows {
		nn += len(r.at) * (1 + len(r.parts))
	}
	fmt.Println("vectors", v, "law cells", l, "patterns", pt, "rows", len(j.rows), "cells", nn)
	lv := make([]int, len(p.Items))
	for _, a := range []float64{.9, .99, .995, .999} {
		for i := range lv {
			lv[i] = j.LevelFor(i, a)
		}
		t0 = time.Now()
		r := j.Readiness(lv)
		fmt.Println(a, "ready", r.Workshop, r.StandardError, r.Jobs, time.Since(t0))
		prod := 0.0
		for _, x := range r.Types {
			prod += x.Jobs * x.Product
		}
		fmt.Println("   product", prod/r.Jobs)
		for s := range uint64(3) {
			k, _ := New(p, Effort{Seed: s + 100})
			q := k.Readiness(lv)
			fmt.Print("   ", q.Workshop, " ", q.StandardError)
		}
		fmt.Println()
	}
}
