package audit

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/mat"
	"pgregory.net/rapid"
)

// theoryRows reads a file of other people's numbers; its head names the source.
func theoryRows(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open("../../testdata/published/theory/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil || len(rows) < 2 {
		t.Fatalf("%s: %d rows, %v", name, len(rows), err)
	}
	return rows[1:]
}

func floats(t *testing.T, text string) (values []float64) {
	t.Helper()
	for _, field := range strings.Fields(text) {
		v, err := strconv.ParseFloat(field, 64)
		if err != nil {
			t.Fatal(err)
		}
		values = append(values, v)
	}
	return values
}

// matrixOf reads rows parted by semicolons.
func matrixOf(t *testing.T, text string) *mat.Dense {
	t.Helper()
	var all []float64
	rows := strings.Split(text, ";")
	for _, row := range rows {
		all = append(all, floats(t, row)...)
	}
	return mat.NewDense(len(rows), len(all)/len(rows), all)
}

func TestNonNegativeLeastSquaresAreThoseOfTheReferenceLibraries(t *testing.T) {
	data := theoryRows(t, "6d_nnls_data.csv")
	for i, row := range theoryRows(t, "6d_nnls.csv") {
		t.Run(row[0], func(t *testing.T) {
			a, b, expected := matrixOf(t, data[i][3]), floats(t, data[i][4]), floats(t, row[1])
			found := nnls(a, b)
			for j, x := range expected {
				if !(math.Abs(found[j]-x) <= 1e-9) {
					t.Errorf("x[%d] = %.16g, expected %.16g", j, found[j], x)
				}
			}
			if r, expected := norm(residuals(a, b, found, nil)), floats(t, row[2])[0]; math.Abs(r-expected) > 1e-12 {
				t.Errorf("norm left %.16g, expected %.16g", r, expected)
			}
			if worst := kkt(a, b, found); worst > 1e-12 {
				t.Errorf("the conditions of an optimum are missed by %g", worst)
			}
		})
	}
}

// kkt is by how much x misses the conditions of Kuhn and Tucker: nothing below
// zero, no slope downwards, no slope at all where x is above zero.
func kkt(a *mat.Dense, b, x []float64) (worst float64) {
	left := residuals(a, b, x, nil)
	for j, v := range x {
		slope := 0.0
		for i, r := range left {
			slope -= a.At(i, j) * r
		}
		worst = math.Max(worst, math.Max(-v, -slope))
		if v > 0 {
			worst = math.Max(worst, math.Abs(slope))
		}
	}
	return worst
}

// The digits reached are log relative errors: 15 is all that is told. Columns of
// Longley and of the polynomials all but depend on each other; Wampler 4 and 5
// have noise beside which the coefficients vanish. Wampler 2 and Norris are
// given in decimals that a float64 does not hold exactly.
func TestLeastSquaresReachTheCertifiedDigits(t *testing.T) {
	certified := theoryRows(t, "6c_strd_certified.csv")
	for _, regression := range []struct {
		name   string
		digits float64
	}{{"norris", 13}, {"longley", 13}, {"wampler1", 14}, {"wampler2", 13}, {"wampler3", 14}, {"wampler4", 14}, {"wampler5", 14}} {
		t.Run(regression.name, func(t *testing.T) {
			a, b := regressionOf(t, regression.name)
			found := leastSquares(a, b)
			worst, n := 15.0, 0
			for _, row := range certified {
				if row[0] != regression.name {
					continue
				}
				value := floats(t, row[2])[0]
				worst = math.Min(worst, -math.Log10(math.Abs(found[n]-value)/math.Abs(value)))
				n++
			}
			t.Logf("%d coefficients, %.1f digits", n, worst)
			if n != len(found) || !(worst >= regression.digits) {
				t.Errorf("%d of %d coefficients agree to %.1f digits, expected %v: %v", n, len(found), worst, regression.digits, found)
			}
		})
	}
}

// regressionOf lists powers of x, or the columns of Longley after a one.
func regressionOf(t *testing.T, name string) (*mat.Dense, []float64) {
	t.Helper()
	var rows [][]float64
	var b []float64
	if name == "longley" {
		for _, row := range theoryRows(t, "6c_strd_longley.csv") {
			values := floats(t, strings.Join(row, " "))
			b, rows = append(b, values[0]), append(rows, append([]float64{1}, values[1:]...))
		}
	}
	powers := map[bool]int{true: 2, false: 6}[name == "norris"]
	for _, row := range theoryRows(t, "6c_strd_data.csv") {
		if row[0] != name {
			continue
		}
		x := floats(t, row[2])[0]
		var of []float64
		for k := range powers {
			of = append(of, math.Pow(x, float64(k)))
		}
		b, rows = append(b, floats(t, row[1])[0]), append(rows, of)
	}
	a := mat.NewDense(len(rows), len(rows[0]), nil)
	for i, row := range rows {
		a.SetRow(i, row)
	}
	return a, b
}

// The bootstrap solves normal equations by another method, which is the same
// where columns are not all but dependent.
func TestTheTwoWaysOfNonNegativeLeastSquaresAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		cols := rapid.IntRange(1, 7).Draw(t, "columns")
		rows := cols + rapid.IntRange(0, 12).Draw(t, "rows beyond")
		values := rapid.SliceOfN(rapid.Float64Range(-2, 2), rows*cols, rows*cols).Draw(t, "a")
		b := rapid.SliceOfN(rapid.Float64Range(-5, 5), rows, rows).Draw(t, "b")
		a := mat.NewDense(rows, cols, values)
		for j := range cols {
			a.Set(j, j, a.At(j, j)+3*math.Copysign(1, a.At(j, j)))
		}
		found := nnls(a, b)
		if worst := kkt(a, b, found); worst > 1e-9 {
			t.Fatalf("%v misses the conditions of an optimum by %g", found, worst)
		}
		g, right, x := newGram(cols), make([]float64, cols), make([]float64, cols)
		for i := range rows {
			g.add(a.RawRowView(i), 1)
			for j := range cols {
				right[j] += a.At(i, j) * b[i]
			}
		}
		g.nonNegative(right, x)
		if worst := kkt(a, b, x); worst > 1e-8 {
			t.Fatalf("by the gram, %v misses the conditions of an optimum by %g", x, worst)
		}
	})
}
