package learn

import (
	"math"
	"math/rand/v2"
	"testing"

	"pgregory.net/rapid"
)

func TestAhead(t *testing.T) {
	week := make([]int, 95) // all a week ahead
	for i := range week {
		week[i] = 7
	}
	tests := map[string]struct {
		days  []int
		ask   int
		want  float64
		basis Basis
	}{
		"no jobs: all on their day":             {nil, 0, 0, FromBook},
		"every job is booked after long before": {nil, -1, 1, FromBook},
		"six days before a week":                {week, 6, 0.95, Learnt},
		"a week before":                         {week, 7, 0, Learnt},
		"one job is a geometric law":            {[]int{1}, 0, 1.0 / 6 / 2, TooFew},
		"and goes on":                           {[]int{1}, 2, 1.0 / 6 / 8, TooFew},
		"entered afterwards: on its day":        {[]int{-5, -1, 0}, 0, 0, TooFew},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			curve := AheadOf(tt.days)
			if got := curve.Beyond(tt.ask); !near(got, tt.want, 1e-12) || curve.Basis != tt.basis {
				t.Errorf("%v and basis %v, want %v and %v", got, curve.Basis, tt.want, tt.basis)
			}
		})
	}
}

// The curve of a known law comes back, far beyond the last job too.
func TestAheadRecoversALaw(t *testing.T) {
	src := rand.New(rand.NewPCG(17, 17))
	const jobs, stay = 5000, 0.9
	days := make([]int, jobs)
	for i := range days {
		for src.Float64() < stay {
			days[i]++
		}
	}
	curve := AheadOf(days)
	for _, d := range []int{0, 1, 5, 10, 20, 30} {
		want := math.Pow(stay, float64(d+1))
		bound := 4*math.Sqrt(want*(1-want)/jobs) + float64(aheadWeight)/jobs
		if got := curve.Beyond(d); !near(got, want, bound) {
			t.Errorf("%d days: %v, want %v within %v", d, got, want, bound)
		}
	}
	if got := curve.Beyond(90); !(got > 0 && got < 1e-3) {
		t.Errorf("90 days: %v, want a little", got)
	}
}

func TestAheadNeverRises(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		curve := AheadOf(rapid.SliceOfN(rapid.IntRange(-3, 900), 0, 60).Draw(t, "days"))
		last := 1.0
		for d := -1; d < 1000; d++ {
			got := curve.Beyond(d)
			if !(got >= 0 && got <= last) {
				t.Fatalf("%d days: %v after %v", d, got, last)
			}
			last = got
		}
	})
}
