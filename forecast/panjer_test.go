package forecast

import (
	"cmp"
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

func TestCountsInClosedForm(t *testing.T) {
	for _, mean := range []float64{.001, .3, 4, 90, 699, 701, 5000, 40_000} {
		for _, size := range []float64{0, .2, 1, 7, 300, math.Inf(1)} {
			if size > 0 && mean/size > 50_000 {
				continue // cut, see below
			}
			law := NegativeBinomial(mean, size)
			variance := mean
			if size > 0 {
				variance += mean * mean / size
			}
			if math.Abs(law.Mean()/mean-1) > 1e-11 || math.Abs(law.Variance()/variance-1) > 1e-10 {
				t.Errorf("mean %v size %v: found mean %v, variance %v, expected variance %v", mean, size, law.Mean(), law.Variance(), variance)
			}
			if low, _ := law.Range(); math.Abs(law.Survival(low-1)-1) > 1e-12 {
				t.Errorf("mean %v size %v: sums to %v", mean, size, law.Survival(low-1))
			}
		}
	}
}

// The probabilities themselves, by logarithms of factorials.
func TestLargePoissonLawsByLogarithms(t *testing.T) {
	for _, mean := range []float64{12, 690, 710, 1500, 100_000} {
		law := Poisson(mean)
		for z := -6.0; z <= 6; z += .5 {
			k := math.Floor(mean + z*math.Sqrt(mean))
			if k < 0 {
				continue
			}
			factorial, _ := math.Lgamma(k + 1)
			want := math.Exp(k*math.Log(mean) - mean - factorial)
			// The logarithms are of the order of mean·log(mean): so many digits go.
			if slack := 1e-15 * mean * math.Log(mean) * 4; math.Abs(law.At(int(k))/want-1) > 1e-11+slack {
				t.Errorf("mean %v: probability of %v is %v, expected %v", mean, k, law.At(int(k)), want)
			}
		}
	}
}

// What the vignette prints of a claims total: its first probabilities, mean,
// quantiles and mean excess over them, in steps of one half.
func TestThePrintedCompoundPoissonExample(t *testing.T) {
	rows := published(t, "theory/3c_actuar_vignette_poisson10_gamma21.csv")
	// What the severities lack of 1, 6e-9, is put past all that is compared.
	severity, lacks := make([]float64, 201), 1.0
	for i := range 45 {
		severity[i] = number(t, rows[i]["fx_severity"])
		lacks -= severity[i]
	}
	severity[200] = lacks
	law := Compound(10, 0, PMF{step: 1, p: severity})
	for i, row := range rows {
		if want := number(t, row["pmf_S"]); math.Abs(law.At(i)/want-1) > 1e-12 {
			t.Errorf("%s: found %.15g, expected %.15g", row["x"], law.At(i), want)
		}
	}
	for i, printed := range []float64{6.293e-05, 8.934e-05, 1.767e-04, 2.954e-04, 4.604e-04, 6.811e-04, 9.662e-04, 1.324e-03} {
		if math.Abs(law.At(i)/printed-1) > 5e-4 {
			t.Errorf("%d: found %v, printed %v", i, law.At(i), printed)
		}
	}
	if mean := law.Mean() / 2; math.Abs(mean-20) > 5e-5 {
		t.Errorf("found mean %v, printed 20", mean)
	}
	for _, printed := range []struct{ prob, quantile, beyond float64 }{{.9, 30.5, 35.42}, {.95, 34, 38.55}, {.99, 41, 45.01}} {
		at := law.Quantile(printed.prob)
		sum, mass := 0.0, 0.0
		for value, prob := range law.Each {
			if value > at {
				sum, mass = sum+float64(value)/2*prob, mass+prob
			}
		}
		if float64(at)/2 != printed.quantile || math.Abs(sum/mass-printed.beyond) > .005 {
			t.Errorf("%v: found %v and beyond it %v, printed %v and %v", printed.prob, float64(at)/2, sum/mass, printed.quantile, printed.beyond)
		}
	}
}

func TestCompoundLawsAgainstPublishedValues(t *testing.T) {
	severities := map[string]PMF{
		"A": {step: 1, p: []float64{0, .4, .3, .2, .1}}, "B": {step: 1, p: []float64{0, .5, .25, .125, .075, .05}},
		"C": {step: 1, p: []float64{.1, .6, .2, .1}}, "U": Certain(1),
	}
	cases := map[string]int{}
	for _, row := range published(t, "theory/3d_panjer.csv") {
		severity, first := severities[row["sev"]], number(t, row["par1"])
		second := number(t, cmp.Or(row["par2"], "0"))
		var law PMF
		switch row["freq"] {
		case "poisson":
			law = Compound(first, 0, severity)
		case "negative_binomial":
			law = Compound(first*(1-second)/second, first, severity)
		case "geometric":
			law = Compound((1-first)/first, 1, severity)
		case "binomial":
			for range int(first) {
				law = law.Convolve(severity.Perhaps(second))
			}
		}
		cases[row["freq"]+row["par1"]+row["sev"]]++
		for name, found := range map[string]float64{
			"pmf": law.At(int(number(t, row["s"]))), "cdf": law.CDF(int(number(t, row["s"]))), "mean": law.Mean(), "var": law.Variance(),
		} {
			if want := number(t, row[name]); math.Abs(found-want) > 1e-12*(1+want)+cut(law) {
				t.Errorf("%v: %s is %.15g, expected %.15g", row, name, found, want)
			}
		}
	}
	if len(cases) != 9 {
		t.Errorf("found %d cases, expected 9", len(cases))
	}
}

// cut is what the cut tails of a law can take from its variance, where they
// reach no further than twice as far as it does.
func cut(law PMF) float64 {
	_, high := law.Range()
	return tail * float64(2*high) * float64(2*high)
}

// drawSeverity draws a law of a few values from 0 up.
func drawSeverity(t *rapid.T) PMF {
	step := rapid.SampledFrom([]int{1, 1, 3, 10}).Draw(t, "step")
	p := rapid.SliceOfN(rapid.Float64Range(0, 1), 1, 6).Draw(t, "severity")
	sum := 1e-3
	for _, q := range p {
		sum += q
	}
	for i := range p {
		p[i] /= sum
	}
	p = append(p, 1e-3/sum)
	return PMF{low: rapid.IntRange(0, 2).Draw(t, "low") * step, step: step, p: p}
}

func TestCompoundLawsAreConvolutionsOfTheirDraws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		severity := drawSeverity(t)
		mean := rapid.Float64Range(.001, 12).Draw(t, "mean")
		size := rapid.SampledFrom([]float64{0, .05, .7, 1, 4.5, 1e6, math.Inf(1)}).Draw(t, "size")
		if mean*severity.Mean() > 60 && size == .05 {
			t.Skip("the direct way takes too long")
		}
		law, direct := Compound(mean, size, severity), map[int]float64{}
		number := NegativeBinomial(mean, size)
		sum, upTo := PMF{}, min(60, number.Quantile(1))
		for n := 0; n <= upTo; n++ {
			for value, prob := range sum.Each {
				direct[value] += number.At(n) * prob
			}
			sum = sum.Convolve(severity)
		}
		beyond := number.Survival(upTo) // more draws than were convolved
		for value, prob := range direct {
			if found := law.At(value); found < prob-1e-12 || found > prob+beyond+1e-12 {
				t.Fatalf("probability of %d: found %v, expected %v", value, found, prob)
			}
		}
	})
}

