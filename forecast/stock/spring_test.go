package stock

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"
)

// Laws made from ratios are those of the closed forms: negative binomial by
// the gamma function, Poisson and binomial by gonum.
func TestLawsFromRatios(t *testing.T) {
	check := func(what string, law pmf, want func(n int) float64) {
		t.Helper()
		total := 0.0
		for k, got := range law.p {
			total += got
			if w := want(law.lo + k); math.Abs(got-w) > 1e-11*(1+w) {
				t.Errorf("%s: %v at %d, want %v", what, got, law.lo+k, w)
			}
		}
		if math.Abs(total-1) > 1e-12 || law.lo > 0 && want(law.lo-1) > dropped || want(law.lo+len(law.p)) > dropped {
			t.Errorf("%s: adds up to %v from %d to %d", what, total, law.lo, law.lo+len(law.p)-1)
		}
	}
	for _, mean := range []float64{0.01, 1, 7.5, 300, 3000} {
		law, ok := mixing(math.Inf(1)).count(mean)
		if !ok {
			t.Fatal(mean)
		}
		check("Poisson", law, func(n int) float64 { return distuv.Poisson{Lambda: mean}.Prob(float64(n)) })
		for _, size := range []float64{0.2, 1, 3.5, 80} {
			law, ok := mixing(size).count(mean)
			if far := math.Log(1/dropped) * mean / size; ok != (far < maxJobs) { // its tail is nearly geometric
				t.Errorf("mean %v, size %v: told apart %v, and it reaches to some %v", mean, size, ok, far)
			}
			if !ok {
				continue
			}
			check("negative binomial", law, func(n int) float64 {
				all, _ := math.Lgamma(size + float64(n))
				own, _ := math.Lgamma(size)
				factorial, _ := math.Lgamma(float64(n) + 1)
				return math.Exp(all - own - factorial + size*math.Log(size/(size+mean)) + float64(n)*math.Log(mean/(size+mean)))
			})
		}
	}
	for _, n := range []int{1, 6, 40, 5000} {
		for _, share := range []float64{0.001, 0.3, 0.5, 0.98} {
			check("binomial", binomial(n, share), func(k int) float64 {
				if k > n {
					return 0
				}
				return distuv.Binomial{N: float64(n), P: share}.Prob(float64(k))
			})
		}
	}
}

// What a stream's jobs take is the mix, over their number, of so many jobs'
// takings; also of a thousand jobs, where nothing taken has no chance.
func TestCompoundsAreMixesOfSums(t *testing.T) {
	check := func(t interface{ Errorf(string, ...any) }, r mixing, mean float64, u use) {
		numbers, _ := r.count(mean)
		got := r.compound(mean, u)
		sum, want := []float64{1}, make([]float64, got.lo+len(got.p)+1)
		for n := 0; n < numbers.lo+len(numbers.p); n++ {
			if n >= numbers.lo {
				for x, prob := range sum {
					want[min(x, len(want)-1)] += numbers.p[n-numbers.lo] * prob
				}
			}
			sum = convolvedTo(sum, u, len(want)+8)
		}
		for k, prob := range got.p {
			if x := got.lo + k; math.Abs(prob-want[x]) > 1e-12 {
				t.Errorf("shape %v mean %v: %v at %d, want %v", float64(r), mean, prob, x, want[x])
				return
			}
		}
		if beyond := want[len(want)-1]; beyond > 1e-11 {
			t.Errorf("shape %v mean %v: %v beyond", float64(r), mean, beyond)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		shape := rapid.SampledFrom([]float64{0.3, 1, 2.5, 40, math.Inf(1)}).Draw(t, "shape")
		check(t, mixing(shape), rapid.Float64Range(0.01, 6).Draw(t, "mean"), someUse(t))
	})
	for _, shape := range []float64{200, math.Inf(1)} {
		check(t, mixing(shape), 900, use{{0, 0.2, 0}, {1, 0.8, 0.8}})
		check(t, mixing(shape), 900, use{{1, 1, 1}})
	}
}

// convolvedTo adds one job, with all from a quantity on as one.
func convolvedTo(sum []float64, u use, most int) []float64 {
	next := make([]float64, min(len(sum)+u.most(), most))
	for x, prob := range sum {
		for _, p := range u {
			next[min(x+p.qty, len(next)-1)] += prob * p.prob
		}
	}
	return next
}

// Each scenario is an honest draw: its counts in two windows have the means,
// variances and covariance of a negative multinomial. 400 batches of 64 are
// independent; the batches' own means are much closer than chance.
func TestDrawnCountsOfAStream(t *testing.T) {
	const batches, per = 400, 64
	p := Problem{Windows: 3, Types: make([]JobType, 1), Streams: []Stream{{Means: []float64{1.5, 0, 2.5}, Shape: 2}}}
	s := sample(p, Effort{Batches: batches, PerBatch: per, Seed: 5})
	var first, last, firsts, lasts, both, spread float64
	n := float64(batches * per)
	inBatch := make([]float64, batches)
	for i := range s.prob {
		a, b := float64(s.upTo[0][i]), float64(s.upTo[2][i]-s.upTo[1][i])
		if s.upTo[1][i] != s.upTo[0][i] {
			t.Fatal("jobs in a window that has none")
		}
		first, last, both = first+a/n, last+b/n, both+a*b/n
		firsts, lasts = firsts+a*a/n, lasts+b*b/n
		inBatch[i/per] += (a + b) / per
	}
	for _, mean := range inBatch {
		spread += (mean - 4) * (mean - 4) / batches
	}
	within := func(what string, got, want, tolerance float64) {
		if math.Abs(got-want) > tolerance {
			t.Errorf("%s: %v, want %v", what, got, want)
		}
	}
	// Variance m + m²/2 and covariance m₁·m₂/2, by the law of total variance.
	within("mean of the first", first, 1.5, 4*math.Sqrt((1.5+1.5*1.5/2)/n))
	within("mean of the last", last, 2.5, 4*math.Sqrt((2.5+2.5*2.5/2)/n))
	within("variance of the first", firsts-first*first, 1.5+1.5*1.5/2, 0.15)
	within("variance of the last", lasts-last*last, 2.5+2.5*2.5/2, 0.3)
	within("covariance", both-first*last, 1.5*2.5/2, 0.15)
	if plain := (4 + 16.0/2) / per; spread > plain/4 {
		t.Errorf("batches' means vary by %v, by chance %v", spread, plain)
	}
}

func TestDrawnFromATable(t *testing.T) {
	law, _ := mixing(1.5).count(3)
	table, rng := law.table(), rand.New(rand.NewPCG(1, 1))
	const throws = 100_000
	seen := make([]float64, law.lo+len(law.p))
	for range throws {
		seen[table.at(rng.Float64())] += 1.0 / throws
	}
	for k, got := range seen {
		if want := law.p[k]; math.Abs(got-want) > 4*math.Sqrt(want/throws)+1e-4 {
			t.Errorf("%d: drawn %v, want %v", k, got, want)
		}
	}
	if got := table.at(math.Nextafter(1, 0)); got != len(law.p)-1 {
		t.Errorf("the last number stands for %d of %d", got, len(law.p))
	}
}
