package forecast_test

import (
	"encoding/csv"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"strconv"
	"strings"
	"testing"
	"time"

	. "circlip/forecast"
)

// fourWeeks begin on a Wednesday: three working days are left in the first.
var fourWeeks = func() *Calendar {
	cal, err := NewCalendar(Day(time.Date(2026, time.June, 10, 0, 0, 0, 0, time.UTC).Unix()/86400), 4, nil)
	if err != nil {
		panic(err)
	}
	return cal
}()

// job is a rung of service 1 that leads from one stage to another.
func job(after, stage int, done ...float64) Rung {
	return Rung{After: after, Stage: stage, Services: []int{1}, Capture: 1, Done: append(done, make([]float64, 4-len(done))...)}
}

func captured(share float64, r Rung) Rung { r.Capture = share; return r }

func doing(services []int, r Rung) Rung { r.Services = services; return r }

// one is a line of item 0 that every job takes so many of.
func one(size int) Line { return Line{Need: 1, Size: Certain(size)} }

// byService is the kinds of jobs where service s has list s for ever.
func byService(services []int, _ int) []int {
	kinds := make([]int, 4)
	for week := range kinds {
		kinds[week] = services[0]
	}
	return kinds
}

// isLaw compares a law with the probabilities of 0, 1, 2, …
func isLaw(t *testing.T, law PMF, want ...float64) {
	t.Helper()
	for value := range max(len(want), law.Quantile(1)+1) {
		expected := 0.0
		if value < len(want) {
			expected = want[value]
		}
		if math.Abs(law.At(value)-expected) > 1e-12 {
			t.Errorf("probability of %d: found %v, expected %v", value, law.At(value), expected)
		}
	}
}

func TestLawsOfOneUnit(t *testing.T) {
	all := fourWeeks.Until(fourWeeks.Weeks[3].Last)
	lines := [][]Line{1: {one(1)}, 2: {one(3)}}
	tests := []struct {
		rule  string
		rungs []Rung
		span  Span
		want  []float64
	}{
		{"no job takes nothing", nil, all, []float64{1}},
		{"a job may come in any of the weeks", []Rung{job(Start, 0, .1, .2, .3)}, all, []float64{.4, .6}},
		{"a job that is done elsewhere takes nothing", []Rung{captured(.6, job(Start, 0, .5))}, all, []float64{.7, .3}},
		{"jobs that follow the same stage exclude each other", []Rung{job(Start, 0, .5), doing([]int{2}, job(Start, 1, .25))}, all, []float64{.25, .5, 0, .25}},
		{"a job comes only after the one that leads to it", []Rung{job(Start, 0, .5), job(0, 1, 0, .25)}, all, []float64{.5, .25, .25}},
		{"what was done elsewhere leads on all the same", []Rung{captured(.5, job(Start, 0, .5)), job(0, 1, 0, .25)}, all,
			[]float64{.5 + .125, .125 + .125, .125}},
		{"two ways to one stage lead on together", []Rung{job(Start, 0, .4), doing([]int{2}, job(Start, 0, .2)), job(0, 1, 0, 0, .3)}, all,
			[]float64{.4, .2, .2, .1, .1}},
		{"a rung without services takes nothing and leads on", []Rung{doing(nil, job(Start, 0, .5)), job(0, 1, 0, .25)}, all, []float64{.75, .25}},
		{"of two that lead on, each has followers of its own",
			[]Rung{job(Start, 0, .5), doing([]int{2}, job(Start, 1, .3)), job(0, 2, 0, .2), job(1, 3, 0, .1)}, all, []float64{.2, .3, .2, .2, .1}},
		{"only what is done by the end of the span counts", []Rung{job(Start, 0, .5), job(0, 1, 0, .25)}, fourWeeks.Until(fourWeeks.Weeks[0].Last), []float64{.5, .5}},
		{"of a week's arrivals the share of its working days counts", []Rung{job(Start, 0, .3, .5)}, fourWeeks.Until(fourWeeks.Weeks[1].First + 1),
			[]float64{1 - .3 - .2, .3 + .2}},
		{"in the first week a job may follow another", []Rung{job(Start, 0, .5), job(0, 1, .25)}, fourWeeks.InWeek(0), []float64{.5, .25, .25}},
		{"in a later week a unit brings one job at most", []Rung{job(Start, 0, .5, .5), job(0, 1, 0, .25)}, fourWeeks.InWeek(1), []float64{.25, .75}},
		{"unless more than one is expected of it", []Rung{job(Start, 0, 0, .8), job(0, 1, 0, .5)}, fourWeeks.InWeek(1), []float64{.1, .5, .4}},
		{"beyond the horizon nothing is known", []Rung{job(Start, 0, .1, .1, .1, .1)}, fourWeeks.Until(fourWeeks.End() + 100), []float64{.6, .4}},
		{"a stage that is left a little oftener than reached is left for certain", []Rung{job(Start, 0, .5), job(0, 1, 0, .5000001)}, all, []float64{.5, 0, .5}},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			takings := NewTakings([]Future{{Rungs: test.rungs}}, nil, 1, lines, byService)
			isLaw(t, takings.Laws(test.span, []int{0})[0], test.want...)
		})
	}
}

