package stock_test

import (
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"circlip/forecast/stock"
)

func TestProblemsThatAreRefused(t *testing.T) {
	whole := func() stock.Problem {
		p := needs(1, 0.5)
		p.Events = []stock.Event{{{Type: 0, Window: 0, Prob: 0.5}}}
		p.Streams = []stock.Stream{{Means: []float64{2}, Shape: 1.5}}
		return p
	}
	for name, tt := range map[string]struct {
		spoil func(p *stock.Problem)
		says  string
	}{
		"no window":                   {func(p *stock.Problem) { p.Windows = 0 }, "0 windows, expected at least 1"},
		"an item's window":            {func(p *stock.Problem) { p.Items[1].Window = 1 }, "item 1: window 1, expected 0 to 0"},
		"a pack below zero":           {func(p *stock.Problem) { p.Items[0].Pack = -1 }, "item 0: pack of -1 steps"},
		"a cost below zero":           {func(p *stock.Problem) { p.Items[0].Cost = -1 }, "item 0: pack cost -1"},
		"a cost of no workshop":       {func(p *stock.Problem) { p.Items[0].Cost = math.MaxInt64 }, "item 0: pack cost 9223372036854775807"},
		"a least below zero":          {func(p *stock.Problem) { p.Items[0].Least = -1 }, "least -1"},
		"a line's item":               {func(p *stock.Problem) { p.Types[0].Lines[1].Item = 2 }, "job type 0, line 1: item 2, expected 0 to 1"},
		"a need above one":            {func(p *stock.Problem) { p.Types[0].Lines[0].Need = 1.1 }, "need 1.1, expected 0 to 1"},
		"a need that is no number":    {func(p *stock.Problem) { p.Types[0].Lines[0].Need = math.NaN() }, "need NaN"},
		"a size below zero":           {func(p *stock.Problem) { p.Types[0].Lines[0].Sizes = stock.Fixed(-1) }, "size of -1 steps"},
		"sizes that are not all":      {func(p *stock.Problem) { p.Types[0].Lines[0].Sizes = []stock.Size{{Qty: 1, Prob: 0.9}} }, "add up to 0.9, expected 1"},
		"no sizes":                    {func(p *stock.Problem) { p.Types[0].Lines[0].Sizes = nil }, "add up to 0, expected 1"},
		"events of no workshop":       {func(p *stock.Problem) { p.Events = make([]stock.Event, 70_000) }, "70000 events, expected at most 65535"},
		"an outcome's type":           {func(p *stock.Problem) { p.Events[0][0].Type = -1 }, "event 0: outcome of type -1"},
		"an outcome's window":         {func(p *stock.Problem) { p.Events[0][0].Window = 3 }, "in window 3"},
		"a second job's type":         {func(p *stock.Problem) { p.Events[0][0].Then = []stock.Job{{Type: 1}} }, "event 0: outcome of type 1"},
		"a probability below zero":    {func(p *stock.Problem) { p.Events[0][0].Prob = -0.1 }, "outcome probability -0.1"},
		"outcomes that are too many":  {func(p *stock.Problem) { p.Events[0] = append(p.Events[0], stock.Outcome{Prob: 0.6}) }, "add up to 1.1, expected at most 1"},
		"a stream's type":             {func(p *stock.Problem) { p.Streams[0].Type = 1 }, "stream 0: type 1, expected 0 to 0"},
		"a stream's windows":          {func(p *stock.Problem) { p.Streams[0].Means = []float64{1, 2} }, "stream 0: 2 means, expected one for each of 1 windows"},
		"a mean below zero":           {func(p *stock.Problem) { p.Streams[0].Means[0] = -1 }, "stream 0: mean -1 in window 0"},
		"a mean that is no number":    {func(p *stock.Problem) { p.Streams[0].Means[0] = math.NaN() }, "mean NaN"},
		"a shape below zero":          {func(p *stock.Problem) { p.Streams[0].Shape = -1 }, "stream 0: shape -1"},
		"a shape that is no number":   {func(p *stock.Problem) { p.Streams[0].Shape = math.NaN() }, "shape NaN"},
		"streams of no workshop":      {func(p *stock.Problem) { p.Streams[0].Means[0] = 65_500 }, "expected at most 65535"},
		"a rate that may be anything": {func(p *stock.Problem) { p.Streams[0].Shape = 1e-300 }, "raise a shape or lower a mean"},
	} {
		t.Run(name, func(t *testing.T) {
			p := whole()
			tt.spoil(&p)
			for _, err := range []error{second(stock.New(p, stock.Effort{})), second(stock.Given(p, nil))} {
				if !errors.Is(err, stock.ErrProblem) || !strings.Contains(err.Error(), tt.says) {
					t.Errorf("got %v, want it to say %q", err, tt.says)
				}
			}
		})
	}
	if err := second(stock.New(whole(), stock.Effort{})); err != nil {
		t.Errorf("the unspoilt problem: %v", err)
	}
}

