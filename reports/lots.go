package reports

import (
	"cmp"
	"fmt"
	"slices"

	"circlip/inventory"
)

// Lots lists what lies on the shelf lot by lot, first expired first, of one
// item or, where none is named, of all.
func Lots(shop inventory.Shop, item string) Sheet {
	unit := shop.Settings.Currency.Code
	s := Sheet{
		Key: "lots", Name: "Lots", Title: fmt.Sprintf("Lots on the shelf · %s · %s", shop.Settings.Workshop, longDay(shop.AsOf)),
		Columns: []Column{
			{Name: "Item"}, {Name: "Lot"}, {Name: "On hand", Kind: QuantityKind}, {Name: "Set aside", Kind: QuantityKind, Rank: 3}, {Name: "Unit"},
			{Name: "Received", Kind: DateKind, Rank: 2}, {Name: "Good until before", Kind: DateKind},
			{Name: "Value", Unit: unit, Kind: MoneyKind, Rank: 1}, {Name: "Remark"},
		},
		Empty: "Nothing is on the shelf. Receive a delivery, or load the opening shelf with the book.",
	}
	var value inventory.Money
	for _, l := range lotsOf(shop, item) {
		worth := inventory.Value(l.OnHand, l.item.Measure, l.UnitCost)
		value += worth
		s.Rows = append(s.Rows, Row{Strong: !l.UsableOn(shop.AsOf), Cells: []Cell{
			Words(l.Item), Words(l.Code), Measured(l.OnHand, l.item.Measure), Measured(l.OnHand-l.Free(), l.item.Measure), Words(string(l.item.Measure)),
			Day(l.Received), Day(l.Expires), Amount(worth, shop.Settings.Currency), Words(l.remark(shop.AsOf)),
		}})
	}
	if len(s.Rows) > 0 {
		s.Totals = []Total{{"All lots", "Value", Amount(value, shop.Settings.Currency).With(Formula{ColumnSum: "Value"})}}
	}
	return s
}

// shelfLot is a lot with its item.
type shelfLot struct {
	inventory.Lot
	item inventory.Item
}

// remark says what is to be minded of a lot.
func (l shelfLot) remark(today inventory.Date) string {
	switch {
	case !l.UsableOn(today):
		return "expired"
	case l.UnitCost == 0:
		return "cost not stated"
	}
	return ""
}

// lotsOf are the lots of an item, or of all, by item and then first expired
// first.
func lotsOf(shop inventory.Shop, item string) []shelfLot {
	items := map[string]inventory.Item{}
	for _, i := range shop.Items {
		items[i.Code] = i
	}
	var found []shelfLot
	for _, l := range shop.Lots {
		if item == "" || item == l.Item {
			found = append(found, shelfLot{l, items[l.Item]})
		}
	}
	slices.SortStableFunc(found, func(a, b shelfLot) int {
		return cmp.Or(cmp.Compare(a.Item, b.Item), inventory.FirstExpiredFirst(a.Lot, b.Lot))
	})
	return found
}

// lotJSON is one lot on the shelf.
type lotJSON struct {
	Item      string  `json:"item"`
	Lot       string  `json:"lot"`
	OnHand    float64 `json:"on_hand"`
	SetAside  float64 `json:"set_aside"`
	Received  string  `json:"received_on"`
	ExpiresOn *string `json:"expires_on"`
	Expired   bool    `json:"expired"`
	UnitCost  string  `json:"unit_cost"`
	Value     string  `json:"value"`
}

// LotsJSON is the document of `lots --json`.
func LotsJSON(shop inventory.Shop, item string) ([]byte, error) {
	document := struct {
		documentHead
		Lots []lotJSON `json:"lots"`
	}{documentHead: documentHead{shop.AsOf.String(), shop.Settings.Workshop, schema}, Lots: []lotJSON{}}
	c := shop.Settings.Currency
	for _, l := range lotsOf(shop, item) {
		m := l.item.Measure
		document.Lots = append(document.Lots, lotJSON{
			l.Item, l.Code, m.Number(l.OnHand), m.Number(l.OnHand - l.Free()), l.Received.String(), dayOrNull(l.Expires),
			!l.UsableOn(shop.AsOf), c.FormatUnitCost(l.UnitCost), c.Format(inventory.Value(l.OnHand, m, l.UnitCost)),
		})
	}
	return encode("lots", document)
}