func TestLawsOfLines(t *testing.T) {
	tests := []struct {
		rule  string
		lines []Line
		want  []float64
	}{
		{"a line is taken with its need", []Line{{Need: .25, Size: Certain(2)}}, []float64{.75, 0, .25}},
		{"waste is now and then one more", []Line{{Need: 1, Size: Around(1.25, 1)}}, []float64{0, .75, .25}},
		{"two lines of one item are taken each by itself", []Line{{Need: .5, Size: Certain(1)}, {Need: .5, Size: Certain(2)}}, []float64{.25, .25, .25, .25}},
		{"a line that is never needed takes nothing", []Line{{Need: 0, Size: Certain(9)}}, []float64{1}},
		{"a need that is no number is none", []Line{{Need: math.NaN(), Size: Certain(9)}}, []float64{1}},
		{"a line of another item is not this one's", []Line{one(1), {Item: 1, Need: 1, Size: Certain(5)}}, []float64{0, 1}},
		{"no line takes nothing", nil, []float64{1}},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			takings := NewTakings([]Future{{Rungs: []Rung{job(Start, 0, 1)}}}, nil, 2, [][]Line{1: test.lines}, byService)
			isLaw(t, takings.Laws(fourWeeks.InWeek(0), []int{0})[0], test.want...)
		})
	}
}

// A bill of materials that changes in the third week, from one piece to three.
func TestEachWeekTakesItsOwnKind(t *testing.T) {
	lines := [][]Line{1: {one(1)}, 2: {one(3)}}
	changing := func([]int, int) []int { return []int{1, 1, 2, 2} }
	takings := NewTakings([]Future{{Rungs: []Rung{job(Start, 0, .1, .2, .3, .1), job(0, 1, 0, 0, .2)}}}, nil, 1, lines, changing)
	law := func(s Span) PMF { return takings.Laws(s, []int{0})[0] }
	isLaw(t, law(fourWeeks.InWeek(1)), .8, .2)
	isLaw(t, law(fourWeeks.InWeek(3)), .9, 0, 0, .1)
	isLaw(t, law(fourWeeks.Until(fourWeeks.Weeks[1].Last)), .7, .3)
	// By the end .7 have come once, three sevenths of them while the bill took
	// one; of all of them two sevenths come again and take three.
	isLaw(t, law(fourWeeks.Until(fourWeeks.Weeks[3].Last)), .3, .3*5/7, 0, .4*5/7, .3*2/7, 0, .4*2/7)
}

func TestLawsAnswerInTheOrderAsked(t *testing.T) {
	lines := [][]Line{1: {{Item: 0, Need: 1, Size: Certain(1)}, {Item: 2, Need: 1, Size: Certain(2)}}}
	takings := NewTakings([]Future{{Rungs: []Rung{job(Start, 0, 1)}}}, nil, 3, lines, byService)
	laws := takings.Laws(fourWeeks.InWeek(0), []int{2, 1, 0, 2})
	for i, want := range []int{2, 0, 1, 2} {
		isLaw(t, laws[i], append(make([]float64, want), 1)...)
	}
	if none := takings.Laws(fourWeeks.InWeek(0), nil); len(none) != 0 {
		t.Errorf("found %d laws, expected none where none is asked for", len(none))
	}
}

