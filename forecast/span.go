package forecast

// Span is a part of the horizon that demand is asked for: of each week the
// share of its arrivals.
type Span struct {
	first  int       // week of the first share
	shares []float64 // 0 before and after them
	whole  bool      // from the first day on, so that what follows lies in it too
}

// InWeek is one week of the horizon.
func (c *Calendar) InWeek(week int) Span {
	return Span{first: week, shares: []float64{1}, whole: week == 0}
}

// Until is the horizon up to and with a day. A week's arrivals spread evenly
// over its working days, Monday to Friday; where none of them is left in the
// first week, over its days.
func (c *Calendar) Until(day Day) Span {
	var shares []float64
	for _, w := range c.Weeks {
		if w.First > day {
			break
		}
		shares = append(shares, w.share(day))
	}
	return Span{shares: shares, whole: true}
}

// Share is the part of a week's arrivals that lie in the span.
func (s Span) Share(week int) float64 {
	if week < s.first || week >= s.end() {
		return 0
	}
	return s.shares[week-s.first]
}

// end is the week after the last share.
func (s Span) end() int { return s.first + len(s.shares) }

// share is the part of a week's working days up to and with a day.
func (w CalendarWeek) share(until Day) float64 {
	until = min(until, w.Last)
	if all := workingDays(w.First, w.Last); all > 0 {
		return float64(workingDays(w.First, until)) / float64(all)
	}
	return float64(until-w.First+1) / float64(w.Last-w.First+1)
}

func workingDays(first, last Day) int {
	n := 0
	for d := first; d <= last; d++ {
		if d.weekday() < 5 {
			n++
		}
	}
	return n
}
