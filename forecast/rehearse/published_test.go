package rehearse

import (
	"encoding/csv"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"circlip/forecast"
)

// published reads a table of other people's numbers; each file's head says
// whose. Rows are by column name.
func published(t *testing.T, name string) []map[string]string {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "published", "theory", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var table []map[string]string
	for _, row := range rows[1:] {
		named := make(map[string]string)
		for c, column := range rows[0] {
			named[column] = row[c]
		}
		table = append(table, named)
	}
	return table
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// R 4.2.2, forecast 8.20: the file's head.
func TestMeansAgreeWithTheReferenceLibrary(t *testing.T) {
	series := make(map[string][]float64)
	for _, row := range published(t, "1a_intermittent_series.csv") {
		series[row["series"]] = append(series[row["series"]], number(t, row["y"]))
	}
	checked := 0
	for _, row := range published(t, "1b_intermittent_results.csv") {
		if n := row["nonzero"]; n == "0" || n == "1" {
			continue // one demand alone: the library has a rule of its own
		}
		alpha := number(t, row["alpha"])
		for column, kind := range map[string]Kind{"croston": Croston, "sba": SBA, "tsb": TSB} {
			r := Method{kind, alpha}.rate()
			for _, y := range series[row["series"]] {
				r.see(y)
			}
			want := number(t, row[column])
			if math.Abs(r.mean()-want) > 1e-9*(1+want) {
				t.Errorf("%s alpha %g %s: got %.12g, want %.12g", row["series"], alpha, column, r.mean(), want)
			}
			checked++
		}
	}
	if checked < 60 {
		t.Errorf("only %d values checked", checked)
	}
}

// scipy 1.10.1: the file's head.
func TestPoissonLevelIsTheLeastThatReachesItsProbability(t *testing.T) {
	for _, row := range published(t, "4b_poisson_base_stock.csv") {
		mean, csl, below := number(t, row["m"]), number(t, row["csl"]), number(t, row["ready_rate"])
		if 1-csl < 1e-9 || csl-below < 1e-9 {
			continue // twelve printed digits tell no more
		}
		middle := 1 - (csl+below)/2
		if got := poissonLevel(mean, middle); strconv.Itoa(got) != row["S"] {
			t.Errorf("mean %g, missed %g: got %d, want %s", mean, middle, got, row["S"])
		}
	}
}

// Jobs of one piece, one a week on average, ordered up to S each Monday and a
// week under way: the share served at once is 1-(EBO(2)-EBO(1)), with the
// backorders expected of Poisson demand over two weeks and over one (4b, and
// the periodic review of 4e and 4f).
func TestReadinessOfABaseStockIsTheClosedForm(t *testing.T) {
	backorders := make(map[string]float64)
	for _, row := range published(t, "4b_poisson_base_stock.csv") {
		backorders[row["m"]+"/"+row["S"]] = number(t, row["ebo"])
	}
	const weeks, warmUp = 60000, 10
	rng := rand.New(rand.NewPCG(3, 14))
	w := World{First: first, Last: first + 7*weeks - 1, Suppliers: make([]Supplier, 1), Items: []Item{{Pack: 1, LeadDays: 7}}}
	for at := rng.ExpFloat64() * 7; at < 7*weeks; at += rng.ExpFloat64() * 7 {
		w.Jobs = append(w.Jobs, Job{Day: first + forecast.Day(at), Takes: []Take{{Qty: 1, Critical: true}}})
	}
	for s := 1; s <= 4; s++ {
		upTo := func(m Monday) []int { return []int{s - m.Position[0]} }
		r, err := Replay(w, warmUp, upTo, nil)
		if err != nil {
			t.Fatal(err)
		}
		one, ok1 := backorders["1/"+strconv.Itoa(s)]
		two, ok2 := backorders["2/"+strconv.Itoa(s)]
		if !ok1 || !ok2 {
			t.Fatalf("no published backorders at level %d", s)
		}
		want, got := 1-(two-one), r.Readiness
		// Weeks are dependent through two weeks' demand, so that the error is
		// estimated from batches of 100 weeks; four of it are allowed.
		if e := batchError(r.Weeks[warmUp:], got); math.Abs(got-want) > 4*e {
			t.Errorf("level %d: got %.5f, want %.5f within %.5f", s, got, want, 4*e)
		}
	}
}

// batchError is the standard error of a readiness as a ratio over batches.
func batchError(weeks []Week, readiness float64) float64 {
	const size = 100
	squares, jobs := 0.0, 0
	for len(weeks) >= size {
		d := 0.0
		for _, week := range weeks[:size] {
			d += float64(week.Ready) - readiness*float64(week.Jobs)
			jobs += week.Jobs
		}
		squares += d * d
		weeks = weeks[size:]
	}
	return math.Sqrt(squares) / float64(jobs)
}

func TestValueAtLiesBetweenTheEfficientPoints(t *testing.T) {
	at := func(r, v float64) Point { return Point{Readiness: r, Value: v, Result: Result{Jobs: 1000}} }
	curve := []Point{at(.9, 100), at(.85, 120), at(.99, 300)} // the second is beaten by the first
	cases := []struct {
		rule             string
		readiness, value float64
		reach            Reach
	}{
		{"a point of the curve is itself", .9, 100, Within},
		{"half way in the logarithm of unreadiness", 1 - math.Sqrt(.1*.01), 200, Within},
		{"below the curve the cheapest point", .5, 100, Below},
		{"beyond the curve nothing", .995, 0, Beyond},
	}
	for _, c := range cases {
		t.Run(c.rule, func(t *testing.T) {
			if v, reach := ValueAt(curve, c.readiness); math.Abs(v-c.value) > 1e-9 || reach != c.reach {
				t.Errorf("got %v %v", v, reach)
			}
		})
	}
}

// shop is 104 weeks of 40 items and 2,000 jobs after a year of history.
func shop() World {
	rng := rand.New(rand.NewPCG(1, 2))
	w := World{First: first, Last: first + 7*104 - 1, Suppliers: make([]Supplier, 3), History: make([][]int, 40)}
	for i := range 40 {
		w.Items = append(w.Items, Item{Supplier: i % 3, Pack: 1 + i%4, Cost: int64(500 + 100*i), LeadDays: 3 + i%12})
		for range 52 {
			w.History[i] = append(w.History[i], rng.IntN(3)*rng.IntN(3))
		}
	}
	for j := range 2000 {
		job := Job{Day: first + forecast.Day(j*728/2000)}
		for range 4 {
			job.Takes = append(job.Takes, Take{rng.IntN(40), 1 + rng.IntN(2), rng.IntN(4) > 0})
		}
		w.Jobs = append(w.Jobs, job)
	}
	return w
}

func TestKnobsReachFromLowToNearlyFullReadiness(t *testing.T) {
	for _, m := range Methods() {
		curve, err := Curve(shop(), 13, m, m.Knobs(), nil)
		if err != nil {
			t.Fatal(err)
		}
		low, high := 1.0, 0.0
		for _, p := range curve {
			low, high = min(low, p.Readiness), max(high, p.Readiness)
		}
		t.Logf("%v: %.3f to %.4f", m, low, high)
		if low > .6 || high < .999 {
			t.Errorf("%v: readiness from %.3f to %.4f, want 0.6 to 0.999", m, low, high)
		}
	}
}

func BenchmarkReplay(b *testing.B) {
	w := shop()
	policy := newBook(w, Method{TSB, .1}).policy(2)
	for b.Loop() {
		if _, err := Replay(w, 13, policy, nil); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkCurve(b *testing.B) {
	w, m := shop(), Method{TSB, .1}
	for b.Loop() {
		if _, err := Curve(w, 13, m, m.Knobs(), nil); err != nil {
			b.Fatal(err)
		}
	}
}
