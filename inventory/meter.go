package inventory

import "sort"

// Meter is a unit's hours over time: cumulative through replaced meters,
// linear between readings.
type Meter struct {
	days  []Date
	hours []float64
}

// NewMeter reads a unit's meter. A unit starts at zero hours on the day it
// went into service, where that is known and lies before its first reading. A
// replaced meter goes on from what the old one last showed. Of two readings on
// a day the later in the book holds. Readings must be in order of date.
func NewMeter(u Unit) Meter {
	var m Meter
	if len(u.Readings) > 0 && !u.InService.IsZero() && u.InService < u.Readings[0].Date {
		m.add(u.InService, 0)
	}
	base, last := 0.0, 0.0
	for _, r := range u.Readings {
		if r.Reset {
			base += last
		}
		last = r.Hours
		m.add(r.Date, base+r.Hours)
	}
	return m
}

func (m *Meter) add(on Date, hours float64) {
	if n := len(m.days); n > 0 && m.days[n-1] == on {
		m.hours[n-1] = hours
		return
	}
	m.days = append(m.days, on)
	m.hours = append(m.hours, hours)
}

// Each calls yield for every day on which the meter is known, rising, with its
// cumulative hours.
func (m Meter) Each(yield func(on Date, hours float64) bool) {
	for i, on := range m.days {
		if !yield(on, m.hours[i]) {
			return
		}
	}
}

// Around are the latest point at which the meter is known up to a day and the
// first after it, with cumulative hours; the same one twice before the first
// and after the last.
func (m Meter) Around(on Date) (before, after Reading) {
	i := sort.Search(len(m.days), func(i int) bool { return m.days[i] > on })
	at := func(i int) Reading { return Reading{Date: m.days[i], Hours: m.hours[i]} }
	return at(max(0, i-1)), at(min(i, len(m.days)-1))
}

// Known reports whether there is any reading.
func (m Meter) Known() bool { return len(m.days) > 0 }

// First is the day from which the meter is known, and Last that of the latest
// reading.
func (m Meter) First() Date { return m.days[0] }

// Last is the day of the latest reading.
func (m Meter) Last() Date { return m.days[len(m.days)-1] }

// At is the cumulative hours on a day, interpolated; before the first day and
// after the last it stays at what they show.
func (m Meter) At(on Date) float64 {
	i := sort.Search(len(m.days), func(i int) bool { return m.days[i] >= on })
	switch {
	case i == len(m.days):
		return m.hours[i-1]
	case i == 0 || m.days[i] == on:
		return m.hours[i]
	}
	part := float64(on-m.days[i-1]) / float64(m.days[i]-m.days[i-1])
	return m.hours[i-1] + part*(m.hours[i]-m.hours[i-1])
}

// Since is the hours from a day to the latest reading; none if the day lies
// after it.
func (m Meter) Since(on Date) float64 {
	if !m.Known() {
		return 0
	}
	return max(0, m.At(m.Last())-m.At(on))
}
