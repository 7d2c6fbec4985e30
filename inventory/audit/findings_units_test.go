package audit

import (
	"testing"

	"circlip/inventory"
)

// inGramsFrom has the counts of the steady shop written down in g from that which
// ends a week on.
func inGramsFrom(s *inventory.Shop, week int) {
	for i := week; i < len(s.Counts); i++ {
		s.Counts[i].Qty = s.Counts[i].Qty * 87 / 100
	}
}

func TestAUnitThatChangedForGoodIsTold(t *testing.T) {
	const week = 4 // from which on g are written down as ml
	onward := func(s *inventory.Shop) { inGramsFrom(s, week) }
	for _, test := range []explained{
		{"the weeks before hear of nothing", onward, week - 1, nil, false, false},
		{"the first count shows it on all that was there", onward, week,
			[]Finding{{Kind: GramsAsML, On: weekEnd(week), N: 1, Qty: 6_630}}, false, true},
		{"the next on what came and went since", onward, week + 1,
			[]Finding{{Kind: GramsAsML, On: weekEnd(week + 1), N: 1, Qty: 260}}, false, true},
		{"and so does the last", onward, steadyWeeks - 1,
			[]Finding{{Kind: GramsAsML, On: weekEnd(steadyWeeks - 1), N: 1, Qty: 260}}, false, true},
		{"ml written down as g", func(s *inventory.Shop) {
			s.Items[0].Measure = inventory.Gram
			for i := week; i < steadyWeeks; i++ {
				s.Counts[i].Qty = s.Counts[i].Qty * 100 / 87
			}
		}, week, []Finding{{Kind: MLAsGrams, On: weekEnd(week), N: 1, Qty: -7_621}}, false, true},
		{"in every count but the opening", func(s *inventory.Shop) { inGramsFrom(s, 0) }, 0,
			[]Finding{{Kind: GramsAsML, On: weekEnd(0), N: 1, Qty: 5_590}}, false, true},
		{"a container that is weighed from then on has no part in it", func(s *inventory.Shop) {
			for i := week; i < steadyWeeks; i++ {
				inTank(s, i, 300, celsius(15))
			}
		}, week + 2, nil, false, false},
		{"jobs that take less of their bill from then on are none", func(s *inventory.Shop) {
			for i := week; i < steadyWeeks; i++ {
				moreFrom(s, i, 1_200)
			}
		}, week + 1, nil, false, false},
		{"nor jobs that take more", func(s *inventory.Shop) {
			for i := week; i < steadyWeeks; i++ {
				moreFrom(s, i, -1_200)
			}
		}, week + 1, nil, false, false},
	} {
		t.Run(test.rule, test.run)
	}
}

// Where every week has the same jobs and the same delivery, the wrong unit in all
// counts looks as jobs do that take another share: nothing is said.
func TestAUnitThatAShareOfTheBillExplainsAsWellIsNotTold(t *testing.T) {
	shop := steadyShop()
	shop.Openings[0].Qty = shop.Openings[0].Qty * 87 / 100
	inGramsFrom(&shop, 0)
	for i, p := range periodsOf(shop) {
		for _, f := range p.Findings {
			if f.Kind == GramsAsML {
				t.Errorf("week %d: found %+v, expected nothing to tell the two apart", i, f)
			}
		}
	}
}
