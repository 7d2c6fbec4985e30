package main

import "testing"

func TestAMomentIsADayWithOrWithoutItsTime(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ text, day, clock, problem string }{
		{"2026-06-15", "2026-06-15", "", ""},
		{"2026-06-15T14:30", "2026-06-15", "14:30", ""},
		{"2026-06-15T00:00", "2026-06-15", "00:00", ""},
		{"2026-06-15T", "", "", `found the time "", expected HH:MM behind the T`},
		{"2026-06-15T24:00", "", "", `found the time "24:00", expected HH:MM behind the T`},
		{"2026-06-15T9:05", "", "", `found the time "9:05", expected HH:MM behind the T`},
		{"2026-06-15 14:30", "", "", `not a date: found "2026-06-15 14:30", expected a day that exists, as YYYY-MM-DD`},
	} {
		day, clock, err := parseAsOf(c.text)
		switch {
		case c.problem == "" && (err != nil || day.String() != c.day || clock != c.clock):
			t.Errorf("%s: %s %q %v, expected %s %q", c.text, day, clock, err, c.day, c.clock)
		case c.problem != "" && (err == nil || err.Error() != c.problem):
			t.Errorf("%s: error %v, expected %s", c.text, err, c.problem)
		}
	}
}
