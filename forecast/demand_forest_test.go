package forecast_test

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"

	. "circlip/forecast"
)

// A forest is some units whose lives are known stop by stop and week by week,
// so that every way they may go can be enumerated. Ways meet again only after
// jobs that take the same: there the law claims to be exact.
type forest struct {
	units []*stop
	lines [][]Line
}

// stop is a stage of a unit; the root is the unit as it stands.
type stop struct {
	number int
	leave  []*branch
}

// branch is a job that leads on, done in week w with probability when[v][w]
// given that the stop was reached in week v.
type branch struct {
	service int
	capture float64
	when    [4][4]float64
	to      *stop
}

func drawForest(t *rapid.T) forest {
	share := rapid.Float64Range(0, 1)
	f := forest{lines: make([][]Line, 3)}
	for s := range f.lines {
		for range rapid.IntRange(0, 2).Draw(t, "lines") {
			need := share.Draw(t, "need")
			f.lines[s] = append(f.lines[s], Line{Need: need, Size: Around(rapid.Float64Range(0, 3).Draw(t, "size"), 1)})
		}
	}
	for range rapid.IntRange(1, 3).Draw(t, "units") {
		last := 0
		f.units = append(f.units, drawStop(t, int(Start), 3, &last))
	}
	return f
}

func drawStop(t *rapid.T, number, depth int, last *int) *stop {
	s := &stop{number: number}
	if depth == 0 {
		return s
	}
	share := rapid.Float64Range(0, 1)
	var left [4]float64
	for v := range left {
		left[v] = 1
	}
	for range rapid.IntRange(0, 2).Draw(t, "branches") {
		b := &branch{service: rapid.IntRange(0, 2).Draw(t, "service"), capture: share.Draw(t, "capture")}
		twin := len(s.leave) > 0 && rapid.Bool().Draw(t, "same stage")
		if twin {
			first := s.leave[0]
			b.service, b.capture, b.to = first.service, first.capture, first.to
		} else {
			*last++
			b.to = drawStop(t, *last, depth-1, last)
		}
		for v := range b.when {
			for w := v; w < 4; w++ {
				b.when[v][w] = left[v] * share.Draw(t, "when") / 2
				left[v] -= b.when[v][w]
			}
		}
		s.leave = append(s.leave, b)
	}
	return s
}

// rungs tells a unit from a stop on. Reached is, by week, the probability that the
// stop is come to in it.
func (s *stop) rungs(reached [4]float64) []Rung {
	var own, after []Rung
	into := map[*stop][4]float64{}
	var order []*stop
	for _, b := range s.leave {
		r := Rung{After: s.number, Stage: b.to.number, Services: []int{b.service}, Capture: b.capture, Done: make([]float64, 4)}
		sum, known := into[b.to]
		if !known {
			order = append(order, b.to)
		}
		for v := range 4 {
			for w := v; w < 4; w++ {
				r.Done[w] += reached[v] * b.when[v][w]
			}
		}
		for w := range sum {
			sum[w] += r.Done[w]
		}
		into[b.to] = sum
		own = append(own, r)
	}
	for _, to := range order {
		after = append(after, to.rungs(into[to])...)
	}
	return append(own, after...)
}

func (f forest) futures() []Future {
	var all []Future
	for _, u := range f.units {
		all = append(all, Future{Rungs: u.rungs([4]float64{1})})
	}
	return all
}

// enumerate adds the probability of everything that may be taken past a stop
// reached in a week, by the end of the last week.
func (f forest) enumerate(s *stop, week, last int, prob float64, taken int, law map[int]float64) {
	stays := prob
	for _, b := range s.leave {
		for w := week; w <= last; w++ {
			done := prob * b.when[week][w]
			stays -= done
			f.enumerate(b.to, w, last, done*(1-b.capture), taken, law)
			f.take(f.lines[b.service], 0, func(size int, q float64) {
				f.enumerate(b.to, w, last, done*b.capture*q, taken+size, law)
			})
		}
	}
	law[taken] += stays
}

