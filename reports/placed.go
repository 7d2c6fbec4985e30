package reports

import (
	"slices"

	"circlip/inventory"
	"circlip/reports/plan"
)

// Placing is what a command placed, or would place, of the sheets that came
// back.
type Placing struct {
	Workshop string
	AsOf     inventory.Date
	Currency inventory.Currency
	Recorded bool // false: a trial
	Orders   []PlacedOrder
	Proposed plan.Readiness // with all orders of the file as they were proposed
	Now      plan.Readiness // with those placed as they were changed
	Struck   []string       // suppliers all of whose lines were struck
	Warnings []string
}

// PlacedOrder is one order under its code, priced for the packs ordered.
type PlacedOrder struct {
	Code           string
	Order          plan.Order
	Answer         inventory.Answer
	Send, Delivery string // paths of the sheets written; empty: none
}

// PlacedTables are the orders placed, and what differs from what was proposed.
func PlacedTables(p Placing) []Sheet {
	sheets := []Sheet{placedSheet(p)}
	if changes := changesSheet(p); len(changes.Rows) > 0 {
		sheets = append(sheets, changes)
	}
	return sheets
}

func placedSheet(p Placing) Sheet {
	what := "Placed"
	if !p.Recorded {
		what = "Would be placed, nothing is recorded"
	}
	s := Sheet{
		Key: "placed", Name: "Placed", Title: titled(what, p.Workshop, p.AsOf),
		Facts: []Fact{
			{"Jobs ready with the orders as proposed", Share(p.Proposed.WithOrder), "%"},
			{"Jobs ready with the orders as they are now", Share(p.Now.WithOrder), "%"},
			{"Target", Share(p.Now.Target), "%"},
		},
		Columns: []Column{
			{Name: "Order"}, {Name: "Supplier", Rank: 2}, {Name: "Lines", Kind: CountKind},
			{Name: "Expected by", Kind: DateKind, Rank: 1},
			{Name: "Goods", Unit: p.Currency.Code, Kind: MoneyKind},
			{Name: "Carriage", Unit: p.Currency.Code, Kind: MoneyKind},
			{Name: "Total", Unit: p.Currency.Code, Kind: MoneyKind},
		},
		Empty:   "Nothing to place: every line is struck.",
		Remarks: slices.Clone(p.Warnings),
	}
	for _, supplier := range p.Struck {
		s.Remarks = append(s.Remarks, "every line to "+supplier+" is struck: no order")
	}
	for _, o := range p.Orders {
		s.Rows = append(s.Rows, Row{Cells: []Cell{
			Words(o.Code), Words(supplierName(o.Order.Supplier)), Counted(len(o.Order.Lines)), Day(lastDay(o.Order)),
			Amount(o.Order.Goods, p.Currency), Amount(o.Order.Carriage, p.Currency), Amount(o.Order.Total, p.Currency),
		}})
	}
	return s
}

// changesSheet lists the lines that a person changed.
func changesSheet(p Placing) Sheet {
	s := Sheet{
		Key: "changes", Name: "Changes", Title: "What differs from the proposal",
		Columns: []Column{
			{Name: "Supplier", Rank: 1}, {Name: "Item", Wrap: true}, {Name: "Proposed", Unit: "packs", Kind: CountKind},
			{Name: "Now", Unit: "packs", Kind: CountKind}, {Name: "Remark"},
		},
	}
	for _, o := range p.Orders {
		for _, c := range o.Answer.Changes() {
			s.Rows = append(s.Rows, Row{Cells: []Cell{
				Words(supplierName(o.Order.Supplier)), Words(c.Item), Counted(c.Proposed), Counted(c.Now), Words(changeRemark(c)),
			}})
		}
	}
	return s
}

func changeRemark(c inventory.Change) string {
	switch {
	case c.Now == 0:
		return "struck"
	case c.Now < c.Proposed:
		return "less"
	}
	return "more"
}

// placedJSON is one order placed.
type placedJSON struct {
	Order    string       `json:"order"`
	Supplier string       `json:"supplier"`
	Sheet    string       `json:"sheet"`
	Lines    []lineJSON   `json:"lines"`
	Changes  []changeJSON `json:"changes"`
	Note     string       `json:"note"`
	Goods    string       `json:"goods"`
	Carriage string       `json:"carriage"`
	Total    string       `json:"total"`
	Send     *string      `json:"send"`
	Delivery *string      `json:"delivery"`
}

// changeJSON is a line of which other packs are ordered than were proposed.
type changeJSON struct {
	Item     string `json:"item"`
	Proposed int    `json:"proposed"`
	Packs    int    `json:"packs"`
}

// PlacedJSON is the document of `order place --json`.
func PlacedJSON(p Placing) ([]byte, error) {
	document := struct {
		documentHead
		Recorded  bool         `json:"recorded"`
		Orders    []placedJSON `json:"orders"`
		Readiness struct {
			Target     float64 `json:"target"`
			AsProposed float64 `json:"as_proposed"`
			AsPlaced   float64 `json:"as_placed"`
		} `json:"readiness"`
		Warnings []string `json:"warnings"`
	}{documentHead: documentHead{p.AsOf.String(), p.Workshop, schema}, Recorded: p.Recorded, Orders: []placedJSON{}, Warnings: some(p.Warnings)}
	r := &document.Readiness
	r.Target, r.AsProposed, r.AsPlaced = number(p.Now.Target), number(p.Proposed.WithOrder), number(p.Now.WithOrder)
	for _, o := range p.Orders {
		order := orderDocument(p.Currency, o.Order)
		placed := placedJSON{
			Order: o.Code, Supplier: o.Order.Supplier.Code, Sheet: o.Answer.ID(), Lines: order.Lines, Changes: []changeJSON{}, Note: o.Answer.Note,
			Goods: order.Goods, Carriage: order.Carriage, Total: order.Total, Send: textOrNull(o.Send), Delivery: textOrNull(o.Delivery),
		}
		for _, c := range o.Answer.Changes() {
			placed.Changes = append(placed.Changes, changeJSON{c.Item, c.Proposed, c.Now})
		}
		document.Orders = append(document.Orders, placed)
	}
	return encode("order", document)
}
