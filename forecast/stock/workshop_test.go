package stock_test

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/stat/distuv"

	"circlip/forecast/stock"
)

// workshop is a made-up workshop: some items shared by many job types, five of
// them fluids, units that bring one service or the next larger one in one of
// the windows.
func workshop(seed uint64, items, types, units, windows int) stock.Problem {
	rng := rand.New(rand.NewPCG(seed, 1))
	p := stock.Problem{Windows: windows}
	fluids := items / 40
	for i := range items {
		it := stock.Item{Window: rng.IntN(windows), Pack: 1, Cost: int64(100 + rng.IntN(4000))}
		switch {
		case i < fluids:
			it.Pack, it.Cost = 1000, 4000
		case i%5 == 0:
			it.Pack = []int{2, 5, 10}[rng.IntN(3)]
		}
		p.Items = append(p.Items, it)
	}
	shared, lines := max(2, items/40), max(3, 12*items/(10*types))
	for range types {
		p.Types = append(p.Types, someType(rng, items, shared, lines, fluids))
	}
	for range units {
		service := rng.IntN(types)
		comes := rng.Float64() * rng.Float64()
		var unit stock.Event
		for w := range windows {
			unit = append(unit,
				stock.Outcome{Type: service, Window: w, Prob: 0.8 * comes / float64(windows)},
				stock.Outcome{Type: (service + 1) % types, Window: w, Prob: 0.2 * comes / float64(windows)})
		}
		p.Events = append(p.Events, unit)
	}
	return p
}

func someType(rng *rand.Rand, items, shared, lines, fluids int) stock.JobType {
	var typ stock.JobType
	taken := map[int]bool{}
	for len(typ.Lines) < lines {
		item := rng.IntN(items)
		if len(typ.Lines) < 2 {
			item = rng.IntN(shared)
		}
		if taken[item] {
			continue
		}
		taken[item] = true
		line := stock.Line{Item: item, Sizes: stock.Fixed(1 + rng.IntN(2)), Critical: rng.IntN(10) > 0,
			Need: []float64{1, 1, 1, .8, .5, .3, .1}[rng.IntN(7)]}
		switch {
		case item < fluids:
			line.Sizes, line.Need = stock.Spread(20+100*rng.Float64()), 1
		case rng.IntN(3) == 0:
			line.Sizes = stock.Spread(1.02)
		}
		typ.Lines = append(typ.Lines, line)
	}
	return typ
}

// bench is a workshop so small that all its levels can be tried.
func bench(seed uint64) stock.Problem {
	rng := rand.New(rand.NewPCG(seed, 7))
	items, types, windows := 3+rng.IntN(3), 2+rng.IntN(3), 1+rng.IntN(2)
	p := stock.Problem{Windows: windows}
	for range items {
		cost := int64(math.Exp(rng.Float64()*4) * 100)
		p.Items = append(p.Items, stock.Item{Window: rng.IntN(windows), Pack: 1 + rng.IntN(2)*rng.IntN(2), Cost: cost})
	}
	for range types {
		var typ stock.JobType
		for i := range items {
			if rng.IntN(2) > 0 {
				continue
			}
			sizes := stock.Fixed(1 + rng.IntN(2)*rng.IntN(2))
			if rng.IntN(4) == 0 {
				sizes = stock.Spread(1.02)
			}
			need := []float64{1, 1, .8, .5, .3, .1}[rng.IntN(6)]
			typ.Lines = append(typ.Lines, stock.Line{Item: i, Sizes: sizes, Need: need, Critical: rng.IntN(8) > 0})
		}
		p.Types = append(p.Types, typ)
	}
	for range 4 + rng.IntN(8) {
		service, comes := rng.IntN(types), rng.Float64()
		var unit stock.Event
		for w := range windows {
			unit = append(unit,
				stock.Outcome{Type: service, Window: w, Prob: 0.8 * comes / float64(windows)},
				stock.Outcome{Type: (service + 1) % types, Window: w, Prob: 0.2 * comes / float64(windows)})
		}
		p.Events = append(p.Events, unit)
	}
	return p
}

func negativeBinomial(mean, r float64) []stock.Scenario {
	p := r / (r + mean)
	prob := math.Pow(p, r)
	var list []stock.Scenario
	for n := 0; float64(n) < mean || prob > 1e-18; n++ {
		list = append(list, stock.Scenario{Prob: prob, Counts: []int{n}})
		prob *= (float64(n) + r) / float64(n+1) * (1 - p)
	}
	return list
}

// normal is a normal demand told in steps: each step has what lies above the
// one below it.
func normal(mean, sd, step float64) []stock.Scenario {
	law := distuv.Normal{Mu: mean, Sigma: sd}
	list := []stock.Scenario{{Prob: law.CDF(0), Counts: []int{0}}}
	for n := 1; float64(n)*step < mean+7*sd; n++ {
		prob := law.CDF(float64(n)*step) - law.CDF(float64(n-1)*step)
		list = append(list, stock.Scenario{Prob: max(0, prob), Counts: []int{n}})
	}
	return list
}
