package rehearse

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"circlip/forecast/series"
)

// The means followed week by week are those of the whole series at each week.
func TestMeansFollowedAreThoseOfTheSeries(t *testing.T) {
	whole := map[Kind]func(y []float64, alpha float64) float64{
		Croston: series.Croston,
		SBA:     series.SBA,
		TSB:     func(y []float64, alpha float64) float64 { return series.TSB(y, alpha, alpha) },
	}
	rapid.Check(t, func(t *rapid.T) {
		var y []float64
		for _, use := range rapid.SliceOfN(rapid.IntRange(-4, 5), 1, 40).Draw(t, "uses") {
			y = append(y, float64(max(use, 0)))
		}
		for kind, of := range whole {
			r := Method{kind, .2}.rate()
			for week := range y {
				r.see(y[week])
				if want := of(y[:week+1], .2); math.Abs(r.mean()-want) > 1e-9 {
					t.Fatalf("kind %d week %d of %v: got %v, want %v", kind, week, y, r.mean(), want)
				}
			}
		}
	})
}
