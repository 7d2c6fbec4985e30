package audit

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"circlip/inventory"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

func TestWithoutNoiseEstimatesAreTheTruth(t *testing.T) {
	for _, measured := range []bool{false, true} {
		a := madeBench{works: fourWorks, weeks: 12, measured: measured}.estimated(1)
		if len(a.Services) != len(fourWorks) {
			t.Fatalf("found %d services, expected %d", len(a.Services), len(fourWorks))
		}
		for i, e := range a.Services {
			w := fourWorks[i]
			if e.Code != w.service || math.Abs(e.PerJob-w.standard*w.ratio) > 1e-5 || math.Abs(e.StandardPerJob-w.standard) > 1e-9 || !e.Known {
				t.Errorf("measured %v: found %+v, expected %g of %s", measured, e, w.standard*w.ratio, w.service)
			}
		}
	}
}

// Ninety-five in a hundred intervals are to hold the truth. Where the spread
// told to the audit is a third too small, a few periods cannot show it.
func TestIntervalsKeepTheirLevel(t *testing.T) {
	tests := []struct {
		rule     string
		weeks    int
		told     float64
		measured bool
		least    float64
	}{
		{"eight periods", 8, 1, false, .93},
		{"eight periods, the cards measured", 8, 1, true, .93},
		{"twenty-six periods", 26, 1, false, .93},
		{"two years of periods", 104, 1, false, .93},
		{"two years of periods, the cards measured", 104, 1, true, .93},
		{"eight periods that scatter more than they should", 8, .67, false, .88},
		{"twenty-six periods that scatter more than they should", 26, .67, false, .92},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			var holds, known rate
			for seed := range uint64(100) {
				b := madeBench{works: fourWorks, weeks: test.weeks, cv: .12, countML: 6, told: test.told, measured: test.measured}
				for i, e := range b.estimated(seed).Services {
					truth := fourWorks[i].ratio * fourWorks[i].standard
					holds.add(e.Low <= truth && truth <= e.High)
					known.add(e.Known)
				}
			}
			t.Logf("%.3f of %d intervals hold the truth; %.2f are known", holds.share(), holds.of, known.share())
			if holds.share() < test.least || holds.share() > .99 {
				t.Errorf("%.3f of the intervals hold the truth, expected %g to 0.99", holds.share(), test.least)
			}
		})
	}
}

// With one service the interval is known in closed form: ± 1.96 spreads over
// the root of the sum of squares. By luck the periods may scatter less.
func TestIntervalsAreNeverNarrowerThanTheKnownSpread(t *testing.T) {
	for seed := range uint64(20) {
		a := madeBench{works: fourWorks[:1], weeks: 10, cv: .1, countML: 5, told: 3}.estimated(seed)
		squares := 0.0
		for _, p := range a.Periods {
			standard := float64(p.Standard) / 10
			squares += standard * standard / (p.CardSpread*p.CardSpread + p.CountSpread*p.CountSpread)
		}
		e := a.Services[0]
		least := 1.96 / math.Sqrt(squares) * e.StandardPerJob
		if half := (e.High - e.Low) / 2; half < .85*least || half > 1.15*least {
			t.Errorf("seed %d: ± %.2f, expected ± %.2f but for the draws", seed, half, least)
		}
	}
}

func TestCardsThatAreMeasuredTellMore(t *testing.T) {
	b := madeBench{works: fourWorks, weeks: 26, cv: .12, countML: 6}
	copied := b.estimated(1).Services
	b.measured = true
	for i, e := range b.estimated(1).Services {
		if e.High-e.Low > .7*(copied[i].High-copied[i].Low) {
			t.Errorf("%s: ± %.2f from measured cards, ± %.2f from copied ones", e.Code, (e.High-e.Low)/2, (copied[i].High-copied[i].Low)/2)
		}
	}
}

func TestWhatThePeriodsCannotTellIsNotKnown(t *testing.T) {
	tests := []struct {
		rule  string
		bench madeBench
		known int
	}{
		{"twenty-six periods tell all four", madeBench{works: fourWorks, weeks: 26, cv: .1, countML: 5}, 4},
		{"five periods tell nothing", madeBench{works: fourWorks, weeks: 5, cv: .1, countML: 5}, 0},
		{"nor do counts as coarse as what a week takes", madeBench{works: fourWorks, weeks: 12, cv: .1, countML: 1000}, 0},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			known := 0
			for _, e := range test.bench.estimated(3).Services {
				if e.Known {
					known++
				}
			}
			if known != test.known {
				t.Errorf("found %d known services, expected %d", known, test.known)
			}
		})
	}
}

func TestOnePersonTellsNoMoreThanTheItem(t *testing.T) {
	tests := []struct {
		rule   string
		people []string
		listed []string
	}{
		{"nobody is recorded", nil, nil},
		{"one did all", []string{"ANA"}, nil},
		{"one did some, of the others nobody knows", []string{"ANA", ""}, nil},
		{"two, and some of which nobody knows: the two are listed", []string{"BO", "ANA", ""}, []string{"ANA", "BO"}},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			var listed []string
			for _, e := range (madeBench{works: fourWorks, weeks: 20, cv: .1, countML: 5, people: test.people}).estimated(1).People {
				listed = append(listed, e.Code)
			}
			if !slices.Equal(listed, test.listed) {
				t.Errorf("found %q, expected %q", listed, test.listed)
			}
		})
	}
}

