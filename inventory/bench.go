package inventory

import "math"

// BenchDay is one day of the benches: what is booked on it, and what runs out.
type BenchDay struct {
	Date    Date
	Minutes int      // of the booked jobs' services
	Limit   *int     // bench minutes of all benches: 0 on a day off, nil where bench hours are not stated
	Jobs    []string // booked on it, as they are served
	Short   []string // those whose kit is short
}

// Over is how many minutes more are booked than the benches have.
func (d BenchDay) Over() int {
	if d.Limit == nil {
		return 0
	}
	return max(0, d.Minutes-*d.Limit)
}

// Bench is the calendar of the benches from AsOf to the last day on which a job
// is booked: every working day, Monday to Friday without the workshop's
// holidays, and days off on which jobs are booked all the same. Kits are those
// of the shop. Jobs dated before AsOf are still to be done: they count as of
// AsOf. A service that another one of the same job covers takes no minutes of
// its own.
func Bench(shop Shop, kits []JobKit) []BenchDay {
	bill, days := NewBill(shop), NewCalendar(shop)
	booked := map[Date]*BenchDay{}
	last := Date(0)
	for _, kit := range kits {
		on := max(kit.BenchDate, shop.AsOf)
		if booked[on] == nil {
			booked[on] = &BenchDay{Date: on}
		}
		booked[on].add(kit, bill.Minutes(kit.Services))
		last = max(last, on)
	}
	var calendar []BenchDay
	for day := shop.AsOf; day <= last; day++ {
		d := BenchDay{Date: day}
		if booked[day] != nil {
			d = *booked[day]
		}
		if works := days.works(day); works || len(d.Jobs) > 0 {
			d.Limit = shop.Settings.benchMinutes(works)
			calendar = append(calendar, d)
		}
	}
	return calendar
}

func (d *BenchDay) add(kit JobKit, minutes int) {
	d.Minutes += minutes
	d.Jobs = append(d.Jobs, kit.Job)
	if kit.State == Short {
		d.Short = append(d.Short, kit.Job)
	}
}

// benchMinutes are those of a day, rounded down.
func (s Settings) benchMinutes(works bool) *int {
	if s.BenchHours == nil {
		return nil
	}
	minutes := 0
	if works {
		minutes = int(math.Floor(*s.BenchHours*60 + 1e-6))
	}
	return &minutes
}

// Minutes is how long a job of these services takes at the bench; what another
// of them covers is done with it.
func (b *Bill) Minutes(services []string) int {
	sum := 0
	for _, code := range b.Uncovered(services) {
		sum += b.services[code].BenchMinutes
	}
	return sum
}
