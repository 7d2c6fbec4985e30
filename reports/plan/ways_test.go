package plan

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	"circlip/forecast"
	"circlip/forecast/stock"
)

// twoSpans are two windows, of two weeks and of four.
func twoSpans(t interface{ Fatal(...any) }) []forecast.Span {
	const monday = 4 // of day 0's week, a Thursday
	month, err := forecast.NewCalendar(monday, 4, nil)
	if err != nil {
		t.Fatal(err)
	}
	return []forecast.Span{month.Until(month.Weeks[1].Last), month.Until(month.Weeks[3].Last)}
}

// byService makes jobs of the kind that their one service says.
func byService(services []int, _ int) []int { return slices.Repeat(services[:1], 4) }

// someFuture draws a unit with up to four stages, each of which is left for the
// next, or for one of two that lead to it, no sooner than it is come to.
func someFuture(t *rapid.T) forecast.Future {
	var f forecast.Future
	came := []float64{1, 0, 0, 0}
	for stage := range rapid.IntRange(2, 4).Draw(t, "stages") {
		next := make([]float64, 4)
		waiting := 0.0
		// More would be more ways than are kept apart.
		two := stage < 2 && rapid.Bool().Draw(t, "two ways")
		first, second := make([]float64, 4), make([]float64, 4)
		for week := range 4 {
			waiting += came[week]
			goes := waiting * rapid.Float64Range(0, 0.6).Draw(t, "goes")
			waiting -= goes
			next[week] = goes
			first[week] = goes
			if two {
				first[week], second[week] = 0.7*goes, 0.3*goes
			}
		}
		capture := rapid.SampledFrom([]float64{1, 0.6}).Draw(t, "capture")
		f.Rungs = append(f.Rungs, forecast.Rung{After: stage - 1, Stage: stage, Services: []int{2 * stage}, Capture: capture, Done: first})
		if two {
			f.Rungs = append(f.Rungs, forecast.Rung{After: stage - 1, Stage: stage, Services: []int{2*stage + 1}, Capture: capture, Done: second})
		}
		came = next
	}
	return f
}

// counts is the probability of each number of jobs up to a window.
func counts(events []stock.Event, window int) []float64 {
	law := make([]float64, 12)
	law[0] = 1
	for _, e := range events {
		next := make([]float64, 12)
		none := 1.0
		for _, o := range e {
			none -= o.Prob
			n := 0
			for _, j := range append([]stock.Job{{Type: o.Type, Window: o.Window}}, o.Then...) {
				if j.Window <= window {
					n++
				}
			}
			for k := 0; k+n < len(law); k++ {
				next[k+n] += law[k] * o.Prob
			}
		}
		for k, prob := range law {
			next[k] += prob * none
		}
		law = next
	}
	return law
}

// However the ways go, as many jobs are expected of each kind in each window as
// the rungs foresee, and the ways exclude each other.
func TestWaysBringWhatIsForeseen(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := someFuture(t)
		events := newLadder(f, byService, twoSpans(t)).events()
		found, foreseen := map[stock.Job]float64{}, map[stock.Job]float64{}
		for _, e := range events {
			all := 0.0
			for _, o := range e {
				all += o.Prob
				for _, j := range append([]stock.Job{{Type: o.Type, Window: o.Window}}, o.Then...) {
					found[j] += o.Prob
				}
			}
			if all > 1+1e-9 || len(e) > mostWays {
				t.Errorf("an event of %d ways with a probability of %v", len(e), all)
			}
		}
		for _, r := range f.Rungs {
			for week, done := range r.Done {
				foreseen[stock.Job{Type: r.Services[0], Window: week / 2}] += done * r.Capture
			}
		}
		for j, want := range foreseen {
			if math.Abs(found[j]-want) > 1e-9 {
				t.Errorf("kind %d window %d: %v expected, foreseen %v", j.Type, j.Window, found[j], want)
			}
		}
	})
}

