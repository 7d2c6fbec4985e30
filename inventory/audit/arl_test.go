package audit

import (
	"encoding/csv"
	"math"
	"math/rand/v2"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// theory reads a file of other people's numbers: one map a row, by column.
func theory(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open("../../testdata/published/theory/" + name)
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
	rows := make([]map[string]string, len(records)-1)
	for i, record := range records[1:] {
		rows[i] = map[string]string{}
		for j, column := range records[0] {
			rows[i][column] = record[j]
		}
	}
	return rows
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	n, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// printsAs tells whether a value, rounded to as many digits as were printed, is
// what was printed.
func printsAs(value float64, printed string) bool {
	_, decimals, _ := strings.Cut(printed, ".")
	return strconv.FormatFloat(value, 'f', len(decimals), 64) == printed
}

// publishedRun is the run length that arl.go reckons for a row of the published.
func publishedRun(t *testing.T, row map[string]string) float64 {
	p1, p2, shift := number(t, row["param1"]), number(t, row["param2"]), number(t, row["mu"])
	switch row["chart"] + " " + row["sided"] {
	case "cusum one":
		return cusumOneSided(p1, p2, shift).from(number(t, row["headstart"]))
	case "cusum two":
		return cusumRun(p1, p2, number(t, row["headstart"]), shift)
	case "ewma two":
		return ewmaRun(p1, p2, shift)
	}
	t.Fatalf("found a %s-sided %s, expected a CUSUM or a two-sided EWMA", row["sided"], row["chart"])
	return 0
}

// printedOtherwise are the values of the papers that differ from the spc package
// in the last digit or two. They came of coarser approximations: of 94 rows
// these four must differ, and no other.
var printedOtherwise = []string{"117.59", "1.32", "2071.51", "1.94"}

// cusumRun is the average run length of a two-sided tabular CUSUM of
// independent normal values with mean shift and standard deviation 1, both sums
// begun at head (0: nowhere). While one sum moves, the other lies too far below
// to signal next, which makes the two-sided length one of the one-sided
// (Kemp 1961; with a head start Lucas & Crosier 1982; from memory). Needs
// head ≤ h/2 + k.
func cusumRun(k, h, head, shift float64) float64 {
	up, down := cusumOneSided(k, h, shift), cusumOneSided(k, h, -shift)
	return (up.from(head)*down.from(0) + up.from(0)*down.from(head) - up.from(0)*down.from(0)) / (up.from(0) + down.from(0))
}

func TestRunLengthsArePublishedOnes(t *testing.T) {
	rows := theory(t, "6f_arl.csv")
	worst := 0.0
	var otherwise []string
	for _, row := range rows {
		got, want := publishedRun(t, row), number(t, row["arl"])
		worst = math.Max(worst, math.Abs(got/want-1))
		if math.Abs(got/want-1) > 1e-8 {
			t.Errorf("%v: found %.12g", row, got)
		}
		if row["printed"] != "" && !printsAs(got, row["printed"]) {
			otherwise = append(otherwise, row["printed"])
		}
	}
	if !slices.Equal(otherwise, printedOtherwise) {
		t.Errorf("found other digits than were printed at %v, expected them at %v", otherwise, printedOtherwise)
	}
	t.Logf("%d run lengths, none further off than %.1g of itself", len(rows), worst)
}

// The formula for a two-sided CUSUM, the integral equation and the recursion
// that the audit runs are three things; a simulation joins them.
func TestRunLengthsAreThoseOfTheRecursion(t *testing.T) {
	tests := []struct {
		rule   string
		signal func(state *[2]float64, x float64) bool
		want   float64
	}{
		{"cusum", func(s *[2]float64, x float64) bool {
			s[0], s[1] = cusum(s[0], x, 0.5), cusum(s[1], -x, 0.5)
			return max(s[0], s[1]) > 4
		}, cusumRun(0.5, 4, 0, 0.25)},
		{"ewma", func(s *[2]float64, x float64) bool {
			s[0] = ewma(s[0], x, 0.5)
			return math.Abs(s[0]) > 2*ewmaSpread(0.5, 1000)
		}, ewmaRun(0.5, 2, 0.25)},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(6, 1))
			mean, err := simulated(20_000, func() int {
				var state [2]float64
				n := 1
				for !test.signal(&state, rng.NormFloat64()+0.25) {
					n++
				}
				return n
			})
			if math.Abs(mean-test.want) > 4*err {
				t.Errorf("simulated %.2f ± %.2f, reckoned %.2f", mean, err, test.want)
			}
		})
	}
}

// simulated is the mean of n draws and its standard error.
func simulated(n int, draw func() int) (mean, err float64) {
	var sum, squares float64
	for range n {
		x := float64(draw())
		sum += x
		squares += x * x
	}
	mean = sum / float64(n)
	return mean, math.Sqrt((squares/float64(n) - mean*mean) / float64(n))
}
