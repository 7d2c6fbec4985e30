package workbook

import (
	"bytes"
	"testing"

	"circlip/inventory"
	"circlip/reports"
	"circlip/testdata/golden/plans"
)

// sent is the first order of the plan made by hand as it goes out: one line
// changed by a person, one with a note.
func sent() reports.OrderToSend {
	p := plans.Plan()
	o := p.Orders[0]
	order := reports.OrderToSend{
		Order: "PO-2027-014", Workshop: p.Workshop, Supplier: o.Supplier, Currency: p.Currency,
		PlacedOn: plans.AsOf, ExpectedBy: plans.AsOf + 4, Carriage: o.Carriage,
		Note: "Please send with the parcel of last week, if it has not left.\nThe gate is closed on Fridays after noon.",
	}
	for _, l := range o.Lines {
		order.Lines = append(order.Lines, reports.LineToSend{Item: l.Item, SupplierCode: l.SupplierCode, Packs: l.Packs + 1, PackQty: l.PackQty, Price: l.Price})
	}
	order.Lines[1].Note = "no other hardness, please"
	return order
}

// dueOf is the same order when it is to come, a pack of it here already.
func dueOf(order reports.OrderToSend) reports.DeliveryDue {
	d := reports.DeliveryDue{Order: order.Order, Workshop: order.Workshop, Supplier: order.Supplier, Currency: order.Currency, PlacedOn: order.PlacedOn, ExpectedBy: order.ExpectedBy}
	for i, l := range order.Lines {
		d.Lines = append(d.Lines, reports.LineDue{Item: l.Item, Packs: l.Packs, Outstanding: l.Packs - i, PackQty: l.PackQty, Price: l.Price})
	}
	return d
}

func orderBytes(t testing.TB, o reports.OrderToSend) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := EncodeOrder(&out, o); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func deliveryBytes(t testing.TB, d reports.DeliveryDue) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := EncodeDelivery(&out, d); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

var _ = inventory.Delivery{}
