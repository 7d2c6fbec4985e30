package learn

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"circlip/forecast"
)

// pastOf rides a unit day by day: the meter gains gamma hours, a service past
// its limit is done after whole geometric weeks, here with probability capture,
// and the hours restart. It lists the cycles between the jobs done here. What
// is late is seen as a workshop sees it, from the day the meter first passed the
// limit after a job here.
func pastOf(src *rand.Rand, days int, every, rate, spread, capture, come float64) []Cycle {
	var cycles []Cycle
	cycle := Cycle{Every: forecast.Hours(every), Rate: rate, Spread: forecast.Hours(spread)}
	gain := distuv.Gamma{Alpha: rate / 7 / spread, Beta: 1 / spread, Src: src}
	since, passed, bench := 0.0, -1, -1
	for day := range days {
		ridden := gain.Rand()
		since += ridden
		cycle.Hours += forecast.Hours(ridden)
		if passed < 0 && cycle.Hours >= cycle.Every {
			passed = day
		}
		if bench < 0 && since >= every {
			weeks := 0
			for src.Float64() >= come {
				weeks++
			}
			bench = day + 7*weeks
		}
		if day != bench {
			continue
		}
		since, bench = 0, -1
		if src.Float64() < capture {
			done := cycle
			done.Closed, done.WeeksLate = true, (day-passed)/7
			cycles = append(cycles, done)
			cycle.Hours, passed = 0, -1
		}
	}
	if passed >= 0 {
		cycle.WeeksLate = (days - 1 - passed) / 7
	}
	return append(cycles, cycle)
}

// Capture and lag drawn from the prior lie in the intervals as often as these
// say, over fleets of several rates and services, the meter as noisy as the book
// has it.
func TestHabitCoversTheTruth(t *testing.T) {
	src := rand.New(rand.NewPCG(2, 3))
	capture, lag := newCoverage(0.8, 0.95), newCoverage(0.8, 0.95)
	few := 0
	for range 200 {
		p := distuv.Beta{Alpha: 6, Beta: 4, Src: src}.Rand()
		come := distuv.Beta{Alpha: 11, Beta: 30, Src: src}.Rand()
		var cycles []Cycle
		for unit := range 40 {
			every := []float64{50, 100}[unit%2]
			cycles = append(cycles, pastOf(src, 2*365, every, 3+src.Float64()*6, 4, p, come)...)
		}
		h := HabitOf(cycles, 0.6, 3)
		if h.Basis != Learnt {
			few++
			continue
		}
		capture.add(p, h.CaptureInterval)
		lag.add(1/come-1, func(level float64) (float64, float64) {
			low, high := h.LagInterval(level)
			return float64(low), float64(high)
		})
	}
	if few > 0 {
		t.Errorf("%d fleets had too few cycles to learn from", few)
	}
	capture.check(t, "capture")
	lag.check(t, "lag")
}

