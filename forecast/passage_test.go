package forecast

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"
)

// published reads a file of other people's numbers; its head, lines with #,
// names the source. Rows are keyed by the column names.
func published(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open("../testdata/published/" + name)
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

// Values of mpmath at 40 digits, see the file's head.
func TestPassagesAgainstPublishedValues(t *testing.T) {
	rows := published(t, "theory/2a_gamma_first_passage.csv")
	if len(rows) != 60 {
		t.Fatalf("found %d rows, expected 60", len(rows))
	}
	for _, row := range rows {
		shape, rate := number(t, row["shape_per_week"]), number(t, row["rate"])
		got := Passage(shape/rate, Hours(1/rate), Hours(number(t, row["remaining_r"])), Weeks(number(t, row["t_weeks"])))
		if want := number(t, row["p_T_le_t"]); math.Abs(got-want) > 1e-12*(1e-3+want) {
			t.Errorf("%v: found %.15g, expected %.15g", row, got, want)
		}
	}
}

// A shape that is a whole number is a Poisson sum: any table of it serves.
func TestPassagesOfWholeShapesArePoissonSums(t *testing.T) {
	for _, row := range published(t, "theory/2d_gamma_poisson_identity.csv") {
		got := upperGamma(number(t, row["k"]), number(t, row["x"]))
		if want := number(t, row["Q"]); math.Abs(got-want) > 1e-13 {
			t.Errorf("Q(%s, %s): found %.15g, expected %.15g", row["k"], row["x"], got, want)
		}
	}
}

// Services on a fixed grid of readings: the n-th passage is that of a level.
func TestServicesOnAGridAgainstPublishedCounts(t *testing.T) {
	for _, row := range published(t, "theory/2b_gamma_service_counts.csv") {
		shape, rate := number(t, row["shape_per_week"]), number(t, row["rate"])
		weeks, mean, square := Weeks(number(t, row["t_weeks"])), 0.0, 0.0
		for n := 1; n < 60; n++ {
			level := Hours(number(t, row["r"]) + float64(n-1)*number(t, row["interval"]))
			p := Passage(shape/rate, Hours(1/rate), level, weeks)
			mean += p
			square += float64(2*n-1) * p
		}
		if want := number(t, row["mean_n"]); math.Abs(mean-want) > 1e-11*(1+want) {
			t.Errorf("%v: found mean %.15g, expected %.15g", row, mean, want)
		}
		if want := number(t, row["var_n"]); math.Abs(square-mean*mean-want) > 1e-9 {
			t.Errorf("%v: found variance %.12g, expected %.12g", row, square-mean*mean, want)
		}
	}
}

// The mean passage time is level/rate + spread/(2·rate): late by half a jump.
// Published means are of the exact integral, which comes to that quickly.
func TestMeanPassageTimeIsLateByHalfAJump(t *testing.T) {
	for _, row := range published(t, "theory/2c_gamma_first_passage_moments.csv") {
		shape, rate := number(t, row["shape_per_week"]), number(t, row["rate"])
		level, hours, spread := number(t, row["r"]), shape/rate, 1/rate
		const step = 0.01
		mean := 0.0
		for at := step / 2; at < 400; at += step {
			mean += step * (1 - Passage(hours, Hours(spread), Hours(level), Weeks(at)))
		}
		if want := number(t, row["mean_T"]); math.Abs(mean-want) > 2e-4 {
			t.Errorf("%v: found mean %.6f, expected %.6f", row, mean, want)
		}
		if level >= 10*spread && math.Abs(mean-(level+spread/2)/hours) > 2e-4 {
			t.Errorf("%v: found mean %.6f, expected %.6f by the identity", row, mean, (level+spread/2)/hours)
		}
	}
}

func TestPassageTablesAreWithinABillionth(t *testing.T) {
	for _, x := range []float64{0.01, 0.1, 0.5, 1, 2, 5, 12.5, 50, 88, 100, 1000, 20000} {
		table, worst := newPassageTable(x), 0.0
		for i := range 20000 {
			a := (x + 9*math.Sqrt(x) + 25) * float64(i) / 20000
			worst = max(worst, math.Abs(table.at(a)-upperGamma(a, x)))
		}
		if worst > 1e-9 {
			t.Errorf("x %v: off by %.2g", x, worst)
		}
	}
}

func TestPassagesAtTheEdges(t *testing.T) {
	for _, c := range []struct {
		name          string
		rate          float64
		spread, level Hours
		weeks         Weeks
		want          float64
	}{
		{"a meter that does not run passes nothing", 0, 4, 50, 26, 0},
		{"what is reached is passed, though the meter stands", 0, 4, 0, 0, 1},
		{"no time, no passage", 8, 4, 50, 0, 0},
		{"time that runs backwards passes nothing", 8, 4, 50, -3, 0},
		{"a rate that is no number passes nothing", math.NaN(), 4, 50, 26, 0},
	} {
		if got := Passage(c.rate, c.spread, c.level, c.weeks); got != c.want {
			t.Errorf("%s: found %v, expected %v", c.name, got, c.want)
		}
	}
}
