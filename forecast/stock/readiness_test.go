package stock_test

import (
	"math"
	"reflect"
	"runtime"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"circlip/forecast/stock"
)

// tiny draws a problem small enough to go through every outcome of it.
func tiny(t *rapid.T) stock.Problem {
	p := stock.Problem{Windows: rapid.IntRange(1, 3).Draw(t, "windows")}
	window := rapid.IntRange(0, p.Windows-1)
	for range rapid.IntRange(1, 3).Draw(t, "items") {
		p.Items = append(p.Items, stock.Item{Window: window.Draw(t, "window"), Pack: rapid.IntRange(1, 2).Draw(t, "pack"), Cost: int64(rapid.IntRange(0, 900).Draw(t, "cost"))})
	}
	share := rapid.SampledFrom([]float64{0, 0.02, 0.3, 0.5, 0.8, 1})
	for range rapid.IntRange(1, 3).Draw(t, "types") {
		var typ stock.JobType
		for range rapid.IntRange(0, 2).Draw(t, "lines") {
			typ.Lines = append(typ.Lines, stock.Line{
				Item:     rapid.IntRange(0, len(p.Items)-1).Draw(t, "item"),
				Sizes:    stock.Spread(rapid.SampledFrom([]float64{0, 1, 1.02, 2, 2.5, 4}).Draw(t, "size")),
				Need:     share.Draw(t, "need"),
				Critical: rapid.IntRange(0, 3).Draw(t, "critical") > 0,
			})
		}
		p.Types = append(p.Types, typ)
	}
	for range rapid.IntRange(0, 3).Draw(t, "events") {
		var event stock.Event
		left := 1.0
		for range rapid.IntRange(1, 2).Draw(t, "outcomes") {
			prob := left * share.Draw(t, "prob")
			left -= prob
			o := stock.Outcome{Type: rapid.IntRange(0, len(p.Types)-1).Draw(t, "type"), Window: window.Draw(t, "arrives"), Prob: prob}
			for range rapid.SampledFrom([]int{0, 0, 1}).Draw(t, "others") {
				o.Then = append(o.Then, stock.Job{Type: rapid.IntRange(0, len(p.Types)-1).Draw(t, "type"), Window: window.Draw(t, "arrives")})
			}
			event = append(event, o)
		}
		p.Events = append(p.Events, event)
	}
	return p
}

func levelsFor(t *rapid.T, p stock.Problem) []int {
	return rapid.SliceOfN(rapid.IntRange(-1, 7), len(p.Items), len(p.Items)).Draw(t, "levels")
}

// job is one that came, with what it takes.
type job struct {
	typ, window int
	takes       []int  // by item
	waits       []bool // by item: a critical line takes part
}

// everyOutcome goes through all that events may bring and jobs may take, and
// counts the jobs, the ready ones, and how often each item is enough.
func everyOutcome(p stock.Problem, levels []int) (jobs, ready float64, enough []float64) {
	enough = make([]float64, len(p.Items))
	var came []job
	judge := func(prob float64) {
		demand := make([]int, len(p.Items))
		for _, j := range came {
			for i, qty := range j.takes {
				if j.window <= p.Items[i].Window {
					demand[i] += qty
				}
			}
		}
		for i := range p.Items {
			if demand[i] <= levels[i] {
				enough[i] += prob
			}
		}
		for _, j := range came {
			if j.window > lastWindow(p, j.typ) {
				continue
			}
			jobs += prob
			isReady := true
			for i, waits := range j.waits {
				isReady = isReady && (!waits || demand[i] <= levels[i])
			}
			if isReady {
				ready += prob
			}
		}
	}
	var takeLine func(e, at, line int, prob float64)
	var happen func(e int, prob float64)
	takeLine = func(e, at, line int, prob float64) {
		j := &came[at]
		if line == len(p.Types[j.typ].Lines) {
			if at+1 < len(came) {
				takeLine(e, at+1, 0, prob)
				return
			}
			happen(e+1, prob)
			return
		}
		l := p.Types[j.typ].Lines[line]
		if l.Need < 1 {
			takeLine(e, at, line+1, prob*(1-l.Need))
		}
		for _, s := range l.Sizes {
			if q := prob * l.Need * s.Prob; q > 0 {
				j := &came[at]
				waited := j.waits[l.Item]
				j.takes[l.Item] += s.Qty
				j.waits[l.Item] = waited || l.Critical && s.Qty > 0
				takeLine(e, at, line+1, q)
				j = &came[at]
				j.takes[l.Item] -= s.Qty
				j.waits[l.Item] = waited
			}
		}
	}
	happen = func(e int, prob float64) {
		if e == len(p.Events) {
			judge(prob)
			return
		}
		none := 1.0
		for _, o := range p.Events[e] {
			none -= o.Prob
			if o.Prob > 0 {
				before := len(came)
				came = append(came, job{o.Type, o.Window, make([]int, len(p.Items)), make([]bool, len(p.Items))})
				for _, then := range o.Then {
					came = append(came, job{then.Type, then.Window, make([]int, len(p.Items)), make([]bool, len(p.Items))})
				}
				takeLine(e, before, 0, prob*o.Prob)
				came = came[:before]
			}
		}
		if none > 1e-12 {
			happen(e+1, prob*none)
		}
	}
	happen(0, 1)
	return jobs, ready, enough
}

