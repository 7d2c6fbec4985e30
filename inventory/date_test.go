package inventory

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// testdata/published/standards/iso_weeks.csv: week dates printed in the
// manuals named there, and Python's for the rest.
func TestISOWeeksAtTheEndsOfYears(t *testing.T) {
	for _, row := range published(t, "iso_weeks.csv") {
		day := mustDate(t, row["date"])
		week := day.Week()
		if got := fmt.Sprintf("%s-%d", week, (int(day.Weekday())+6)%7+1); got != row["iso_week_date"] {
			t.Errorf("%s: %s, want %s", day, got, row["iso_week_date"])
		}
		if got := week.Monday().String(); got != row["week_monday"] {
			t.Errorf("%s: week begins on %s, want %s", day, got, row["week_monday"])
		}
	}
}

func TestEveryDayLiesInItsWeek(t *testing.T) {
	for day := NewDate(1970, time.January, 2); day <= NewDate(lastYear, time.December, 31); day++ {
		monday := day.Week().Monday()
		if monday.Weekday() != time.Monday || day < monday || day > monday+6 {
			t.Fatalf("%s lies in %s, which begins on %s", day, day.Week(), monday)
		}
	}
}

func TestParseDate(t *testing.T) {
	for _, text := range []string{"1970-01-02", "2024-02-29", "2199-12-31"} {
		if d, err := ParseDate(text); err != nil || d.String() != text {
			t.Errorf("%s: %s, %v", text, d, err)
		}
	}
	for _, tc := range []struct{ rule, text string }{
		{"the day exists", "2025-02-29"},
		{"the month exists", "2025-13-01"},
		{"two digits a part", "2025-1-1"},
		{"year first", "01.02.2025"},
		{"no time of day", "2025-01-01T00:00:00Z"},
		{"no blanks", " 2025-01-01"},
		{"the first day stands for none", "1970-01-01"},
		{"not before", "1969-12-31"},
		{"not after", "2200-01-01"},
		{"not empty", ""},
	} {
		if d, err := ParseDate(tc.text); !errors.Is(err, ErrDate) {
			t.Errorf("%s: %q gave %s, %v", tc.rule, tc.text, d, err)
		}
	}
}

func TestDateArithmetic(t *testing.T) {
	if d := Date(0); !d.IsZero() || d.String() != "" {
		t.Errorf("no date prints %q", d)
	}
	berlin := time.FixedZone("ahead", 2*3600)
	if d := DateOf(time.Date(2026, 3, 2, 0, 30, 0, 0, berlin)); d.String() != "2026-03-02" {
		t.Errorf("half past midnight is the new day where it is shown: %s", d)
	}
	for _, tc := range []struct {
		from   string
		months int
		want   string
	}{
		{"2024-01-31", 1, "2024-02-29"},
		{"2025-01-31", 1, "2025-02-28"},
		{"2024-02-29", 12, "2025-02-28"},
		{"2024-02-29", 48, "2028-02-29"},
		{"2024-12-15", 1, "2025-01-15"},
		{"2024-03-31", -1, "2024-02-29"},
	} {
		if got := mustDate(t, tc.from).AddMonths(tc.months).String(); got != tc.want {
			t.Errorf("%s and %d months: %s, want %s", tc.from, tc.months, got, tc.want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		day := Date(rapid.IntRange(1, 80000).Draw(t, "day"))
		weekday := time.Weekday(rapid.IntRange(0, 6).Draw(t, "weekday"))
		next := day.OnOrAfter(weekday)
		if next.Weekday() != weekday || next < day || next > day+6 {
			t.Fatalf("the %s from %s is %s", weekday, day, next)
		}
	})
}