// Whatever a past is like, estimates are numbers, none below zero, and the
// order of the periods does not matter.
func TestEstimatesAreNumbersWhateverThePast(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := madeBench{
			weeks: rapid.IntRange(1, 12).Draw(t, "weeks"), cv: rapid.SampledFrom([]float64{0, .1, 1}).Draw(t, "cv"),
			countML: rapid.SampledFrom([]float64{0, 5, 500}).Draw(t, "count"), measured: rapid.Bool().Draw(t, "measured"),
			models: []string{"M1", "M2"}, people: []string{"ANA", "BO", ""}, leakPerWeekML: rapid.Float64Range(-2000, 2000).Draw(t, "leak"),
		}
		for _, w := range fourWorks[:rapid.IntRange(1, 4).Draw(t, "works")] {
			w.ratio, w.perWeek = rapid.Float64Range(0, 3).Draw(t, "ratio"), rapid.Float64Range(.1, 9).Draw(t, "a week")
			b.works = append(b.works, w)
		}
		a, from := b.past(rapid.Uint64().Draw(t, "seed"))
		n := len(a.Periods)
		a.Episodes = []Episode{{Direction: rapid.SampledFrom([]Signal{High, Low}).Draw(t, "direction"), Start: n / 2, Last: n - 1, End: n - 1, Open: true}}
		a.attribute(from)
		for _, e := range slices.Concat(a.Services, a.Models, a.People) {
			for _, v := range []float64{e.StandardPerJob, e.PerJob, e.Low, e.High, e.High - e.Low} {
				if !(v >= 0) || math.IsInf(v, 1) {
					t.Fatalf("%+v is not made of numbers from zero", e)
				}
			}
		}
		if blame := a.Blame; blame != nil {
			if !(blame.Prob > 0 && blame.Prob <= 1 && blame.Share >= 0 && blame.Share <= 1 && !math.IsNaN(blame.Extra) && !math.IsInf(blame.Extra, 0)) {
				t.Fatalf("found %+v", blame)
			}
		}
		mixed := a
		mixed.Periods, mixed.Episodes, mixed.Blame, mixed.Changes = slices.Clone(a.Periods), nil, nil, nil
		rand.New(rand.NewPCG(1, 1)).Shuffle(n, func(i, j int) { mixed.Periods[i], mixed.Periods[j] = mixed.Periods[j], mixed.Periods[i] })
		mixed.attribute(from)
		if diff := cmp.Diff(a.Services, mixed.Services, cmpopts.EquateApprox(1e-6, 1e-6)); diff != "" {
			t.Fatalf("the order of the periods matters:\n%s", diff)
		}
	})
}

// A workshop has more models than a bench has services: with fewer periods than
// models nothing is known of any, and each takes at most what a period drew.
func TestManyModelsNeedManyPeriods(t *testing.T) {
	b := madeBench{works: fourWorks, cv: .1, countML: 5}
	for i := range 40 {
		b.models = append(b.models, fmt.Sprint("M", i))
	}
	for weeks, known := range map[int]bool{26: false, 260: true} {
		b.weeks = weeks
		for _, e := range b.estimated(1).Models {
			if e.Known != known || e.Low > e.PerJob || e.PerJob > e.High || e.High > 2000 {
				t.Errorf("%d periods: found %+v", weeks, e)
			}
		}
	}
}

// Where there are many models, the rarest are one that has no name.
func TestOfManyModelsTheCommonestAreTold(t *testing.T) {
	b := madeBench{works: fourWorks, weeks: 80, cv: .1, countML: 5}
	for m := range mostModels {
		b.models = append(append(b.models, fmt.Sprint("RARE", m)), slices.Repeat([]string{fmt.Sprint("M", m)}, 12)...)
	}
	models := b.estimated(1).Models
	for _, e := range models {
		if !strings.HasPrefix(e.Code, "M") {
			t.Errorf("found %+v, expected it among those without a name", e)
		}
	}
	if len(models) != mostModels {
		t.Errorf("found %d models, expected %d", len(models), mostModels)
	}
}

func TestDescentFindsTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		const n = 4
		g, right := newGram(n), rapid.SliceOfN(rapid.Float64Range(-3, 3), n, n).Draw(t, "right")
		for range 8 {
			g.add(rapid.SliceOfN(rapid.Float64Range(0, 1), n, n).Draw(t, "row"), 1)
		}
		for i := range n {
			g.at[i*n+i]++
		}
		pivoted, descended := make([]float64, n), make([]float64, n)
		g.nonNegative(right, pivoted)
		g.descend(right, descended)
		if diff := cmp.Diff(pivoted, descended, cmpopts.EquateApprox(0, 1e-6)); diff != "" {
			t.Fatalf("(-pivoted +descended)\n%s", diff)
		}
	})
}

func TestJoinedPeriodsAreOneAndLeftOutOnesNone(t *testing.T) {
	period := func(from, to inventory.Date, drawn inventory.Quantity) Period {
		return Period{From: from, To: to, Opening: drawn, Standard: 100, JobSpread: 3, CardSpread: 4, CountSpread: 2}
	}
	joined, out := period(10, 17, 300), period(24, 31, 900)
	joined.Joined, out.LeftOut = true, true
	last := period(31, 38, 100)
	last.Joined = true
	expected := []span{
		{from: 3, to: 10, unrecorded: 20, excess: 10, job: 9, card: 16, count: 4, parts: 1},
		{from: 10, to: 24, unrecorded: 35, excess: 15, job: 18, card: 32, count: 4, parts: 2},
	}
	found := spansOf([]Period{period(3, 10, 200), joined, period(17, 24, 50), out, last}, inventory.Millilitre)
	if diff := cmp.Diff(expected, found, cmp.AllowUnexported(span{})); diff != "" {
		t.Errorf("(-expected +found)\n%s", diff)
	}
}
