package audit

import (
	"math"
	"testing"

	"circlip/inventory"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

func TestTheEWMAOfTheHandbook(t *testing.T) {
	const lambda, target, sd, width = 0.3, 50, 2.0539, 3
	average := float64(target)
	for n, row := range theory(t, "6a_ewma_nist.csv") {
		if n > 0 {
			average = ewma(average, number(t, row["x"]), lambda)
		}
		limit := width * sd * ewmaSpread(lambda, n)
		if !printsAs(average, row["printed"]) || math.Abs(average-number(t, row["ewma"])) > 1e-9 {
			t.Errorf("period %d: found %.10f, expected %s, printed %s", n, average, row["ewma"], row["printed"])
		}
		for column, got := range map[string]float64{"lcl_exact_t": target - limit, "ucl_exact_t": target + limit} {
			if math.Abs(got-number(t, row[column])) > 1e-9 {
				t.Errorf("period %d: found the limit %.10f, expected %s", n, got, row[column])
			}
		}
	}
	// The page takes √(0.3/1.7) for 0.4201 and prints 52.5884 and 47.4115.
	if limit := width * sd * ewmaSpread(lambda, 1000); math.Abs(target+limit-52.5884) > 1e-4 || math.Abs(target-limit-47.4115) > 1e-4 {
		t.Errorf("found the long-run limits %.4f and %.4f", target+limit, target-limit)
	}
}

func TestTheCUSUMOfTheHandbook(t *testing.T) {
	const target, h, k = 325, 4.1959, 0.3175
	high, low := 0.0, 0.0
	for _, row := range theory(t, "6b_cusum_nist.csv") {
		deviation := number(t, row["x"]) - target
		high, low = cusum(high, deviation, k), cusum(low, -deviation, k)
		if math.Abs(high-number(t, row["hi"])) > 1e-9 || math.Abs(low-number(t, row["lo"])) > 1e-9 {
			t.Errorf("group %s: found %.6f and %.6f, expected %s and %s", row["t"], high, low, row["hi"], row["lo"])
		}
		if signal := high > h || low > h; signal != (row["signal"] == "1") {
			t.Errorf("group %s: signal %t, expected %s", row["t"], signal, row["signal"])
		}
	}
}

func TestMarks(t *testing.T) {
	tests := []struct {
		rule string
		z    []float64
		want []Signal
	}{
		{"where nothing is wrong nothing is said", []float64{0.5, -1, 1.2, -0.3, 0, 2}, []Signal{"", "", "", "", "", ""}},
		{"a bottle gone is told at once", []float64{0, 0.5, 20}, []Signal{"", "", High}},
		{"a bottle found, too", []float64{0, 0.5, -20}, []Signal{"", "", Low}},
		{"and told even where oil went missing before", []float64{0, 2, 1.5, -7.5}, []Signal{"", "", "", Low}},
		{"small losses add up", []float64{0, -1, 1.7, 1.7, 1.7, 1.7}, []Signal{"", "", "", "", "", High}},
		{"small finds add up, and take longer to be told", []float64{0, 1, -1.7, -1.7, -1.7, -1.7, -1.7, -1.7}, []Signal{"", "", "", "", "", "", "", Low}},
		{"soonest at the beginning, where the charts have a head start", []float64{1.7, 1.7, 1.7, 1.7, 1.7, 1.7}, []Signal{"", High, "", "", "", High}},
		{"losses and finds do not", []float64{1.7, -1.7, 1.7, -1.7, 1.7, -1.7}, []Signal{"", "", "", "", "", ""}},
		{"no period, no mark", nil, nil},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			of := marks(told(test.z, 0.1), inventory.Millilitre)
			var got []Signal
			for i, m := range of {
				got = append(got, m.Signal)
				if fresh := i > 0 && of[i-1].Signal != ""; m.Fresh != fresh {
					t.Errorf("period %d: fresh %t, expected the charts to begin anew after a signal alone", i, m.Fresh)
				}
			}
			if diff := cmp.Diff(test.want, got); diff != "" {
				t.Errorf("signals (-expected +found):\n%s\n%+v", diff, of)
			}
		})
	}
}

func TestAMarkIsInTheMeasureAndNeverLessThanAStep(t *testing.T) {
	tests := []struct {
		rule    string
		period  Period
		measure inventory.Measure
		want    [2]float64 // sigma, z
	}{
		{"jobs and counts spread apart", Period{Opening: 250, JobSpread: 3, CountSpread: 4}, inventory.Millilitre, [2]float64{5, 5}},
		{"what the bill allows is no excess", Period{Opening: 250, Standard: 200, JobSpread: 5}, inventory.Gram, [2]float64{5, 1}},
		{"where nothing spreads one tenth of a millilitre does", Period{Opening: 3}, inventory.Millilitre, [2]float64{0.1, 3}},
		{"and one piece of what is counted", Period{Opening: -2}, inventory.Each, [2]float64{1, -2}},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			m := marks([]Period{test.period}, test.measure)[0]
			if got := [2]float64{m.Sigma, m.Z}; math.Abs(got[0]-test.want[0]) > 1e-12 || math.Abs(got[1]-test.want[1]) > 1e-12 {
				t.Errorf("found sigma and z %v, expected %v", got, test.want)
			}
		})
	}
}

