package plan

import (
	"slices"

	"circlip/forecast"
	"circlip/forecast/stock"
)

// Ways that are rarer than this are not followed on, and an event has no more
// than so many; what they would still have brought comes by itself.
const (
	rareWay  = 1e-6
	mostWays = 64
)

// events is what may come of one unit up to the last window.
func (s *shelf) events(f forecast.Future, types *jobTypes, spans []forecast.Span) []stock.Event {
	return newLadder(f, types.byWeek, spans).events()
}

// events is one event whose outcomes are the ways the unit may go, each with
// its jobs, since a later one comes only after those before it; and beside it,
// by itself, what no way brings that was followed.
func (l *ladder) events() []stock.Event {
	if !l.goesOn() {
		return l.apart()
	}
	ways := l.ways(rareWay)
	for rare := rareWay; len(ways) > mostWays && rare < 1; rare *= 10 {
		ways = l.ways(rare * 10)
	}
	left, more := l.notIn(ways), 0.0
	for _, o := range left {
		more += o.Prob
	}
	switch {
	case len(ways) > mostWays || more > 1:
		return l.apart()
	case len(left) == 0:
		return []stock.Event{ways}
	}
	return []stock.Event{ways, left}
}

// ladder is what a unit may do within the windows, by stage, that of Start
// first.
type ladder struct {
	windows  int
	arrivals [][]arrival   // that follow the stage
	inOrder  []arrival     // all, each after those that lead to its stage
	entered  [][]float64   // by window: that the unit comes to the stage in it
	left     [][]float64   // and that it goes on
	onward   [][][]float64 // by window in which it comes, and in which it goes on: both
}

// arrival is a rung done in a window: one kind of job with probability here,
// and elsewhere, or told of by another future, otherwise.
type arrival struct {
	after, stage int
	window, kind int
	prob, here   float64
}

// newLadder adds up what is done by window; kindsOf tells the kinds of a rung's
// job by week.
func newLadder(f forecast.Future, kindsOf func(services []int, model int) []int, spans []forecast.Span) *ladder {
	stages := 1
	for _, r := range f.Rungs {
		stages = max(stages, r.After-forecast.Start+1, r.Stage-forecast.Start+1)
	}
	l := &ladder{windows: max(1, len(spans)), arrivals: make([][]arrival, stages)}
	l.entered, l.left = rows(stages, l.windows), rows(stages, l.windows)
	l.entered[0][0] = 1
	for _, r := range f.Rungs {
		var kinds []int
		here := 0.0
		if len(r.Services) > 0 {
			kinds, here = kindsOf(r.Services, f.Model), r.Capture
		}
		after, stage := r.After-forecast.Start, r.Stage-forecast.Start
		for _, o := range outcomes(r, kinds, spans) {
			a := arrival{after, stage, o.Window, o.Type, o.Prob, here}
			l.arrivals[after], l.inOrder = append(l.arrivals[after], a), append(l.inOrder, a)
			l.left[after][o.Window] += o.Prob
			if stage > 0 {
				l.entered[stage][o.Window] += o.Prob
			}
		}
	}
	for stage := range stages {
		l.onward = append(l.onward, inTurn(l.entered[stage], l.left[stage]))
	}
	return l
}

func rows(n, wide int) [][]float64 {
	rows := make([][]float64, n)
	for i := range rows {
		rows[i] = make([]float64, wide)
	}
	return rows
}

// inTurn says which of those who come to a stage go on when: those who came
// first go first. Only how many came and went up to each window is known, and
// that is all that any one item's demand depends on. Where more are to go than
// have come (before the day of a booking, in its week), they go when others
// come; those for whom none comes go after the last window.
func inTurn(entered, left []float64) [][]float64 {
	both := rows(len(entered), len(left))
	came, waiting := 0, entered[0]
	for window, going := range left {
		for going > 0 {
			gone := min(going, waiting)
			both[came][window] += gone
			going, waiting = going-gone, waiting-gone
			if waiting > 0 {
				break
			}
			if came++; came == len(entered) {
				return both
			}
			waiting = entered[came]
		}
	}
	return both
}

// goesOn: some job follows another.
func (l *ladder) goesOn() bool {
	for _, list := range l.arrivals[1:] {
		if len(list) > 0 {
			return true
		}
	}
	return false
}

