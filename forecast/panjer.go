package forecast

import "math"

// Poisson is the law of a count with the given mean. A mean that is not above
// 0 gives 0 for certain.
func Poisson(mean float64) PMF { return Compound(mean, 0, Certain(1)) }

// NegativeBinomial is the law of a Poisson count whose mean is itself drawn
// from a gamma law with the given mean and the shape size; its variance is
// mean + mean²/size. A size that is 0 or infinite gives the Poisson law.
func NegativeBinomial(mean, size float64) PMF { return Compound(mean, size, Certain(1)) }

// widest is the most steps a compound law may have.
const widest = 1 << 22

// Compound is the law of the sum of a negative binomial number of independent
// draws of severity, whose values must be at least 0: jobs by the mean and size
// of their number, each taking a random quantity. A size that is 0 or infinite
// makes the number Poisson. What lies more than four million steps up is left
// out, and the rest scaled to 1.
//
// By the recursion of Panjer, Recursive evaluation of a family of compound
// distributions, ASTIN Bulletin 12 (1981). All its terms are positive, so that
// no digits cancel. It starts from any number instead of the probability of 0,
// which would underflow for means above 700, and is scaled to 1 at the end.
func Compound(mean, size float64, severity PMF) PMF {
	d := newDraws(mean, size, severity)
	if !(d.weight > 0) {
		return PMF{}
	}
	law, sum := []float64{1}, 1.0
	first := 0 // terms before it have vanished
	for s := 1; s < widest; s++ {
		term := d.term(law)
		law, sum = append(law, term), sum+term
		if sum > 1e250 {
			sum = scale(law[first:], 1e-250)
			for law[first] == 0 {
				first++
			}
		}
		if s%d.most == 0 && d.beyond(law) < sum*tail/10 {
			break
		}
	}
	scale(law, 1/sum)
	return PMF{step: d.step, p: law}.trim()
}

// scale multiplies a law and gives its new sum.
func scale(law []float64, by float64) (sum float64) {
	for i := range law {
		law[i] *= by
		sum += law[i]
	}
	return sum
}

// draws is a compound law before it is worked out. A draw of 0 only thins the
// number of the others, which stays negative binomial with the same size, so
// that there are no draws of 0 left here.
type draws struct {
	step   int // values are in steps of it
	values []int
	probs  []float64
	most   int     // the greatest value
	mean   float64 // expected value
	// Panjer's a and a+b: the number n follows the number n-1 with the ratio of
	// probabilities (a·(n-1) + weight)/n.
	a, weight float64
}

func newDraws(mean, size float64, severity PMF) draws {
	d := draws{}
	positive := 0.0
	for value, prob := range severity.Each {
		if value > 0 && prob > 0 {
			d.step = gcd(d.step, value)
			d.values, d.probs = append(d.values, value), append(d.probs, prob)
			positive += prob
		}
	}
	mean = min(mean*positive, math.MaxFloat32)
	if !(mean > 0) {
		return draws{}
	}
	d.weight = mean
	if size > 0 && !math.IsInf(size, 1) {
		d.weight = mean / (1 + mean/size)
		d.a = mean / (mean + size)
	}
	for i := range d.values {
		d.values[i] /= d.step
		d.probs[i] /= positive
		d.mean += float64(d.values[i]) * d.probs[i]
	}
	d.most = d.values[len(d.values)-1]
	return d
}

// term is the next one of a law, given all before it.
func (d *draws) term(law []float64) float64 {
	s := len(law)
	sum := 0.0
	for i, j := range d.values {
		if j > s {
			break
		}
		sum += (d.a*float64(s-j) + d.weight*float64(j)) * d.probs[i] * law[s-j]
	}
	return sum / float64(s)
}

// beyond is a bound of all that comes after a law's terms so far. A term is at
// most ratio times the greatest of the window of terms before it, where ratio
// is the sum of the recursion's factors; so from window to window the terms
// fall at least by ratio.
func (d *draws) beyond(law []float64) float64 {
	s := len(law)
	ratio := max(d.a, d.a+(d.weight-d.a)*d.mean/float64(s))
	if ratio >= 1 {
		return math.Inf(1)
	}
	greatest := 0.0
	for _, term := range law[max(0, s-d.most):] {
		greatest = max(greatest, term)
	}
	return greatest * float64(d.most) * ratio / (1 - ratio)
}
