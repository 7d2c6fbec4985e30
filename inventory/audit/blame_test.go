package audit

import (
	"math"
	"testing"

	"circlip/inventory"
)

// judged is the bench's past with an episode from its change until the end.
func (b madeBench) judged(seed uint64, direction Signal) ItemAudit {
	a, from := b.past(seed)
	last := len(a.Periods) - 1
	a.Episodes = []Episode{{Direction: direction, Start: b.from, First: b.from + 3, Last: last, End: last, Open: true}}
	a.attribute(from)
	return a
}

func TestWhatIsToBlame(t *testing.T) {
	tests := []struct {
		rule      string
		bench     madeBench
		direction Signal
		by        By
		code      string
		least     float64 // share of seeds
	}{
		{"a service whose measured cards show it, after six counts", madeBench{works: asBilled("FULL", 1.1), weeks: 32, measured: true}, High, ByService, "FULL", .9},
		{"a service whose cards repeat the bill, after a year", madeBench{works: asBilled("DAMPER", 1.15), weeks: 78}, High, ByService, "DAMPER", .9},
		{"a service that takes less", madeBench{works: asBilled("DAMPER", .85), weeks: 78}, Low, ByService, "DAMPER", .9},
		{"a person", madeBench{works: asBilled("", 1), weeks: 52, personTakes: map[string]float64{"BO": 1.3}}, High, ByPerson, "BO", .85},
		{"every job alike, oil that is lost in pouring", madeBench{works: allTake(1.15), weeks: 78}, High, ByAll, "", .85},
		{"every job alike, less", madeBench{works: allTake(.85), weeks: 78}, Low, ByAll, "", .85},
		{"the same every week", madeBench{works: asBilled("", 1), weeks: 52, leakPerWeekML: 100}, High, ByNone, "", .85},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			var right rate
			share := 0.0
			for seed := range uint64(40) {
				b := test.bench
				b.cv, b.countML, b.from, b.models, b.people = .1, 5, 26, []string{"M1", "M2", "M3"}, []string{"ANA", "BO", "CY"}
				blame := b.judged(seed, test.direction).Blame
				is := blame.By == test.by && blame.Code == test.code
				right.add(is)
				if is {
					share += blame.Share
				}
				if (blame.Extra > 0) != (test.direction == High) {
					t.Errorf("seed %d: %+v, in an episode that is %s", seed, blame, test.direction)
				}
			}
			t.Logf("named in %d of %d; it explains %.2f in the mean", right.so, right.of, share/float64(right.so))
			if right.share() < test.least {
				t.Errorf("named in a share of %.2f, expected %g", right.share(), test.least)
			}
		})
	}
}

func TestNobodyIsBlamedWhereThereIsNothingToTellItFrom(t *testing.T) {
	a, from := madeBench{works: asBilled("FULL", 2), weeks: 10, cv: .1, countML: 5}.past(1)
	for rule, episodes := range map[string][]Episode{
		"no episode":         nil,
		"one period alone":   {{Direction: High, Start: 4, First: 4, Last: 4, End: 4, Once: true}},
		"one that is useful": {{Direction: High, Start: 9, First: 9, Last: 9, End: 9, Open: true}},
	} {
		a.Episodes = episodes
		if a.attribute(from); a.Blame != nil {
			t.Errorf("%s: found %+v, expected nobody", rule, a.Blame)
		}
	}
}

// Of what no job takes by the bill, there is nothing to tell a leak from.
func TestWhatNoJobTakesIsBlamedOnNothing(t *testing.T) {
	shop := steadyShop()
	shop.Jobs, shop.Uses, shop.Receipts = nil, nil, nil
	for i := range shop.Counts {
		shop.Counts[i].Qty = 40_003 - inventory.Quantity(1_001*i)
	}
	leaks := Of(shop, Fluids).Items[0]
	if len(leaks.Episodes) == 0 || leaks.Blame != nil {
		t.Errorf("found %+v of the episodes %+v, expected a leak and no blame", leaks.Blame, leaks.Episodes)
	}
}

// A bottle found while oil leaks says nothing of the leak.
func TestAPeriodAloneDoesNotHideWhatExplainsARun(t *testing.T) {
	a, from := madeBench{works: asBilled("FULL", 1.3), weeks: 20, cv: .1, countML: 5}.past(1)
	run := Episode{Direction: High, Start: 0, First: 3, Last: 19, End: 19, Open: true}
	a.Episodes = []Episode{run}
	a.attribute(from)
	want := a.Blame
	a.Episodes = []Episode{run, {Direction: Low, Start: 12, First: 12, Last: 12, End: 12, Once: true}}
	if a.attribute(from); want == nil || a.Blame == nil || *a.Blame != *want {
		t.Errorf("found %+v, expected %+v as without it", a.Blame, want)
	}
}

// Of what is said with so much probability, so much is true.
func TestTheProbabilityOfABlameIsHonest(t *testing.T) {
	said, right, n := 0.0, 0.0, 0.0
	for seed := range uint64(120) {
		over := fourWorks[seed%4].service
		b := madeBench{works: asBilled(over, 1.15), weeks: 39, from: 26, cv: .1, countML: 5}
		blame := b.judged(seed, High).Blame
		said += blame.Prob
		if n++; blame.Code == over {
			right++
		}
	}
	t.Logf("said with %.2f in the mean, right in %.2f", said/n, right/n)
	if right/n < said/n-.1 || right/n > said/n+.15 {
		t.Errorf("right in %.2f, expected about %.2f", right/n, said/n)
	}
}

// The likelihood of an extra is an integral; here it is summed.
func TestTheLikelihoodOfAnExtraIsItsIntegral(t *testing.T) {
	for _, e := range []effect{{.1, .05}, {-.1, .05}, {.5, 1}, {0, .01}, {-2, .05}} {
		expected := e.summed()
		if found := e.log(); found < expected-1e-4 || found > expected+1e-4 {
			t.Errorf("%+v: found %.6f, expected %.6f", e, found, expected)
		}
	}
}

// summed is the logarithm of the integral by small steps.
func (e effect) summed() float64 {
	const step = 1e-5
	sum := 0.0
	for x := step / 2; x < 6; x += step {
		off, at0 := (e.best-x)/e.sd, e.best/e.sd
		sum += step / usualExtra * math.Exp(-x/usualExtra-off*off/2+at0*at0/2)
	}
	return math.Log(sum)
}
