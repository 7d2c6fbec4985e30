package forecast

import (
	"fmt"
	"math"
	"time"
)

// Day is a calendar day as days since 1970-01-01. As an instant it is the
// day's first moment: usage from day a to day b is that of a, a+1, … b-1.
type Day int

// Hours are hours ridden, as the meter counts them.
type Hours float64

// Weeks are weeks of time, weighted by the season where that is said.
type Weeks float64

// time is the day's first moment, UTC standing for the workshop's zone.
func (d Day) time() time.Time { return time.Unix(int64(d)*86400, 0).UTC() }

// weekday counts from Monday, 0, to Sunday, 6.
func (d Day) weekday() int { return (int(d.time().Weekday()) + 6) % 7 }

// addMonths moves d by whole months; a day that the month lacks becomes the
// month's last.
func (d Day) addMonths(months int) Day {
	y, m, day := d.time().Date()
	first := time.Date(y, m+time.Month(months), 1, 0, 0, 0, 0, time.UTC)
	last := first.AddDate(0, 1, -1).Day()
	return Day(first.Unix()/86400) + Day(min(day, last)-1)
}

// Season holds the riding factor of each ISO week, 1 to 53; their mean should
// be 1. A week that is absent has factor 1, an absent week 53 that of week 52.
type Season map[int]float64

func (s Season) factor(isoWeek int) float64 {
	if f, ok := s[isoWeek]; ok {
		return f
	}
	if f, ok := s[52]; ok && isoWeek == 53 {
		return f
	}
	return 1
}

// check refuses a season that no week can have.
func (s Season) check() error {
	for week, f := range s {
		if week < 1 || week > 53 {
			return fmt.Errorf("season: found week %d, expected an ISO week from 1 to 53", week)
		}
		if !(f >= 0) || math.IsInf(f, 0) {
			return fmt.Errorf("season: week %d: found factor %v, expected a number from 0", week, f)
		}
	}
	return nil
}

// CalendarWeek is one week of the horizon: its ISO year and number, its first
// and last day. Only the first of a horizon may have fewer than seven days.
type CalendarWeek struct {
	Year, Number int
	First, Last  Day
}

// Calendar is the horizon of a forecast: week 0 runs from the day of the
// forecast to the Sunday of its ISO week, the others are whole ISO weeks. It
// also measures season-weighted time. Safe for concurrent use.
type Calendar struct {
	AsOf  Day
	Weeks []CalendarWeek

	season Season
	base   Day       // day of passed[0]
	passed []float64 // season-weighted weeks from base to base+i
}

// pastDays and beyondDays are how far around the horizon time is tabulated;
// farther away it is summed day by day.
const pastDays, beyondDays = 2200, 400

// NewCalendar lays out so many weeks from asOf on; the season may be nil. The
// number of weeks is at least one.
func NewCalendar(asOf Day, weeks int, season Season) (*Calendar, error) {
	if weeks < 1 {
		return nil, fmt.Errorf("horizon: found %d weeks, expected at least 1", weeks)
	}
	if err := season.check(); err != nil {
		return nil, err
	}
	c := &Calendar{AsOf: asOf, season: make(Season, len(season)), base: asOf - pastDays}
	for week, f := range season {
		c.season[week] = f
	}
	first := asOf
	for range weeks {
		y, n := first.time().ISOWeek()
		last := first + Day(6-first.weekday())
		c.Weeks = append(c.Weeks, CalendarWeek{Year: y, Number: n, First: first, Last: last})
		first = last + 1
	}
	c.passed = make([]float64, 1, pastDays+7*weeks+beyondDays+1)
	for day := c.base; day < first+beyondDays; day++ {
		c.passed = append(c.passed, c.passed[len(c.passed)-1]+c.factor(day)/7)
	}
	return c, nil
}

// End is the first instant after the horizon.
func (c *Calendar) End() Day { return c.Weeks[len(c.Weeks)-1].Last + 1 }

// WeekOf is the week of the horizon that holds a day, -1 before and the
// number of weeks after it.
func (c *Calendar) WeekOf(day Day) int {
	if day < c.AsOf {
		return -1
	}
	if day <= c.Weeks[0].Last {
		return 0
	}
	return min(1+int(day-c.Weeks[0].Last-1)/7, len(c.Weeks))
}

// factor is the season's factor on a day.
func (c *Calendar) factor(day Day) float64 {
	_, week := day.time().ISOWeek()
	return c.season.factor(week)
}

// Tau is the season-weighted time from one instant to a later one: the sum
// over days of the ISO week's factor, divided by seven.
func (c *Calendar) Tau(from, to Day) Weeks { return Weeks(c.tau(float64(from), float64(to))) }

// tau is Tau between instants inside days, linear within each day.
func (c *Calendar) tau(from, to float64) float64 { return c.since(to) - c.since(from) }

// since is the season-weighted time from base to an instant, negative before.
func (c *Calendar) since(at float64) float64 {
	day := Day(math.Floor(at))
	part := (at - float64(day)) * c.factor(day) / 7
	i, last := int(day-c.base), len(c.passed)-1
	if i >= 0 && i <= last {
		return c.passed[i] + part
	}
	sum := 0.0
	for d := day; d < c.base; d++ {
		sum -= c.factor(d) / 7
	}
	for d := c.base + Day(last); d < day; d++ {
		sum += c.factor(d) / 7
	}
	if i > last {
		sum += c.passed[last]
	}
	return sum + part
}
