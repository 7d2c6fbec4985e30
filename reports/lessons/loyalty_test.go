package lessons

import (
	"math"
	"math/rand/v2"
	"testing"
)

// live simulates the law of a unit over so many due services: its tally, and
// whether it is still there after them.
func (l loyalty) live(r *rand.Rand, due int) (t tally, stays bool) {
	stays = r.Float64() >= l.once
	missed := 0
	for range due {
		if stays && r.Float64() < l.comes {
			t.here++
			t.between += missed
			missed = 0
		} else {
			missed++
		}
		stays = stays && r.Float64() >= l.leaves
	}
	t.since = missed
	return t, stays
}

// Of units with the same tally as many are still there as the law says: its
// posterior against a simulation, four standard errors.
func TestWhoStaysIsAsTheSimulationHasIt(t *testing.T) {
	r := rand.New(rand.NewPCG(5, 8))
	law := loyalty{once: 0.2, leaves: 0.1, comes: 0.6}
	n, stay := map[tally]int{}, map[tally]int{}
	for range 60_000 {
		unit, stays := law.live(r, 4)
		n[unit]++
		if stays {
			stay[unit]++
		}
	}
	if len(n) < 8 {
		t.Fatalf("found %d tallies, expected many", len(n))
	}
	for unit, units := range n {
		p := law.of(unit).Stays
		if d := math.Abs(float64(stay[unit])/float64(units) - p); d > 4*math.Sqrt(p*(1-p)/float64(units))+1e-9 {
			t.Errorf("%+v: found %d of %d still there, expected a share of %.4f", unit, stay[unit], units, p)
		}
	}
}

// The chances of all tallies of so many due services add up to 1, each counted
// as often as its misses between visits can be dealt.
func TestChancesOfTalliesAreThoseOfTheSimulation(t *testing.T) {
	r := rand.New(rand.NewPCG(13, 21))
	law := loyalty{once: 0.1, leaves: 0.2, comes: 0.5}
	const units = 60_000
	n := map[tally]int{}
	for range units {
		unit, _ := law.live(r, 3)
		n[unit]++
	}
	sum := 0.0
	for unit, found := range n {
		gone, stays := law.weigh(unit)
		ways := 1.0 // the last visit ends the row, the misses before lie anywhere
		if unit.here > 0 {
			ways = binomial(unit.here+unit.between-1, unit.between)
		}
		p := ways * (gone + stays)
		sum += p
		if d := math.Abs(float64(found)/units - p); d > 4*math.Sqrt(p*(1-p)/units) {
			t.Errorf("%+v: found a share of %.4f, expected %.4f", unit, float64(found)/units, p)
		}
	}
	if math.Abs(sum-1) > 1e-9 {
		t.Errorf("found chances that add up to %v, expected 1", sum)
	}
}

func binomial(n, k int) float64 {
	b := 1.0
	for i := range k {
		b *= float64(n-i) / float64(i+1)
	}
	return b
}

// The law is found again: over many kinds of units the mean is within four
// standard errors and half a step of the grid.
func TestTheLawIsFoundAgain(t *testing.T) {
	for _, law := range []loyalty{{0, 0.05, 0.91}, {0.3, 0.1, 0.6}, {0.1, 0.02, 0.4}} {
		r := rand.New(rand.NewPCG(34, 55))
		const kinds = 12
		var once, leaves, comes [kinds]float64
		for k := range kinds {
			units := map[tally]int{}
			for range 500 {
				unit, _ := law.live(r, 8)
				units[unit]++
			}
			found := likeliest(units)
			once[k], leaves[k], comes[k] = found.once, found.leaves, found.comes
		}
		for _, c := range []struct {
			what  string
			found [kinds]float64
			truth float64
			half  float64
		}{{"once", once, law.once, 0.025}, {"leaves", leaves, law.leaves, 0.015}, {"comes", comes, law.comes, 0.025}} {
			mean, square := 0.0, 0.0
			for _, x := range c.found {
				mean += x / kinds
				square += x * x / kinds
			}
			error4 := 4 * math.Sqrt(max(0, square-mean*mean)/(kinds-1))
			if math.Abs(mean-c.truth) > error4+c.half {
				t.Errorf("%+v: %s found as %.3f on average, expected within %.3f", law, c.what, mean, error4+c.half)
			}
		}
	}
}
