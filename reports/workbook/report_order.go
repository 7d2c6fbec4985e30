package workbook

import (
	"io"

	"circlip/reports"
)

// WriteOrder writes the order to send to a supplier to a file, which takes its
// place when it is whole: one sheet, nothing hidden, and no formula that looks
// beyond it.
func WriteOrder(path string, o reports.OrderToSend) error {
	return writeWhole(path, "order", func(w io.Writer) error { return EncodeOrder(w, o) })
}

// EncodeOrder writes that workbook. The same order gives the same bytes.
func EncodeOrder(w io.Writer, o reports.OrderToSend) error {
	return encodeSheets(w, "Order "+reports.Plain(o.Order), o.Workshop, o.PlacedOn, []reports.Sheet{o.Sheet()}, nil)
}

// WriteDelivery writes a sheet to tick a parcel off to a file, which takes its
// place when it is whole.
func WriteDelivery(path string, d reports.DeliveryDue) error {
	return writeWhole(path, "delivery", func(w io.Writer) error { return EncodeDelivery(w, d) })
}

// EncodeDelivery writes that workbook, with what is due hidden in it for
// ReadDelivery. The same order gives the same bytes.
func EncodeDelivery(w io.Writer, d reports.DeliveryDue) error {
	return encodeSheets(w, "Delivery of order "+reports.Plain(d.Order), d.Workshop, d.PlacedOn, []reports.Sheet{d.Sheet()}, due(d))
}
