package rehearsal

import (
	"context"
	"errors"
	"strings"
	"testing"

	"circlip/forecast"
	"circlip/forecast/rehearse"
	"circlip/forecast/score"
	"circlip/reports/rehearsal/invented"
)

// hamlet is a workshop that is soon played.
func hamlet(seed uint64) invented.Config {
	return invented.Config{Seed: seed, Weeks: 54, Units: 4, Customers: 2, WalkInShare: -1}
}

func TestTrialsAreTheSameAsOneByOne(t *testing.T) {
	weeks := 0
	o := Options{Weeks: 1, WarmUp: 1, Targets: []float64{0.97}, Scores: true, Progress: func(n int) { weeks += n }}
	together, err := Trials(t.Context(), []invented.Config{hamlet(9), hamlet(11), hamlet(5)}, o)
	if err != nil {
		t.Fatal(err)
	}
	if weeks != 3*2 {
		t.Errorf("told of %d weeks, expected two of each of three", weeks)
	}
	for i, seed := range []uint64{9, 11, 5} {
		alone, err := Run(t.Context(), Invented(invented.Make(hamlet(seed))), o)
		if err != nil {
			t.Fatal(err)
		}
		r := together[i]
		if r.Seed != seed || r.Plans[0].MeanStockValue != alone.Plans[0].MeanStockValue || r.Plans[0].Jobs != alone.Plans[0].Jobs {
			t.Errorf("seed %d: found %d with a stock of %v, expected %v", seed, r.Seed, r.Plans[0].MeanStockValue, alone.Plans[0].MeanStockValue)
		}
		theirs, ours := r.Scores.Services.Together(0, 0), alone.Scores.Services.Together(0, 0)
		if theirs.Count() == 0 || theirs.RPS() != ours.RPS() {
			t.Errorf("seed %d: scores differ: %v and %v", seed, theirs.RPS(), ours.RPS())
		}
	}
}

func TestTrialsThatCannotBePlayedAreNone(t *testing.T) {
	called, stop := context.WithCancel(t.Context())
	stop()
	if reports, err := Trials(called, []invented.Config{hamlet(9)}, Options{Weeks: 1, WarmUp: 1}); !errors.Is(err, context.Canceled) || reports != nil {
		t.Errorf("called off: found %d reports and %v", len(reports), err)
	}
	reports, err := Trials(t.Context(), []invented.Config{hamlet(9)}, Options{Weeks: 500})
	if !errors.Is(err, ErrTooShort) || !strings.Contains(err.Error(), "seed 9") || reports != nil {
		t.Errorf("too short a past: found %d reports and %v, expected the seed to be named", len(reports), err)
	}
}

// scored is a scoring of things that all had the same law and outcomes.
func scored(law forecast.PMF, things int, came ...int) Scoring {
	s := newScoring(make([]string, things))
	for m := range s.Cells {
		for h := range s.Cells[m] {
			for k := range s.Cells[m][h] {
				for _, x := range came {
					s.Cells[m][h][k].Add(law, x)
				}
			}
		}
	}
	return s
}

func TestVerdictsAreOverAllThings(t *testing.T) {
	right, high := forecast.Poisson(1), forecast.Poisson(4)
	var likely []int // a hundred outcomes at the middle of each hundredth of the law
	for n := range 100 {
		likely = append(likely, right.Quantile((float64(n)+0.5)/100))
	}
	verdicts := Verdicts(scored(right, 2, likely...), scored(high, 3, likely...))
	if len(verdicts) != (1+len(baselines))*len(Horizons) {
		t.Fatalf("found %d, expected one a method and horizon", len(verdicts))
	}
	var both score.Scores
	for _, x := range likely {
		for range 2 {
			both.Add(right, x)
		}
		for range 3 {
			both.Add(high, x)
		}
	}
	for i, v := range verdicts {
		if v.Ahead != Horizons[i%len(Horizons)] || v.Count() != both.Count() || !near(v.RPS(), both.RPS()) {
			t.Errorf("%s, %d ahead: found %d forecasts with %v, expected %d with %v", v.Method, v.Ahead, v.Count(), v.RPS(), both.Count(), both.RPS())
		}
		if v.Flat != 2 || v.Cells != 5 {
			t.Errorf("%s, %d ahead: found %d of %d flat, expected the two right ones of five", v.Method, v.Ahead, v.Flat, v.Cells)
		}
	}
	if Verdicts() != nil {
		t.Error("found verdicts of nothing")
	}
}

func near(a, b float64) bool { return a-b < 1e-9 && b-a < 1e-9 }

func TestReachingIsTheCheapestThatIsGoodEnough(t *testing.T) {
	c := Curve{Points: []rehearse.Point{{Readiness: 0.9, Value: 10}, {Readiness: 0.97, Value: 30}, {Readiness: 0.98, Value: 25}, {Readiness: 0.99, Value: 40}}}
	for _, r := range []struct {
		rule      string
		readiness float64
		value     float64
		found     bool
	}{
		{"more for less is taken", 0.97, 25, true},
		{"just as much is enough", 0.99, 40, true},
		{"nothing reaches all", 1, 0, false},
	} {
		if p, found := c.Reaching(r.readiness); found != r.found || p.Value != r.value {
			t.Errorf("%s: found %v (%v), expected %v", r.rule, p.Value, found, r.value)
		}
	}
}
