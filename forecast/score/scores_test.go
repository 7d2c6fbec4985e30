package score_test

import (
	"math"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"circlip/forecast"
	. "circlip/forecast/score"
)

// What came, and the means of the laws, are in the file's head.
func TestHistogramsAgainstPublishedValues(t *testing.T) {
	text, err := os.ReadFile("../../testdata/published/theory/7d_pit_counts.csv")
	if err != nil {
		t.Fatal(err)
	}
	var came, means []string
	for line := range strings.Lines(string(text)) {
		if list, is := strings.CutPrefix(line, "# x: "); is {
			came = strings.Fields(list)
		}
		if list, is := strings.CutPrefix(line, "# mu: "); is {
			means = strings.Fields(list)
		}
	}
	if len(came) != 20 || len(means) != 20 {
		t.Fatalf("found %d outcomes and %d means, expected 20 of each", len(came), len(means))
	}
	scores := map[string]*Scores{"poisson": {}, "nb2": {}}
	for i := range came {
		x, mean := int(number(t, came[i])), number(t, means[i])
		scores["poisson"].Add(forecast.Poisson(mean), x)
		scores["nb2"].Add(forecast.NegativeBinomial(mean, 2), x)
	}
	for _, row := range published(t, "7d_pit_counts.csv") {
		near(t, row, scores[row["model"]].Histogram()[int(number(t, row["bin"]))-1], number(t, row["height"]))
	}
}

func TestMeansOfScores(t *testing.T) {
	half, err := forecast.NewPMF(0, 1, []float64{.5, .5})
	if err != nil {
		t.Fatal(err)
	}
	var s Scores
	s.Add(half, 1)
	s.Add(forecast.Certain(4), 2)
	near(t, "forecasts", float64(s.Count()), 2)
	near(t, "ranked score", s.RPS(), (.25+2)/2)
	for i, want := range []float64{(.5 + 1) / 2, (0 + .2) / 2, (0 + .04) / 2} {
		near(t, Percents[i], s.Pinball()[i], want)
	}
	bias, standardError := s.Bias()
	near(t, "bias", bias, (-.5+2)/2)
	near(t, "its standard error", standardError, .5/2)
}

// The mean error of a flat forecast by Croston's method, printed as what came
// less forecast; what came is in the file's head too.
func TestBiasAgainstComputedValues(t *testing.T) {
	came := []int{0, 0, 0, 3, 1, 0, 0, 1, 0, 1, 0, 0}
	for _, row := range published(t, "7e_point_accuracy.csv") {
		var s Scores
		for _, x := range came {
			s.Add(forecast.Around(number(t, row["forecast"]), 1), x)
		}
		bias, _ := s.Bias()
		if want := -number(t, row["me"]); math.Abs(bias-want) > 1e-10 {
			t.Errorf("%s: found %v, expected %v", row["method"], bias, want)
		}
	}
}

func TestNoForecastsScoreNothing(t *testing.T) {
	var s Scores
	bias, standardError := s.Bias()
	if s.RPS() != 0 || bias != 0 || standardError != 0 || s.Pinball() != [3]float64{} || s.Histogram() != [Bins]float64{} {
		t.Error("expected zeros where there is no forecast")
	}
	if s.Flat().Alarm() || s.Flat().Degrees != 0 || s.Tilt().Alarm() {
		t.Errorf("found %+v, expected no alarm", s.Flat())
	}
}

func TestMergedScoresAreThoseOfAllForecasts(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var one, other, all Scores
		for i := range rapid.IntRange(0, 12).Draw(t, "n") {
			law, x := drawLaw(t)
			all.Add(law, x)
			if i%3 == 0 {
				one.Add(law, x)
			} else {
				other.Add(law, x)
			}
		}
		one.Merge(other)
		if one.Count() != all.Count() || math.Abs(one.RPS()-all.RPS()) > 1e-12*(1+all.RPS()) {
			t.Fatalf("found %v of %d, expected %v of %d", one.RPS(), one.Count(), all.RPS(), all.Count())
		}
		for i, height := range one.Histogram() {
			if math.Abs(height-all.Histogram()[i]) > 1e-12 {
				t.Fatalf("bin %d: found %v, expected %v", i, height, all.Histogram()[i])
			}
		}
		if found, want := one.Flat(), all.Flat(); found.Degrees != want.Degrees || math.Abs(found.Chance-want.Chance) > 1e-9 {
			t.Fatalf("found %+v, expected %+v", found, want)
		}
	})
}

func TestHistogramsAreWhole(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var s Scores
		for range rapid.IntRange(1, 6).Draw(t, "n") {
			s.Add(drawLaw(t))
		}
		sum := 0.0
		for _, height := range s.Histogram() {
			sum += height / Bins
		}
		if math.Abs(sum-1) > 1e-12 {
			t.Fatalf("the heights average %v, expected 1", sum)
		}
	})
}

