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

func TestAMeterTellsWhenItPassedALimit(t *testing.T) {
	day := NewDate(2026, time.May, 4)
	m := NewMeter(Unit{Readings: []Reading{{Date: day, Hours: 10}, {Date: day + 10, Hours: 60}, {Date: day + 20, Hours: 60}, {Date: day + 21, Hours: 61}}})
	for _, c := range []struct {
		name   string
		hours  float64
		on     Date
		passed bool
	}{
		{"before the first reading it had", 5, day, true},
		{"between two readings it is interpolated", 35, day + 5, true},
		{"a limit that is met is passed when it is exceeded", 60, day + 20, true},
		{"what is not yet ridden has no day", 61, 0, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			if on, passed := m.PassedOn(c.hours); on != c.on || passed != c.passed {
				t.Errorf("passed %v on %s, expected %v on %s", passed, on, c.passed, c.on)
			}
		})
	}
	days := 0
	for range m.Each {
		days++
	}
	if days != 4 {
		t.Errorf("the meter is known on %d days, expected 4", days)
	}
}
