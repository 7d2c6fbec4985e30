package series

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/google/go-cmp/cmp"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"circlip/forecast"
)

// Rates from a gamma law, a season, Poisson counts: what comes in the next
// weeks lies in the 90 % interval of its law nine times in ten. Transforms are
// randomised, so that a right law covers exactly 90 %; members of a workshop
// share a season, which is why the bound is that of twice the variance.
func TestIntervalsCoverWhatComesAsOftenAsTheySay(t *testing.T) {
	t.Parallel()
	const weeks, span = 156, 8
	covered, n := 0.0, 0.0
	source := rand.New(rand.NewPCG(7, 7))
	for seed := range uint64(10) {
		p, rates := made(seed+100, 60, weeks, .5)
		for i, law := range Fit(p) {
			expected, came := 0.0, 0
			for week := weeks; week < weeks+span; week++ {
				expected += law.Mean(week % 52)
				came += int(distuv.Poisson{Lambda: rates[i] * (1 + .5*sine(week)), Src: source}.Rand())
			}
			pmf := forecast.NegativeBinomial(expected, law.Shape)
			if u := pmf.CDF(came-1) + source.Float64()*pmf.At(came); u > .05 && u < .95 {
				covered++
			}
			n++
		}
	}
	if se := math.Sqrt(2 * .9 * .1 / n); math.Abs(covered/n-.9) > 3*se {
		t.Errorf("found %.3f covered, expected .9 within %.3f", covered/n, 3*se)
	}
}

func TestSeasonIsFoundFromTwoYears(t *testing.T) {
	t.Parallel()
	p, _ := made(3, 60, 104, .6)
	law := Fit(p)[0]
	if len(law.Factor) != 52 {
		t.Fatalf("found %d factors, expected 52", len(law.Factor))
	}
	near(t, "mean of the factors", mean(law.Factor), 1, 1e-12)
	for week, factor := range law.Factor {
		near(t, "factor", factor, 1+.6*sine(week), .3)
	}
	if half := Fit(Past{Phase: p.Phase[:40], Phases: 52, Series: []Series{{Counts: p.Series[0].Counts[:40]}}})[0]; half.Factor != nil {
		t.Error("a season was told from less than a year")
	}
}

func TestSparseSeriesFollowTheirFamily(t *testing.T) {
	t.Parallel()
	var busy, idle Past
	for i := range 20 {
		counts := make([]int, 60)
		for week := i % 4; week < 60; week += 4 {
			counts[week] = 1
		}
		busy.Series = append(busy.Series, Series{Counts: counts})
		idle.Series = append(idle.Series, Series{Counts: make([]int, 60), Family: 1})
	}
	busy.Series = append(busy.Series, Series{Counts: make([]int, 60)})
	idle.Series = append(idle.Series, busy.Series...)
	laws := Fit(idle)
	among, alone := laws[len(laws)-1], laws[0]
	if !(among.Rate > 3*alone.Rate && among.Rate < .25) || among.Basis != NoCount {
		t.Errorf("found rate %v in a busy family and %v in an idle one", among.Rate, alone.Rate)
	}
	if diff := cmp.Diff(Fit(busy), laws[20:]); diff != "" {
		t.Errorf("another family changed the laws: %s", diff)
	}
}

func TestLawsOfAnyPast(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		weeks := rapid.IntRange(0, 70).Draw(t, "weeks")
		p := Past{Phases: rapid.SampledFrom([]int{0, 12, 52}).Draw(t, "phases")}
		for week := range weeks {
			p.Phase = append(p.Phase, week%max(1, p.Phases))
		}
		for range rapid.IntRange(0, 5).Draw(t, "series") {
			s := Series{Family: rapid.IntRange(0, 1).Draw(t, "family")}
			for range weeks {
				s.Counts = append(s.Counts, rapid.SampledFrom([]int{0, 0, 0, 0, 1, 3, 10000, -2}).Draw(t, "count"))
			}
			p.Series = append(p.Series, s)
		}
		laws := Fit(p)
		if len(laws) != len(p.Series) || !cmp.Equal(laws, Fit(p)) {
			t.Fatal("not one law a series, the same each time")
		}
		for _, law := range laws {
			if !(law.Rate >= 0) || math.IsInf(law.Rate, 1) || !(law.Shape >= narrowest) {
				t.Fatalf("found rate %v and shape %v", law.Rate, law.Shape)
			}
			for phase := range p.Phases {
				if m := law.Mean(phase); !(m >= 0) || math.IsInf(m, 1) {
					t.Fatalf("found mean %v", m)
				}
			}
			for _, s := range law.Scores {
				if !(s.RPS >= 0) || math.IsInf(s.RPS, 1) || !(s.Family >= 0) {
					t.Fatalf("found score %+v", s)
				}
			}
		}
	})
}
