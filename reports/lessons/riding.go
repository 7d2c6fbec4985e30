package lessons

import (
	"math"
	"slices"
	"sort"

	"circlip/forecast"
	"circlip/forecast/learn"
	"circlip/inventory"
)

// learnRiding learns the season, where the book has none, and how much every
// unit is ridden.
func (l *Lessons) learnRiding(p *past) {
	meters, groups := p.meters()
	prior := learn.Prior{Spread: forecast.Hours(p.shop.Settings.UsageSpreadH)}
	if len(p.shop.Season) == 0 {
		season, evidence := learn.SeasonOf(meters.all, prior)
		l.Riding = evidence
		if season != nil {
			l.Season, l.Seasons = season, FromReadings
		}
	}
	weeks := l.weeks(p)
	tau := func(from, to forecast.Day) forecast.Weeks {
		return forecast.Weeks(weeks(inventory.Date(from), inventory.Date(to)))
	}
	usages, common := learn.Usages(meters.all, tau, prior)
	l.Usage = make(map[string]learn.Usage, len(usages))
	for i, u := range usages {
		l.Usage[meters.units[i]] = u
		p.metered[meters.units[i]] = u.Known
	}
	for _, g := range common {
		group := groups[g.ID]
		group.Group = g
		l.Groups = append(l.Groups, group)
	}
}

// HasHours reports whether a unit's hours are known in some way, so that its
// ladder can tell when it is due. One without comes back by the calendar.
func (l *Lessons) HasHours(unit string) bool { return !l.On || l.Usage[unit].Known }

// meters are those of the units with hours, in the order of the shop's units.
type meters struct {
	all   []learn.Meter
	units []string
}

// meters also numbers the groups: those of a fleet and of customers apart.
func (p *past) meters() (meters, []Group) {
	var m meters
	var groups []Group
	for _, u := range p.shop.Units {
		if !p.metered[u.Code] {
			continue
		}
		at := slices.IndexFunc(groups, func(g Group) bool { return g.Holder == u.Holder && g.Name == u.Group })
		if at < 0 {
			at = len(groups)
			groups = append(groups, Group{Holder: u.Holder, Name: u.Group})
		}
		meter := learn.Meter{Group: at, Known: u.HoursPerWeek}
		for on, hours := range inventory.NewMeter(u).Each {
			meter.Readings = append(meter.Readings, learn.Reading{Day: forecast.Day(on), Hours: forecast.Hours(hours)})
		}
		m.all, m.units = append(m.all, meter), append(m.units, u.Code)
	}
	return m, groups
}

// learnHabits learns how late, and how surely, units that are due come in.
func (l *Lessons) learnHabits(p *past) {
	waits := map[inventory.Holder][]learn.Wait{}
	own := map[string][]learn.Cycle{}
	weeks := l.weeks(p)
	for _, u := range p.shop.Units {
		if !p.metered[u.Code] {
			continue
		}
		for _, s := range p.shop.Services {
			if s.Family != p.family[u.Model] || len(s.Covers) > 0 {
				continue
			}
			if usage := l.Usage[u.Code]; s.EveryHours > 0 && usage.HoursPerWeek > 0 && len(u.Readings) > 0 {
				cycles := p.cycles(u, s, ridden(u, s, usage, weeks))
				own[u.Code] = append(own[u.Code], cycles...)
				waits[u.Holder] = append(waits[u.Holder], waitsOf(cycles)...)
			} else if s.EveryHours == 0 && s.EveryMonths > 0 {
				own[u.Code] = append(own[u.Code], p.cycles(u, s, passed(s))...)
			}
		}
	}
	for h, habit := range l.Habits {
		habit.Waited = learn.LagOf(waits[h], habit.Lag)
		l.Habits[h] = habit
	}
	l.learnLoyalty(p, own)
}

// withinOne is how much longer than it should be a time between two jobs may
// be, as a share of the service's hours, for no other service to lie in it.
const withinOne = 0.75

// waitsOf are the waits that can be told from times between two jobs: of those
// in which the service came due once.
func waitsOf(cycles []learn.Cycle) []learn.Wait {
	var waits []learn.Wait
	for _, c := range cycles {
		if c.Closed && c.WeeksLate >= 0 && c.Hours >= c.Every && c.Hours < (1+withinOne)*c.Every {
			waits = append(waits, learn.Wait{Weeks: c.WeeksLate, Most: c.MostLate})
		}
	}
	return waits
}

