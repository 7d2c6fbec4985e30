package forecast

import (
	"math"
	"slices"
	"sort"
)

// point is one step of the time lattice: jobs due in it and jobs done in it.
type point struct {
	week    int
	end     float64 // its end, as an instant in days
	tauEnd  float64 // season-weighted weeks at its end
	restart float64 // where clocks of jobs done in it restart: mean of its days' ends
	tau     float64 // season-weighted weeks at restart
	tauLag  float64 // season-weighted weeks of the seven days from its end
	blur    float64 // variance in square days that putting its days at restart adds
	left    float64 // shares of blur for the points before and after, see sharpen
	right   float64
}

// lattice cuts the horizon into steps of a few days. Every week is cut at the
// same weekdays, so that a lag of whole weeks leads from step to step. Point
// 0 is the day of the forecast for what is already due; steps start at 1.
type lattice struct {
	cal     *Calendar
	points  []point
	perWeek int // steps in a whole week
}

// newLattice cuts weeks at Monday, at the weekday of the forecast, and then
// the longest piece in half until a week has the given number of steps.
func newLattice(cal *Calendar, steps int) *lattice {
	cuts := []int{0}
	if wd := cal.AsOf.weekday(); wd != 0 {
		cuts = append(cuts, wd)
	}
	for len(cuts) < min(steps, 7) {
		cuts = append(cuts, longestMiddle(cuts))
		slices.Sort(cuts)
	}
	l := &lattice{cal: cal, perWeek: len(cuts)}
	l.points = append(l.points, l.pointOf(0, cal.AsOf, cal.AsOf))
	for w, week := range cal.Weeks {
		monday := week.Last - 6
		for i, cut := range cuts {
			from, to := monday+Day(cut), week.Last+1
			if i+1 < len(cuts) {
				to = monday + Day(cuts[i+1])
			}
			if from >= week.First {
				l.points = append(l.points, l.pointOf(w, from, to))
			}
		}
	}
	for i := range l.points {
		p := &l.points[i]
		if i > 1 && i+1 < len(l.points) {
			before, after := p.restart-l.points[i-1].restart, l.points[i+1].restart-p.restart
			p.left, p.right = p.blur/(before*(before+after)), p.blur/(after*(before+after))
		}
	}
	return l
}

// longestMiddle is the weekday in the middle of the longest piece of a week.
func longestMiddle(cuts []int) int {
	best, at := 0, 0
	for i, cut := range cuts {
		next := 7
		if i+1 < len(cuts) {
			next = cuts[i+1]
		}
		if next-cut > best {
			best, at = next-cut, cut+(next-cut)/2
		}
	}
	return at
}

// pointOf is the step of the days from … to-1, or of the day of the forecast
// alone where from equals to.
func (l *lattice) pointOf(week int, from, to Day) point {
	p := point{week: week, end: float64(to)}
	days := float64(to - from)
	p.restart = (float64(from+1) + float64(to)) / 2
	p.blur = (days*days - 1) / 12
	if from == to {
		p.restart, p.blur = float64(from+1), 0
	}
	p.tauEnd = l.cal.since(p.end)
	p.tau = l.cal.since(p.restart)
	p.tauLag = l.cal.since(p.end+7) - p.tauEnd
	return p
}

// stepOf is the step that holds a day; the number of points where it lies
// beyond the horizon.
func (l *lattice) stepOf(day float64) int {
	return 1 + sort.Search(len(l.points)-1, func(i int) bool { return l.points[i+1].end > day })
}

// split spreads what restarts at an instant over the two points around it,
// so that the mean stays: point p takes share, p+1 the rest.
func (l *lattice) split(instant float64) (p int, share float64) {
	n := len(l.points)
	p = sort.Search(n, func(i int) bool { return l.points[i].restart > instant }) - 1
	switch {
	case p < 0:
		return 0, 1
	case p == n-1:
		return p, 1
	}
	gap := l.points[p+1].restart - l.points[p].restart
	return p, 1 - (instant-l.points[p].restart)/gap
}

// blunt spreads what restarts at an instant over the points from first on, in
// such a way that sharpen turns it into split.
func (l *lattice) blunt(instant float64) (first int, parts [4]float64) {
	p, share := l.split(instant)
	first = p - 1
	for i, part := range [2]float64{share, 1 - share} {
		if part == 0 {
			continue
		}
		point := &l.points[p+i]
		parts[i] += part * point.left
		parts[i+1] += part * (1 - point.left - point.right)
		parts[i+2] += part * point.right
	}
	return first, parts
}

// sharpen takes back the variance that grouping days into steps added to
// restarts (Sheppard's correction), keeping their mean: a little of each
// row's mass is taken off its neighbours and put on it.
func (l *lattice) sharpen(a *arena, cells block) {
	change := a.floats(len(cells.mass))
	for i := range l.points {
		p := &l.points[i]
		if p.left == 0 {
			continue
		}
		row := cells.row(i)
		addScaled(change[i*cells.cols:(i+1)*cells.cols], row, p.left+p.right)
		addScaled(change[(i-1)*cells.cols:i*cells.cols], row, -p.left)
		addScaled(change[(i+1)*cells.cols:(i+2)*cells.cols], row, -p.right)
	}
	addTo(cells.mass, change)
}

// horizon is the season-weighted time at the end of the last step.
func (l *lattice) horizon() float64 { return l.points[len(l.points)-1].tauEnd }

// never is the instant of a calendar limit that is not there.
var never = math.Inf(1)