// Where all is done here, there are n jobs up to a window just when the n-th
// stage was come to and not the next.
func TestNoJobComesBeforeTheOneItFollows(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := someFuture(t)
		for r := range f.Rungs {
			f.Rungs[r].Capture = 1
		}
		events := newLadder(f, byService, twoSpans(t)).events()
		for window := range 2 {
			came := []float64{1, 0, 0, 0, 0, 0}
			for _, r := range f.Rungs {
				for week, done := range r.Done {
					if week/2 <= window {
						came[r.Stage+1] += done
					}
				}
			}
			for n, found := range counts(events, window)[:5] {
				// What is rarer than a way in a million comes by itself.
				if want := came[n] - came[n+1]; math.Abs(found-want) > mostWays*rareWay {
					t.Errorf("%d jobs up to window %d: %v, want %v", n, window, found, want)
				}
			}
		}
	})
}

func TestThoseWhoCameFirstGoFirst(t *testing.T) {
	for name, tt := range map[string]struct {
		entered, left []float64
		want          [][]float64
	}{
		"all at once":               {[]float64{1, 0}, []float64{0.2, 0.3}, [][]float64{{0.2, 0.3}, {0, 0}}},
		"nobody goes":               {[]float64{0.5, 0.5}, []float64{0, 0}, [][]float64{{0, 0}, {0, 0}}},
		"the first have gone":       {[]float64{0.25, 0.5}, []float64{0.125, 0.5}, [][]float64{{0.125, 0.125}, {0, 0.375}}},
		"nobody is left to go":      {[]float64{0.25, 0.25}, []float64{0.25, 0.5}, [][]float64{{0.25, 0}, {0, 0.25}}},
		"a window in which none is": {[]float64{0, 0.5}, []float64{0, 0.25}, [][]float64{{0, 0}, {0, 0.25}}},
	} {
		got := inTurn(tt.entered, tt.left)
		if !slices.EqualFunc(got, tt.want, slices.Equal) {
			t.Errorf("%s: %v, want %v", name, got, tt.want)
		}
	}
}

// A unit that does one thing after another every week, in more ways than are
// followed, still brings all its jobs; one that cannot be followed at all has
// its stages apart.
func TestLimitsOfWays(t *testing.T) {
	var f forecast.Future
	for stage := range 9 {
		f.Rungs = append(f.Rungs, forecast.Rung{After: stage - 1, Stage: stage, Services: []int{stage}, Capture: 0.5, Done: slices.Repeat([]float64{0.1}, 4)})
	}
	for name, rungs := range map[string]int{"many": 9, "one": 1, "two": 2} {
		g := forecast.Future{Rungs: f.Rungs[:rungs]}
		found := 0.0
		for _, e := range newLadder(g, byService, twoSpans(t)).events() {
			for _, o := range e {
				found += o.Prob * float64(1+len(o.Then))
			}
		}
		if want := 0.4 * 0.5 * float64(rungs); math.Abs(found-want) > 1e-9 {
			t.Errorf("%s: %v jobs, want %v", name, found, want)
		}
	}
	more := forecast.Future{Rungs: []forecast.Rung{
		{After: forecast.Start, Stage: 0, Services: []int{0}, Capture: 1, Done: []float64{0.1, 0, 0, 0}},
		{After: 0, Stage: 1, Services: []int{1}, Capture: 1, Done: []float64{0.9, 0, 0, 0}},
	}}
	events := newLadder(more, byService, twoSpans(t)).events()
	if len(events) != 1 || len(events[0]) != 1 || math.Abs(events[0][0].Prob-0.1) > 1e-12 || len(events[0][0].Then) != 1 {
		t.Errorf("more go on than came: %+v", events)
	}
	more.Rungs[0].Done = []float64{0, 0, 0.9, 0}
	events = newLadder(more, byService, twoSpans(t)).events()
	if len(events) != 1 || len(events[0]) != 1 || events[0][0].Window != 1 || !slices.Equal(events[0][0].Then, []stock.Job{{Type: 1, Window: 1}}) {
		t.Errorf("they go on before they came: %+v", events)
	}
}
