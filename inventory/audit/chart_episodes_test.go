package audit

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"circlip/inventory"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

// repeat strings values together: n of each.
func repeat(pairs ...float64) (z []float64) {
	for i := 0; i < len(pairs); i += 2 {
		z = append(z, slices.Repeat([]float64{pairs[i+1]}, int(pairs[i]))...)
	}
	return z
}

func TestEpisodes(t *testing.T) {
	tests := []struct {
		rule string
		z    []float64
		want []Episode // without their signals, dates, rates and money
	}{
		{"where nothing is wrong there is none", repeat(30, 0), nil},
		{"a loss that goes on is open", repeat(10, 0, 6, 2),
			[]Episode{{Direction: High, Start: 10, End: 15, Open: true}}},
		{"so is one that was not signalled again yet", repeat(10, 0, 4, 2),
			[]Episode{{Direction: High, Start: 10, End: 13, Open: true}}},
		{"one that stopped is over", repeat(10, 0, 6, 2, 8, 0),
			[]Episode{{Direction: High, Start: 10, End: 15}}},
		{"a lull does not part it", repeat(10, 0, 8, 2, 2, 0, 8, 2),
			[]Episode{{Direction: High, Start: 10, End: 27, Open: true}}},
		{"half a year does", repeat(10, 0, 6, 2, 26, 0, 6, 2),
			[]Episode{{Direction: High, Start: 10, End: 15}, {Direction: High, Start: 42, End: 47, Open: true}}},
		{"the other direction is another episode, and ends the one before", repeat(10, 0, 6, 2, 6, -2),
			[]Episode{{Direction: High, Start: 10, End: 15}, {Direction: Low, Start: 16, End: 21, Open: true}}},
		{"a bottle lost is one period alone, no loss since", repeat(10, 0, 1, 30, 10, 0),
			[]Episode{{Direction: High, Start: 10, End: 10, Once: true}}},
		{"and is taken for that until the next count", repeat(10, 0, 1, 30),
			[]Episode{{Direction: High, Start: 10, End: 10, Once: true}}},
		{"unless that is like it", repeat(10, 0, 2, 30),
			[]Episode{{Direction: High, Start: 10, End: 11, Open: true}}},
		{"a count too low is a loss and then a find, each alone", repeat(10, 0, 1, 20, 1, -20, 5, 0),
			[]Episode{{Direction: High, Start: 10, End: 10, Once: true}, {Direction: Low, Start: 11, End: 11, Once: true}}},
		{"a bottle found while oil goes missing does not end that", repeat(10, 0, 8, 2, 1, -30, 8, 2),
			[]Episode{{Direction: High, Start: 10, End: 26, Open: true}, {Direction: Low, Start: 18, End: 18, Once: true}}},
		{"nor does one lost belong to it", repeat(10, 0, 8, 2, 1, 30, 8, 2),
			[]Episode{{Direction: High, Start: 10, End: 26, Open: true}, {Direction: High, Start: 18, End: 18, Once: true}}},
		{"a loss that began before a bottle was found began there", repeat(10, 0, 2, 1.4, 1, -30, 5, 2),
			[]Episode{{Direction: Low, Start: 12, End: 12, Once: true}, {Direction: High, Start: 10, End: 17, Open: true}}},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			a := ofScores(test.z)
			diff := cmp.Diff(test.want, episodes(a), cmpopts.IgnoreFields(Episode{}, "First", "Last", "Began", "PerWeek", "Money"))
			if diff != "" {
				t.Errorf("episodes (-expected +found):\n%s", diff)
				for i, m := range a.Marks {
					t.Logf("%2d %+v", i, m)
				}
			}
		})
	}
}

func TestWhatAnEpisodeComesTo(t *testing.T) {
	lost := func(z []float64) Episode { return episodes(ofScores(z))[0] }
	// A sigma is 1,000 ml, a millilitre costs a cent, a period is a week.
	e := lost(repeat(10, 0, 6, 2, 8, 0))
	if e.Began != firstOfMarch+71 || e.PerWeek != 2000 || e.Money != 12_000 {
		t.Errorf("found %+v, expected 2 l a week over six weeks from the day after the tenth count", e)
	}
	e = lost(repeat(10, 0, 8, 2, 1, -30, 8, 2))
	if e.PerWeek != 2000 || e.Money != 32_000 {
		t.Errorf("found %+v, expected 2 l a week over 16 weeks, the bottle found not taken off", e)
	}
	e = lost(repeat(10, 0, 1, 30, 8, 0))
	if e.PerWeek != 0 || e.Money != 30_000 || e.Began != firstOfMarch+71 {
		t.Errorf("found %+v, expected 30 l once and no rate", e)
	}
	e = lost(repeat(10, 0, 6, -2))
	if e.PerWeek != -2000 || e.Money != -12_000 {
		t.Errorf("found %+v, expected 2 l a week found", e)
	}
	a := ofScores(repeat(10, 0, 6, 2))
	a.Cost = 0
	if e := episodes(a)[0]; e.Money != 0 || e.PerWeek != 2000 {
		t.Errorf("found %+v, expected no money where nobody knows the cost", e)
	}
}

