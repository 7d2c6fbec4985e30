package plan

import "circlip/inventory"

// Proposal is an order of the plan as a sheet carries it along.
func (p Plan) Proposal(o Order) inventory.Proposal {
	position := make(map[string]inventory.Quantity, len(p.Items))
	for _, i := range p.Items {
		position[i.Item.Code] = i.Position
	}
	made := inventory.Proposal{Workshop: p.Workshop, AsOf: p.AsOf, Supplier: o.Supplier.Code, PlaceBy: o.PlaceBy, Earlier: o.Earlier}
	for _, l := range o.Lines {
		made.Lines = append(made.Lines, inventory.ProposedLine{
			Item: l.Item.Code, Packs: l.Packs, PackQty: l.PackQty, Price: l.Price, Position: position[l.Item.Code],
		})
	}
	return made
}
