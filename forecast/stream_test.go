package forecast

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// wholeWeeks begin on a Monday.
func wholeWeeks(t testing.TB, weeks int) *Calendar {
	cal, err := NewCalendar(20_612, weeks, nil)
	if err != nil {
		t.Fatal(err)
	}
	return cal
}

// always is the kinds of jobs where service s has list s for so many weeks.
func always(weeks int) func([]int, int) []int {
	return func(services []int, _ int) []int { return slices.Repeat(services[:1], weeks) }
}

// sameLaw tells where two laws differ by more than so much.
func sameLaw(t interface{ Errorf(string, ...any) }, name string, found, want PMF, within float64) {
	high := max(found.Quantile(1), want.Quantile(1))
	for value := range high + 1 {
		if math.Abs(found.At(value)-want.At(value)) > within {
			t.Errorf("%s: probability of %d is %.15g, expected %.15g", name, value, found.At(value), want.At(value))
			return
		}
	}
}

func TestWhatAStreamBringsInASpan(t *testing.T) {
	cal, err := NewCalendar(20_614, 4, nil) // from a Wednesday on
	if err != nil {
		t.Fatal(err)
	}
	lines := [][]Line{0: {{Item: 0, Need: 1, Size: Certain(2)}}, 1: {{Item: 0, Need: .25, Size: Certain(3)}}}
	mixed := PMF{step: 1, p: []float64{.75 * .6, 0, .4, .25 * .6}}
	first := func([]int, int) []int { return []int{0, 1, 1, 1} }
	means := []float64{.4, .2, .3, .1}
	tests := []struct {
		rule   string
		stream Stream
		kinds  func([]int, int) []int
		span   Span
		want   PMF
	}{
		{"a span adds up its weeks", Stream{Services: []int{0}, Means: means, Shape: 3}, always(4), cal.Until(cal.Weeks[3].Last), Compound(1, 3, Certain(2))},
		{"a known rate gives Poisson numbers", Stream{Services: []int{0}, Means: means}, always(4), cal.Until(cal.Weeks[3].Last), Compound(1, 0, Certain(2))},
		{"a week has its own mean", Stream{Services: []int{0}, Means: means, Shape: 3}, always(4), cal.InWeek(2), Compound(.3, 3, Certain(2))},
		{"part of a week has its working days' share", Stream{Services: []int{0}, Means: means, Shape: 3}, always(4), cal.Until(20_615), Compound(.4*2/3, 3, Certain(2))},
		{"days may count by their probability", Stream{Services: []int{0}, Means: means, Shape: 3}, always(4), cal.Weighted(cal.Weeks[3].Last, func(Day) float64 { return .5 }), Compound(.5, 3, Certain(2))},
		{"kinds that change mix by their jobs", Stream{Services: []int{0}, Means: means, Shape: 3}, first, cal.Until(cal.Weeks[3].Last), Compound(1, 3, mixed)},
		{"weeks past its means bring nothing", Stream{Services: []int{0}, Means: means[:2], Shape: 3}, always(4), cal.Until(cal.Weeks[3].Last), Compound(.6, 3, Certain(2))},
		{"what is no mean is none", Stream{Services: []int{0}, Means: []float64{math.NaN(), -1, .3}, Shape: 3}, always(4), cal.Until(cal.Weeks[3].Last), Compound(.3, 3, Certain(2))},
		{"a stream without services takes nothing", Stream{Means: means, Shape: 3}, always(4), cal.Until(cal.Weeks[3].Last), PMF{}},
	}
	for _, test := range tests {
		law := NewTakings(nil, []Stream{test.stream}, 1, lines, test.kinds).Laws(test.span, []int{0})[0]
		sameLaw(t, test.rule, law, test.want, 1e-13)
	}
}

