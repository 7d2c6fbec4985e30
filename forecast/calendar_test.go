package forecast

import (
	"errors"
	"math"
	"testing"
	"time"
)

func day(t *testing.T, text string) Day {
	t.Helper()
	at, err := time.Parse(time.DateOnly, text)
	if err != nil {
		t.Fatal(err)
	}
	return Day(at.Unix() / 86400)
}

func calendar(t *testing.T, asOf Day, weeks int, season Season) *Calendar {
	t.Helper()
	cal, err := NewCalendar(asOf, weeks, season)
	if err != nil {
		t.Fatal(err)
	}
	return cal
}

// Ends of years by ISO 8601, sources named in the rows of the file.
func TestWeeksAtTheEndsOfYears(t *testing.T) {
	for _, row := range published(t, "standards/iso_weeks.csv") {
		asOf := day(t, row["date"])
		w := calendar(t, asOf, 2, nil).Weeks
		if float64(w[0].Year) != number(t, row["iso_year"]) || float64(w[0].Number) != number(t, row["iso_week"]) {
			t.Errorf("%s: found %d-W%02d, expected %s", row["date"], w[0].Year, w[0].Number, row["iso_week_date"])
		}
		if w[0].First != asOf || w[0].Last != day(t, row["week_sunday"]) {
			t.Errorf("%s: found days %d to %d, expected up to %s", row["date"], w[0].First, w[0].Last, row["week_sunday"])
		}
		if w[1].First != w[0].Last+1 || w[1].Last != w[1].First+6 {
			t.Errorf("%s: the second week is %d to %d, expected seven days", row["date"], w[1].First, w[1].Last)
		}
	}
}

func TestWeekOfADay(t *testing.T) {
	asOf := day(t, "2026-11-25") // a Wednesday
	cal := calendar(t, asOf, 3, nil)
	for _, c := range []struct {
		name string
		day  Day
		want int
	}{
		{"the day before is none", asOf - 1, -1},
		{"the day of the forecast is in week 0", asOf, 0},
		{"so is its Sunday", asOf + 4, 0},
		{"Monday begins week 1", asOf + 5, 1},
		{"the last Sunday is in the last week", asOf + 18, 2},
		{"the day after lies beyond", asOf + 19, 3},
		{"and so do all others", asOf + 999, 3},
	} {
		if got := cal.WeekOf(c.day); got != c.want {
			t.Errorf("%s: found %d, expected %d", c.name, got, c.want)
		}
	}
	if cal.End() != asOf+19 {
		t.Errorf("the horizon ends at %d, expected %d", cal.End(), asOf+19)
	}
}

func TestSeasonWeightedTime(t *testing.T) {
	monday := day(t, "2026-12-21") // week 52 of a year with 53
	cal := calendar(t, monday, 4, Season{52: 0.5, 1: 0, 2: 3})
	for _, c := range []struct {
		name     string
		from, to Day
		want     float64
	}{
		{"a week counts its factor", monday, monday + 7, 0.5},
		{"week 53 without a factor has that of week 52", monday + 7, monday + 14, 0.5},
		{"a week of factor 0 stands still", monday + 14, monday + 21, 0},
		{"parts of two weeks", monday + 18, monday + 23, 6. / 7},
		{"a week that is absent has factor 1", monday - 7, monday, 1},
		{"backwards is less than nothing", monday + 7, monday, -0.5},
		{"years ago is summed as well", monday - 3*364, monday - 3*364 + 7, 0.5},
	} {
		if got := float64(cal.Tau(c.from, c.to)); math.Abs(got-c.want) > 1e-12 {
			t.Errorf("%s: found %v, expected %v", c.name, got, c.want)
		}
	}
	if got := cal.tau(float64(monday), float64(monday)+0.5); math.Abs(got-0.5/14) > 1e-12 {
		t.Errorf("half a day: found %v, expected %v", got, 0.5/14)
	}
}

func TestCalendarsThatAreRefused(t *testing.T) {
	for name, c := range map[string]struct {
		weeks  int
		season Season
	}{
		"no weeks":                   {0, nil},
		"a week 54":                  {4, Season{54: 1}},
		"a factor below 0":           {4, Season{3: -1}},
		"a factor that is no number": {4, Season{3: math.NaN()}},
	} {
		if cal, err := NewCalendar(20000, c.weeks, c.season); err == nil {
			t.Errorf("%s: found %v, expected an error", name, cal)
		}
	}
}

func TestMonthsEndOnDaysThatExist(t *testing.T) {
	for from, want := range map[string]string{
		"2027-01-31": "2027-02-28", "2028-01-31": "2028-02-29", "2026-11-30": "2026-12-30", "2026-12-15": "2027-01-15",
	} {
		if got := day(t, from).addMonths(1); got != day(t, want) {
			t.Errorf("a month after %s: found day %d, expected %s", from, got, want)
		}
	}
}

func TestLaddersThatAreRefused(t *testing.T) {
	for name, services := range map[string][]Service{
		"a service twice":            {{ID: 1}, {ID: 1}},
		"one that covers a stranger": {{ID: 1, Covers: []int{2}}},
		"one that covers itself":     {{ID: 1, Covers: []int{2}}, {ID: 2, Covers: []int{1}}},
		"hours below 0":              {{ID: 1, Every: -1}},
		"months below 0":             {{ID: 1, Months: -1}},
	} {
		u := Unit{Ladder: &Ladder{Services: services}, Spread: 4, ReadOn: 20000, Clocks: make([]Clock, len(services))}
		if _, err := Futures(calendar(t, 20000, 4, nil), []Unit{u}); !errors.Is(err, ErrLadder) {
			t.Errorf("%s: found error %v, expected %v", name, err, ErrLadder)
		}
	}
}
