package stock_test

import (
	"math"
	"testing"

	"circlip/forecast/stock"
)

// midsize is a workshop whose job counts are many but can still be enumerated.
func midsize(seed uint64) stock.Problem {
	p := workshop(seed, 40, 5, 25, 2)
	for e, unit := range p.Events { // each unit comes for one service, in one window
		for o := range unit {
			p.Events[e][o] = stock.Outcome{Type: unit[0].Type, Window: unit[0].Type % 2, Prob: unit[o].Prob}
		}
	}
	return p
}

// Simulated readiness against the exact one at levels around the target, over
// workshops and seeds. Ten batches leave nine degrees of freedom, for which 95
// of 100 cases lie within 2.262 standard errors (Student's t, tables); nine in
// ten is what so few cases are held to. The standard error stays below 0.2
// points at the usual effort.
func TestSimulationIsWithinItsError(t *testing.T) {
	cases, covered, worst, widest := 0, 0, 0.0, 0.0
	for workshop := range uint64(3) {
		p := midsize(workshop)
		exact, err := stock.New(p, stock.Effort{States: 100_000})
		if err != nil {
			t.Fatal(err)
		}
		if _, all := exact.Scenarios(); !all {
			t.Fatal("too many states to be exact")
		}
		curve := exact.Walk(nil)
		for seed := range uint64(5) {
			sampled, err := stock.New(p, stock.Effort{States: 1, Seed: seed})
			if err != nil {
				t.Fatal(err)
			}
			for _, target := range []float64{.7, .9, .97} {
				levels := curve.Reach(target)
				got := sampled.Readiness(levels.Level)
				off := math.Abs(got.Workshop - levels.Readiness)
				cases++
				if off <= 2.262*got.StandardError {
					covered++
				}
				worst, widest = max(worst, off), max(widest, got.StandardError)
			}
		}
	}
	t.Logf("%d of %d within 2.262 standard errors; at worst %.4f off; standard error at most %.4f", covered, cases, worst, widest)
	if covered*100 < cases*90 {
		t.Errorf("only %d of %d within 2.262 standard errors", covered, cases)
	}
	if worst > 0.002 || widest > 0.002 {
		t.Errorf("%v off at worst, standard error up to %v", worst, widest)
	}
}

// Levels are chosen for a sample's sake and would be flattered by it: what
// they are truly good for must not fall short of what is said.
func TestChosenLevelsAreAsGoodAsSaid(t *testing.T) {
	short, cases := 0.0, 0
	for workshop := range uint64(6) {
		p := midsize(workshop)
		exact, err := stock.New(p, stock.Effort{States: 100_000})
		if err != nil {
			t.Fatal(err)
		}
		for seed := range uint64(3) {
			sampled, err := stock.New(p, stock.Effort{States: 1, Seed: seed})
			if err != nil {
				t.Fatal(err)
			}
			levels := sampled.Walk(nil).Reach(0.97)
			off := levels.Readiness - exact.Readiness(levels.Level).Workshop
			short += off
			cases++
			if off > 0.003 {
				t.Errorf("workshop %d seed %d: said %v, %v too much", workshop, seed, levels.Readiness, off)
			}
		}
	}
	t.Logf("said on average %.5f too much", short/float64(cases))
	if short/float64(cases) > 0.001 {
		t.Errorf("said on average %v too much", short/float64(cases))
	}
}

// The same on a workshop of real size, against a simulation of its own with
// ten times the scenarios.
func TestLevelsOfLargeWorkshop(t *testing.T) {
	if testing.Short() {
		t.Skip("a second or two")
	}
	p := workshop(2, 400, 50, 800, 3)
	j, err := stock.New(p, stock.Effort{})
	if err != nil {
		t.Fatal(err)
	}
	levels := j.Walk(nil).Reach(0.97)
	said := j.Readiness(levels.Level)
	near(t, "readiness of the walk and of its levels", levels.Readiness, said.Workshop, 1e-9)
	judge, err := stock.New(p, stock.Effort{Seed: 99, PerBatch: 640})
	if err != nil {
		t.Fatal(err)
	}
	truth := judge.Readiness(levels.Level)
	t.Logf("said %.5f ± %.5f, is %.5f ± %.5f", said.Workshop, said.StandardError, truth.Workshop, truth.StandardError)
	if said.StandardError > 0.002 {
		t.Errorf("standard error %v, expected below 0.002", said.StandardError)
	}
	near(t, "said and true readiness", said.Workshop, truth.Workshop, 2*(said.StandardError+truth.StandardError))
}