// cycles are a unit's times from one job that did a service to the next, told
// by a clock. The first of a customer's begins at its first job here, whatever
// was done, that of a fleet's unit at its first use; the last one is open,
// unless a job is booked or the unit is retired.
func (p *past) cycles(u inventory.Unit, s inventory.Service, told func(from, to inventory.Date) learn.Cycle) []learn.Cycle {
	var all []learn.Cycle
	last, begun := u.InService, u.Holder == inventory.Fleet && !u.InService.IsZero()
	for _, j := range p.doneOf[u.Code] {
		if begun && !p.does(j, s.Code) {
			continue
		}
		if begun && j.EndedOn() > last {
			c := told(last, j.EndedOn())
			c.Closed = true
			all = append(all, c)
		}
		last, begun = j.EndedOn(), true
	}
	if begun && u.Retired.IsZero() && len(p.open[u.Code]) == 0 && last < p.shop.AsOf {
		all = append(all, told(last, p.shop.AsOf))
	}
	return all
}

// staleDays is after how many days without a reading the hours since are
// reckoned from the unit's rate: a customer's meter is read when it comes in,
// and one that never comes again would else seem never to fall due.
const staleDays = 28

// longestWait is the most days that a unit is taken to wait.
const longestWait = 500

// ridden is the clock of a service due by hours ridden. When the meter passed
// the limit is told by season-weighted time: a unit that is seen in October and
// in May was hardly ridden half way between.
func ridden(u inventory.Unit, s inventory.Service, usage learn.Usage, weeks func(from, to inventory.Date) float64) func(from, to inventory.Date) learn.Cycle {
	meter := steady(u, usage.HoursPerWeek, weeks)
	return func(from, to inventory.Date) learn.Cycle {
		c := learn.Cycle{Every: forecast.Hours(s.EveryHours), Rate: usage.HoursPerWeek, WeeksLate: -1}
		start := hoursOn(meter, from, weeks)
		c.Hours = forecast.Hours(math.Max(0, hoursOn(meter, to, weeks)-start))
		if now := max(meter.Last(), from); to-now > staleDays {
			c.Hours += forecast.Hours(usage.HoursPerWeek * weeks(now, to))
			return c
		}
		if limit := start + s.EveryHours; hoursOn(meter, to, weeks) > limit {
			late := sort.Search(int(to-from), func(days int) bool { return hoursOn(meter, from+inventory.Date(days), weeks) > limit })
			// The day is known to some days only: to the nearest week.
			c.WeeksLate = (int(to-from) - late + 3) / 7
			passed := from + inventory.Date(late)
			most := sort.Search(longestWait, func(days int) bool {
				return usage.HoursPerWeek*weeks(passed, passed+inventory.Date(days)) > withinOne*s.EveryHours
			})
			c.MostLate = (most + 3) / 7
		}
		return c
	}
}

// steady is a unit's meter without its leaps: where it gained more hours than
// passed, or fell, the unit is taken to have been ridden as usual. One slip of the
// pen would else stand for hundreds of services done elsewhere.
func steady(u inventory.Unit, rate float64, weeks func(from, to inventory.Date) float64) inventory.Meter {
	var readings []inventory.Reading
	var before inventory.Date
	last, hours := 0.0, 0.0
	for on, shown := range inventory.NewMeter(u).Each {
		gained := shown - last
		if len(readings) == 0 {
			gained = shown
		} else if gained < 0 || gained > 24*float64(on-before) {
			gained = rate * weeks(before, on)
		}
		hours += gained
		readings = append(readings, inventory.Reading{Date: on, Hours: hours})
		before, last = on, shown
	}
	return inventory.NewMeter(inventory.Unit{Readings: readings})
}

// hoursOn is the meter on a day, between readings by season-weighted time.
func hoursOn(m inventory.Meter, on inventory.Date, weeks func(from, to inventory.Date) float64) float64 {
	before, after := m.Around(on)
	if before.Date >= on || after.Date <= before.Date {
		return m.At(on)
	}
	all := weeks(before.Date, after.Date)
	if all <= 0 {
		return m.At(on)
	}
	return before.Hours + (after.Hours-before.Hours)*weeks(before.Date, on)/all
}

// passed is the clock of a service due by the calendar alone: it gains an hour
// a week.
func passed(s inventory.Service) func(from, to inventory.Date) learn.Cycle {
	return func(from, to inventory.Date) learn.Cycle {
		return learn.Cycle{Every: forecast.Hours(float64(s.EveryMonths) * weeksAMonth), Rate: 1, Hours: forecast.Hours(to-from) / 7, WeeksLate: -1}
	}
}

const weeksAMonth = 365.2425 / 12 / 7

func (p *past) does(j inventory.Job, service string) bool {
	return slices.ContainsFunc(j.Services, func(s string) bool { return s == service || p.bill.Covers(s, service) })
}
