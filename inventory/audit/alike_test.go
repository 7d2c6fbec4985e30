package audit

import (
	"testing"

	"circlip/inventory"
)

// twoInStep are two services that are always done as often as each other, with
// a booked fortnight in which one is done early in the week, the other late.
func twoInStep(weeks int) (ItemAudit, attribution) {
	a, from := madeBench{works: fourWorks[1:2], weeks: weeks, cv: .1, countML: 5}.past(1)
	from.services = []string{"LOWER", "SPRING"}
	var both []taking
	for _, t := range from.takings {
		spring := t
		spring.job, spring.service = t.job+"B", "SPRING"
		both = append(both, t, spring)
	}
	from.takings = both
	for i := range a.Periods {
		p := &a.Periods[i]
		p.Closing -= p.Drawn()
		p.Standard, p.Recorded = 2*p.Standard, 2*p.Recorded
	}
	for day, service := range map[inventory.Date]string{1: "LOWER", 2: "LOWER", 4: "SPRING", 5: "SPRING"} {
		for n := range 4 {
			from.coming = append(from.coming, taking{on: from.asOf + day - 1, job: service + string(rune('0'+int(day)*4+n)), service: service, standard: 20, variance: 4, amount: 20, certain: true})
		}
	}
	return a, from
}

func TestTwoThatAreAlwaysDoneTogetherAreAlikeAndAWeighingBetweenPartsThem(t *testing.T) {
	a, from := twoInStep(20)
	a.attribute(from)
	if len(a.Alike) != 1 {
		t.Fatalf("found %+v, expected one pair", a.Alike)
	}
	pair := a.Alike[0]
	if pair.By != ByService || pair.A != "LOWER" || pair.B != "SPRING" || pair.Correlation > -.99 {
		t.Errorf("found %+v", pair)
	}
	if day := pair.WeighOn - from.asOf + 1; day != 2 || pair.JobsA != 8 || pair.JobsB != 0 {
		t.Errorf("weigh on day %d after %d and %d jobs, expected day 2 after 8 and 0", day, pair.JobsA, pair.JobsB)
	}
	for _, e := range a.Services {
		if e.Known || e.PerJob < 15 || e.PerJob > 25 || e.Low > 1 || e.High < 38 {
			t.Errorf("%+v: expected it in the middle, unknown, from nothing to all", e)
		}
	}
}

func TestNoWeighingHelpsWhereNothingParts(t *testing.T) {
	for rule, change := range map[string]func(*attribution){
		"nothing is booked": func(from *attribution) { from.coming = nil },
		"they are booked in step as well": func(from *attribution) {
			for i := range from.coming {
				from.coming[i].service = from.services[i%2]
				from.coming[i].on = from.asOf + inventory.Date(i/2%5)
			}
		},
	} {
		a, from := twoInStep(20)
		change(&from)
		a.attribute(from)
		if len(a.Alike) != 1 || !a.Alike[0].WeighOn.IsZero() || a.Alike[0].JobsA != 0 {
			t.Errorf("%s: found %+v, expected one pair and no day", rule, a.Alike)
		}
	}
}

func TestServicesThatVaryByThemselvesAreNotAlike(t *testing.T) {
	for seed := range uint64(20) {
		if a := (madeBench{works: fourWorks, weeks: 26, cv: .1, countML: 5}).estimated(seed); len(a.Alike) > 0 {
			t.Errorf("seed %d: found %+v", seed, a.Alike)
		}
	}
}

// What a weighing is worth is reckoned from both counts at its ends being
// shared with its neighbours. A day more never leaves less known, and two
// services that come one after the other are told by the count between: each
// ratio then has the variance of its jobs and of two counts.
func TestWhatAWeighingIsWorth(t *testing.T) {
	a, from := twoInStep(20)
	p := newPanel(a.Periods, a.Item, from.takings)
	f := newFit(p, p.byService(from.services))
	w := from.weighings(&a, p, f)
	end := []inventory.Date{from.asOf + 6}
	without := w.difference(end, 0, 1)
	with := w.difference([]inventory.Date{from.asOf + 1, from.asOf + 6}, 0, 1)
	jobs, counted := 8*4.0+w.finest, w.counted
	// Of the two sums the variances are jobs + 2·counted each, their covariance
	// −counted; the periods before tell the sum of the ratios all but exactly,
	// so that the difference is told by the difference of the sums, over 160.
	expected := (2*(jobs+2*counted) + 2*counted) / (160 * 160)
	if with > expected || with < .8*expected {
		t.Errorf("with the weighing the variance is %.5f, expected somewhat less than %.5f", with, expected)
	}
	if without < 1e3*with {
		t.Errorf("without it the variance is %.5f, expected no end of it", without)
	}
	for _, day := range w.days {
		// But for rounding: what is known without it is the lean of 1e-8 alone.
		if more := w.difference(append([]inventory.Date{day}, end...), 0, 1); more > without*(1+1e-7) {
			t.Errorf("a weighing on %d leaves %.5f, without it %.5f", day, more, without)
		}
	}
}
