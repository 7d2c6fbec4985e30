package reports

import (
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/reports/plan"
)

// said is sheets as the terminal shows them.
func said(t *testing.T, sheets ...Sheet) string {
	t.Helper()
	var b strings.Builder
	if err := Text(&b, sheets...); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// tells holds a text to the phrases it must and must not have.
func tells(t *testing.T, text string, must, mustNot []string) {
	t.Helper()
	for _, phrase := range must {
		if !strings.Contains(text, phrase) {
			t.Errorf("no %q in\n%s", phrase, text)
		}
	}
	for _, phrase := range mustNot {
		if strings.Contains(text, phrase) {
			t.Errorf("found %q in\n%s", phrase, text)
		}
	}
}

func placing() Placing {
	wiper := inventory.Item{Code: "wiper-35", Measure: inventory.Each}
	proposal := inventory.Proposal{Supplier: "ravelin", Lines: []inventory.ProposedLine{{Item: "wiper-35", Packs: 4}, {Item: "foam", Packs: 1}}}
	return Placing{
		Workshop: "north bench", AsOf: 20619, Currency: euro, Recorded: true,
		Proposed: plan.Readiness{Target: .97, WithOrder: .983}, Now: plan.Readiness{Target: .97, WithOrder: .941},
		Orders: []PlacedOrder{{
			Code: "ravelin-2026-06-15",
			Order: plan.Order{Supplier: inventory.Supplier{Code: "ravelin", Name: "Ravelin Seals"}, Goods: 5760, Carriage: 690, Total: 6450,
				Lines: []plan.Line{{Item: wiper, Packs: 6, PackQty: 2, Qty: 12, Price: 960, Total: 5760, ExpectedOn: 20623}}},
			Answer: inventory.Answer{Proposal: proposal, Lines: []inventory.AnsweredLine{{Item: "wiper-35", Packs: 6}}},
		}},
		Struck: []string{"tessel"}, Warnings: []string{"below the minimum"},
	}
}

func TestPlacedOrdersTellWhatDiffersAndWhatItDoes(t *testing.T) {
	p := placing()
	text := said(t, PlacedTables(p)...)
	tells(t, text, []string{"Placed · north bench", "ravelin-2026-06-15", "64.50", "98.3", "94.1", "What differs from the proposal",
		"wiper-35         4      6  more", "foam             1      0  struck", "every line to tessel is struck", "below the minimum"}, []string{"nothing is recorded"})
	p.Recorded = false
	tells(t, said(t, PlacedTables(p)...), []string{"Would be placed, nothing is recorded"}, nil)
	p.Orders[0].Answer.Lines = []inventory.AnsweredLine{{Item: "wiper-35", Packs: 4}, {Item: "foam", Packs: 1}}
	tells(t, said(t, PlacedTables(p)...), nil, []string{"What differs"})
}

func TestTheDocumentOfPlacedOrdersHasTheChanges(t *testing.T) {
	document, err := PlacedJSON(placing())
	if err != nil {
		t.Fatal(err)
	}
	tells(t, string(document), []string{
		`"changes":[{"item":"wiper-35","proposed":4,"packs":6},{"item":"foam","proposed":1,"packs":0}]`,
		`"readiness":{"target":0.97,"as_proposed":0.983,"as_placed":0.941}`, `"total":"64.50"`, `"recorded":true`, `"send":null`,
	}, nil)
}

func TestADeliveryTellsWhatIsNotAsOrdered(t *testing.T) {
	line := func(code string, ordered, before, now int, closed bool) ReceivedLine {
		return ReceivedLine{Item: inventory.Item{Code: code, Measure: inventory.Each}, Lot: "A1", Ordered: ordered, Before: before, Now: now,
			Qty: inventory.Quantity(2 * now), Asked: 960, Charged: 960, Closed: closed}
	}
	dearer := line("dearer", 3, 0, 3, false)
	dearer.Charged = 990
	cheaper := line("cheaper", 3, 0, 2, true)
	cheaper.Charged = 950
	r := Receiving{Workshop: "north bench", AsOf: 20623, Currency: euro, Order: "A1", Supplier: inventory.Supplier{Code: "ravelin"}, On: 20623,
		Lines: []ReceivedLine{line("whole", 3, 1, 2, false), line("part", 3, 0, 1, false), line("over", 3, 0, 4, false), line("given-up", 3, 0, 0, true), dearer, cheaper}}
	tells(t, said(t, Received(r)), []string{
		"2 packs still to come", "1 pack more than ordered", "3 packs will not come",
		"dearer: charged EUR 9.90 a pack where EUR 9.60 was ordered at: EUR 0.90 more\n  in all",
		"cheaper: charged EUR 9.50 a pack where EUR 9.60 was ordered at: EUR 0.20 less\n  in all",
	}, nil)
	document, err := ReceivedJSON(r)
	if err != nil {
		t.Fatal(err)
	}
	tells(t, string(document), []string{`"item":"part","lot":"A1","expires_on":null,"ordered_packs":3,"received_packs":1,"outstanding_packs":2`,
		`"item":"given-up","lot":"A1","expires_on":null,"ordered_packs":3,"received_packs":0,"outstanding_packs":0`}, nil)
}

func TestLotsStandFirstExpiredFirstWithTheirWorth(t *testing.T) {
	shop := inventory.Shop{AsOf: 20619, Settings: inventory.Settings{Workshop: "north bench", Currency: euro},
		Items: []inventory.Item{{Code: "oil", Measure: inventory.Millilitre}, {Code: "wiper", Measure: inventory.Each}},
		Lots: []inventory.Lot{
			{Item: "wiper", Code: "later", OnHand: 4, UnitCost: 4_800_000, Expires: 20700, SetAside: []inventory.SetAside{{Job: "J1", Qty: 2}}},
			{Item: "wiper", Code: "gone", OnHand: 1, UnitCost: 4_800_000, Expires: 20619},
			{Item: "oil", Code: "first", OnHand: 5000, UnitCost: 24_900},
		}}
	text := said(t, Lots(shop, ""))
	tells(t, text, []string{"expired", "36.45"}, nil)
	if strings.Index(text, "gone") > strings.Index(text, "later") || strings.Index(text, "first") > strings.Index(text, "gone") {
		t.Errorf("not by item and expiry:\n%s", text)
	}
	tells(t, said(t, Lots(shop, "oil")), []string{"first"}, []string{"gone"})
	tells(t, said(t, Lots(shop, "nothing")), []string{"Nothing is on the shelf"}, nil)
}
