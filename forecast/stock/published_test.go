package stock_test

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"

	"circlip/forecast/stock"
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
	if len(table) == 0 {
		t.Fatalf("%s holds no rows", name)
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

func whole(t *testing.T, text string) int {
	t.Helper()
	n, err := strconv.Atoi(text)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func wholes(t *testing.T, text string) []int {
	t.Helper()
	var list []int
	for _, f := range strings.Fields(text) {
		list = append(list, whole(t, f))
	}
	return list
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s: got %.15g, want %.15g within %g", what, got, want, tolerance)
	}
}

// poisson is scenarios of one count, up to where nothing is left.
func poisson(mean float64) []stock.Scenario {
	law := distuv.Poisson{Lambda: mean}
	var list []stock.Scenario
	for n := 0; float64(n) < mean || law.Prob(float64(n)) > 1e-18; n++ {
		list = append(list, stock.Scenario{Prob: law.Prob(float64(n)), Counts: []int{n}})
	}
	return list
}

// oneItem is one job type that takes one item by a size law.
func oneItem(sizes []stock.Size) stock.Problem {
	return stock.Problem{
		Windows: 1,
		Items:   []stock.Item{{Pack: 1, Cost: 100}},
		Types:   []stock.JobType{{Lines: []stock.Line{{Item: 0, Sizes: sizes, Need: 1, Critical: true}}}},
	}
}

func given(t *testing.T, p stock.Problem, list []stock.Scenario) *stock.Joint {
	t.Helper()
	j, err := stock.Given(p, list)
	if err != nil {
		t.Fatal(err)
	}
	return j
}

// needs is one job type that takes one of each item with its own probability.
func needs(p ...float64) stock.Problem {
	problem := stock.Problem{Windows: 1, Types: make([]stock.JobType, 1)}
	for i, need := range p {
		problem.Items = append(problem.Items, stock.Item{Pack: 1, Cost: 100})
		problem.Types[0].Lines = append(problem.Types[0].Lines,
			stock.Line{Item: i, Sizes: stock.Fixed(1), Need: need, Critical: true})
	}
	return problem
}

// The repair kit of a single job, all 32 kits (Smith, Chambers & Shlifer
// 1980): its job fill is our readiness, and the cheapest kit for each fill is
// found. 4h_repair_kit_single.csv.
func TestSingleJobKits(t *testing.T) {
	rows := published(t, "4h_repair_kit_single.csv")
	p := needs(.3, .2, .1, .05, .02)
	for i, hold := range []int64{200, 500, 100, 400, 50} {
		p.Items[i].Cost = hold
	}
	p.Events = []stock.Event{{{Type: 0, Window: 0, Prob: 1}}}
	j, err := stock.New(p, stock.Effort{})
	if err != nil {
		t.Fatal(err)
	}
	curve := j.Walk(nil)
	best, cheapest := math.Inf(1), math.Inf(1)
	for _, row := range rows {
		levels := make([]int, 5)
		if row["kit"] != "none" {
			for part := range strings.SplitSeq(row["kit"], "+") {
				levels[whole(t, part)-1] = 1
			}
		}
		fill := number(t, row["job_fill"])
		near(t, "kit "+row["kit"], j.Readiness(levels).Workshop, fill, 1e-12)

		found := curve.Reach(fill)
		if hold := number(t, row["hold"]); float64(found.Added)/100 > hold {
			t.Errorf("kit %s: fill %v takes %d, and the kit costs %v", row["kit"], fill, found.Added, hold)
		}
		best = min(best, float64(found.Added)/100+30*(1-found.Readiness))
		cheapest = min(cheapest, number(t, row["cost"]))
	}
	near(t, "least cost of a kit and its broken jobs", best, cheapest, 1e-9)
}

// A tour of n jobs in a row whose incomplete jobs take what is there (Teunter
// 2006): its last job's fill is our readiness with n jobs, and its job fill
// the mean over 1 to n. Where an incomplete job takes nothing, the fill is
// higher, never lower. 4i_repair_kit_tour.csv.
func TestToursOfJobs(t *testing.T) {
	p := []float64{.3, .2, .1}
	for _, row := range published(t, "4i_repair_kit_tour.csv") {
		levels, n := wholes(t, row["stock"]), whole(t, row["n"])
		fills := tourWithoutTaking(p, levels, n)
		total := 0.0
		for jobs := 1; jobs <= n; jobs++ {
			j := given(t, needs(p...), []stock.Scenario{{Prob: 1, Counts: []int{jobs}}})
			ready := j.Readiness(levels).Workshop
			total += ready
			name := row["stock"] + " " + row["mode"] + " job " + strconv.Itoa(jobs)
			want := number(t, row["fill_"+strconv.Itoa(jobs)])
			if row["mode"] == "partial" {
				near(t, name, ready, want, 1e-12)
				continue
			}
			near(t, name+" by the recursion", fills[jobs-1], want, 1e-12)
			if ready > want+1e-12 {
				t.Errorf("%s: ready %v above %v", name, ready, want)
			}
		}
		if row["mode"] == "partial" {
			near(t, row["stock"]+" in the mean", total/float64(n), number(t, row["job_fill"]), 1e-12)
		}
	}
}

// tourWithoutTaking is the fill of each job where an incomplete one takes
// nothing: over all needs of all jobs.
func tourWithoutTaking(p []float64, levels []int, n int) []float64 {
	states := map[[3]int]float64{{levels[0], levels[1], levels[2]}: 1}
	var fills []float64
	for range n {
		next, fill := map[[3]int]float64{}, 0.0
		for left, prob := range states {
			for needed := range 8 {
				q, after, complete := prob, left, true
				for i := range 3 {
					if needed>>i&1 == 0 {
						q *= 1 - p[i]
						continue
					}
					q *= p[i]
					after[i]--
					complete = complete && after[i] >= 0
				}
				if !complete {
					after = left
				} else {
					fill += q
				}
				next[after] += q
			}
		}
		states, fills = next, append(fills, fill)
	}
	return fills
}

// Three Poisson streams of jobs that share four parts (Song 1998): the exact fill,
// and the product and the smallest of the parts' own. 4j_order_fill_rate.csv.
func TestJobsThatShareParts(t *testing.T) {
	takes := [3][4]int{{1, 1, 0, 0}, {1, 0, 2, 0}, {0, 1, 1, 1}}
	p := stock.Problem{Windows: 1, Items: make([]stock.Item, 4), Types: make([]stock.JobType, 3)}
	for i := range p.Items {
		p.Items[i] = stock.Item{Pack: 1, Cost: 100}
	}
	for j, row := range takes {
		for i, qty := range row {
			if qty > 0 {
				p.Types[j].Lines = append(p.Types[j].Lines, stock.Line{Item: i, Sizes: stock.Fixed(qty), Need: 1, Critical: true})
			}
		}
	}
	for j, mean := range []float64{1.2, 0.8, 0.5} {
		p.Streams = append(p.Streams, stock.Stream{Type: j, Means: []float64{mean}})
	}
	j, err := stock.New(p, stock.Effort{})
	if err != nil {
		t.Fatal(err)
	}
	if _, exact := j.Scenarios(); !exact {
		t.Fatal("expected all counts to be gone through")
	}
	for _, row := range published(t, "4j_order_fill_rate.csv") {
		got := j.Readiness(wholes(t, row["S"])).Types[whole(t, row["type"])-1]
		name := "levels " + row["S"] + " type " + row["type"]
		near(t, name, got.Ready, number(t, row["exact"]), 1e-11)
		near(t, name+" product", got.Product, number(t, row["product_lower"]), 1e-11)
		near(t, name+" smallest", got.Smallest, number(t, row["min_upper"]), 1e-11)
	}
}

// Base stock against Poisson demand: the ready rate is the readiness of jobs
// that take one, the cycle service level the availability, and the level for
// that availability the base stock. 4b_poisson_base_stock.csv.
func TestPoissonBaseStock(t *testing.T) {
	joints := map[string]*stock.Joint{}
	for _, row := range published(t, "4b_poisson_base_stock.csv") {
		if joints[row["m"]] == nil {
			joints[row["m"]] = given(t, oneItem(stock.Fixed(1)), poisson(number(t, row["m"])))
		}
		j, level, csl := joints[row["m"]], whole(t, row["S"]), number(t, row["csl"])
		name := "mean " + row["m"] + " level " + row["S"]
		near(t, name+" ready", j.Readiness([]int{level}).Workshop, number(t, row["ready_rate"]), 1e-11)
		near(t, name+" availability", j.Availability(0, level), csl, 1e-11)
		if csl < 1-1e-9 { // above, neighbouring levels are too alike to tell
			if got := j.LevelFor(0, csl); got != level {
				t.Errorf("%s: level for %v is %d", name, csl, got)
			}
		}
	}
}

// The newsstand of a textbook (Nahmias, Production and Operations Analysis)
// and others: the level for the critical ratio, which is how items are held
// that no job waits for. Normal demand is told in hundredths.
// 4c_newsvendor.csv.
func TestNewsvendorLevels(t *testing.T) {
	for _, row := range published(t, "4c_newsvendor.csv") {
		f := strings.Fields(row["params"])
		of := func(name string) float64 { return number(t, f[slices.Index(f, name)+1]) }
		ratio := of("cu") / (of("cu") + of("co"))
		var list []stock.Scenario
		step, tolerance := 1.0, 0.0
		switch row["name"] {
		case "newsvendor_poisson":
			list = poisson(of("m"))
		case "newsvendor_nb":
			list = negativeBinomial(of("m"), of("r"))
		default:
			step, tolerance = 0.01, 0.01
			list = normal(of("mu"), of("sd"), step)
		}
		got := float64(given(t, oneItem(stock.Fixed(1)), list).LevelFor(0, ratio)) * step
		near(t, row["name"]+" "+row["params"], got, number(t, row["Q"]), tolerance)
	}
	textbook := given(t, oneItem(stock.Fixed(1)), normal(11.73, 4.74, 0.01))
	if got := textbook.LevelFor(0, 0.77); math.Round(float64(got)/100) != 15 {
		t.Errorf("textbook's newsstand: %d hundredths, and the book says 15", got)
	}
}

// Periodic review with normal demand: at the order-up-to level S of the
// protection time L + R the cycle service level is reached, and not one step
// below. 4e_periodic_review_normal.csv.
func TestPeriodicReviewLevels(t *testing.T) {
	for _, row := range published(t, "4e_periodic_review_normal.csv") {
		weeks := number(t, row["L"]) + number(t, row["R"])
		j := given(t, oneItem(stock.Fixed(1)), normal(number(t, row["mu"])*weeks, number(t, row["sd"])*math.Sqrt(weeks), 0.01))
		got := float64(j.LevelFor(0, number(t, row["csl"]))) / 100
		// Demand below zero, which the normal law has and a workshop has not,
		// is counted as none; it is below any of these levels.
		near(t, "level for "+row["csl"], got, number(t, row["S"]), 0.0101)
	}
}

// Compound Poisson demand, order-up-to S: the cycle service level is the
// availability, and the complete-order fill the readiness of jobs that take so
// many. 4f_compound_poisson_order_up_to.csv.
func TestCompoundPoissonLevels(t *testing.T) {
	sizes := map[string][]stock.Size{
		"A": {{Qty: 1, Prob: .4}, {Qty: 2, Prob: .3}, {Qty: 3, Prob: .2}, {Qty: 4, Prob: .1}},
		"B": {{Qty: 1, Prob: .5}, {Qty: 2, Prob: .25}, {Qty: 3, Prob: .125}, {Qty: 4, Prob: .075}, {Qty: 5, Prob: .05}},
		"U": stock.Fixed(1),
	}
	joints := map[string]*stock.Joint{}
	for _, row := range published(t, "4f_compound_poisson_order_up_to.csv") {
		key := row["lam"] + row["sizes"] + row["L"] + row["R"]
		if joints[key] == nil {
			mean := number(t, row["lam"]) * (number(t, row["L"]) + number(t, row["R"]))
			joints[key] = given(t, oneItem(sizes[row["sizes"]]), poisson(mean))
		}
		j, level := joints[key], whole(t, row["S"])
		near(t, key+" availability at "+row["S"], j.Availability(0, level), number(t, row["csl"]), 1e-11)
		if fill := row["complete_order_fill"]; fill != "" {
			near(t, key+" readiness at "+row["S"], j.Readiness([]int{level}).Workshop, number(t, fill), 1e-11)
		}
	}
}

// Marginal analysis of expected backorders (Sherbrooke 1968): its greedy steps
// are points of our walk, in a problem whose share of jobs not ready is the
// backorders: for each item and k, one job that takes k + 1, as likely as the
// demand is above k. 4g_metric_marginal.csv.
func TestMarginalAnalysis(t *testing.T) {
	examples := map[string]struct {
		means []float64
		costs []int64
	}{
		"ex1": {[]float64{1, 4}, []int64{5, 1}},
		"ex2": {[]float64{.2, .8, 1.5, 3, .05}, []int64{40, 12, 6, 2, 150}},
	}
	points := map[string]map[int64]float64{} // backorders by cost
	for name, ex := range examples {
		p, list, all := backorders(ex.means, ex.costs)
		points[name] = map[int64]float64{}
		for _, point := range given(t, p, list).Walk(nil).Points(0) {
			points[name][point.Value] = all * (1 - point.Readiness)
		}
	}
	for _, row := range published(t, "4g_metric_marginal.csv") {
		cost := int64(number(t, row["cost"]))
		got, found := points[row["example"]][cost]
		if !found {
			t.Errorf("%s step %s: no point of the walk costs %d", row["example"], row["step"], cost)
			continue
		}
		near(t, row["example"]+" step "+row["step"], got, number(t, row["total_ebo"]), 2e-9)
	}
}

func backorders(means []float64, costs []int64) (stock.Problem, []stock.Scenario, float64) {
	p := stock.Problem{Windows: 1}
	var list []stock.Scenario
	all := 0.0
	for i, mean := range means {
		p.Items = append(p.Items, stock.Item{Pack: 1, Cost: costs[i]})
		law := distuv.Poisson{Lambda: mean}
		for k := range 60 {
			p.Types = append(p.Types, stock.JobType{Lines: []stock.Line{{Item: i, Sizes: stock.Fixed(k + 1), Need: 1, Critical: true}}})
			above := 1 - law.CDF(float64(k))
			list = append(list, stock.Scenario{Prob: above})
			all += above
		}
	}
	for s := range list {
		list[s].Counts = make([]int, len(p.Types))
		list[s].Counts[s] = 1
	}
	return p, list, all
}