func TestStreamsAddToUnitsAndToEachOther(t *testing.T) {
	cal := wholeWeeks(t, 3)
	futures := []Future{{Rungs: []Rung{{After: Start, Services: []int{0}, Capture: 1, Done: []float64{.2, .3, 0}}}}}
	streams := []Stream{{Services: []int{0}, Means: []float64{1, 1, 1}, Shape: 2}, {Services: []int{1}, Means: []float64{.5, .5, .5}}}
	lines := [][]Line{0: {{Item: 0, Need: 1, Size: Certain(1)}, {Item: 1, Need: 1, Size: Certain(1)}}, 1: {{Item: 1, Need: .5, Size: Certain(4)}}}
	laws := NewTakings(futures, streams, 3, lines, always(3)).Laws(cal.Until(cal.Weeks[2].Last), []int{0, 1, 2})
	first := PMF{step: 1, p: []float64{.5, .5}}.Convolve(NegativeBinomial(3, 2))
	sameLaw(t, "the first item", laws[0], first, 1e-13)
	sameLaw(t, "the second, which both take", laws[1], first.Convolve(Poisson(.75).Times(4)), 1e-13)
	sameLaw(t, "the third, which none takes", laws[2], PMF{}, 0)
}

// Booked jobs, machines that run up to services on a grid of their meters, and
// walk-ins, all of which take one part now and then: every law by exact
// convolution in another program, see the file's head.
func TestAWholeShopAgainstComputedValues(t *testing.T) {
	lines := [][]Line{0: {{Need: 1, Size: Certain(1)}}, 1: {{Need: .3, Size: Certain(1)}}, 2: {{Need: .8, Size: Certain(1)}}, 3: {{Need: .5, Size: Certain(1)}}}
	for _, row := range published(t, "theory/3f_total_demand.csv") {
		weeks := int(number(t, row["t_weeks"]))
		cal := wholeWeeks(t, weeks)
		var futures []Future
		for _, job := range []struct {
			jobs, kind int
			turnsUp    float64
		}{{4, 0, .95}, {3, 1, .95}, {1, 0, .6}} {
			for range job.jobs {
				futures = append(futures, BookedJob(cal, 0, []int{job.kind}, cal.AsOf+2, job.turnsUp))
			}
		}
		for _, m := range [][4]float64{{2, .5, 10, 50}, {2, .5, 45, 50}, {.5, .1, 20, 50}, {3, .3, 5, 40}, {1, .25, 2, 100}} {
			futures = append(futures, machine(weeks, m[0], m[1], m[2], m[3]))
		}
		walkIns := Stream{Services: []int{3}, Means: slices.Repeat([]float64{1.2}, weeks), Shape: .9 * float64(weeks)}
		law := NewTakings(futures, []Stream{walkIns}, 1, lines, always(weeks)).Laws(cal.Until(cal.Weeks[weeks-1].Last), []int{0})[0]
		for name, found := range map[string]float64{"mean_total": law.Mean(), "var_total": law.Variance()} {
			if want := number(t, row[name]); math.Abs(found/want-1) > 1e-11 {
				t.Errorf("%d weeks: %s is %.13g, expected %.13g", weeks, name, found, want)
			}
		}
		for k := range 8 {
			if want := number(t, row[fmt.Sprint("p", k)]); math.Abs(law.At(k)-want) > 1e-13+1e-10*want {
				t.Errorf("%d weeks: probability of %d is %.13g, expected %.13g", weeks, k, law.At(k), want)
			}
		}
		for _, percent := range []int{50, 80, 90, 95, 99} {
			if found, want := law.Quantile(float64(percent)/100), int(number(t, row[fmt.Sprint("q", percent)])); found != want {
				t.Errorf("%d weeks: %d %% quantile is %d, expected %d", weeks, percent, found, want)
			}
		}
	}
}

// machine is a unit whose n-th service is at a reading of its own.
func machine(weeks int, shape, rate, remaining, interval float64) Future {
	var f Future
	for n := range 40 {
		r := Rung{After: n - 1, Stage: n, Services: []int{2}, Capture: 1}
		before := 0.0
		for week := range weeks {
			by := Passage(shape/rate, Hours(1/rate), Hours(remaining+float64(n)*interval), Weeks(week+1))
			r.Done, before = append(r.Done, by-before), by
		}
		if before < 1e-15 {
			break
		}
		f.Rungs = append(f.Rungs, r)
	}
	return f
}