// lastWindow is the last one whose jobs of a type count.
func lastWindow(p stock.Problem, typ int) int {
	last := 0
	for _, l := range p.Types[typ].Lines {
		takes := slices.ContainsFunc(l.Sizes, func(s stock.Size) bool { return s.Qty > 0 && s.Prob > 0 })
		if l.Critical && l.Need > 0 && takes {
			last = max(last, p.Items[l.Item].Window)
		}
	}
	return last
}

func TestReadinessIsThatOfEveryOutcome(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := tiny(t)
		levels := levelsFor(t, p)
		j, err := stock.New(p, stock.Effort{})
		if err != nil {
			t.Fatal(err)
		}
		got := j.Readiness(levels)
		jobs, ready, enough := everyOutcome(p, levels)
		want := 1.0
		if jobs > 0 {
			want = ready / jobs
		}
		if math.Abs(got.Jobs-jobs) > 1e-9 || math.Abs(got.Workshop-want) > 1e-9 {
			t.Errorf("%v of %v jobs, want %v of %v", got.Workshop, got.Jobs, want, jobs)
		}
		for i, a := range got.Availability {
			if math.Abs(a-enough[i]) > 1e-9 {
				t.Errorf("item %d is enough in %v, want %v", i, a, enough[i])
			}
		}
	})
}

// A simulation reads how often each item is enough from the events and streams,
// exactly,
// and so the readiness of jobs that wait for one item alone.
func TestSimulationIsExactForOneItemAlone(t *testing.T) {
	simulated := stock.Effort{States: 1, Batches: 2, PerBatch: 40}
	rapid.Check(t, func(t *rapid.T) {
		p := tiny(t)
		someStreams(t, &p)
		only := rapid.IntRange(0, len(p.Types)-1).Draw(t, "type that waits")
		waits := -1
		for typ := range p.Types {
			for l := range p.Types[typ].Lines {
				line := &p.Types[typ].Lines[l]
				line.Critical = typ == only && (waits < 0 || waits == line.Item)
				if line.Critical {
					waits = line.Item
				}
			}
		}
		levels := levelsFor(t, p)
		sampled, err := stock.New(p, simulated)
		if err != nil {
			t.Fatal(err)
		}
		exact, err := stock.New(p, stock.Effort{States: 10_000})
		if err != nil {
			t.Fatal(err)
		}
		if _, all := exact.Scenarios(); !all {
			t.Skip("too many states to be exact")
		}
		got, want := sampled.Readiness(levels), exact.Readiness(levels)
		for i := range levels {
			if math.Abs(got.Availability[i]-want.Availability[i]) > 1e-9 {
				t.Errorf("item %d is enough in %v, want %v", i, got.Availability[i], want.Availability[i])
			}
		}
		// A type with jobs early and late is held to its lines in two ways,
		// which a sample weighs as it finds them.
		oneWay := waits >= 0 && p.Items[waits].Window == p.Windows-1
		if oneWay && got.Types[only].Jobs > 0 && math.Abs(got.Types[only].Ready-want.Types[only].Ready) > 1e-9 {
			t.Errorf("ready %v, want %v", got.Types[only].Ready, want.Types[only].Ready)
		}
	})
}

