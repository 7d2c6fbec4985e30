package invented

import (
	"math"
	"strings"
	"testing"

	"circlip/inventory"
)

// Bounds here are four standard errors from theory; seeds are fixed.
const errors4 = 4

// near tells whether a mean of n draws lies within four standard errors.
func near(t *testing.T, what string, found, expected, sd float64, n int) {
	t.Helper()
	bound := errors4 * sd / math.Sqrt(float64(n))
	if n == 0 || math.Abs(found-expected) > bound {
		t.Errorf("%s: found %.4f in %d cases, expected %.4f within %.4f", what, found, n, expected, bound)
	}
}

// long is a workshop with so much past that its parameters show.
func long(seed uint64) Workshop {
	return Make(Config{Seed: seed, Vary: true, Units: 300, Customers: 400, Weeks: 156})
}

func TestThoseBookedAheadTurnUpAsOftenAsWasDrawn(t *testing.T) {
	for seed := range uint64(3) {
		w := long(seed)
		n, came := 0, 0
		for _, j := range w.Shop.Jobs {
			if j.State == inventory.Booked || j.BookedOn == j.BenchDate {
				if j.State == inventory.NoShow || j.State == inventory.Cancelled {
					t.Errorf("job %+v: booked on the day, expected it done", j)
				}
				continue
			}
			n++
			if j.State == inventory.Done {
				came++
			}
		}
		p := w.Truth.ShowRate
		near(t, "share that turns up", float64(came)/float64(n), p, math.Sqrt(p*(1-p)), n)
	}
}

func TestTheyComeAfterTheLagAndAreCapturedAsOftenAsWasDrawn(t *testing.T) {
	w := long(4)
	for _, h := range []struct {
		name   string
		coming Coming
		groups []string
	}{{"fleet", w.Truth.Fleet, []string{"hire", "race"}}, {"customers", w.Truth.Customer, []string{"club", "local"}}} {
		n, captured, weeks := 0, 0, 0
		for _, d := range w.Truth.Dues {
			if group, _, _ := strings.Cut(d.Unit, "-"); group != h.groups[0] && group != h.groups[1] {
				continue
			}
			n++
			weeks += int(d.Bench-d.On) / 7 // what a weekend adds is under a week
			if d.Captured {
				captured++
			}
		}
		c, lag := h.coming.Capture, h.coming.LagWeeks
		near(t, h.name+" captured", float64(captured)/float64(n), c, math.Sqrt(c*(1-c)), n)
		near(t, h.name+" lag", float64(weeks)/float64(n), lag, math.Sqrt(lag*(1+lag)), n)
	}
}

// Where the lag leaves room, one more than six days ahead is booked with the
// geometric law's probability. From Monday to Thursday no weekend comes between
// six days and seven.
func TestBookingsAreMadeAheadAsWasDrawn(t *testing.T) {
	w := long(5)
	booked := map[string]inventory.Date{}
	for _, j := range w.Shop.Jobs {
		booked[j.Unit+j.BenchDate.String()] = j.BookedOn
	}
	n, early := 0, 0
	for _, d := range w.Truth.Dues {
		on, ok := booked[d.Unit+d.Bench.String()]
		if !ok || !d.Captured || d.Bench-d.On < 21 || d.Bench >= w.Shop.AsOf || d.Bench.Weekday() > 4 {
			continue
		}
		n++
		if d.Bench-on >= 7 {
			early++
		}
	}
	p := math.Pow(w.Truth.AheadDays/(1+w.Truth.AheadDays), 7)
	near(t, "share booked a week ahead", float64(early)/float64(n), p, math.Sqrt(p*(1-p)), n)
}

func TestWalkInsComeAtTheirRates(t *testing.T) {
	w := long(6)
	found, mean, variance := 0, 0.0, 0.0
	units := map[string]inventory.Unit{}
	for _, u := range w.Shop.Units {
		units[u.Code] = u
	}
	for _, j := range w.Shop.Jobs {
		u := units[j.Unit]
		if (j.Unit == "" || u.Group == passing && u.InService == j.BenchDate) && j.BenchDate >= w.Start && j.BenchDate < w.Shop.AsOf {
			found++
		}
	}
	for monday := w.Start; monday < w.Shop.AsOf; monday += 7 {
		for _, r := range w.Truth.WalkIns {
			m := r.PerWeek * w.Truth.Season[monday.Week().Number]
			mean, variance = mean+m, variance+m+m*m/w.Truth.WalkInShape
		}
	}
	near(t, "walk-ins", float64(found), mean, math.Sqrt(variance), 1)
}

// The share is reached in the mean over seeds, with the standard error of that
// mean as the bound; single workshops scatter around it.
func TestWalkInsAreTheirShareOfAllJobs(t *testing.T) {
	for _, share := range []float64{.1, .25, .45} {
		const seeds = 16
		sum, squares := 0.0, 0.0
		for seed := range uint64(seeds) {
			w := Make(Config{Seed: 100 + seed, WalkInShare: share, Weeks: 104})
			fleet, known, back, walkIn := w.doneBySource()
			x := float64(walkIn) / float64(fleet+known+back+walkIn)
			sum, squares = sum+x, squares+x*x
		}
		mean := sum / seeds
		near(t, "share of walk-ins", mean, share, math.Sqrt((squares-seeds*mean*mean)/(seeds-1)), seeds)
	}
}