func second(_ *stock.Joint, err error) error { return err }

func TestScenariosThatAreRefused(t *testing.T) {
	for name, list := range map[string][]stock.Scenario{
		"none":                       nil,
		"no weight":                  {{Prob: 0, Counts: []int{1}}},
		"a weight below zero":        {{Prob: 1, Counts: []int{1}}, {Prob: -1, Counts: []int{1}}},
		"a weight without end":       {{Prob: math.Inf(1), Counts: []int{1}}},
		"a weight that is no number": {{Prob: math.NaN(), Counts: []int{1}}},
		"too few counts":             {{Prob: 1}},
		"a count below zero":         {{Prob: 1, Counts: []int{-1}}},
		"a count of no workshop":     {{Prob: 1, Counts: []int{70_000}}},
	} {
		if err := second(stock.Given(needs(1), list)); !errors.Is(err, stock.ErrProblem) {
			t.Errorf("%s: %v", name, err)
		}
	}
	j := given(t, needs(1), []stock.Scenario{{Prob: 3, Counts: []int{1}}, {Prob: 1, Counts: []int{0}}})
	near(t, "weights need not add up to 1", j.Availability(0, 0), 0.25, 1e-12)
}

func TestSpread(t *testing.T) {
	for mean, want := range map[float64][]stock.Size{
		0:          {{Qty: 0, Prob: 1}},
		2:          {{Qty: 2, Prob: 1}},
		3 * 1.1:    {{Qty: 3, Prob: 0.7}, {Qty: 4, Prob: 0.3}},
		1.02:       {{Qty: 1, Prob: 0.98}, {Qty: 2, Prob: 0.02}},
		0.25:       {{Qty: 0, Prob: 0.75}, {Qty: 1, Prob: 0.25}},
		0.1 + 0.2:  {{Qty: 0, Prob: 0.7}, {Qty: 1, Prob: 0.3}},
		3 - 1e-12:  {{Qty: 3, Prob: 1}},
		10 * 1.1:   {{Qty: 11, Prob: 1}},
		100 * 1.01: {{Qty: 101, Prob: 1}},
	} {
		got := stock.Spread(mean)
		if len(got) != len(want) {
			t.Errorf("%v: %v, want %v", mean, got, want)
			continue
		}
		for i := range got {
			if got[i].Qty != want[i].Qty || math.Abs(got[i].Prob-want[i].Prob) > 1e-12 {
				t.Errorf("%v: %v, want %v", mean, got, want)
			}
		}
	}
}

func ExampleNew() {
	joint, err := stock.New(stock.Problem{
		Windows: 1,
		Items:   []stock.Item{{Pack: 1, Cost: 2450}, {Pack: 1, Cost: 900}},
		Types: []stock.JobType{{Lines: []stock.Line{
			{Item: 0, Sizes: stock.Fixed(1), Need: 1, Critical: true},
			{Item: 1, Sizes: stock.Fixed(1), Need: 0.3, Critical: true},
		}}},
		Events: []stock.Event{{{Type: 0, Window: 0, Prob: 0.95}}},
	}, stock.Effort{})
	if err != nil {
		panic(err)
	}
	fmt.Printf("%.2f\n", joint.Readiness([]int{1, 0}).Workshop)
	fmt.Println(joint.Walk([]int{1, 0}).Reach(0.97).Packs)
	// Output:
	// 0.70
	// [0 1]
}