// sparse are the means that most items of a shelf have in a week or a month,
// the last case a mixture of them.
var sparse = map[string][]float64{"mean .05": {.05}, "mean .2": {.2}, "mean .5": {.5}, "mean 1": {1}, "mean 2": {2}, "mean 5": {5}, "mixed": {.05, .2, .5, 1, 2, 5}}

// alarms is how often of some trials two years of weeks alarm, where counts
// with one size are forecast by laws of another and of means so much higher.
func alarms(means []float64, size, assumed, higher float64, trials int) (flat, tilt, kolmogorov float64) {
	var right, held []forecast.PMF
	for _, mean := range means {
		right = append(right, forecast.NegativeBinomial(mean, size))
		held = append(held, forecast.NegativeBinomial(mean*higher, assumed))
	}
	r := rand.New(rand.NewPCG(104, uint64(len(means))))
	transforms := make([]float64, 104)
	for range trials {
		var s Scores
		for week := range transforms {
			law := held[week%len(held)]
			x := right[week%len(right)].Quantile(r.Float64())
			s.Add(law, x)
			transforms[week] = PIT(law, x, r.Float64())
		}
		distance, band := Kolmogorov(transforms)
		flat += share(s.Flat().Alarm(), trials)
		tilt += share(s.Tilt().Alarm(), trials)
		kolmogorov += share(distance > band, trials)
	}
	return flat, tilt, kolmogorov
}

func share(is bool, of int) float64 {
	if is {
		return 1 / float64(of)
	}
	return 0
}

// Right laws alarm one time in twenty. The tests' values are few where little
// comes, so that at a mean of .05 they alarm a little less often.
func TestRightLawsAlarmAsOftenAsTheySay(t *testing.T) {
	const trials = 1000
	within := 4 * math.Sqrt(.05*.95/trials)
	for name, means := range sparse {
		for _, size := range []float64{0, 1} {
			flat, tilt, kolmogorov := alarms(means, size, size, 1, trials)
			t.Logf("%s, size %v: %.3f %.3f %.3f", name, size, flat, tilt, kolmogorov)
			for test, found := range map[string]float64{"flat": flat, "tilt": tilt, "kolmogorov": kolmogorov} {
				if math.Abs(found-.05) > within {
					t.Errorf("%s, size %v: %s alarms with probability %.3f, expected .05 within %.3f", name, size, test, found, within)
				}
			}
		}
	}
}

func TestWrongLawsAlarm(t *testing.T) {
	tests := []struct {
		rule                  string
		means                 []float64
		size, assumed, higher float64
		flat, tilt            float64 // alarms at least
	}{
		{"30 % too high at two a week", []float64{2}, 0, 0, 1.3, .8, .9},
		{"30 % too high at five a week", []float64{5}, 0, 0, 1.3, .95, .95},
		{"30 % too high over items of all sorts", sparse["mixed"], 0, 0, 1.3, .5, .7},
		{"a Poisson law of counts that vary more", []float64{1}, 1, 0, 1, .8, .8},
		{"a wide law of Poisson counts", []float64{2}, 0, 1, 1, .95, .95},
	}
	for _, test := range tests {
		flat, tilt, _ := alarms(test.means, test.size, test.assumed, test.higher, 200)
		if flat < test.flat || tilt < test.tilt {
			t.Errorf("%s: found %.2f and %.2f, expected at least %v and %v", test.rule, flat, tilt, test.flat, test.tilt)
		}
	}
}

func TestWhatWasHeldImpossibleAlarms(t *testing.T) {
	var s Scores
	for range 100 {
		s.Add(forecast.PMF{}, 0)
	}
	if f := s.Tilt(); f.Alarm() || f.Degrees != 0 {
		t.Errorf("nothing was expected and nothing came: found %+v, expected no verdict", f)
	}
	s.Add(forecast.PMF{}, 1)
	if !s.Tilt().Alarm() || !s.Flat().Alarm() {
		t.Errorf("found %+v, expected an alarm", s.Flat())
	}
}

func BenchmarkAdd(b *testing.B) {
	for name, law := range map[string]forecast.PMF{"rare": forecast.Poisson(.05), "weekly": forecast.NegativeBinomial(5, 2), "many": forecast.NegativeBinomial(200, 9)} {
		b.Run(name, func(b *testing.B) {
			var s Scores
			b.ReportAllocs()
			for b.Loop() {
				s.Add(law, 1)
			}
		})
	}
}

// Probabilities of a long law may add up to a little more than 1 on the way.
func TestALongLawStaysWithinItsBins(t *testing.T) {
	for mean := 1.0; mean < 400; mean *= 1.3 {
		for _, size := range []float64{0.3, 1, 7} {
			var s Scores
			s.Add(forecast.NegativeBinomial(mean, size), int(mean))
			if s.Count() != 1 || math.IsNaN(s.RPS()) {
				t.Errorf("mean %v size %v: %d scored, RPS %v", mean, size, s.Count(), s.RPS())
			}
		}
	}
}
