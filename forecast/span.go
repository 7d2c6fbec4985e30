package forecast

// Span is a part of the horizon that demand is asked for: of each week the
// share of its arrivals, and of each day whether, or how likely, it counts.
type Span struct {
	first  int       // week of the first share
	shares []float64 // 0 before and after them
	day    func(Day) float64
	whole  bool // from the first day on, so that what follows lies in it too
}

// InWeek is one week of the horizon.
func (c *Calendar) InWeek(week int) Span {
	w := c.Weeks[week]
	in := func(day Day) float64 { return indicator(w.First <= day && day <= w.Last) }
	return Span{first: week, shares: []float64{1}, day: in, whole: week == 0}
}

// Until is the horizon up to and with a day. A week's arrivals spread evenly
// over its working days, Monday to Friday; where none of them is left in the
// first week, over its days.
func (c *Calendar) Until(day Day) Span {
	return c.Weighted(day, func(Day) float64 { return 1 })
}

// Weighted is the horizon up to and with a day of which each day counts by its
// weight, the probability from 0 to 1 that its arrivals are asked for. Days
// that are asked for together by chance are taken to be so independently.
func (c *Calendar) Weighted(until Day, weight func(Day) float64) Span {
	day := func(d Day) float64 {
		if d < c.AsOf || d > until {
			return 0
		}
		return weight(d)
	}
	var shares []float64
	for _, w := range c.Weeks {
		if w.First > until {
			break
		}
		shares = append(shares, w.share(day))
	}
	return Span{shares: shares, day: day, whole: true}
}

// Share is the part of a week's arrivals that lie in the span.
func (s Span) Share(week int) float64 {
	if week < s.first || week >= s.end() {
		return 0
	}
	return s.shares[week-s.first]
}

// ShareOf is the part of a rung's arrivals of a week that lie in the span: an
// open job comes on its day.
func (s Span) ShareOf(r Rung, week int) float64 {
	if r.Day != 0 && s.day != nil && s.Share(week) > 0 {
		return s.day(r.Day)
	}
	return s.Share(week)
}

// end is the week after the last share.
func (s Span) end() int { return s.first + len(s.shares) }

// share is the mean weight of a week's working days, or of all its days where
// it has none.
func (w CalendarWeek) share(weight func(Day) float64) float64 {
	all := workingDays(w.First, w.Last)
	sum, n := 0.0, 0
	for d := w.First; d <= w.Last; d++ {
		if all == 0 || d.weekday() < 5 {
			sum += weight(d)
			n++
		}
	}
	return sum / float64(n)
}

func indicator(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
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

// Mean is the mean of a figure over the days of a span on which jobs arrive,
// by the span's weights; 0 where it has none.
func (s Span) Mean(c *Calendar, of func(Day) float64) float64 {
	sum, weights := 0.0, 0.0
	for week := s.first; week < min(s.end(), len(c.Weeks)); week++ {
		w := c.Weeks[week]
		all := workingDays(w.First, w.Last)
		for d := w.First; d <= w.Last; d++ {
			if all == 0 || d.weekday() < 5 {
				sum += s.day(d) * of(d)
				weights += s.day(d)
			}
		}
	}
	if weights == 0 {
		return 0
	}
	return sum / weights
}

// Part is how much of a whole week a week of the horizon is, in working days.
func (c *Calendar) Part(week int) float64 {
	w := c.Weeks[week]
	return float64(workingDays(w.First, w.Last)) / 5
}