// chi adds squared deviations in standard deviations; their sum has mean n and
// variance 2n.
type chi struct {
	n   int
	sum float64
}

func (c *chi) add(found, mean, variance float64) {
	c.n++
	c.sum += (found - mean) * (found - mean) / variance
}

func (c *chi) check(t *testing.T, what string) {
	t.Helper()
	near(t, what+", chi-square per cell", c.sum/float64(c.n), 1, math.Sqrt2, c.n)
}

func TestLinesAreTakenAsOftenAsWasDrawn(t *testing.T) {
	w := long(7)
	bill := inventory.NewBill(w.Shop)
	took := map[[2]string]bool{}
	for _, x := range w.Taken {
		took[[2]string{x.Job, x.Item}] = true
	}
	jobs, taken := map[Line]float64{}, map[Line]float64{}
	for _, j := range w.Shop.Jobs {
		if j.State != inventory.Done {
			continue
		}
		for _, l := range bill.Lines(j.Services, j.Model, j.DoneOn) {
			line := Line{l.Service, l.Model, l.Item}
			jobs[line]++
			if took[[2]string{j.Code, l.Item}] {
				taken[line]++
			} else if l.Need == 1 {
				t.Errorf("job %s: did not take %s, which every one does", j.Code, l.Item)
			}
		}
	}
	var c chi
	for line, n := range jobs {
		if p := w.Truth.Need[line]; n*p*(1-p) > 10 {
			c.add(taken[line], n*p, n*p*(1-p))
		}
	}
	c.check(t, "need")
}

func TestHoursFollowTheSeasonTheRateAndTheSpread(t *testing.T) {
	w := Make(Config{Seed: 8, Units: 300, Customers: -1, WalkInShare: -1})
	spread, count := map[string]float64{}, map[string]int{}
	for _, g := range w.Truth.Groups {
		spread[g.Name] = g.SpreadH
	}
	var found, mean, variance [54]float64
	over, squares := map[string]float64{}, map[string]float64{} // of deviation squared, over the mean
	for _, u := range w.Shop.Units {
		for i, r := range u.Readings {
			if i == 0 || r.Date.Weekday() != 0 || u.Readings[i-1].Date != r.Date-7 {
				continue
			}
			week := r.Date.Week().Number
			m := w.Truth.HoursPerWeek[u.Code] * w.Truth.Season[week]
			x := r.Hours - u.Readings[i-1].Hours
			found[week], mean[week], variance[week] = found[week]+x, mean[week]+m, variance[week]+m*spread[u.Group]
			d := (x - m) * (x - m) / m
			over[u.Group], squares[u.Group], count[u.Group] = over[u.Group]+d, squares[u.Group]+d*d, count[u.Group]+1
		}
	}
	var c chi
	for week := range found {
		if mean[week] > 0 {
			c.add(found[week], mean[week], variance[week])
		}
	}
	c.check(t, "hours by week of the year")
	for group, n := range count {
		m := over[group] / float64(n)
		near(t, "spread of "+group, m, spread[group], math.Sqrt(squares[group]/float64(n)-m*m), n)
	}
}

func TestRatesOfAGroupLieAroundItsMean(t *testing.T) {
	w := long(9)
	sum, n := map[string]float64{}, map[string]int{}
	for _, u := range w.Shop.Units {
		sum[u.Group] += w.Truth.HoursPerWeek[u.Code]
		n[u.Group]++
	}
	for _, g := range w.Truth.Groups {
		near(t, "hours a week of "+g.Name, sum[g.Name]/float64(n[g.Name]), g.Mean, g.Mean/math.Sqrt(g.Shape), n[g.Name])
	}
}

func TestSuppliersAreLateAsWasDrawn(t *testing.T) {
	for _, late := range []float64{-1, .5, 2} {
		w := Make(Config{Seed: 10, Lateness: late, Weeks: 1})
		for _, s := range w.Shop.Suppliers {
			sum, mean := 0, max(0, late)
			const days = 4000
			for day := range inventory.Date(days) {
				sum += w.Lead(s.Code, w.Start+day) - s.LeadDays
			}
			found := float64(sum) / days
			if mean == 0 && sum == 0 {
				continue
			}
			near(t, "days late of "+s.Code, found, mean, math.Sqrt(mean*(1+mean)), days)
		}
	}
}

func TestMostJobsHaveACard(t *testing.T) {
	w := Make(Config{Seed: 12})
	carded, all := map[string]bool{}, 0
	for _, u := range w.Shop.Uses {
		carded[u.Job] = true
	}
	for _, j := range w.Shop.Jobs {
		if j.DoneOn >= w.Start {
			all++
		}
	}
	p := w.Truth.Config.Recorded
	near(t, "share with a card", float64(len(carded))/float64(all), p, math.Sqrt(p*(1-p)), all)
}
