package series

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// made is a workshop's past, drawn as the gamma-Poisson model says: rates from
// a gamma law, a season of the given depth around the middle of the year.
func made(seed uint64, series, weeks int, depth float64) (p Past, rates []float64) {
	source := rand.New(rand.NewPCG(seed, 1))
	p.Phases = 52
	for week := range weeks {
		p.Phase = append(p.Phase, week%52)
	}
	for i := range series {
		rate := distuv.Gamma{Alpha: .7, Beta: 2, Src: source}.Rand()
		s := Series{Counts: make([]int, weeks), Family: i % 5}
		for week := range weeks {
			mean := rate * (1 + depth*sine(week))
			s.Counts[week] = int(distuv.Poisson{Lambda: mean, Src: source}.Rand())
		}
		p.Series, rates = append(p.Series, s), append(rates, rate)
	}
	return p, rates
}

func BenchmarkFit(b *testing.B) {
	p, _ := made(1, 500, 260, .5)
	b.ResetTimer()
	for range b.N {
		Fit(p)
	}
}

func sine(week int) float64 { return -math.Cos(2 * math.Pi * float64(week%52) / 52) }
