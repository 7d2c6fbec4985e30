package inventory

import (
	"errors"
	"fmt"
	"time"
)

// Date is a calendar day in the workshop's own time zone, as days since
// 1970-01-01. The zero Date means none; dates of the book lie between
// 1970-01-02 and 2199-12-31.
type Date int32

// ErrDate is wrapped by every refusal of a date's text.
var ErrDate = errors.New("not a date")

const lastYear = 2199

// NewDate returns the day of a year, month and day, normalised as time.Date
// does.
func NewDate(year int, month time.Month, day int) Date {
	return DateOf(time.Date(year, month, day, 0, 0, 0, 0, time.UTC))
}

// DateOf returns the calendar day that t shows in its own location.
func DateOf(t time.Time) Date {
	y, m, d := t.Date()
	return Date(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}

// ParseDate reads ISO 8601 YYYY-MM-DD.
func ParseDate(text string) (Date, error) {
	t, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return 0, fmt.Errorf("%w: found %q, expected a day that exists, as YYYY-MM-DD", ErrDate, text)
	}
	d := DateOf(t)
	if d <= 0 || t.Year() > lastYear {
		return 0, fmt.Errorf("%w: found %q, expected a year from 1970 to %d", ErrDate, text, lastYear)
	}
	return d, nil
}

// IsZero reports whether d means no date.
func (d Date) IsZero() bool { return d == 0 }

// Time is midnight UTC at the start of the day.
func (d Date) Time() time.Time { return time.Unix(int64(d)*86400, 0).UTC() }

// String is YYYY-MM-DD, or empty for no date.
func (d Date) String() string {
	if d.IsZero() {
		return ""
	}
	return d.Time().Format(time.DateOnly)
}

// Weekday is the day of the week.
func (d Date) Weekday() time.Weekday { return d.Time().Weekday() }

// AddMonths moves d by whole months; a day that the month lacks becomes the
// month's last: 31 January and one month is 28 or 29 February.
func (d Date) AddMonths(months int) Date {
	y, m, day := d.Time().Date()
	first := time.Date(y, m+time.Month(months), 1, 0, 0, 0, 0, time.UTC)
	last := first.AddDate(0, 1, -1).Day()
	return DateOf(first.AddDate(0, 0, min(day, last)-1))
}

// OnOrAfter is the first day from d on that falls on the weekday.
func (d Date) OnOrAfter(weekday time.Weekday) Date {
	return d + Date((int(weekday)-int(d.Weekday())+7)%7)
}

// Week is a week of ISO 8601: Monday to Sunday, numbered in the year that
// holds its Thursday.
type Week struct {
	Year, Number int
}

// Week is the ISO week that holds d.
func (d Date) Week() Week {
	y, n := d.Time().ISOWeek()
	return Week{Year: y, Number: n}
}

// String is the ISO form 2027-W09.
func (w Week) String() string { return fmt.Sprintf("%04d-W%02d", w.Year, w.Number) }

// Monday is the week's first day. 4 January always lies in week 1.
func (w Week) Monday() Date {
	fourth := NewDate(w.Year, time.January, 4)
	return fourth - Date((int(fourth.Weekday())+6)%7) + Date(7*(w.Number-1))
}
