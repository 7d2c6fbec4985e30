package inventory

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// The law of a sum is what going through every case gives: as many probabilities
// as sizes, in order, and every quantile.
func TestALawIsEveryCase(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sum, all, most := nothing, []maybe(nil), Quantity(0)
		for range rapid.IntRange(0, 9).Draw(t, "events") {
			e := maybe{Quantity(rapid.IntRange(1, 5).Draw(t, "size")), rapid.SampledFrom([]float64{0, 0.001, 0.3, 0.5, 0.99, 1}).Draw(t, "prob")}
			sum, all, most = sum.with(e.qty, e.prob), append(all, e), most+e.qty
		}
		total := 0.0
		for i, s := range sum {
			total += s.prob
			if i > 0 && s.size <= sum[i-1].size {
				t.Fatalf("found %v, expected each size once, the smallest first", sum)
			}
			if want := suffices(s.size, all); math.Abs(total-want) > 1e-12 {
				t.Fatalf("up to %d: found %v, expected %v", s.size, total, want)
			}
		}
		if math.Abs(total-1) > 1e-12 {
			t.Fatalf("found %v in all, expected 1", total)
		}
		p := rapid.Float64Range(0.01, 0.9999).Draw(t, "p")
		want := Quantity(0)
		for want < most && suffices(want, all) < p-1e-12 {
			want++
		}
		if got := sum.quantile(p); got != want {
			t.Fatalf("quantile %v: found %d, expected %d", p, got, want)
		}
	})
}

// Sizes that never come do not make a law longer: two thousand events of a tenth
// each stay within some standard deviations, and a millionth is still told.
func TestALawStaysShort(t *testing.T) {
	sum := nothing
	for range 2000 {
		sum = sum.with(1, 0.1)
	}
	if len(sum) > 300 || len(sum) < 150 {
		t.Errorf("found %d sizes, expected some 16 standard deviations of 13.4", len(sum))
	}
	// The binomial law of 2,000 and 0.1 reaches 1 − 10⁻⁶ at 267: summed term by
	// term in Python.
	if got := sum.quantile(1 - 1e-6); got != 267 {
		t.Errorf("found %d at a millionth, expected 267", got)
	}
}