// A shift of half a deviation a week is one of a whole deviation a month: a
// rate, not a step, is what lasts where counts are now close, now far apart.
func TestARateBeginsWhereItDoesThoughPeriodsDiffer(t *testing.T) {
	days := []int{7, 7, 7, 7, 7, 7, 7, 7, 28, 7, 7, 28, 7, 28, 28}
	a := ofScores(make([]float64, len(days)))
	on := firstOfMarch
	for i := range a.Periods {
		p := &a.Periods[i]
		p.From, p.To = on, on+inventory.Date(days[i])
		on = p.To
		p.JobSpread *= math.Sqrt(float64(days[i]) / 7)
		if i >= 8 {
			p.Opening = inventory.Quantity(12_000 * days[i] / 7)
		}
	}
	a.Marks = marks(a.Periods, a.Item.Measure)
	got := episodes(a)
	if len(got) != 1 || got[0].Start != 8 || !got[0].Open || math.Abs(got[0].PerWeek-1200) > 1e-9 {
		t.Errorf("found %+v, expected one of 1,200 ml a week from the ninth period on", got)
	}
}

func TestEpisodesHoldTogether(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := ItemAudit{Item: inventory.Item{Measure: inventory.Millilitre}, Cost: 100, Periods: anyPeriods(t)}
		a.Marks = marks(a.Periods, a.Item.Measure)
		inOne := map[int]bool{}
		lastEnd := -1
		for n, e := range episodes(a) {
			if e.Start > e.First || e.First > e.Last || e.Last > e.End || e.End >= len(a.Periods) {
				t.Fatalf("found %+v of %d periods, expected start ≤ first ≤ last ≤ end", e, len(a.Periods))
			}
			if n > 0 && e.First <= episodes(a)[n-1].First {
				t.Fatalf("episode %d is not later than the one before", n)
			}
			if math.IsNaN(e.PerWeek) || e.Open != (e.End == len(a.Periods)-1 && e.Open) || e.Once && (e.Open || e.Start != e.End || e.PerWeek != 0) {
				t.Fatalf("found %+v", e)
			}
			if !e.Once {
				if e.Start <= lastEnd {
					t.Fatalf("found %+v, which begins before the lasting one before it ended (%d)", e, lastEnd)
				}
				lastEnd = e.End
			}
			for _, i := range []int{e.First, e.Last} {
				if a.Marks[i].Signal != e.Direction {
					t.Fatalf("found %+v, whose period %d signals %q", e, i, a.Marks[i].Signal)
				}
				inOne[i] = true
			}
		}
		for i, m := range a.Marks {
			covered := slices.ContainsFunc(episodes(a), func(e Episode) bool {
				return e.Direction == m.Signal && e.First <= i && i <= e.Last
			})
			if m.Signal != "" && !covered {
				t.Fatalf("the signal of period %d is in no episode", i)
			}
		}
	})
}

// A lasting shift of 1.5 is told as one open episode, one that ended as over.
func TestAShiftThatGoesOnIsOpenAndOneThatEndedIsNot(t *testing.T) {
	tests := []struct {
		rule         string
		shift        float64
		lasts, after int
		open, single float64 // shares open at the end, told as one episode alone: at least, or at most if below zero
	}{
		{"goes on for half a year", 1.5, 26, 0, 0.93, 0.95},
		{"goes on for a year", 2, 52, 0, 0.93, 0.95},
		{"far beyond the limits, and goes on", 5, 26, 0, 0.97, 0.97},
		{"ended a month ago", 2, 20, 4, -0.3, 0.95},
		{"ended two months ago", 2, 20, 8, -0.05, 0.95},
		{"ended two months ago, a small one", 1.5, 26, 8, -0.2, 0.9},
	}
	const items, quiet = 600, 26
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(6, 8))
			var open, single float64
			for range items {
				z := add(noise(rng, quiet+test.lasts+test.after, 0), quiet, test.shift)
				found := episodes(ofScores(add(z, quiet+test.lasts, -test.shift)))
				found = slices.DeleteFunc(found, func(e Episode) bool { return e.End < quiet })
				if len(found) == 1 {
					single++
				}
				if len(found) > 0 && found[len(found)-1].Open {
					open++
				}
			}
			t.Logf("open %.3f, one episode %.3f", open/items, single/items)
			if single/items < test.single || test.open > 0 && open/items < test.open || test.open < 0 && open/items > -test.open {
				t.Errorf("found open in %.3f, one episode in %.3f, expected %+v", open/items, single/items, test)
			}
		})
	}
}

// What jobs take too much of does not show in weeks without a job, and those say
// nothing against it; a leak would have shown in them.
func TestWeeksWithoutAJobEndNoEpisodeOfJobs(t *testing.T) {
	tests := []struct {
		rule string
		idle bool
		open bool
	}{
		{"twelve weeks without a job: it may go on", true, true},
		{"twelve weeks with jobs that took no more: it is over", false, false},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			var z []float64
			for range 8 {
				z = append(z, 0)
			}
			for range 6 {
				z = append(z, 2)
			}
			for range 12 {
				z = append(z, 0)
			}
			a := ofScores(z)
			for i := range a.Periods {
				p := &a.Periods[i]
				p.CountSpread = 1
				if i < 14 || !test.idle {
					p.Opening, p.Standard = p.Opening+5_000, 5_000
				} else {
					p.Opening, p.JobSpread = 0, 0
				}
			}
			a.Marks = marks(a.Periods, a.Item.Measure)
			all := episodes(a)
			if len(all) != 1 || all[0].Open != test.open || all[0].Start < 7 || all[0].Start > 9 {
				t.Errorf("found %+v, expected one episode from the eighth week or so, open: %t", all, test.open)
			}
		})
	}
}
