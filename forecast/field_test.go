package forecast

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"
)

// Q by steps of the shape against Q straight, see the published values that
// the second is held to.
func TestRisingShapesAgreeWithTheFunction(t *testing.T) {
	for _, x := range []float64{0.01, 0.5, 1, 3.7, 12.5, 100, 2000} {
		for _, per := range []int{1, 3, 8, 67} {
			for _, from := range []float64{0, max(0, x-6*math.Sqrt(x)), x} {
				rising, worst := newRising(from, x, per), 0.0
				for i := range 60 * per {
					worst = max(worst, math.Abs(rising.next()-upperGamma(from+float64(i)/float64(per), x)))
				}
				if worst > 1e-11 {
					t.Errorf("x %v from shape %v in steps of 1/%d: off by %.2g", x, from, per, worst)
				}
			}
		}
	}
}

// Worst where the first of four shapes would lie below 0; 1e-5 of a unit moves
// no figure that is printed.
func TestFieldsAreWithinAHundredThousandth(t *testing.T) {
	for _, cellZ := range []float64{0.25, 0.5, 0.9, 0.9615, 1} {
		for number := range 3 {
			f := newField(number*fieldLevels+1, cellZ)
			for k := range fieldLevels {
				z := float64(number*fieldLevels+1+k) * cellZ
				if z < leastField {
					continue
				}
				var mass [fieldLevels]float64
				mass[k] = 1
				for i := range 400 {
					shape := (z + 8*math.Sqrt(z) + 10) * float64(i) / 400
					out := []float64{0}
					n, passed := f.add(out, []float64{shape + 2}, 2, &mass, k, k+1)
					if n == 1 {
						passed = out[0]
					}
					if d := math.Abs(passed - upperGamma(shape, z)); d > 1e-5 {
						t.Fatalf("level %v, shape %v: off by %.2g", z, shape, d)
					}
				}
			}
		}
	}
}

// Columns read side by side pass when they do one by one.
func TestColumnsAbreastPassAsOneByOne(t *testing.T) {
	cal := calendar(t, wednesday, 26, summer())
	r := rand.New(rand.NewPCG(2, 9))
	ladder := &Ladder{FoldIn: .25, Services: []Service{{ID: 1, Every: 50, Months: 5}, {ID: 2, Every: 120, Covers: []int{1}}}}
	for _, origin := range []float64{-60, -30, 0, 11} {
		u := Unit{Ladder: ladder, HoursPerWeek: 6, Spread: 4, ReadOn: wednesday, Clocks: make([]Clock, 2), LagWeeks: 1, Capture: 1}
		p, err := newPlanner(cal, []Unit{u})
		if err != nil {
			t.Fatal(err)
		}
		w := newWalk(&u, p.ladders[ladder][0], p, resolution{2, cellShare}, new(arena))
		f := &front{first: 3, cells: w.block(6, 2, 20), tracked: true, count: make([]int, 2)}
		for range 2 {
			f.hands = append(f.hands, hand{kind: known, from: origin, limit: float64(wednesday + 90)})
		}
		for i := range f.cells.mass {
			f.cells.mass[i] = r.Float64() / 120
		}
		s := w.outlook(f)
		for _, trigger := range s.triggers {
			for _, deep := range []bool{false, true} {
				got := s.passed(trigger, deep)
				steps, shapes := oneByOne(s, trigger)
				for p := range steps {
					if d := math.Abs(total(got.steps.row(p)) - steps[p]); d > 1e-5 {
						t.Errorf("origin %v, step %d: found %.7f passed, expected %.7f", origin, p, total(got.steps.row(p)), steps[p])
					}
					if deep && math.Abs(got.shapes[p]-shapes[p]) > 1e-5*20 {
						t.Errorf("origin %v, step %d: found %.7f as shape, expected %.7f", origin, p, got.shapes[p], shapes[p])
					}
				}
			}
		}
	}
}

func oneByOne(s *step, t trigger) (steps, shapes []float64) {
	steps, shapes = make([]float64, len(s.lat.points)), make([]float64, len(s.lat.points))
	for i := range s.front.cells.rows() {
		at := s.start(i)
		for k, col := range t.cols {
			passed, _ := s.passing(at, t.level[k], s.wait(at))
			for j, q := range passed {
				mass := q * t.weight[k] * s.front.cells.row(i)[col]
				steps[at.from+j] += mass
				shapes[at.from+j] += mass * s.onTheWay(at, at.from+j)
			}
		}
	}
	return steps, shapes
}

// Tables that an earlier call left change nothing, and they do not pile up.
func TestKeptTables(t *testing.T) {
	cal := calendar(t, wednesday, 12, nil)
	units := mixedFleet(30)
	kept.Store(nil)
	fresh, err := Futures(cal, units)
	if err != nil {
		t.Fatal(err)
	}
	if kept.Load() == nil {
		t.Error("found no tables kept, expected those of one fleet")
	}
	again, err := Futures(cal, units)
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(fresh, again) {
		t.Error("tables that were kept change the result")
	}
	trimmed := false
	for i := range 1200 {
		units[i%len(units)].Spread = Hours(2 + float64(i)/1000)
		if i%len(units) < len(units)-1 {
			continue
		}
		if _, err := Futures(cal, units); err != nil {
			t.Fatal(err)
		}
		s := kept.Load()
		if s != nil && s.size.Load() > mostKept {
			t.Fatalf("found %d numbers kept, expected at most %d", s.size.Load(), mostKept)
		}
		trimmed = trimmed || s == nil
	}
	if !trimmed {
		t.Error("tables of hundreds of spreads were all kept, expected them to be given up")
	}
}
