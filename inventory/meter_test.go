package inventory

import (
	"math"
	"testing"
	"time"
)

func TestMeter(t *testing.T) {
	const start = Date(20_000)
	plain := Unit{InService: start, Readings: []Reading{{Date: start + 10, Hours: 20}, {Date: start + 20, Hours: 50}}}
	replaced := Unit{Readings: []Reading{{Date: start, Hours: 100}, {Date: start + 10, Hours: 130}, {Date: start + 20, Hours: 5, Reset: true}, {Date: start + 30, Hours: 25}}}
	tests := []struct {
		rule string
		unit Unit
		on   Date
		want float64
	}{
		{"a unit starts at zero on its first day of service", plain, start, 0},
		{"between first use and first reading it is linear", plain, start + 5, 10},
		{"on the day of a reading it is the reading", plain, start + 10, 20},
		{"between readings it is linear", plain, start + 12, 26},
		{"after the last reading it stays", plain, start + 99, 50},
		{"before the first day it stays", plain, start - 99, 0},
		{"a replaced meter goes on from where the old one stood", replaced, start + 20, 135},
		{"and further on", replaced, start + 30, 155},
		{"no day of service known: the first reading is the start", replaced, start - 5, 100},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			if got := NewMeter(test.unit).At(test.on); math.Abs(got-test.want) > 1e-9 {
				t.Errorf("found %v hours, expected %v", got, test.want)
			}
		})
	}
	if got := NewMeter(replaced).Since(start + 5); math.Abs(got-40) > 1e-9 {
		t.Errorf("since the fifth day: found %v hours, expected 155 − 115", got)
	}
	if m := NewMeter(Unit{}); m.Known() || m.Since(start) != 0 {
		t.Error("a unit never read has no meter, and no hours since any day")
	}
}

func TestAMeterTellsThePointsAroundADay(t *testing.T) {
	day := NewDate(2026, time.May, 4)
	m := NewMeter(Unit{Readings: []Reading{{Date: day, Hours: 10}, {Date: day + 10, Hours: 60}, {Date: day + 20, Hours: 5, Reset: true}}})
	for _, c := range []struct {
		name          string
		on            Date
		before, after float64
	}{
		{"before the first reading it is that reading", day - 5, 10, 10},
		{"between two readings they are those", day + 3, 10, 60},
		{"on the day of a reading it is that and the next, through a replaced meter", day + 10, 60, 65},
		{"after the last it is that one", day + 25, 65, 65},
	} {
		t.Run(c.name, func(t *testing.T) {
			if before, after := m.Around(c.on); before.Hours != c.before || after.Hours != c.after {
				t.Errorf("between %v and %v, expected %v and %v", before, after, c.before, c.after)
			}
		})
	}
	days := 0
	for range m.Each {
		days++
	}
	if days != 3 {
		t.Errorf("the meter is known on %d days, expected 3", days)
	}
}
