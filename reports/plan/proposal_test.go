package plan_test

import (
	"testing"

	"circlip/inventory"
	"circlip/reports/plan"
)

func TestASheetOffersWithoutPacksWhatIsWorthBringingForward(t *testing.T) {
	line := func(item string, packs int) plan.Line {
		return plan.Line{Item: inventory.Item{Code: item, Measure: inventory.Each}, Packs: packs, PackQty: 2, Qty: inventory.Quantity(2 * packs), Price: 960, Total: inventory.Money(960 * packs)}
	}
	ravelin, other := inventory.Supplier{Code: "ravelin"}, inventory.Supplier{Code: "other"}
	p := plan.Plan{
		Orders: []plan.Order{{Supplier: ravelin, Lines: []plan.Line{line("wiper", 3)}}},
		Forward: []plan.Forward{
			{Supplier: ravelin, Lines: []plan.Line{line("wiper", 2), line("foam", 4)}},
			{Supplier: other, Lines: []plan.Line{line("nut", 1)}},
		},
	}
	o := p.Orders[0]
	offered := p.Offered(o)
	if len(offered) != 2 || offered[0].Packs != 3 || offered[1].Item.Code != "foam" || offered[1].Packs != 0 || offered[1].Total != 0 {
		t.Errorf("offered %+v, expected 3 packs of wiper and none of foam", offered)
	}
	if more, new := p.WorthAdding(o, offered[0]), p.WorthAdding(o, offered[1]); more != 2 || new != 4 {
		t.Errorf("worth adding %d and %d packs, expected 2 and 4", more, new)
	}
	if len(o.Lines) != 1 {
		t.Errorf("the order itself has %d lines, expected the 1 it had", len(o.Lines))
	}
	made := p.Proposal(o)
	if len(made.Lines) != 2 || made.Lines[1].Packs != 0 || made.Lines[1].PackQty != 2 {
		t.Errorf("proposal %+v, expected a line of foam without packs", made)
	}
	none := inventory.Answer{Proposal: made, Lines: []inventory.AnsweredLine{{Item: "wiper", Packs: 3}}}
	if changes := none.Changes(); len(changes) != 0 {
		t.Errorf("an order as proposed has changes: %+v", changes)
	}
}
