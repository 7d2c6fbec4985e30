package reports

import (
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/reports/plan"
	"circlip/testdata/golden/plans"
)

// curveOf is a plan whose curve has a point at each of these percents, each ten
// dearer than the one before.
func curveOf(target, withOrder float64, percents ...float64) plan.Plan {
	p := plan.Plan{AsOf: plans.AsOf, Currency: euro, Readiness: plan.Readiness{Target: target, WithOrder: withOrder}}
	for n, percent := range percents {
		p.Curve = append(p.Curve, plan.Point{StockValue: inventory.Money(1000 * n), Readiness: percent / 100})
	}
	return p
}

func TestThePageShowsTheCurveAroundWhatWasChosen(t *testing.T) {
	ten := []float64{90, 91, 92, 93, 94, 95, 96, 97, 98, 99}
	rows := []struct {
		rule string
		p    plan.Plan
		want string
	}{
		{"two lines before and three after", curveOf(0.95, 0.96, ten...), "93.0 94.0 95.0* 96.0 97.0 98.0"},
		{"near the beginning the first six", curveOf(0.90, 0.96, ten...), "90.0* 91.0 92.0 93.0 94.0 95.0"},
		{"near the end the last six", curveOf(0.99, 0.99, ten...), "94.0 95.0 96.0 97.0 98.0 99.0*"},
		{"what cannot be reached marks nothing", curveOf(0.999, 0.999, ten...), "94.0 95.0 96.0 97.0 98.0 99.0"},
		{"what is reached only in part is marked too, and shown", curveOf(0.97, 0.955, ten...), "93.0 94.0 95.0* 96.0 97.0* 98.0"},
		{"a short curve is shown whole", curveOf(0.92, 0.92, 90, 91, 92), "90.0 91.0 92.0*"},
		{"no curve, no lines", curveOf(0.97, 0), ""},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			var got []string
			for _, row := range CurveAround(r.p).Rows {
				mark := ""
				if row.Strong {
					mark = "*"
				}
				if row.Strong == row.Cells[3].Blank() {
					t.Errorf("strong is %v beside the remark %q: expected words where a row stands out", row.Strong, row.Cells[3])
				}
				got = append(got, row.Cells[0].String()+mark)
			}
			if strings.Join(got, " ") != r.want {
				t.Errorf("found %s, expected %s", strings.Join(got, " "), r.want)
			}
		})
	}
}

func TestTheCurveSaysWhatWasChosenAndWhatTheOrderComesTo(t *testing.T) {
	rows := []struct {
		rule              string
		target, withOrder float64
		want              map[int]string
	}{
		{"the first line that reaches the target", 0.92, 0.93, map[int]string{2: "chosen: reaches the target of 92.0 %"}},
		{"an order that a limit holds below it: the last line that it reaches", 0.94, 0.925,
			map[int]string{2: "this order comes to 92.5 %", 4: "chosen: reaches the target of 94.0 %"}},
		{"an order below all of the curve", 0.92, 0.5, map[int]string{2: "chosen: reaches the target of 92.0 %"}},
		{"an order just below the target", 0.92, 0.919, map[int]string{1: "this order comes to 91.9 %", 2: "chosen: reaches the target of 92.0 %"}},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			for n, row := range Curve(curveOf(r.target, r.withOrder, 90, 91, 92, 93, 94)).Rows {
				if got := row.Cells[3].String(); got != r.want[n] {
					t.Errorf("line %d: found %q, expected %q", n, got, r.want[n])
				}
			}
		})
	}
}

func TestTheChartOfTheCurveMarksWhatTheRowsMark(t *testing.T) {
	s := Curve(curveOf(0.94, 0.925, 90, 91, 92, 93, 94))
	var marked []int
	for _, l := range s.Charts[0].Layers {
		if l.Mark {
			marked = append(marked, l.Rows.First)
		}
	}
	if len(marked) != 2 || marked[0] != 2 || marked[1] != 4 {
		t.Errorf("found diamonds on the rows %v, expected them on 2 and 4", marked)
	}
	for _, want := range []string{"a diamond at 92.0 %: this order comes to 92.5 %", "a diamond at 94.0 %: chosen: reaches the target of 94.0 %"} {
		if !strings.Contains(s.Charts[0].Alt, want) {
			t.Errorf("found the words %q, expected them to hold %q", s.Charts[0].Alt, want)
		}
	}
}

func TestAPlanWithoutACurveSaysNothingOfItsCost(t *testing.T) {
	for points, want := range map[int]bool{0: false, 1: false, 2: true} {
		p := curveOf(0.95, 0.95, []float64{90, 95}[:points]...)
		if got := strings.Contains(Page(p), "WHAT READINESS COSTS"); got != want {
			t.Errorf("%d points: found %v, expected %v", points, got, want)
		}
	}
}
