package forecast

import (
	"errors"
	"fmt"
	"math"
)

// PMF is the law of a whole number: probabilities of low, low+step,
// low+2·step, … Its tails are cut where less than 1e-15 lies beyond. The zero
// PMF is 0 for certain. A PMF is never changed once made.
type PMF struct {
	low, step int
	p         []float64
}

// tail is the probability that may be cut from either end of a law.
const tail = 1e-15

// ErrLaw is wrapped by every refusal to make a law of probabilities.
var ErrLaw = errors.New("not a law")

// NewPMF is the law with probability p[i] of the value low + i·step. The
// probabilities must be at least 0 and sum to 1 within 1e-9.
func NewPMF(low, step int, p []float64) (PMF, error) {
	if step < 1 {
		return PMF{}, fmt.Errorf("%w: found step %d, expected at least 1", ErrLaw, step)
	}
	sum := 0.0
	for i, q := range p {
		if !(q >= 0) {
			return PMF{}, fmt.Errorf("%w: found %v for value %d, expected a probability", ErrLaw, q, low+i*step)
		}
		sum += q
	}
	if !(math.Abs(sum-1) <= 1e-9) {
		return PMF{}, fmt.Errorf("%w: probabilities sum to %v, expected 1", ErrLaw, sum)
	}
	return PMF{low: low, step: step, p: append([]float64(nil), p...)}.trim(), nil
}

// Certain is the law of one value without doubt.
func Certain(value int) PMF { return PMF{low: value, step: 1, p: []float64{1}} }

// Around is the law with the given mean, at least 0, on the two multiples of
// grid that enclose it. A quantity of 1 with waste .02 is Around(1.02, 1): 1
// with probability .98, else 2; 63.4 ml in tenths on a grid of 1 ml is
// Around(634, 10). A mean that is no number is taken as 0.
func Around(mean float64, grid int) PMF {
	if !(mean > 0) || grid < 1 || mean > math.MaxInt32 {
		return Certain(0)
	}
	cell := math.Floor(mean / float64(grid))
	up := mean/float64(grid) - cell
	if up < 1e-12 {
		return Certain(int(cell) * grid)
	}
	if 1-up < 1e-12 {
		return Certain((int(cell) + 1) * grid)
	}
	return PMF{low: int(cell) * grid, step: grid, p: []float64{1 - up, up}}
}

// PoissonBinomial is the law of the number of events that happen, of
// independent ones with the given probabilities, by exact convolution. A
// probability outside 0 to 1 is taken as the nearer of the two, NaN as 0.
func PoissonBinomial(probs []float64) PMF {
	law := make([]float64, 1, len(probs)+1)
	law[0] = 1
	for _, q := range probs {
		q = probability(q)
		law = append(law, 0)
		for k := len(law) - 1; k > 0; k-- {
			law[k] = law[k]*(1-q) + law[k-1]*q
		}
		law[0] *= 1 - q
	}
	return PMF{step: 1, p: law}.trim()
}

func probability(q float64) float64 {
	if !(q > 0) {
		return 0
	}
	return min(q, 1)
}

// trim cuts both tails.
func (f PMF) trim() PMF {
	i, j := 0, len(f.p)
	for cut := 0.0; i < j-1; i++ {
		if cut += f.p[i]; cut > tail {
			break
		}
	}
	for cut := 0.0; j > i+1; j-- {
		if cut += f.p[j-1]; cut > tail {
			break
		}
	}
	return PMF{low: f.low + i*f.step, step: f.step, p: f.p[i:j]}
}

// whole is f with the zero value spelled out.
func (f PMF) whole() PMF {
	if len(f.p) == 0 {
		return Certain(0)
	}
	return f
}

// Range is the least and the greatest value of the law.
func (f PMF) Range() (low, high int) {
	f = f.whole()
	return f.low, f.low + (len(f.p)-1)*f.step
}

// Each calls yield for every value of the law, rising, with its probability.
func (f PMF) Each(yield func(value int, prob float64) bool) {
	f = f.whole()
	for i, q := range f.p {
		if !yield(f.low+i*f.step, q) {
			return
		}
	}
}

// At is the probability of a value.
func (f PMF) At(value int) float64 {
	f = f.whole()
	i := value - f.low
	if i < 0 || i%f.step != 0 || i/f.step >= len(f.p) {
		return 0
	}
	return f.p[i/f.step]
}

// CDF is the probability of a value or less.
func (f PMF) CDF(value int) float64 {
	f = f.whole()
	sum := 0.0
	for i := 0; i < len(f.p) && f.low+i*f.step <= value; i++ {
		sum += f.p[i]
	}
	return min(sum, 1)
}

// Survival is the probability of more than a value, summed from the far end
// so that small ones keep their digits.
func (f PMF) Survival(value int) float64 {
	f = f.whole()
	sum := 0.0
	for i := len(f.p) - 1; i >= 0 && f.low+i*f.step > value; i-- {
		sum += f.p[i]
	}
	return min(sum, 1)
}

// Quantile is the least value whose CDF is at least prob; the greatest value
// where prob is 1 or more.
func (f PMF) Quantile(prob float64) int {
	f = f.whole()
	// Sums of many terms fall short of a round number by some units in the
	// last place; the slack keeps the quantile from jumping over it.
	const slack = 1e-13
	sum := 0.0
	for i, q := range f.p {
		if sum += q; sum >= prob-slack {
			return f.low + i*f.step
		}
	}
	return f.low + (len(f.p)-1)*f.step
}

// Mean is the expected value.
func (f PMF) Mean() float64 {
	sum := 0.0
	for value, q := range f.Each {
		sum += float64(value) * q
	}
	return sum
}

// Variance is the expected square of the distance from the mean.
func (f PMF) Variance() float64 {
	mean, sum := f.Mean(), 0.0
	for value, q := range f.Each {
		sum += (float64(value) - mean) * (float64(value) - mean) * q
	}
	return sum
}
