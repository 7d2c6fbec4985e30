package forecast

import (
	"math"
	"sort"
)

// point is one step of the time lattice: jobs due in it and jobs done in it.
type point struct {
	week    int
	end     float64 // its end, as an instant in days
	tauEnd  float64 // season-weighted weeks at its end
	restart float64 // where clocks of jobs done in it restart, on average
	tau     float64 // season-weighted weeks at restart
	tauLag  float64 // season-weighted weeks of the seven days from its end
}

// lattice cuts the horizon into equal steps, each a whole fraction of a week,
// so that a lag of whole weeks leads from step to step and no step lies in
// two weeks. A clock restarts at the end of the day of a job, half a day on
// average after its share of a step. Point 0 is the day of the forecast, for
// what is done on that day; the steps start at 1, and the first may be cut
// short. Point 1 is exact to about a day, all others as far as the law of
// what is done in them is smooth, see sharpen.
type lattice struct {
	cal     *Calendar
	points  []point
	perWeek int
	length  float64 // days of a whole step
}

func newLattice(cal *Calendar, perWeek int) *lattice {
	l := &lattice{cal: cal, perWeek: perWeek, length: 7 / float64(perWeek)}
	asOf := float64(cal.AsOf)
	l.points = append(l.points, l.point(0, asOf, asOf))
	for w, week := range cal.Weeks {
		monday := float64(week.Last - 6)
		for k := range perWeek {
			from, to := monday+float64(k)*l.length, monday+float64(k+1)*l.length
			if k == perWeek-1 {
				to = monday + 7
			}
			if to > asOf+1e-9 {
				l.points = append(l.points, l.point(w, max(from, asOf), to))
			}
		}
	}
	return l
}

func (l *lattice) point(week int, from, to float64) point {
	p := point{week: week, end: to, restart: (from+to)/2 + 0.5}
	if from == to {
		p.restart = from + 1
	}
	p.tauEnd = l.cal.since(p.end)
	p.tau = l.cal.since(p.restart)
	p.tauLag = l.cal.since(p.end+7) - p.tauEnd
	return p
}

// short is the number of points before the first whole step.
func (l *lattice) short() int {
	if l.points[1].end-l.points[0].end < l.length-1e-9 {
		return 2
	}
	return 1
}

// stepOf is the step that holds an instant; the number of points where it
// lies beyond the horizon.
func (l *lattice) stepOf(instant float64) int {
	return 1 + sort.Search(len(l.points)-1, func(i int) bool { return l.points[i+1].end > instant })
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

// sharpening is the weights that undo the grouping of days into steps: of a
// step itself, of the ones next to it, of those two away.
func (l *lattice) sharpening() [3]float64 {
	// Grouping over a length h adds h²/12 to the variance (Sheppard 1898), of
	// whole days (h²-1)/12; the second order is 3/640 of fourth differences.
	days := 1 - 1/(l.length*l.length)
	second, fourth := days/24, 3./640*days*days
	return [3]float64{1 + 2*second + 6*fourth, -second - 4*fourth, fourth}
}

// sharpen takes back from restarts what grouping days into steps added to
// their variance, keeping their mean: a little of each whole step's mass is
// taken off those around and put on it. A cell may end slightly below zero.
func (l *lattice) sharpen(a *arena, cells block) {
	c := l.sharpening()
	if c[1] == 0 {
		return
	}
	old := a.floats(len(cells.mass))
	copy(old, cells.mass)
	n := cells.cols
	for i := l.short() + 1; i+2 < len(l.points); i++ {
		first, last := band(old[i*n : (i+1)*n])
		if first == last {
			continue
		}
		row := old[i*n+first : i*n+last]
		p2, p1 := cells.row(i - 2)[first:last], cells.row(i - 1)[first:last]
		here := cells.row(i)[first:last]
		n1, n2 := cells.row(i + 1)[first:last], cells.row(i + 2)[first:last]
		for k, q := range row {
			p2[k] += c[2] * q
			p1[k] += c[1] * q
			here[k] += (c[0] - 1) * q
			n1[k] += c[1] * q
			n2[k] += c[2] * q
		}
	}
}

// blunt spreads what restarts at an instant over the points from first on, in
// such a way that sharpen turns it into split, but for terms of fourth order.
func (l *lattice) blunt(instant float64) (first int, parts [4]float64) {
	p, share := l.split(instant)
	c := l.sharpening()
	for i, part := range [2]float64{share, 1 - share} {
		at := p + i
		if part == 0 {
			continue
		}
		side := -c[1] - 4*c[2]
		if at <= l.short() || at+2 >= len(l.points) {
			side = 0
		}
		parts[i] += part * side
		parts[i+1] += part * (1 - 2*side)
		parts[i+2] += part * side
	}
	return p - 1, parts
}

func isZero(p []float64) bool {
	for _, q := range p {
		if q != 0 {
			return false
		}
	}
	return true
}

// horizon is the season-weighted time at the end of the last step.
func (l *lattice) horizon() float64 { return l.points[len(l.points)-1].tauEnd }

// never is the instant of a calendar limit that is not there.
var never = math.Inf(1)
