package series

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
)

// published reads a table of published values; its source is in its head.
func published(t *testing.T, name string) []map[string]string {
	t.Helper()
	return table(t, "../../testdata/published/theory/"+name)
}

func table(t *testing.T, path string) []map[string]string {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	records, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []map[string]string
	for _, record := range records[1:] {
		row := map[string]string{}
		for i, name := range records[0] {
			row[name] = record[i]
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

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance*max(1, math.Abs(want))) {
		t.Errorf("%s: found %.15g, expected %.15g", what, got, want)
	}
}

func TestSmoothersAgreeWithTheReferenceLibrary(t *testing.T) {
	t.Parallel()
	counts := map[string][]float64{}
	for _, row := range published(t, "1a_intermittent_series.csv") {
		counts[row["series"]] = append(counts[row["series"]], number(t, row["y"]))
	}
	rows := published(t, "1b_intermittent_results.csv")
	if len(rows) != 32 {
		t.Fatalf("found %d rows, expected 8 series with 4 constants each", len(rows))
	}
	for _, row := range rows {
		y, alpha := counts[row["series"]], number(t, row["alpha"])
		name := row["series"] + " at " + row["alpha"]
		near(t, "Croston of "+name, Croston(y, alpha), number(t, row["croston"]), 1e-13)
		near(t, "SBA of "+name, SBA(y, alpha), number(t, row["sba"]), 1e-13)
		near(t, "TSB of "+name, TSB(y, alpha, alpha), number(t, row["tsb"]), 1e-13)
	}
}

func TestCrostonStepByStepOnThePublishedSeries(t *testing.T) {
	t.Parallel()
	var y []float64
	for _, row := range published(t, "1c_croston_productC_trace.csv") {
		if row["fitted"] != "NA" {
			near(t, "fitted value of period "+row["t"], Croston(y, .1), number(t, row["fitted"]), 1e-13)
		}
		y = append(y, number(t, row["y"]))
	}
	// Printed in Hyndman & Athanasopoulos, Forecasting: Principles and Practice
	// (from memory): size 2.750, interval 2.793, forecast .985.
	near(t, "forecast", Croston(y, .1), .985, .0005)
	for _, row := range published(t, "1c_croston_productC_components.csv") {
		if row["j"] == "11" {
			near(t, "size", number(t, row["q_hat_next"]), 2.750, .0005)
			near(t, "interval", number(t, row["a_hat_next"]), 2.793, .0005)
			near(t, "forecast by parts", Croston(y, .1), number(t, row["q_hat_next"])/number(t, row["a_hat_next"]), 1e-13)
		}
	}
}

func TestSmoothersOfNothingForecastNothing(t *testing.T) {
	t.Parallel()
	for _, y := range [][]float64{nil, {0}, make([]float64, 9)} {
		if got := []float64{Croston(y, .1), SBA(y, .1), TSB(y, .1, .2), SES(y, .1)}; got[0] != 0 || got[1] != 0 || got[2] != 0 || got[3] != 0 {
			t.Errorf("of %v: found %v, expected zeros", y, got)
		}
	}
}

func TestSmoothersByHand(t *testing.T) {
	t.Parallel()
	y := []float64{0, 4, 0, 0, 2}
	near(t, "SES", SES(y, .5), (((0+2)/2.)/2+2)/2, 1e-15) // 0, 2, 1, .5, 1.25
	near(t, "Croston", Croston(y, .5), 3/2.5, 1e-15)      // sizes 4, 2; intervals 2, 3
	near(t, "SBA", SBA(y, .5), .75*3/2.5, 1e-15)
	near(t, "TSB", TSB(y, .5, .5), 3*.5625, 1e-15) // chances .5, .25, .125, .5625
}