// Units that each bring one job at most make the Poisson-binomial law; the file
// has it from exact fractions.
func TestUnitsApartMakeThePoissonBinomialLaw(t *testing.T) {
	probs, rows := poissonBinomials(t)
	for set, list := range probs {
		t.Run(set, func(t *testing.T) {
			var futures []Future
			for _, p := range list {
				futures = append(futures, Future{Rungs: []Rung{job(Start, 0, p/2, p/2)}})
			}
			law := NewTakings(futures, nil, 1, [][]Line{1: {one(1)}}, byService).Laws(fourWeeks.Until(fourWeeks.End()), []int{0})[0]
			for _, row := range rows[set] {
				if math.Abs(law.At(row.k)-row.pmf) > 1e-12 || math.Abs(law.CDF(row.k)-row.cdf) > 1e-12 {
					t.Errorf("%d: found %v and %v up to it, expected %v and %v", row.k, law.At(row.k), law.CDF(row.k), row.pmf, row.cdf)
				}
				if math.Abs(law.Mean()-row.mean) > 1e-12 || math.Abs(law.Variance()-row.variance) > 1e-12 {
					t.Errorf("mean %v and variance %v, expected %v and %v", law.Mean(), law.Variance(), row.mean, row.variance)
				}
			}
		})
	}
}

type poissonBinomialRow struct {
	k                        int
	pmf, cdf, mean, variance float64
}

// poissonBinomials reads the sets of probabilities and their laws.
func poissonBinomials(t *testing.T) (probs map[string][]float64, rows map[string][]poissonBinomialRow) {
	text, err := os.ReadFile("../testdata/published/theory/3a_poisson_binomial.csv")
	if err != nil {
		t.Fatal(err)
	}
	probs, rows = map[string][]float64{}, map[string][]poissonBinomialRow{}
	var table []string
	for line := range strings.Lines(string(text)) {
		name, list, is := strings.Cut(strings.TrimPrefix(line, "# "), ": ")
		switch {
		case line[0] != '#':
			table = append(table, line)
		case is && !strings.Contains(name, " "):
			for _, fraction := range strings.Fields(list) {
				over, under, _ := strings.Cut(fraction+"/1", "/")
				under, _, _ = strings.Cut(under, "/")
				probs[name] = append(probs[name], number(t, over)/number(t, under))
			}
		}
	}
	records, err := csv.NewReader(strings.NewReader(strings.Join(table[1:], ""))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range records {
		rows[r[0]] = append(rows[r[0]], poissonBinomialRow{int(number(t, r[1])), number(t, r[2]), number(t, r[3]), number(t, r[5]), number(t, r[6])})
	}
	if len(probs) != 6 || len(rows) != 6 {
		t.Fatalf("found %d sets of probabilities and %d of laws, expected 6 of each", len(probs), len(rows))
	}
	return probs, rows
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func TestTheNumberOfProcessorsChangesNothing(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 1))
	var futures []Future
	for range 300 {
		futures = append(futures, Future{Rungs: []Rung{job(Start, 0, r.Float64()/3, r.Float64()/3), job(0, 1, 0, 0, r.Float64()/9)}})
	}
	lines := [][]Line{1: {{Item: 0, Need: 1, Size: Around(2.3, 1)}, {Item: 1, Need: .3, Size: Certain(4)}}}
	laws := func(processors int) []PMF {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(processors))
		return NewTakings(futures, nil, 2, lines, byService).Laws(fourWeeks.Until(fourWeeks.End()), []int{0, 1})
	}
	one, four := laws(1), laws(4)
	for i := range one {
		for value, prob := range one[i].Each {
			if four[i].At(value) != prob {
				t.Fatalf("item %d, value %d: %v on one processor, %v on four", i, value, prob, four[i].At(value))
			}
		}
	}
}