func TestReadinessRules(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := tiny(t)
		someStreams(t, &p)
		effort := stock.Effort{}
		if rapid.Bool().Draw(t, "simulated") {
			effort = stock.Effort{States: 1, Batches: 3, PerBatch: 20, Seed: 7}
		}
		j, err := stock.New(p, effort)
		if err != nil {
			t.Fatal(err)
		}
		levels := levelsFor(t, p)
		before := slices.Clone(levels)
		r := j.Readiness(levels)
		if !slices.Equal(levels, before) {
			t.Errorf("levels changed from %v to %v", before, levels)
		}
		shares := append([]float64{r.Workshop}, r.Availability...)
		weighed := 0.0
		for _, typ := range r.Types {
			shares = append(shares, typ.Ready, typ.Product, typ.Smallest)
			weighed += typ.Jobs * typ.Ready
			if typ.Ready > typ.Smallest+1e-9 {
				t.Errorf("ready %v above the smallest of its lines, %v", typ.Ready, typ.Smallest)
			}
		}
		for _, share := range shares {
			if !(share >= 0 && share <= 1) {
				t.Fatalf("a share of %v", share)
			}
		}
		if r.Jobs > 0 && math.Abs(weighed/r.Jobs-r.Workshop) > 1e-9 {
			t.Errorf("types' mean %v, workshop %v", weighed/r.Jobs, r.Workshop)
		}
		if r.Jobs == 0 && r.Workshop != 1 {
			t.Errorf("nobody waits, and readiness is %v", r.Workshop)
		}
		if r.Exact && r.StandardError != 0 || !(r.StandardError >= 0) {
			t.Errorf("exact %v, standard error %v", r.Exact, r.StandardError)
		}
		levels[rapid.IntRange(0, len(levels)-1).Draw(t, "raised")]++
		if more := j.Readiness(levels); more.Workshop < r.Workshop-1e-9 {
			t.Errorf("one more of an item lowers readiness from %v to %v", r.Workshop, more.Workshop)
		}
	})
}

func TestConventions(t *testing.T) {
	kit := stock.Line{Item: 0, Sizes: stock.Fixed(1), Need: 1, Critical: true}
	extra := stock.Line{Item: 0, Sizes: stock.Fixed(1), Need: 1}
	event := func(typ, window int, prob float64) stock.Event {
		return stock.Event{{Type: typ, Window: window, Prob: prob}}
	}
	for name, tt := range map[string]struct {
		windows int
		items   []stock.Item
		types   []stock.JobType
		events  []stock.Event
		levels  []int
		ready   float64
		jobs    float64
	}{
		"no jobs: nobody waits": {1, []stock.Item{{Pack: 1}}, []stock.JobType{{Lines: []stock.Line{kit}}}, nil, []int{0}, 1, 0},
		"jobs that cannot come do not count": {1, []stock.Item{{Pack: 1}}, []stock.JobType{{Lines: []stock.Line{kit}}},
			[]stock.Event{event(0, 0, 0)}, []int{0}, 1, 0},
		"a job that takes nothing is ready": {1, nil, []stock.JobType{{}}, []stock.Event{event(0, 0, 0.5)}, nil, 1, 0.5},
		"a line that is not critical is not waited for": {1, []stock.Item{{Pack: 1}}, []stock.JobType{{Lines: []stock.Line{extra}}},
			[]stock.Event{event(0, 0, 1)}, []int{0}, 1, 1},
		"but it takes from those that wait": {1, []stock.Item{{Pack: 1}}, []stock.JobType{{Lines: []stock.Line{extra}}, {Lines: []stock.Line{kit}}},
			[]stock.Event{event(0, 0, 1), event(1, 0, 1)}, []int{1}, 0.5, 2},
		"two lines of a job on one item add up": {1, []stock.Item{{Pack: 1}}, []stock.JobType{{Lines: []stock.Line{kit, kit}}},
			[]stock.Event{event(0, 0, 1)}, []int{1}, 0, 1},
		"both jobs of a day are short when one part is": {1, []stock.Item{{Pack: 1}}, []stock.JobType{{Lines: []stock.Line{kit}}},
			[]stock.Event{event(0, 0, 1), event(0, 0, 1)}, []int{1}, 0, 2},
		"a job after the protection time takes nothing of it": {2, []stock.Item{{Pack: 1, Window: 0}}, []stock.JobType{{Lines: []stock.Line{kit}}},
			[]stock.Event{event(0, 0, 1), event(0, 1, 1)}, []int{1}, 1, 1},
		"a job is held to the longest protection time of its lines": {2, []stock.Item{{Pack: 1, Window: 0}, {Pack: 1, Window: 1}},
			[]stock.JobType{{Lines: []stock.Line{kit, {Item: 1, Sizes: stock.Fixed(1), Need: 1, Critical: true}}}},
			[]stock.Event{event(0, 1, 1)}, []int{0, 1}, 1, 1},
	} {
		t.Run(name, func(t *testing.T) {
			j, err := stock.New(stock.Problem{Windows: tt.windows, Items: tt.items, Types: tt.types, Events: tt.events}, stock.Effort{})
			if err != nil {
				t.Fatal(err)
			}
			r := j.Readiness(tt.levels)
			near(t, "readiness", r.Workshop, tt.ready, 1e-12)
			near(t, "jobs", r.Jobs, tt.jobs, 1e-12)
		})
	}
}

