package lessons

import (
	"cmp"
	"slices"

	"circlip/inventory"
)

// past is a shop's past, indexed.
type past struct {
	shop     inventory.Shop
	bill     *inventory.Bill
	services map[string]inventory.Service
	family   map[string]string          // by model
	units    map[string]inventory.Unit  // by code
	metered  map[string]bool            // units whose hours are known in some way
	seen     map[string]inventory.Date  // by unit: first reading, booking or, of the fleet, day of service
	jobs     []inventory.Job            // that have ended, by day
	doneOf   map[string][]inventory.Job // by unit: done, by day
	open     map[string][]inventory.Job // by unit: booked
	used     map[string]map[string]bool // by job: items used
	changes  []inventory.Date           // days on which some bill of materials changes
}

func newPast(shop inventory.Shop) *past {
	p := &past{
		shop: shop, bill: inventory.NewBill(shop),
		services: map[string]inventory.Service{}, family: map[string]string{},
		units: map[string]inventory.Unit{}, metered: map[string]bool{}, seen: map[string]inventory.Date{},
		doneOf: map[string][]inventory.Job{}, open: map[string][]inventory.Job{}, used: map[string]map[string]bool{},
	}
	for _, s := range shop.Services {
		p.services[s.Code] = s
	}
	for _, m := range shop.Models {
		p.family[m.Code] = m.Family
	}
	for _, u := range shop.Units {
		p.units[u.Code] = u
		p.metered[u.Code] = mayHaveHours(u)
		if len(u.Readings) > 0 {
			p.see(u.Code, u.Readings[0].Date)
		}
		if u.Holder == inventory.Fleet {
			p.see(u.Code, u.InService)
		}
	}
	for _, line := range shop.BOM {
		p.changes = append(p.changes, line.From, line.To)
	}
	slices.Sort(p.changes)
	p.changes = slices.Compact(p.changes)
	p.readJobs()
	for _, u := range shop.Uses {
		if p.used[u.Job] == nil {
			p.used[u.Job] = map[string]bool{}
		}
		p.used[u.Job][u.Item] = true
	}
	return p
}

// mayHaveHours reports whether a unit's hours may be known in some way: it was
// read, the planner gave its hours a week, or it is one of a fleet, which rides
// as its group does.
func mayHaveHours(u inventory.Unit) bool {
	return len(u.Readings) > 0 || u.HoursPerWeek != nil || u.Holder == inventory.Fleet
}

func (p *past) see(unit string, on inventory.Date) {
	if first, known := p.seen[unit]; !known || on < first {
		p.seen[unit] = on
	}
}

func (p *past) readJobs() {
	for _, j := range p.shop.Jobs {
		if j.Unit != "" {
			p.see(j.Unit, j.KnownFrom())
		}
		switch j.State {
		case inventory.Booked:
			p.open[j.Unit] = append(p.open[j.Unit], j)
			continue
		case inventory.Done:
			if j.Unit != "" {
				p.doneOf[j.Unit] = append(p.doneOf[j.Unit], j)
			}
		}
		if j.EndedOn() <= p.shop.AsOf {
			p.jobs = append(p.jobs, j)
		}
	}
	byDay := func(a, b inventory.Job) int {
		return cmp.Or(cmp.Compare(a.EndedOn(), b.EndedOn()), cmp.Compare(a.Code, b.Code))
	}
	slices.SortFunc(p.jobs, byDay)
	for _, jobs := range p.doneOf {
		slices.SortFunc(jobs, byDay)
	}
}

// foreseen reports whether a job could be told before it was booked: of a unit
// with hours, known before, by its ladder; of one without, by its return for a
// service that was done on it before.
func (p *past) foreseen(j inventory.Job) bool {
	if _, known := p.units[j.Unit]; !known {
		return false
	}
	for _, code := range p.bill.Uncovered(j.Services) {
		s := p.services[code]
		switch {
		case !p.metered[j.Unit]:
			if p.doneBefore(j, code) {
				return true
			}
		case s.EveryHours > 0 || s.EveryMonths > 0:
			if p.seen[j.Unit] < j.KnownFrom() {
				return true
			}
		}
	}
	return false
}

func (p *past) doneBefore(j inventory.Job, service string) bool {
	for _, earlier := range p.doneOf[j.Unit] {
		if earlier.EndedOn() >= j.KnownFrom() {
			return false
		}
		if slices.Contains(earlier.Services, service) {
			return true
		}
	}
	return false
}
