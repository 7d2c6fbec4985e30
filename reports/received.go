package reports

import (
	"fmt"
	"slices"
	"strings"

	"circlip/inventory"
)

// Receiving is a delivery as it was put on the shelf.
type Receiving struct {
	Workshop string
	AsOf     inventory.Date
	Currency inventory.Currency
	Order    string
	Supplier inventory.Supplier
	On       inventory.Date
	Lines    []ReceivedLine
	Warnings []string
}

// ReceivedLine is one item of the order: what came now, and what of it is still
// to come.
type ReceivedLine struct {
	Item           inventory.Item
	Supplier       inventory.Supplier
	Lot            string
	Expires        inventory.Date
	Ordered        int // packs
	Before, Now    int // packs that came earlier, and now
	Qty            inventory.Quantity
	Asked, Charged inventory.Money // a pack, as ordered and as charged
	Closed         bool            // the rest will not come
}

// outstanding is the packs still to come.
func (l ReceivedLine) outstanding() int {
	if l.Closed {
		return 0
	}
	return max(0, l.Ordered-l.Before-l.Now)
}

// remark says what is not as ordered.
func (l ReceivedLine) remark() string {
	over := l.Before + l.Now - l.Ordered
	switch {
	case over > 0:
		return fmt.Sprintf("%s more than ordered", plural(over, "pack", "packs"))
	case over < 0 && l.Closed:
		return fmt.Sprintf("%s will not come", plural(-over, "pack", "packs"))
	case over < 0:
		return fmt.Sprintf("%s still to come", plural(-over, "pack", "packs"))
	}
	return ""
}

// Received is what came of an order and what did not.
func Received(r Receiving) Sheet {
	s := Sheet{
		Key: "received", Name: "Received",
		Title: fmt.Sprintf("Received of order %s from %s · %s", r.Order, strings.Join(r.senders(), " and "), longDay(r.On)),
		Columns: []Column{
			{Name: "Item", Wrap: true}, {Name: "Ordered", Unit: "packs", Kind: CountKind}, {Name: "Came", Unit: "packs", Kind: CountKind},
			{Name: "Quantity", Kind: QuantityKind, Rank: 1}, {Name: "Lot", Rank: 2}, {Name: "Good until before", Kind: DateKind, Rank: 2},
			{Name: "Pack price", Unit: r.Currency.Code, Kind: MoneyKind, Rank: 1}, {Name: "Remark", Wrap: true},
		},
		Empty:   "Nothing of this order came.",
		Remarks: append(priceRemarks(r), r.Warnings...),
	}
	for _, l := range r.Lines {
		s.Rows = append(s.Rows, Row{Strong: l.remark() != "", Cells: []Cell{
			Words(l.Item.Code), Counted(l.Ordered), Counted(l.Now), Measured(l.Qty, l.Item.Measure), Words(l.Lot), Day(l.Expires),
			Amount(l.Charged, r.Currency), Words(l.remark()),
		}})
	}
	return s
}

// senders are the suppliers of the lines: one, but where a book has lines to
// several under one code.
func (r Receiving) senders() []string {
	var names []string
	for _, l := range r.Lines {
		if name := supplierName(l.Supplier); l.Now > 0 && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	if len(names) == 0 {
		return []string{supplierName(r.Supplier)}
	}
	return names
}

// priceRemarks tells each price that is not the one ordered at, with what it
// makes on this delivery.
func priceRemarks(r Receiving) []string {
	var remarks []string
	for _, l := range r.Lines {
		if l.Now == 0 || l.Charged == l.Asked {
			continue
		}
		word, by := "more", l.Charged-l.Asked
		if by < 0 {
			word, by = "less", -by
		}
		remarks = append(remarks, fmt.Sprintf("%s: charged %s a pack where %s was ordered at: %s %s in all; ask %s",
			l.Item.Code, amount(l.Charged, r.Currency), amount(l.Asked, r.Currency), amount(by*inventory.Money(l.Now), r.Currency), word, supplierName(l.Supplier)))
	}
	return slices.Clip(remarks)
}

// receivedJSON is one line of a delivery.
type receivedJSON struct {
	Item        string  `json:"item"`
	Lot         string  `json:"lot"`
	ExpiresOn   *string `json:"expires_on"`
	Ordered     int     `json:"ordered_packs"`
	Received    int     `json:"received_packs"`
	Outstanding int     `json:"outstanding_packs"`
	Qty         float64 `json:"qty"`
	Price       string  `json:"price"`
	Charged     string  `json:"charged"`
	Closed      bool    `json:"closed"`
}

// ReceivedJSON is the document of `order receive --json`.
func ReceivedJSON(r Receiving) ([]byte, error) {
	document := struct {
		documentHead
		Order    string         `json:"order"`
		Supplier string         `json:"supplier"`
		On       string         `json:"received_on"`
		Lines    []receivedJSON `json:"lines"`
		Warnings []string       `json:"warnings"`
	}{
		documentHead: documentHead{r.AsOf.String(), r.Workshop, schema}, Order: r.Order, Supplier: r.Supplier.Code, On: r.On.String(),
		Lines: []receivedJSON{}, Warnings: some(append(priceRemarks(r), r.Warnings...)),
	}
	for _, l := range r.Lines {
		document.Lines = append(document.Lines, receivedJSON{
			l.Item.Code, l.Lot, dayOrNull(l.Expires), l.Ordered, l.Now, l.outstanding(), l.Item.Measure.Number(l.Qty),
			r.Currency.Format(l.Asked), r.Currency.Format(l.Charged), l.Closed,
		})
	}
	return encode("delivery", document)
}
