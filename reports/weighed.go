package reports

import (
	"fmt"
	"slices"

	"circlip/inventory"
)

// Weighed shows how the containers of the first item of a count come to what
// they hold: net = gross - tare, volume = net / (density at 15 °C x volume
// correction).
func Weighed(shop inventory.Shop, t inventory.Tallied) Sheet {
	if len(t.Lines) == 0 {
		return Sheet{Key: "weighed", Name: "Weighed", Title: "What was weighed", Empty: "Nothing was weighed."}
	}
	parts := t.Lines[0].Parts
	item := shop.Items[slices.IndexFunc(shop.Items, func(i inventory.Item) bool { return i.Code == t.Lines[0].Item })]
	s := Sheet{
		Key: "weighed", Name: "Weighed", Title: "What the containers of " + itemName(item) + " hold",
		Columns: []Column{
			{Name: "Container"}, {Name: "Gross", Unit: "g", Kind: NumberKind}, {Name: "Tare", Unit: "g", Kind: NumberKind, Rank: 2},
			{Name: "Net", Unit: "g", Kind: NumberKind}, {Name: "Temperature", Unit: "°C", Kind: NumberKind, Rank: 1},
			{Name: "Density", Unit: "kg/m³", Kind: NumberKind}, {Name: "Holds", Unit: string(item.Measure), Kind: QuantityKind},
		},
		Empty: "Nothing was weighed.",
	}
	if item.Measure == inventory.Millilitre {
		s.Notes = []string{"Volume = net weight / density at the fluid's temperature: that at 15 °C times the factor of Table 54D, ASTM D1250 / API MPMS 11.1, lubricating oils of 800 to 1164 kg/m³. Without a temperature 15 °C is taken; 10 °C off are some 0.7 % of the volume."}
	}
	for _, p := range parts {
		s.Rows = append(s.Rows, Row{Cells: weighedCells(item, p)})
	}
	return s
}

func weighedCells(item inventory.Item, p inventory.CountPart) []Cell {
	none := Cell{Kind: NumberKind}
	name := p.Container
	if name == "" {
		name = fmt.Sprintf("no. %d", p.Number)
	}
	cells := []Cell{Words(name), none, none, none, none, none, Measured(p.Qty, item.Measure)}
	if p.Weighed == nil {
		return cells
	}
	w := p.Weighed
	cells[1], cells[2], cells[3] = Figure(w.GrossG, 1), Figure(w.TareG, 1), Figure(w.GrossG-w.TareG, 1)
	if w.TempC != nil {
		cells[4] = Figure(*w.TempC, 1)
	}
	if item.Measure == inventory.Millilitre {
		cells[5] = Figure(inventory.DensityAt(item.DensityKgM3, w.Temperature()), 1)
	}
	return cells
}
