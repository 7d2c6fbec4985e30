package series

import (
	"fmt"
	"math"
	"testing"

	"circlip/forecast"
	"circlip/forecast/score"
)

func TestScoreAgreesWithThatOfTheWholeLaw(t *testing.T) {
	t.Parallel()
	for _, mean := range []float64{.01, .3, 2, 17, 150} {
		for _, size := range []float64{.05, .7, 5, math.Inf(1)} {
			for _, y := range []int{0, 1, 5, 40, 300} {
				want := score.RPS(forecast.NegativeBinomial(mean, size), y)
				near(t, fmt.Sprintf("mean %v size %v where %d came", mean, size, y), rps(mean, size, y), want, 1e-4)
			}
		}
	}
	for _, y := range []int{100, 1000, 9000} { // a gamma law stands in
		want := score.RPS(forecast.NegativeBinomial(3000, 2), y)
		near(t, fmt.Sprint("mean 3000 where came ", y), rps(3000, 2, y), want, 1e-3)
	}
	near(t, "score of a forecast of 0", rps(0, 1, 7), 7, 0)
	near(t, "a mean too high to sum", rps(1e4, math.Inf(1), 1e4), 100*(math.Sqrt2-1)/math.Sqrt(math.Pi), .01) // normal law at its middle
}

func TestScoresOfNegativeBinomialsAgreeWithTheReferenceLibrary(t *testing.T) {
	t.Parallel()
	for _, row := range published(t, "7a_count_scores.csv") {
		size := math.Inf(1)
		if row["size"] != "" {
			size = number(t, row["size"])
		}
		mean, x := number(t, row["mu"]), int(number(t, row["x"]))
		near(t, fmt.Sprint(row), rps(mean, size, x), number(t, row["rps"]), 1e-5)
	}
}

func TestNegativeBinomialLawsAgreeWithTheReferenceLibrary(t *testing.T) {
	t.Parallel()
	for _, row := range published(t, "3b_negative_binomial.csv") {
		law := forecast.NegativeBinomial(number(t, row["m"]), number(t, row["r"]))
		k := int(number(t, row["k"]))
		near(t, fmt.Sprint("pmf of ", row), law.At(k), number(t, row["pmf"]), 1e-13)
		near(t, fmt.Sprint("cdf of ", row), law.CDF(k), number(t, row["cdf"]), 1e-13)
		if got := law.Quantile(.95); got != int(number(t, row["q95"])) {
			t.Errorf("%v: found quantile %d", row, got)
		}
	}
}

// Head of the table: mean 1.14667, size by maximum likelihood 1.02459,
// logarithm of the likelihood -222.437.
func TestMitesOnLeavesAsFittedByBlissAndFisher(t *testing.T) {
	t.Parallel()
	const mean, size = 1.14666666666667, 1.02459238679213
	rows := published(t, "3e_nb_mites_bliss_fisher.csv")
	likelihood := func(size float64) (sum float64) {
		law := forecast.NegativeBinomial(mean, size)
		for _, row := range rows {
			sum += number(t, row["leaves"]) * math.Log(law.At(int(number(t, row["mites"]))))
		}
		return sum
	}
	law := forecast.NegativeBinomial(mean, size)
	for _, row := range rows[:len(rows)-1] { // the last one is eight and more
		near(t, "leaves with mites "+row["mites"], 150*law.At(int(number(t, row["mites"]))), number(t, row["expected_ml"]), 1e-11)
	}
	near(t, "leaves with eight mites or more", 150*law.Survival(7), number(t, rows[len(rows)-1]["expected_ml"]), 1e-9)
	near(t, "logarithm of the likelihood", likelihood(size), -222.437153598435, 1e-12)
	if top := likelihood(size); top <= likelihood(size-.01) || top <= likelihood(size+.01) {
		t.Error("the size is not the most likely one")
	}
}