// Walk-ins day by day: a gamma rate, of each working day a Poisson number of
// jobs, of each job its lines.
func TestStreamsAgreeWithTheSimulation(t *testing.T) {
	const replicates = 40_000
	cal, err := NewCalendar(20_614, 6, nil)
	if err != nil {
		t.Fatal(err)
	}
	stream := Stream{Services: []int{0}, Means: []float64{.5, 1, .8, .2, 0, 2}, Shape: 1.3}
	lines := [][]Line{
		0: {{Item: 0, Need: .7, Size: Around(1.4, 1)}, {Item: 1, Need: .2, Size: Around(63, 10)}},
		1: {{Item: 0, Need: 1, Size: Certain(3)}},
	}
	kinds := func([]int, int) []int { return []int{0, 0, 0, 1, 1, 1} }
	takings := NewTakings(nil, []Stream{stream}, 2, lines, kinds)
	r, gamma := rand.New(rand.NewPCG(5, 5)), newGammaSource(stream.Shape, 1/stream.Shape)
	for _, until := range []Day{cal.AsOf + 1, cal.Weeks[2].Last, cal.Weeks[5].First + 2} {
		counted := [2]map[int]float64{{}, {}}
		for range replicates {
			uses, rate := [2]int{}, gamma.draw(r)
			for day := cal.AsOf; day <= until; day++ {
				week := cal.WeekOf(day)
				all := workingDays(cal.Weeks[week].First, cal.Weeks[week].Last)
				jobs := playStream(r, rate*stream.Means[week]*float64(workingDays(day, day))/float64(all), Certain(1))
				for range jobs {
					for _, l := range lines[kinds(nil, 0)[week]] {
						if r.Float64() < l.Need {
							uses[l.Item] += l.Size.Quantile(r.Float64())
						}
					}
				}
			}
			for item, use := range uses {
				counted[item][use] += 1. / replicates
			}
		}
		for item, law := range takings.Laws(cal.Until(until), []int{0, 1}) {
			upTo := 0.0
			for value := range law.Quantile(1) + 1 {
				if upTo += counted[item][value]; math.Abs(law.CDF(value)-upTo) > 4*math.Sqrt(.25/replicates) {
					t.Errorf("item %d until %d: probability of %d or less is %.4f, in the simulation %.4f", item, until-cal.AsOf, value, law.CDF(value), upTo)
				}
			}
		}
	}
}

func TestStreamsBringWhatIsExpected(t *testing.T) {
	cal := wholeWeeks(t, 5)
	rapid.Check(t, func(t *rapid.T) {
		means := rapid.SliceOfN(rapid.Float64Range(0, 4), 5, 5).Draw(t, "means")
		shape := rapid.SampledFrom([]float64{0, .5, 3, math.Inf(1)}).Draw(t, "shape")
		size, need := rapid.IntRange(1, 5).Draw(t, "size"), rapid.Float64Range(.01, 1).Draw(t, "need")
		lines := [][]Line{{{Item: 0, Need: need, Size: Certain(size)}}}
		span := cal.Until(cal.Weeks[0].First + Day(rapid.IntRange(0, 34).Draw(t, "day")))
		law := NewTakings(nil, []Stream{{Services: []int{0}, Means: means, Shape: shape}}, 1, lines, always(5)).Laws(span, []int{0})[0]
		jobs := 0.0
		for week, mean := range means {
			jobs += span.Share(week) * mean
		}
		if want := jobs * need * float64(size); math.Abs(law.Mean()-want) > 1e-10*(want+1) {
			t.Fatalf("found mean %v, expected %v", law.Mean(), want)
		}
		more := NewTakings(nil, []Stream{{Services: []int{0}, Means: means, Shape: shape}, {Services: []int{0}, Means: means, Shape: shape}}, 1, lines, always(5)).Laws(span, []int{0})[0]
		if math.Abs(more.Variance()-2*law.Variance()) > 1e-9*(1+law.Variance()) {
			t.Fatalf("two streams have variance %v, expected twice %v", more.Variance(), law.Variance())
		}
	})
}

// Two hundred items taken by twelve streams over half a year.
func BenchmarkStreams(b *testing.B) {
	cal := wholeWeeks(b, 26)
	var streams []Stream
	var lines [][]Line
	for s := range 12 {
		streams = append(streams, Stream{Services: []int{s}, Means: slices.Repeat([]float64{.7}, 26), Shape: 8})
		var list []Line
		for item := range 200 {
			if (item+s)%3 == 0 {
				list = append(list, Line{Item: item, Need: .6, Size: Around(1.05, 1)})
			}
		}
		lines = append(lines, list)
	}
	items := make([]int, 200)
	for i := range items {
		items[i] = i
	}
	takings := NewTakings(nil, streams, 200, lines, always(26))
	b.ReportAllocs()
	for b.Loop() {
		takings.Laws(cal.Until(cal.Weeks[25].Last), items)
	}
}
