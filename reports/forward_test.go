package reports

import (
	"math"
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/reports/plan"
	"circlip/testdata/golden/plans"
)

func TestThePageSaysWhatIsWorthBringingForward(t *testing.T) {
	seal := inventory.Item{Code: "SEAL", Name: "Oil seal", Measure: inventory.Each}
	oil := inventory.Item{Code: "OIL", Measure: inventory.Millilitre}
	lines := []plan.Line{
		{Item: seal, SupplierCode: "S-10", Packs: 5, PackQty: 10},
		{Item: oil, Packs: 1, PackQty: 10_000},
		{Item: seal, Packs: 2, PackQty: 1},
	}
	rows := []struct {
		rule  string
		lines []plan.Line
		why   string
		want  string
	}{
		{"one line, with the supplier's code", lines[:1], "carriage is free from EUR 150.00",
			"Near, add 5 packs of 10 ea Oil seal (S-10), for EUR 91.00: it saves EUR 5.85 in all, EUR 1.05 to keep it taken off. Carriage is free from EUR 150.00."},
		{"one pack, no code, no name", lines[1:2], "",
			"Near, add 1 pack of 1,000.0 ml OIL, for EUR 91.00: it saves EUR 5.85 in all, EUR 1.05 to keep it taken off."},
		{"more lines than the page has room for", lines, "",
			"Near, add 5 packs of 10 ea Oil seal (S-10); 1 pack of 1,000.0 ml OIL; and 1 more, for EUR 91.00: it saves EUR 5.85 in all, EUR 1.05 to keep it taken off."},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			p := plan.Plan{Currency: euro, Forward: []plan.Forward{{
				Supplier: inventory.Supplier{Code: "near", Name: "Near"}, Lines: r.lines,
				Goods: 91_00, Carriage: 6_90, Holding: 1_05, Saving: 5_85, Why: r.why,
			}}}
			if got := forwardSentences(p); len(got) != 1 || got[0] != r.want {
				t.Errorf("found %q, expected %q", got, r.want)
			}
		})
	}
}

// The saving is carriage and price breaks less what it costs to keep the goods;
// what is not told of it is found from the rest, so that the row adds up. It
// stands once a supplier, whatever lines that has.
func TestASavingAddsUpAndStandsOnceASupplier(t *testing.T) {
	p := plans.Plan()
	two := []plan.Line{{Packs: 1, Total: 60_00}, {Packs: 2, Total: 40_00}}
	p.Forward = append(p.Forward, plan.Forward{Lines: two, Goods: 100_00, Carriage: 0, Holding: 2_10, Saving: 7_90})
	s := Forward(p)
	want := []string{"91.00 6.90 0.00 1.05 5.85", "60.00 0.00 10.00 2.10 7.90", "40.00    "}
	for n, row := range s.Rows {
		var got []string
		for _, c := range row.Cells[6:11] {
			got = append(got, c.String())
		}
		if strings.Join(got, " ") != want[n] {
			t.Errorf("row %d: found %q, expected %q", n, strings.Join(got, " "), want[n])
		}
		if saving := row.Cells[10]; !saving.Blank() {
			if got := computed(t, s, *saving.Formula, n); math.Abs(got-saving.Number()) > 1e-9 {
				t.Errorf("row %d: the formula gives %v, expected %v", n, got, saving.Number())
			}
		}
	}
	if got := s.Totals[0].Value.String(); len(s.Rows) != len(want) || got != "13.75" {
		t.Errorf("found %d rows and %s saved in all, expected %d and 13.75", len(s.Rows), got, len(want))
	}
}