// Two jobs exclude each other, and a third needs a part of both: it is never
// ready, though half of the time each part is there. So the product of a
// type's own chances is no lower bound for units that bring one job or
// another.
func TestProductIsNoBoundForJobsThatExcludeEachOther(t *testing.T) {
	takes := func(items ...int) stock.JobType {
		var typ stock.JobType
		for _, i := range items {
			typ.Lines = append(typ.Lines, stock.Line{Item: i, Sizes: stock.Fixed(1), Need: 1, Critical: true})
		}
		return typ
	}
	j, err := stock.New(stock.Problem{
		Windows: 1,
		Items:   []stock.Item{{Pack: 1}, {Pack: 1}},
		Types:   []stock.JobType{takes(0), takes(1), takes(0, 1)},
		Events: []stock.Event{
			{{Type: 0, Prob: 0.5}, {Type: 1, Prob: 0.5}},
			{{Type: 2, Prob: 1}},
		},
	}, stock.Effort{})
	if err != nil {
		t.Fatal(err)
	}
	got := j.Readiness([]int{1, 1}).Types[2]
	near(t, "ready", got.Ready, 0, 1e-12)
	near(t, "product", got.Product, 0.25, 1e-12)
	near(t, "smallest", got.Smallest, 0.5, 1e-12)
}

// A fleet of 300 in one window: the demand is binomial, by gonum's tables.
func TestManyUnits(t *testing.T) {
	p := oneItem(stock.Fixed(1))
	p.Types[0].Lines[0].Need = 0.4
	for range 300 {
		p.Events = append(p.Events, stock.Event{{Type: 0, Window: 0, Prob: 0.5}})
	}
	all := distuv.Binomial{N: 300, P: 0.2}
	others := distuv.Binomial{N: 299, P: 0.2}
	for name, effort := range map[string]stock.Effort{"exact": {}, "simulated": {States: 1}} {
		j, err := stock.New(p, effort)
		if err != nil {
			t.Fatal(err)
		}
		for _, level := range []int{0, 30, 50, 60, 75, 90} {
			near(t, name+" availability", j.Availability(0, level), all.CDF(float64(level)), 1e-10)
			want := 0.6 + 0.4*others.CDF(float64(level-1))
			near(t, name+" readiness", j.Readiness([]int{level}).Workshop, want, 1e-10)
		}
	}
}

func TestSameInputSameBytes(t *testing.T) {
	p := workshop(3, 60, 12, 150, 2)
	run := func() []any {
		j, err := stock.New(p, stock.Effort{})
		if err != nil {
			t.Fatal(err)
		}
		curve := j.Walk(nil)
		levels := curve.Reach(0.97)
		return []any{curve.Points(0), levels, j.Readiness(levels.Level), curve.Within(levels.Added / 2)}
	}
	first := run()
	defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(1))
	if second := run(); !reflect.DeepEqual(first, second) {
		t.Error("two runs differ")
	}
}
