package invented

import (
	"slices"
	"testing"

	"circlip/inventory"
)

// doneBySource counts the jobs done from Start by where they came from.
func (w Workshop) doneBySource() (fleet, known, back, walkIn int) {
	units := map[string]inventory.Unit{}
	for _, u := range w.Shop.Units {
		units[u.Code] = u
	}
	for _, j := range w.Shop.Jobs {
		if j.State != inventory.Done || j.DoneOn < w.Start {
			continue
		}
		u, named := units[j.Unit]
		switch {
		case !named || u.Group == passing && u.InService == j.DoneOn:
			walkIn++
		case u.Holder == inventory.Fleet:
			fleet++
		case u.Group == passing:
			back++
		default:
			known++
		}
	}
	return fleet, known, back, walkIn
}

// With -v this tells what the workshops look like; what must hold is that the
// riding season is the busy half of the year.
func TestTheSeasonIsTheBusyHalf(t *testing.T) {
	for seed := range uint64(4) {
		w := Make(Config{Seed: seed, Vary: seed > 1})
		weeks := float64(w.Truth.Config.Weeks)
		fleet, known, back, walkIn := w.doneBySource()
		all := float64(fleet + known + back + walkIn)
		t.Logf("seed %d %+v", seed, w.Truth.Config)
		t.Logf("%d units %d jobs %d cards' lines; %.1f jobs a week: fleet %.0f %%, customers %.0f %%, come back %.0f %%, walk-in %.0f %%",
			len(w.Shop.Units), len(w.Shop.Jobs), len(w.Shop.Uses), all/weeks,
			100*float64(fleet)/all, 100*float64(known)/all, 100*float64(back)/all, 100*float64(walkIn)/all)
		price := map[string]float64{}
		for _, o := range w.Shop.Offers {
			if o.FromPacks == 1 {
				price[o.Item] = float64(o.Price) / 100 / float64(o.PackQty)
			}
		}
		done := map[string]inventory.Date{}
		byWeek := make([]int, w.Truth.Config.Weeks)
		states := map[inventory.JobState]int{}
		var ahead []int
		busy := 0
		for _, j := range w.Shop.Jobs {
			done[j.Code] = j.DoneOn
			states[j.State]++
			ahead = append(ahead, int(j.BenchDate-j.BookedOn))
			if j.DoneOn >= w.Start {
				byWeek[(j.DoneOn-w.Start)/7]++
				if week := j.DoneOn.Week().Number; week > 16 && week <= 42 {
					busy++
				}
			}
		}
		value, byItem := 0.0, map[string]float64{}
		for _, x := range w.Taken {
			if done[x.Job] >= w.Start {
				value += price[x.Item] * float64(x.Qty)
				byItem[x.Item] += float64(x.Qty) / weeks
			}
		}
		slices.Sort(ahead)
		n := len(ahead)
		t.Logf("%.0f EUR of parts a week, %.1f a job; booked ahead by days p10 %d p25 %d p50 %d p75 %d p90 %d; states %v",
			value/weeks, value/all, ahead[n/10], ahead[n/4], ahead[n/2], ahead[3*n/4], ahead[9*n/10], states)
		t.Logf("jobs by week: %v", byWeek)
		if float64(busy) < .55*all {
			t.Errorf("seed %d: found %d of %.0f jobs in weeks 17 to 42, expected most of them", seed, busy, all)
		}
		if seed == 0 {
			for _, i := range w.Shop.Items {
				t.Logf("%-26s %8.2f a week", i.Code, byItem[i.Code]/float64(i.Measure.Steps()))
			}
		}
	}
}

func BenchmarkMake(b *testing.B) {
	for b.Loop() {
		Make(Config{Seed: 1})
	}
}

func BenchmarkMakeLarge(b *testing.B) {
	for b.Loop() {
		Make(Config{Seed: 1, Units: 1200, Customers: 800, Weeks: 260})
	}
}
