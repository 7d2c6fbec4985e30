package plan_test

import (
	"slices"
	"testing"

	"circlip/inventory"
	"circlip/reports/plan"
)

func TestASheetIsFreshUntilWhatItRestsOnChanges(t *testing.T) {
	const monday = inventory.Date(20619) // 2026-06-15
	shop := func() inventory.Shop {
		return inventory.Shop{
			AsOf:      monday,
			Settings:  inventory.Settings{Currency: inventory.Currency{Code: "EUR", Decimals: 2}},
			Suppliers: []inventory.Supplier{{Code: "ravelin", Cutoff: "14:00"}},
			Offers:    []inventory.Offer{{Item: "wiper", Supplier: "ravelin", PackQty: 2, Price: 960}},
			Orders:    []inventory.OrderLine{{Order: "A", Supplier: "ravelin", Item: "wiper", PlacedOn: monday - 7}, {Order: "B", Supplier: "other", PlacedOn: monday}},
		}
	}
	sheet := inventory.Proposal{AsOf: monday, Supplier: "ravelin", PlaceBy: monday, Earlier: 1,
		Lines: []inventory.ProposedLine{{Item: "wiper", Packs: 3, PackQty: 2, Price: 960, Position: 4}}}
	for _, c := range []struct {
		rule   string
		change func(*inventory.Shop, *plan.Plan)
		says   []string
	}{
		{"nothing changed", func(*inventory.Shop, *plan.Plan) {}, nil},
		{"the cut-off to the minute", func(s *inventory.Shop, _ *plan.Plan) { s.TimeOfDay = "14:00" }, nil},
		{"a minute later", func(s *inventory.Shop, _ *plan.Plan) { s.TimeOfDay = "14:01" }, []string{"the cut-off was at 14:00, and now it is 14:01"}},
		{"the next day", func(_ *inventory.Shop, p *plan.Plan) { p.AsOf++ }, []string{"it was to be placed by 2026-06-15, and today is 2026-06-16"}},
		{"an order since", func(s *inventory.Shop, _ *plan.Plan) {
			s.Orders = append(s.Orders, inventory.OrderLine{Order: "C", Supplier: "ravelin", PlacedOn: monday})
		}, []string{"order C has been placed with ravelin since"}},
		{"an order of another supplier", func(s *inventory.Shop, _ *plan.Plan) {
			s.Orders = append(s.Orders, inventory.OrderLine{Order: "C", Supplier: "other", PlacedOn: monday})
		}, nil},
		{"stock that was used", func(_ *inventory.Shop, p *plan.Plan) { p.Items[0].Position = 3 }, []string{"wiper: 4 ea were there or on order, now 3 ea"}},
		{"a new price", func(s *inventory.Shop, _ *plan.Plan) { s.Offers[0].Price = 990 }, []string{"wiper: ravelin no longer offers that pack at 9.60"}},
		{"an item that is gone", func(_ *inventory.Shop, p *plan.Plan) { p.Items = nil }, []string{"wiper is no longer in the book"}},
	} {
		s, p := shop(), plan.Plan{AsOf: monday, Items: []plan.Item{{Item: inventory.Item{Code: "wiper", Measure: inventory.Each}, Position: 4}}}
		c.change(&s, &p)
		if found := p.Stale(s, sheet); !slices.Equal(found, c.says) {
			t.Errorf("%s: %q, expected %q", c.rule, found, c.says)
		}
	}
}