func TestHabit(t *testing.T) {
	sure := func(n, weeks int) []Cycle {
		cycles := make([]Cycle, n)
		for i := range cycles {
			hours := forecast.Hours(50 + 8*weeks)
			cycles[i] = Cycle{Hours: hours, Every: 50, Rate: 8, Spread: 4, Closed: true, WeeksLate: weeks}
		}
		return cycles
	}
	open := func(n int, hours forecast.Hours) []Cycle {
		cycles := make([]Cycle, n)
		for i := range cycles {
			cycles[i] = Cycle{Hours: hours, Every: 50, Rate: 8, Spread: 4, WeeksLate: -1}
		}
		return cycles
	}
	tests := map[string]struct {
		cycles       []Cycle
		capture, lag float64 // of the book
		basis        Basis
		low, high    float64 // that the capture lies between
		soon, late   forecast.Weeks
	}{
		"nothing seen":                  {nil, 0.6, 3, FromBook, 0.6, 0.6, 3, 3},
		"nothing due yet":               {open(100, 30), 0.6, 3, FromBook, 0.6, 0.6, 3, 3},
		"one job":                       {sure(1, 1), 0.6, 3, TooFew, 0.6, 0.6, 3, 3},
		"29 jobs":                       {sure(29, 1), 0.6, 3, TooFew, 0.6, 0.6, 3, 3},
		"all here, each after a week":   {sure(200, 1), 0.6, 3, Learnt, 0.96, 0.99, 1, 1.2},
		"all here at once, as foreseen": {sure(200, 0), 1, 0, Learnt, 0.998, 1, 0, 0.01},
		"nobody has come back for long": {open(200, 420), 0.6, 3, Learnt, 0, 0.05, 1, 6},
		"no rate, no limit, no numbers": {[]Cycle{{Hours: 50, Every: 50}, {Hours: 50, Rate: 3}, {Hours: forecast.Hours(math.NaN()), Every: 50, Rate: 3}}, 0.6, 3, FromBook, 0.6, 0.6, 3, 3},
		"a meter gone wrong":            {[]Cycle{{Hours: 1e12, Every: 50, Rate: 8, Closed: true}}, 0.6, 3, FromBook, 0.6, 0.6, 3, 3},
		"a book without numbers":        {nil, math.NaN(), math.Inf(1), FromBook, 0, 0, 0, 0},
	}
	for name, tt := range tests {
		t.Run(name, func(t *testing.T) {
			h := HabitOf(tt.cycles, tt.capture, forecast.Weeks(tt.lag))
			if h.Basis != tt.basis {
				t.Errorf("basis %v, want %v: %+v", h.Basis, tt.basis, h)
			}
			if !(h.Capture >= tt.low && h.Capture <= tt.high && h.Lag >= tt.soon && h.Lag <= tt.late) {
				t.Errorf("capture %v and lag %v, want from %v to %v and %v to %v", h.Capture, h.Lag, tt.low, tt.high, tt.soon, tt.late)
			}
			if got := h.Captured + h.Open + h.NotDue + h.LeftOut; got != len(tt.cycles) {
				t.Errorf("%d cycles told of, want %d", got, len(tt.cycles))
			}
		})
	}
}

// Where every cycle holds one service for certain the posterior is known in
// closed form: a Beta law of the capture, and of the weekly chance to come.
func TestHabitAgainstConjugate(t *testing.T) {
	var cycles []Cycle
	weeks := 0
	for i := range 60 {
		late := i % 7
		weeks += late
		cycles = append(cycles, Cycle{Hours: forecast.Hours(50 + late), Every: 50, Rate: 1, Spread: 4, Closed: true, WeeksLate: late})
	}
	h := HabitOf(cycles, 0.6, 3)
	if want := (6.0 + 60) / 70; !near(h.Capture, want, 1e-4) {
		t.Errorf("capture %v, want %v", h.Capture, want)
	}
	if want := float64(30+weeks) / 70; !near(float64(h.Lag), want, 1e-3*want) {
		t.Errorf("lag %v, want %v", h.Lag, want)
	}
	share := Share{PriorMean: 0.6, PriorWeight: 10, Yes: 60}
	low, high := h.CaptureInterval(0.9)
	wantLow, wantHigh := share.Interval(0.9)
	if !near(low, wantLow, 2e-3) || !near(high, wantHigh, 2e-3) {
		t.Errorf("interval %v to %v, want %v to %v", low, high, wantLow, wantHigh)
	}
}

func BenchmarkHabitOf(b *testing.B) {
	src := rand.New(rand.NewPCG(5, 5))
	var cycles []Cycle
	for len(cycles) < 20000 {
		cycles = append(cycles, pastOf(src, 5*365, 50, 3+src.Float64()*6, 4, 0.6, 0.25)...)
	}
	b.ResetTimer()
	for b.Loop() {
		HabitOf(cycles, 0.6, 3)
	}
}
