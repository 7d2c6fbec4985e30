package series

import "math"

// harmonics are the sine and cosine pairs of a season.
const harmonics = 2

// firm is how sure it is beforehand that there is no season: coefficients of
// the harmonics are normal around 0 with this standard deviation.
const firm = .4

// seasonOf is the season's factors, by phase with mean 1, of a family's counts
// in the first n periods: a smooth log-linear profile of two harmonics beside a
// level and a trend, by penalised quasi-likelihood (Breslow & Clayton, Journal
// of the American Statistical Association 88, 1993). The penalty shrinks the
// profile to 1, the more so the more the counts scatter. Nil where the periods
// are less than one season.
func seasonOf(total []float64, phase []int, phases, n int) []float64 {
	if phases < 2 || n < phases || len(phase) < n {
		return nil
	}
	sum := 0.0
	for _, y := range total[:n] {
		sum += y
	}
	if sum == 0 {
		return nil
	}
	var b [terms]float64
	b[0] = math.Log(sum / float64(n))
	scatter := 1.0
	for range 8 {
		var ok bool
		if b, scatter, ok = improve(b, scatter, total[:n], phase, phases); !ok {
			return nil
		}
	}
	return profile(b, phases)
}

// terms are level, trend and harmonics.
const terms = 2 + 2*harmonics

func row(t, n, phase, phases int) (x [terms]float64) {
	x[0], x[1] = 1, float64(t)/float64(n)-.5
	for h := range harmonics {
		x[2+2*h], x[3+2*h] = math.Sincos(2 * math.Pi * float64((h+1)*phase) / float64(phases))
	}
	return x
}

// improve is one step of Fisher scoring.
func improve(b [terms]float64, scatter float64, y []float64, phase []int, phases int) ([terms]float64, float64, bool) {
	var a [terms][terms]float64
	var g [terms]float64
	pearson := 0.0
	for t := range y {
		x := row(t, len(y), phase[t], phases)
		eta := 0.0
		for i := range x {
			eta += b[i] * x[i]
		}
		mean := math.Exp(min(eta, 30))
		pearson += (y[t] - mean) * (y[t] - mean) / max(mean, 1e-12)
		for i := range x {
			g[i] += x[i] * (y[t] - mean) / scatter
			for k := range x {
				a[i][k] += x[i] * x[k] * mean / scatter
			}
		}
	}
	for i := 1; i < terms; i++ {
		loose := firm
		if i == 1 {
			loose = 2
		}
		a[i][i] += 1 / (loose * loose)
		g[i] -= b[i] / (loose * loose)
	}
	step, ok := solve(a, g)
	for i := range b {
		b[i] += max(-2, min(2, step[i]))
	}
	return b, max(1, pearson/float64(len(y))), ok
}

// solve is Gauss elimination of a symmetric positive system.
func solve(a [terms][terms]float64, g [terms]float64) ([terms]float64, bool) {
	for i := range g {
		if !(a[i][i] > 1e-12) {
			return g, false
		}
		for k := i + 1; k < len(g); k++ {
			by := a[k][i] / a[i][i]
			for j := i; j < len(g); j++ {
				a[k][j] -= by * a[i][j]
			}
			g[k] -= by * g[i]
		}
	}
	for i := len(g) - 1; i >= 0; i-- {
		for j := i + 1; j < len(g); j++ {
			g[i] -= a[i][j] * g[j]
		}
		g[i] /= a[i][i]
	}
	return g, true
}

func profile(b [terms]float64, phases int) []float64 {
	factor, sum := make([]float64, phases), 0.0
	for p := range factor {
		x := row(0, 1, p, phases)
		for i := 2; i < terms; i++ {
			factor[p] += b[i] * x[i]
		}
		factor[p] = math.Exp(factor[p])
		sum += factor[p]
	}
	for p := range factor {
		factor[p] *= float64(phases) / sum
	}
	return factor
}
