package plan

import (
	"reflect"
	"testing"

	"circlip/inventory"
	"circlip/inventory/audit"
)

// The audit holds what was used to the book's own bill of materials: a bill
// that was learnt from the past would allow whatever the past took.
func TestThePlanAuditsTheFluidsAgainstTheBookAsItStands(t *testing.T) {
	shop := parkShop()
	shop.Settings.Learn = true
	shop.Openings = []inventory.Count{{Item: "oil", Date: monday - 28, Qty: 9_000}, {Item: "wiper", Date: monday - 28, Qty: 9}}
	shop.Counts = []inventory.Count{{Item: "oil", Date: monday - 14, Qty: 8_000}, {Item: "oil", Date: monday, Qty: 6_500}, {Item: "wiper", Date: monday, Qty: 2}}
	for n := range 6 {
		on := monday - inventory.Date(26-4*n)
		shop.Jobs = append(shop.Jobs, inventory.Job{Code: string(rune('a' + n)), Model: "fell", Services: []string{"lower"}, BookedOn: on - 3, BenchDate: on, State: inventory.Done, DoneOn: on})
	}
	p := planOf(t, shop)
	if want := audit.Of(shop, audit.Fluids); !reflect.DeepEqual(p.Oil, want) {
		t.Errorf("found %+v, expected %+v", p.Oil, want)
	}
	if len(p.Oil.Items) != 1 || len(p.Oil.Items[0].Periods) != 2 {
		t.Fatalf("found %+v, expected two periods of the oil alone", p.Oil.Items)
	}
	if jobs := p.Oil.Items[0].Periods[0].Jobs; jobs == 0 {
		t.Error("expected jobs in the first period")
	}
}