// take calls do for everything that the lines of one job may come to.
func (f forest) take(lines []Line, size int, do func(size int, prob float64)) {
	if len(lines) == 0 {
		do(size, 1)
		return
	}
	f.take(lines[1:], size, func(sum int, q float64) { do(sum, q*(1-lines[0].Need)) })
	for more, p := range lines[0].Size.Each {
		f.take(lines[1:], size+more, func(sum int, q float64) { do(sum, q*p*lines[0].Need) })
	}
}

// law is what all units take up to the end of a week and, with probability
// share, in the next one.
func (f forest) law(last int, share float64) map[int]float64 {
	sum := map[int]float64{0: 1}
	for _, u := range f.units {
		own, more := map[int]float64{}, map[int]float64{}
		f.enumerate(u, 0, last, 1-share, 0, own)
		f.enumerate(u, 0, last+1, share, 0, more)
		next := map[int]float64{}
		for had, p := range sum {
			for _, law := range []map[int]float64{own, more} {
				for takes, q := range law {
					next[had+takes] += p * q
				}
			}
		}
		sum = next
	}
	return sum
}

func TestLawsOfSmallForestsByEveryWayTheyMayGo(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := drawForest(t)
		last := rapid.IntRange(0, 2).Draw(t, "last")
		days := rapid.IntRange(0, 4).Draw(t, "days of the next week")
		span := fourWeeks.Until(fourWeeks.Weeks[last].Last + Day(days))
		law := NewTakings(f.futures(), nil, 1, f.lines, byService).Laws(span, []int{0})[0]
		want := f.law(last, float64(days)/5)
		sum := 0.0
		for value, prob := range law.Each {
			sum += prob
			if math.Abs(prob-want[value]) > 1e-10 {
				t.Fatalf("probability of %d: found %v, by enumeration %v", value, prob, want[value])
			}
		}
		if math.Abs(sum-1) > 1e-9 {
			t.Fatalf("probabilities sum to %v", sum)
		}
		for value, prob := range want {
			if prob > 1e-9 && law.At(value) == 0 {
				t.Fatalf("%d has probability %v by enumeration, found none", value, prob)
			}
		}
	})
}

func TestMeansAreArrivalsTimesWhatTheyTake(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := drawForest(t)
		futures := f.futures()
		takings := NewTakings(futures, nil, 1, f.lines, byService)
		week := rapid.IntRange(0, 3).Draw(t, "week")
		for name, span := range map[string]Span{
			"in a week": fourWeeks.InWeek(week), "up to a day": fourWeeks.Until(fourWeeks.Weeks[week].First + Day(rapid.IntRange(0, 6).Draw(t, "day"))),
		} {
			want := 0.0
			for s, lines := range f.lines {
				for _, l := range lines {
					for w := range fourWeeks.Weeks {
						want += span.Share(w) * Arrivals(futures, s, w) * l.Need * l.Size.Mean()
					}
				}
			}
			if law := takings.Laws(span, []int{0})[0]; math.Abs(law.Mean()-want) > 1e-9*(1+want) {
				t.Fatalf("%s: mean %v, the arrivals take %v", name, law.Mean(), want)
			}
		}
	})
}

func TestTheOrderOfUnitsChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := drawForest(t)
		futures := f.futures()
		for range 40 {
			futures = append(futures, f.futures()...) // more than are convolved one by one
		}
		span := fourWeeks.Until(fourWeeks.End())
		law := NewTakings(futures, nil, 1, f.lines, byService).Laws(span, []int{0})[0]
		slices.Reverse(futures)
		again := NewTakings(futures, nil, 1, f.lines, byService).Laws(span, []int{0})[0]
		for value, prob := range law.Each {
			if math.Abs(again.At(value)-prob) > 1e-12 {
				t.Fatalf("probability of %d: %v, the other way round %v", value, prob, again.At(value))
			}
		}
	})
}
