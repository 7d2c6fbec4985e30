package score_test

import (
	"encoding/csv"
	"math"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"circlip/forecast"
	. "circlip/forecast/score"
)

// published reads a file of other people's numbers; its head names the source.
func published(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open("../../testdata/published/theory/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	lines, err := r.ReadAll()
	if err != nil || len(lines) < 2 {
		t.Fatalf("%s: %d lines, %v", name, len(lines), err)
	}
	var rows []map[string]string
	for _, line := range lines[1:] {
		row := map[string]string{}
		for i, head := range lines[0] {
			row[head] = line[i]
		}
		rows = append(rows, row)
	}
	return rows
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}

// near compares with a value printed to twelve digits.
func near(t *testing.T, what any, found, want float64) {
	t.Helper()
	if !(math.Abs(found-want) <= 1e-11*max(1, math.Abs(want))) {
		t.Errorf("%v: found %.13g, expected %.13g", what, found, want)
	}
}

func TestScoresOfCountsAgainstPublishedValues(t *testing.T) {
	rows := published(t, "7a_count_scores.csv")
	if len(rows) != 100 {
		t.Fatalf("found %d rows, expected 100", len(rows))
	}
	for _, row := range rows {
		size := 0.0
		if row["size"] != "" {
			size = number(t, row["size"])
		}
		law, x := forecast.NegativeBinomial(number(t, row["mu"]), size), int(number(t, row["x"]))
		near(t, row, RPS(law, x), number(t, row["rps"]))
		// Nothing scores worse than probability 1e-15.
		near(t, row, Log(law, x), min(number(t, row["logs"]), 15*math.Ln10))
	}
}

func TestScoresOfAnyLawsAgainstPublishedValues(t *testing.T) {
	for _, row := range published(t, "7b_pmf_scores.csv") {
		law, x := lawOf(t, row["pmf"]), int(number(t, row["x"]))
		near(t, row, RPS(law, x), number(t, row["rps"]))
		near(t, row, RPS(law, x), number(t, row["rps_alt"]))
		near(t, row, law.Mean(), number(t, row["mean"]))
		for _, percent := range []string{"50", "90", "95"} {
			prob := number(t, percent) / 100
			quantile := law.Quantile(prob)
			near(t, row, float64(quantile), number(t, row["q"+percent]))
			near(t, row, Pinball(float64(quantile), prob, float64(x)), number(t, row["pinball"+percent]))
		}
	}
}

// lawOf reads probabilities of 0, 1, 2, …; one of the laws is given by name.
func lawOf(t *testing.T, text string) forecast.PMF {
	var p []float64
	if text == "poisson2 truncated at 30" {
		for k, q, sum := 0, math.Exp(-2), 1.0; k <= 30; k, q = k+1, q*2/float64(k+1) {
			p = append(p, q/sum)
		}
	} else {
		for _, q := range strings.Fields(text) {
			p = append(p, number(t, q))
		}
	}
	law, err := forecast.NewPMF(0, 1, p)
	if err != nil {
		t.Fatal(err)
	}
	return law
}

// drawLaw draws any law, with steps and an offset, and something that comes.
func drawLaw(t *rapid.T) (law forecast.PMF, x int) {
	weights := rapid.SliceOfN(rapid.Float64Range(.01, 1), 1, 8).Draw(t, "weights")
	sum := 0.0
	for _, w := range weights {
		sum += w
	}
	for i := range weights {
		weights[i] /= sum
	}
	law, err := forecast.NewPMF(rapid.IntRange(-3, 5).Draw(t, "low"), rapid.IntRange(1, 4).Draw(t, "step"), weights)
	if err != nil {
		t.Fatal(err)
	}
	return law, rapid.IntRange(-10, 50).Draw(t, "x")
}

func TestTheTwoFormsOfTheRankedScoreAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		law, x := drawLaw(t)
		want := 0.0
		for a, p := range law.Each {
			want += math.Abs(float64(a-x)) * p
			for b, q := range law.Each {
				want -= math.Abs(float64(a-b)) * p * q / 2
			}
		}
		if found := RPS(law, x); math.Abs(found-want) > 1e-11*(1+want) {
			t.Fatalf("found %v, expected %v", found, want)
		}
	})
}

func TestTheRightLawScoresBest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		right, _ := drawLaw(t)
		other, _ := drawLaw(t)
		prob := rapid.Float64Range(.01, .99).Draw(t, "prob")
		ranked, pinball := 0.0, 0.0 // other's expected score less the right one's
		for x, p := range right.Each {
			ranked += p * (RPS(other, x) - RPS(right, x))
			loss := func(law forecast.PMF) float64 { return Pinball(float64(law.Quantile(prob)), prob, float64(x)) }
			pinball += p * (loss(other) - loss(right))
		}
		if ranked < -1e-10 || pinball < -1e-10 {
			t.Fatalf("a wrong law gains %v by rank, %v by quantile", -ranked, -pinball)
		}
	})
}

func TestScoresAtTheEdges(t *testing.T) {
	two := forecast.Certain(2)
	tests := []struct {
		rule        string
		found, want float64
	}{
		{"what is certain and comes costs nothing", RPS(two, 2), 0},
		{"one value is scored by its distance above", RPS(two, 7), 5},
		{"and below", RPS(two, -1), 3},
		{"the law of nothing is 0", RPS(forecast.PMF{}, 3), 3},
		{"what is certain has no surprise", Log(two, 2), 0},
		{"the impossible counts as probability 1e-15", Log(two, 3), 15 * math.Ln10},
		{"the transform of what is certain is the share", PIT(two, 2, .3), .3},
		{"of more than the law allows it is 1", PIT(two, 3, .3), 1},
		{"of less it is 0", PIT(two, 1, .3), 0},
		{"short by one costs the probability", Pinball(4, .9, 5), .9},
		{"one over costs the rest", Pinball(5, .9, 4), .1},
	}
	for _, test := range tests {
		near(t, test.rule, test.found, test.want)
	}
}

func TestRandomisedTransformsOfTheRightLawAreUniform(t *testing.T) {
	r, law := rand.New(rand.NewPCG(3, 3)), forecast.NegativeBinomial(.7, 1)
	transforms := make([]float64, 20_000)
	for i := range transforms {
		transforms[i] = PIT(law, law.Quantile(r.Float64()), r.Float64())
	}
	// 1.95/√n is passed once in a thousand times (Kolmogorov's distribution).
	if distance, band := Kolmogorov(transforms); distance > band*1.95/1.358 {
		t.Errorf("distance %v, expected at most %v", distance, band)
	}
}