// anyPeriods draws periods of any kind, huge and empty ones among them.
func anyPeriods(t *rapid.T) []Period {
	n := rapid.IntRange(0, 60).Draw(t, "periods")
	periods := make([]Period, n)
	on := firstOfMarch
	for i := range periods {
		p := Period{From: on, To: on + inventory.Date(rapid.IntRange(1, 60).Draw(t, "days"))}
		size := rapid.SampledFrom([]int64{0, 10, 1000, int64(inventory.MaxQuantity)}).Draw(t, "size")
		p.Opening = inventory.Quantity(rapid.Int64Range(-size, size).Draw(t, "excess"))
		p.JobSpread = rapid.SampledFrom([]float64{0, 0.01, 10, 1e6}).Draw(t, "jobs")
		p.CountSpread = rapid.SampledFrom([]float64{0, 1, 50}).Draw(t, "counts")
		periods[i], on = p, p.To
	}
	return periods
}

func TestWhatIsSaidOfAPeriodIsNeverUnsaid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		periods := anyPeriods(t)
		whole := marks(periods, inventory.Millilitre)
		upTo := rapid.IntRange(0, len(periods)).Draw(t, "up to")
		if diff := cmp.Diff(whole[:upTo], marks(periods[:upTo], inventory.Millilitre)); diff != "" {
			t.Fatalf("marks of the first %d periods change with later ones:\n%s", upTo, diff)
		}
	})
}

func TestMarksAreNumbersAndSignalBeyondTheirLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		periods := anyPeriods(t)
		mirrored := make([]Period, len(periods))
		for i, p := range periods {
			mirrored[i] = p
			mirrored[i].Opening = -p.Opening
		}
		other := marks(mirrored, inventory.Gram)
		for i, m := range marks(periods, inventory.Gram) {
			for _, x := range []float64{m.Sigma, m.Z, m.Score, m.EWMA, m.EWMALimit, m.High, m.Low} {
				if math.IsNaN(x) || math.IsInf(x, 0) {
					t.Fatalf("period %d: found %+v, expected numbers", i, m)
				}
			}
			if m.Score*m.Z < 0 || math.Abs(m.Score) > math.Abs(m.Z)*4 || math.Abs(m.Score) > farthest {
				t.Fatalf("period %d: found the score %g of z %g", i, m.Score, m.Z)
			}
			if m.Score != -other[i].Score {
				t.Fatalf("period %d: found %+v, and of the negated %+v", i, m, other[i])
			}
			high := m.High > limits.H || m.EWMA > m.EWMALimit || m.Score > limits.Alone
			low := m.Low > limits.HLow || m.EWMA < -m.EWMALimit || m.Score < -limits.Alone
			if (m.Signal != "") != (high || low) || (m.Signal == High && !high) || (m.Signal == Low && !low) {
				t.Fatalf("period %d: found %+v, expected a signal beyond the limits %+v", i, m, limits)
			}
		}
	})
}

// What one huge period teaches of the spread is bounded: the next months are
// judged nearly as before, and half a year later it is all but forgotten.
func TestAnOutlierDoesNotBlindTheCharts(t *testing.T) {
	z := make([]float64, 40)
	for i := range z {
		z[i] = []float64{1, -1, 0.5, -0.5, 0}[i%5]
	}
	quiet := marks(told(append(z, 2), 0), inventory.Millilitre)[40].Score
	for _, test := range []struct {
		at    int
		atMin float64
	}{{38, 0.8}, {12, 0.85}, {1, 0.85}} {
		with := append([]float64{}, z...)
		with[test.at] = 100
		after := marks(told(append(with, 2), 0), inventory.Millilitre)[40].Score
		if after < test.atMin*quiet || after >= quiet {
			t.Errorf("a bottle in period %d: a later loss scores %.3f, without it %.3f; expected at least %g of it", test.at, after, quiet, test.atMin)
		}
	}
}

func TestALastingShiftIsNotTakenForSpread(t *testing.T) {
	law := supposed
	for range 30 {
		law = law.learn(0, 0) // z stays where it is
	}
	shifted := supposed.learn(3, 0)
	for range 29 {
		shifted = shifted.learn(0, 0)
	}
	if ratio := shifted.variance / law.variance; ratio > 1.3 {
		t.Errorf("a shift of three makes the variance %.2f times as large, expected it to count once", ratio)
	}
}

func TestSuccessiveDifferencesAreFairToTheSpread(t *testing.T) {
	// Half a squared difference of independent scores is χ²₁, cut at beyond²: its
	// mean by numbers, against the closed form that learn divides by.
	sum, step := 0.0, 1e-4
	for x := step / 2; x < 12; x += step {
		sum += 2 * step * math.Exp(-x*x/2) / math.Sqrt(2*math.Pi) * math.Min(x*x, beyond*beyond)
	}
	if math.Abs(sum-kept) > 1e-7 {
		t.Errorf("found %.9f kept of a squared score, expected %.9f", kept, sum)
	}
}
