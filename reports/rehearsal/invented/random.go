package invented

import (
	"math"
	"math/rand/v2"
)

// dice are a stream of random numbers of its own; streams with different
// numbers do not touch each other, so that one more customer changes no other's
// days.
type dice struct{ *rand.Rand }

// The streams that belong to nobody's unit; units take the numbers from
// streamUnits on.
const (
	streamConfig = iota
	streamTruth
	streamWalkIns
	streamTakings
	streamOrders
	streamFleet     = 1 << 20
	streamCustomers = 2 << 20
	streamSeen      = 3 << 20 // units first seen as walk-ins
)

func newDice(seed, stream uint64) dice { return dice{rand.New(rand.NewPCG(seed, stream))} }

func (d dice) chance(p float64) bool { return d.Float64() < p }

func (d dice) between(low, high float64) float64 { return low + (high-low)*d.Float64() }

// gamma draws a gamma number of scale one (Marsaglia & Tsang 2000).
func (d dice) gamma(shape float64) float64 {
	if shape <= 0 {
		return 0
	}
	if shape < 1 {
		return d.gamma(shape+1) * math.Exp(-d.ExpFloat64()/shape)
	}
	a := shape - 1./3
	c := 1 / math.Sqrt(9*a)
	for {
		x := d.NormFloat64()
		v := 1 + c*x
		if v <= 0 {
			continue
		}
		v = v * v * v
		if math.Log(d.Float64()) < x*x/2+a*(1-v+math.Log(v)) {
			return a * v
		}
	}
}

// beta draws a share with this mean, as sharp as so many cases make it.
func (d dice) beta(mean, cases float64) float64 {
	a := d.gamma(mean * cases)
	b := d.gamma((1 - mean) * cases)
	return a / (a + b)
}

// poisson counts exponential waits within the mean.
func (d dice) poisson(mean float64) int {
	n := 0
	for left := mean - d.ExpFloat64(); left > 0; left -= d.ExpFloat64() {
		n++
	}
	return n
}

// geometric draws from 0, 1, 2, … with this mean.
func (d dice) geometric(mean float64) int {
	n := 0
	for again := mean / (1 + mean); d.chance(again); {
		n++
	}
	return n
}
