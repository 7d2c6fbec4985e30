package audit

import (
	"testing"

	"circlip/inventory"
)

func TestWhatTheBillShouldSay(t *testing.T) {
	over := madeBench{works: asBilled("DAMPER", 1.25), weeks: 40, cv: .05, countML: 2, models: []string{"M1", "M2"}}
	late := over
	late.from = 30
	leak := madeBench{works: asBilled("", 1), weeks: 60, cv: .05, countML: 2, from: 30, leakPerWeekML: 120}
	past := leak
	past.from = 20
	tests := []struct {
		rule     string
		bench    madeBench
		change   func(*ItemAudit, *attribution)
		expected map[string]float64 // service and model to ml
	}{
		{"a service that takes a quarter more", over, nil, map[string]float64{"DAMPER *": 75}},
		{"a bill that is right", madeBench{works: asBilled("", 1), weeks: 40, cv: .1, countML: 5}, nil, nil},
		{"too few periods", madeBench{works: asBilled("DAMPER", 1.25), weeks: 5, cv: .1, countML: 5}, nil, nil},
		{"since an episode that is open began", late, func(a *ItemAudit, _ *attribution) {
			a.Episodes = []Episode{{Direction: High, Start: 30, First: 33, Last: 39, End: 39, Open: true}}
		}, map[string]float64{"DAMPER *": 75}},
		{"of an episode that is over nothing is to be said", past, func(a *ItemAudit, _ *attribution) {
			a.Episodes = []Episode{{Direction: High, Start: 20, First: 22, Last: 58, End: 59}}
		}, nil},
		{"a leak is no bill's", leak, func(a *ItemAudit, _ *attribution) {
			a.Episodes = []Episode{{Direction: High, Start: 30, First: 33, Last: 59, End: 59, Open: true}}
		}, nil},
		{"a line of one model is that model's", over, func(_ *ItemAudit, from *attribution) {
			from.bill = append(from.bill, inventory.BOMLine{Service: "DAMPER", Model: "M2", Item: "OIL", Qty: 400, Need: 1})
		}, map[string]float64{"DAMPER *": 75, "DAMPER M2": 50}},
		{"a line that not every job takes may be needed more often", over, func(_ *ItemAudit, from *attribution) { from.bill[0].Need = .5 }, nil},
		{"a line that is to end was changed already", over, func(_ *ItemAudit, from *attribution) { from.bill[0].To = from.asOf + 7 }, nil},
		{"a line that is to begin says nothing yet", over, func(_ *ItemAudit, from *attribution) { from.bill[0].From = from.asOf + 7 }, nil},
		{"a line that has just begun has no periods yet", over, func(_ *ItemAudit, from *attribution) { from.bill[0].From = from.asOf - 30 }, nil},
		{"since a line began", over, func(_ *ItemAudit, from *attribution) { from.bill[0].From = from.asOf - 140 }, map[string]float64{"DAMPER *": 75}},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			a, from := test.bench.past(2)
			if test.change != nil {
				test.change(&a, &from)
			}
			a.attribute(from)
			if len(a.Changes) != len(test.expected) {
				t.Fatalf("found %+v, expected %v", a.Changes, test.expected)
			}
			for _, c := range a.Changes {
				expected := test.expected[c.Line.Service+" "+c.Line.Model]
				if ml := float64(c.Qty) / 10; ml < .93*expected || ml > 1.07*expected {
					t.Errorf("%s %s: found %.1f ml, expected about %g", c.Line.Service, c.Line.Model, ml, expected)
				}
				if c.Low > c.PerJob || c.PerJob > c.High || c.Periods < fewestPeriods || c.Jobs < fewestJobs {
					t.Errorf("the evidence of %+v does not hold together", c)
				}
			}
		})
	}
}

// A bill that is right is to be left alone: that is asked of every item, every
// week.
func TestARightBillIsSeldomToBeChanged(t *testing.T) {
	var changed rate
	for seed := range uint64(150) {
		a := madeBench{works: asBilled("", 1), weeks: 26, cv: .1, countML: 5}.estimated(seed)
		changed.add(len(a.Changes) > 0)
	}
	t.Logf("a change in %d of %d items of four services", changed.so, changed.of)
	if changed.share() > .05 {
		t.Errorf("a change in a share of %.3f, expected at most 0.05", changed.share())
	}
}

// Pieces come whole: a change that is none after rounding is not told.
func TestPiecesChangeByWholePieces(t *testing.T) {
	for ratio, expected := range map[float64]inventory.Quantity{1.5: 3, 1.1: 0} {
		a, from := madeBench{works: []work{{"LOWER", 8, 2, ratio}}, weeks: 40, cv: .1}.past(1)
		a.Item = inventory.Item{Code: "RING", Measure: inventory.Each}
		from.bill[0].Qty = 2
		for i := range a.Periods {
			p := &a.Periods[i]
			drawn := (p.Drawn() + 5) / 10
			p.Opening, p.Closing, p.Standard, p.Recorded = drawn, 0, p.Standard/10, p.Recorded/10
		}
		a.attribute(from)
		if expected == 0 && len(a.Changes) > 0 || expected > 0 && (len(a.Changes) != 1 || a.Changes[0].Qty != expected) {
			t.Errorf("× %g: found %+v, expected %d pieces", ratio, a.Changes, expected)
		}
	}
}