// apart is one event for each stage, of what follows it.
func (l *ladder) apart() []stock.Event {
	var events []stock.Event
	for _, list := range l.arrivals {
		var event stock.Event
		for _, a := range list {
			if prob := a.prob * a.here; prob > 0 {
				event = append(event, stock.Outcome{Type: a.kind, Window: a.window, Prob: prob})
			}
		}
		if len(event) > 0 {
			events = append(events, event)
		}
	}
	return events
}

// goes is how likely a unit, come to the arrival's stage before in a window,
// goes on by it.
func (l *ladder) goes(a arrival, window int) float64 {
	if l.entered[a.after][window] == 0 {
		return 0
	}
	return l.onward[a.after][window][a.window] / l.entered[a.after][window] * a.prob / l.left[a.after][a.window]
}

// ways is every way to go, those with the same jobs as one.
func (l *ladder) ways(rare float64) stock.Event {
	w := walk{ladder: l, rare: rare}
	w.from(0, 0, 0, nil, 1)
	return w.ways
}

// walk goes every way up a ladder.
type walk struct {
	*ladder
	rare float64
	ways stock.Event
}

// from goes on from a stage that was come to in a window, with the jobs so far,
// the latest of which came in a window not before that.
func (w *walk) from(stage, window, latest int, jobs []stock.Job, prob float64) {
	if prob < w.rare || len(w.ways) > mostWays {
		w.end(jobs, prob)
		return
	}
	stays := prob
	for _, a := range w.arrivals[stage] {
		goes := prob * w.goes(a, window)
		if goes == 0 {
			continue
		}
		stays -= goes
		at := max(latest, a.window)
		more := append(slices.Clip(jobs), stock.Job{Type: a.kind, Window: at})
		if a.stage == 0 { // it leads nowhere
			w.end(jobs, goes*(1-a.here))
			w.end(more, goes*a.here)
			continue
		}
		w.from(a.stage, a.window, at, jobs, goes*(1-a.here))
		w.from(a.stage, a.window, at, more, goes*a.here)
	}
	w.end(jobs, stays)
}

// end adds a way that is gone no further.
func (w *walk) end(jobs []stock.Job, prob float64) {
	if len(jobs) == 0 || prob <= 0 {
		return
	}
	first, then := jobs[0], jobs[1:]
	for i := range w.ways {
		known := &w.ways[i]
		if known.Type == first.Type && known.Window == first.Window && slices.Equal(known.Then, then) {
			known.Prob += prob
			return
		}
	}
	w.ways = append(w.ways, stock.Outcome{Type: first.Type, Window: first.Window, Prob: prob, Then: slices.Clone(then)})
}

// foreseen calls do for every job that all ways together bring, with how many
// of it are expected.
func (l *ladder) foreseen(do func(j stock.Job, expected float64)) {
	come := make([][][]float64, len(l.entered)) // by stage, window, and the latest job's: that the unit comes
	for stage := range come {
		come[stage] = rows(l.windows, l.windows)
	}
	come[0][0][0] = 1
	for _, a := range l.inOrder {
		for window := range l.windows {
			goes := l.goes(a, window)
			for latest, prob := range come[a.after][window] {
				if prob *= goes; prob == 0 {
					continue
				}
				at := max(latest, a.window)
				do(stock.Job{Type: a.kind, Window: at}, prob*a.here)
				if a.stage > 0 {
					come[a.stage][a.window][at] += prob
				}
			}
		}
	}
}

// notIn is what is foreseen of each kind in each window beyond what some ways
// bring.
func (l *ladder) notIn(ways stock.Event) stock.Event {
	var left stock.Event
	add := func(j stock.Job, prob float64) {
		for i := range left {
			if left[i].Type == j.Type && left[i].Window == j.Window {
				left[i].Prob += prob
				return
			}
		}
		left = append(left, stock.Outcome{Type: j.Type, Window: j.Window, Prob: prob})
	}
	l.foreseen(func(j stock.Job, expected float64) {
		if expected > 0 {
			add(j, expected)
		}
	})
	for _, o := range ways {
		add(stock.Job{Type: o.Type, Window: o.Window}, -o.Prob)
		for _, j := range o.Then {
			add(j, -o.Prob)
		}
	}
	const rounding = 1e-12
	return slices.DeleteFunc(left, func(o stock.Outcome) bool { return o.Prob < rounding })
}
