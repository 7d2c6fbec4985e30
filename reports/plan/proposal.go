package plan

import (
	"slices"

	"circlip/inventory"
)

// Proposal is an order of the plan as a sheet carries it along, with what may
// be added to it.
func (p Plan) Proposal(o Order) inventory.Proposal {
	position := make(map[string]inventory.Quantity, len(p.Items))
	for _, i := range p.Items {
		position[i.Item.Code] = i.Position
	}
	made := inventory.Proposal{Workshop: p.Workshop, AsOf: p.AsOf, Supplier: o.Supplier.Code, PlaceBy: o.PlaceBy, Earlier: o.Earlier}
	for _, l := range p.Offered(o) {
		made.Lines = append(made.Lines, inventory.ProposedLine{
			Item: l.Item.Code, Packs: l.Packs, PackQty: l.PackQty, Price: l.Price, Position: position[l.Item.Code],
		})
	}
	return made
}

// Offered is the lines of an order's sheet: those that are ordered, and without
// packs those that are worth bringing forward and not among them, so that a
// person who wants them need only say how many.
func (p Plan) Offered(o Order) []Line {
	lines := slices.Clone(o.Lines)
	for _, f := range p.Forward {
		if f.Supplier.Code != o.Supplier.Code {
			continue
		}
		for _, l := range f.Lines {
			if !slices.ContainsFunc(lines, func(has Line) bool { return has.Item.Code == l.Item.Code }) {
				l.Packs, l.Qty, l.Total, l.Why = 0, 0, 0, nil
				lines = append(lines, l)
			}
		}
	}
	return lines
}

// WorthAdding is how many packs of an item, as a line of an order has them, are
// worth adding to it.
func (p Plan) WorthAdding(o Order, line Line) int {
	packs := 0
	for _, f := range p.Forward {
		for _, l := range f.Lines {
			if f.Supplier.Code == o.Supplier.Code && l.Item.Code == line.Item.Code && l.PackQty == line.PackQty {
				packs += l.Packs
			}
		}
	}
	return packs
}
