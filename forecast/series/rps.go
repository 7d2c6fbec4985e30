package series

import (
	"math"

	"gonum.org/v1/gonum/mathext"
)

// A law is summed term by term up to this standard deviation and this mean,
// beyond which its first term would underflow.
const (
	summedSD   = 700
	summedMean = 600
)

// rps is the ranked probability score of the negative binomial law with a mean
// and a size where y came: the sum over k of (F(k) - 1{y ≤ k})². Beyond wide
// laws a gamma law of the same mean and variance stands in: its score is a
// closed form.
func rps(mean, size float64, y int) float64 {
	if !(mean > 0) {
		return float64(y)
	}
	variance := mean + mean*mean/size
	if variance > summedSD*summedSD || mean > summedMean {
		return gammaCRPS(mean, variance, float64(y)+.5)
	}
	p, ratio, step := math.Exp(-mean), 0.0, mean
	if !math.IsInf(size, 1) {
		p = math.Exp(-size * math.Log1p(mean/size))
		ratio = mean / (mean + size)
		step = ratio * size
	}
	sum, upTo := 0.0, p
	for k := 0; ; k++ {
		if k < y {
			sum += upTo * upTo
		} else {
			beyond := 1 - upTo
			sum += beyond * beyond
			if beyond < 1e-4 {
				return sum
			}
		}
		p *= (step + ratio*float64(k)) / float64(k+1)
		upTo += p
		if p < 1e-12 && float64(k) > mean && k >= y {
			return sum
		}
	}
}

// gammaCRPS is the continuous ranked probability score of a gamma law, by
// Möller & Scheuerer, Probabilistic wind speed forecasting, 2013.
func gammaCRPS(mean, variance, y float64) float64 {
	shape, scale := mean*mean/variance, variance/mean
	lg, _ := math.Lgamma(shape)
	half, _ := math.Lgamma(shape + .5)
	beta := math.Sqrt(math.Pi) * math.Exp(lg-half) // B(1/2, shape)
	return y*(2*mathext.GammaIncReg(shape, y/scale)-1) -
		mean*(2*mathext.GammaIncReg(shape+1, y/scale)-1) - scale/beta
}