func TestCompoundLawsInClosedForm(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		severity := drawSeverity(t)
		mean := rapid.Float64Range(.001, 1200).Draw(t, "mean")
		size := rapid.Float64Range(.5, 50).Draw(t, "size")
		law := Compound(mean, size, severity)
		m := severity.Mean()
		variance := mean*severity.Variance() + (mean+mean*mean/size)*m*m
		if math.Abs(law.Mean()-mean*m) > 1e-10*mean*m+cut(law) || math.Abs(law.Variance()-variance) > 1e-10*variance+cut(law) {
			t.Fatalf("found mean %v, variance %v, expected %v, %v", law.Mean(), law.Variance(), mean*m, variance)
		}
	})
}

// Gamma rate, then Poisson number, then the draws one by one.
func TestCompoundLawsAgreeWithTheSimulation(t *testing.T) {
	const replicates, size, mean = 100_000, 1.7, 3.1
	severity := PMF{step: 1, p: []float64{.2, .5, 0, .3}}
	law, r, gamma := Compound(mean, size, severity), rand.New(rand.NewPCG(1, 7)), newGammaSource(size, mean/size)
	counted := make([]float64, 200)
	for range replicates {
		total := playStream(r, gamma.draw(r), severity)
		counted[min(total, 199)] += 1. / replicates
	}
	upTo := 0.0
	for value := range 40 {
		upTo += counted[value]
		if math.Abs(law.CDF(value)-upTo) > 4*math.Sqrt(.25/replicates) {
			t.Errorf("probability of %d or less is %.4f, in the simulation %.4f", value, law.CDF(value), upTo)
		}
	}
}

// playStream adds up the draws of a Poisson number of jobs.
func playStream(r *rand.Rand, mean float64, severity PMF) (total int) {
	for at := r.ExpFloat64(); at < mean; at += r.ExpFloat64() {
		total += severity.Quantile(r.Float64())
	}
	return total
}

func TestCompoundLawsAtTheEdges(t *testing.T) {
	one := Certain(1)
	tests := []struct {
		rule     string
		law      PMF
		from, to int
	}{
		{"no jobs take nothing", Compound(0, 2, one), 0, 0},
		{"a mean below 0 is none", Compound(-3, 2, one), 0, 0},
		{"a mean that is no number is none", Compound(math.NaN(), 2, one), 0, 0},
		{"a size that is no number is a known rate", Compound(1e-9, math.NaN(), one), 0, 1},
		{"jobs that take nothing take nothing", Compound(9, 2, Certain(0)), 0, 0},
		{"the law of nothing is taken as 0", Compound(9, 2, PMF{}), 0, 0},
		{"quantities keep their step", Compound(1e-9, 0, Certain(250)), 0, 250},
		{"values below 0 are left out", Compound(1e-9, 0, PMF{low: -1, step: 2, p: []float64{.5, .5}}), 0, 1},
	}
	for _, test := range tests {
		if low, high := test.law.Range(); low != test.from || high != test.to {
			t.Errorf("%s: found %d to %d, expected %d to %d", test.rule, low, high, test.from, test.to)
		}
	}
	for _, mean := range []float64{1e-300, 1e-12, 1, 1e5} {
		for _, size := range []float64{1e-300, 1e-12, 1e12, 1e300} {
			law := NegativeBinomial(mean, size)
			if sum := law.Survival(-1); math.Abs(sum-1) > 1e-9 {
				t.Errorf("mean %v, size %v: sums to %v", mean, size, sum)
			}
		}
	}
}

func BenchmarkCompound(b *testing.B) {
	severity := PMF{step: 1, p: []float64{.2, .5, 0, .3}}
	for name, mean := range map[string]float64{"a rare job": .05, "a week": 2, "half a year": 60, "thousands": 5000} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Compound(mean, 3, severity)
			}
		})
	}
}
