package learn

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestLeadOf(t *testing.T) {
	late := func(n, quoted, took int) []Receipt {
		receipts := make([]Receipt, n)
		for i := range receipts {
			receipts[i] = Receipt{quoted, took}
		}
		return receipts
	}
	tests := map[string]struct {
		quoted   int
		receipts []Receipt
		mean     float64
		basis    Basis
	}{
		"no receipts: as quoted":                        {7, nil, 7, FromBook},
		"one receipt 11 days late moves it by one":      {7, late(1, 7, 18), 8, TooFew},
		"nine receipts 2 late, shrunk by ten on time":   {7, late(9, 7, 9), 7 + 18.0/19, TooFew},
		"ten receipts are a law, with one more on time": {7, late(10, 7, 9), 7 + 20.0/11, Learnt},
		"lateness carries over to another quote":        {21, late(10, 7, 9), 21 + 20.0/11, Learnt},
		"never before the order":                        {3, late(9, 30, 0), 0, TooFew},
		"a quote below none is none":                    {-4, nil, 0, FromBook},
		"receipts before their order are left out":      {7, late(50, 7, -1), 7, FromBook},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			lead := LeadOf(tt.quoted, tt.receipts)
			if !near(lead.Mean(), tt.mean, 1e-9) || lead.Basis != tt.basis {
				t.Errorf("mean %v and basis %v, want %v and %v", lead.Mean(), lead.Basis, tt.mean, tt.basis)
			}
		})
	}
}

func TestLeadIsALaw(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		receipt := rapid.Custom(func(t *rapid.T) Receipt {
			return Receipt{rapid.IntRange(-2, 60).Draw(t, "quoted"), rapid.IntRange(-2, 90).Draw(t, "took")}
		})
		lead := LeadOf(rapid.IntRange(0, 60).Draw(t, "quoted"), rapid.SliceOfN(receipt, 0, 40).Draw(t, "receipts"))
		sum, last := 0.0, -1
		for i, day := range lead.Days {
			if day <= last || !(lead.Prob[i] > 0) {
				t.Fatalf("day %d after %d with %v", day, last, lead.Prob[i])
			}
			sum, last = sum+lead.Prob[i], day
			if got := lead.Quantile(sum - 1e-9); got != day {
				t.Fatalf("quantile %v is %d, want %d", sum, got, day)
			}
		}
		if !near(sum, 1, 1e-9) {
			t.Fatalf("probabilities sum to %v", sum)
		}
	})
}

func TestQuantileOfNoLaw(t *testing.T) {
	if got := (Lead{}).Quantile(0.5); got != 0 {
		t.Errorf("%d, want 0", got)
	}
	if got := LeadOf(7, nil).Quantile(math.NaN()); got != 7 {
		t.Errorf("%d, want 7", got)
	}
}
