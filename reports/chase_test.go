package reports

import (
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/reports/plan"
	"circlip/testdata/golden/plans"
)

func TestThePageSaysWhomToCallByWhen(t *testing.T) {
	rows := []struct {
		rule string
		by   inventory.Date
		jobs []string
		want string
	}{
		{"today", plans.AsOf, nil, "Call Near today about 4 ea of Oil seal, order PO. It is late."},
		{"a day that has passed is today", plans.AsOf - 1, nil, "Call Near today about 4 ea of Oil seal, order PO. It is late."},
		{"a later day", plans.AsOf + 2, []string{"J1"}, "Call Near by Wed 3 Mar about 4 ea of Oil seal, order PO. It is late."},
		{"the reason names the first job, one more is counted", plans.AsOf + 2, []string{"J1", "J2"},
			"Call Near by Wed 3 Mar about 4 ea of Oil seal, order PO. It is late. 1 more job waits for it."},
		{"several are", plans.AsOf + 2, []string{"J1", "J2", "J3", "J4", "J5", "J6"},
			"Call Near by Wed 3 Mar about 4 ea of Oil seal, order PO. It is late. 5 more jobs wait for it."},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			p := plan.Plan{AsOf: plans.AsOf, Chase: []plan.Chase{{
				Order: "PO", Supplier: inventory.Supplier{Code: "near", Name: "Near"}, Item: inventory.Item{Code: "S", Name: "Oil seal", Measure: inventory.Each},
				Packs: 2, Qty: 4, CallBy: r.by, Jobs: r.jobs, Why: "It is late.",
			}}}
			if got := chaseSentences(p); len(got) != 1 || got[0] != r.want {
				t.Errorf("found %q, expected %q", got, r.want)
			}
		})
	}
}

// What must not be overlooked is said in words beside being strong.
func TestACallForTodayStandsOut(t *testing.T) {
	for n, r := range Chase(plans.Plan()).Rows {
		last := r.Cells[len(r.Cells)-1].String()
		if today := n < 2; r.Strong != today || strings.HasPrefix(last, "Call today. ") != today {
			t.Errorf("row %d: strong is %v, %q", n, r.Strong, last)
		}
	}
}

func TestALineThatIsNotLateSaysNothingOfDays(t *testing.T) {
	s := Chase(plans.Plan())
	var got []string
	for _, r := range s.Rows {
		got = append(got, r.Cells[s.column("Days late")].String())
	}
	if want := "|3|"; strings.Join(got, "|") != want {
		t.Errorf("found %s, expected %s", strings.Join(got, "|"), want)
	}
}
