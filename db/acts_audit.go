package db

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"circlip/inventory"
)

// ReviseBill writes down that a service takes another quantity of an item from a
// day on: the line of the bill of materials that holds on that day ends there,
// and one begins that is like it but for its quantity and note. It is refused
// where no line holds on that day, where it has that quantity already, and where
// it only begins on that day.
//
// The day may lie in the past. What jobs were allowed until then stays as it
// was; from then on an audit measures by the new line, also jobs that are done.
type ReviseBill struct {
	Service, Model, Item string // as the line has them: Model may be inventory.AnyModel
	Qty                  inventory.Quantity
	From                 inventory.Date
	Note                 string // why it is so much, or empty
	On                   inventory.Date
}

// Dispose writes down spent fluid that was gathered, or handed over to a carrier.
// Its Number is left 0: it gets the next of its day, which stands in Done.Number.
// It moves no stock, as what was drawn has left the shelf before.
type Dispose struct{ inventory.Disposal }

func (ReviseBill) kind() string { return "revise bill" }
func (Dispose) kind() string    { return "dispose" }

func (b ReviseBill) request() map[string]any {
	request := map[string]any{"service": b.Service, "model": b.Model, "item": b.Item, "qty": b.Qty,
		"valid_from": b.From.String(), "on": b.On.String()}
	setText(request, "note", b.Note)
	return request
}

func (d Dispose) request() map[string]any {
	request := map[string]any{"on": d.Date.String(), "stream": d.Stream, "moment": "gathered"}
	if d.HandedOver {
		request["moment"] = "handed-over"
	}
	setNumber(request, "volume_ml", d.VolumeML)
	setNumber(request, "weight_g", d.WeightG)
	setText(request, "carrier", d.Carrier)
	setText(request, "document", d.Document)
	setText(request, "note", d.Note)
	return request
}

// partsRequest is what a count's containers held, in their order.
func partsRequest(parts []inventory.CountPart) []map[string]any {
	all := make([]map[string]any, len(parts))
	for i, p := range parts {
		all[i] = map[string]any{"qty": p.Qty}
		setText(all[i], "container", p.Container)
		setDate(all[i], "opened_on", p.OpenedOn)
		if p.Weighed != nil {
			all[i]["gross_g"], all[i]["tare_g"] = p.Weighed.GrossG, p.Weighed.TareG
			setNumber(all[i], "temp_c", p.Weighed.TempC)
		}
	}
	return all
}

// setText leaves a text that was not written down out of a request, and blanks
// around one, which a book would not keep.
func setText(request map[string]any, name, text string) {
	if text = strings.TrimSpace(text); text != "" {
		request[name] = text
	}
}

// setNumber leaves a number that is not known out of a request.
func setNumber(request map[string]any, name string, number *float64) {
	if number != nil {
		request[name] = *number
	}
}

func (b ReviseBill) check() error {
	switch {
	case b.Service == "":
		return fmt.Errorf("%w: item %s: no service named", inventory.ErrInvalid, b.Item)
	case b.Model == "":
		return fmt.Errorf("%w: item %s: no model named, expected one or %s", inventory.ErrInvalid, b.Item, inventory.AnyModel)
	case b.From.IsZero():
		return fmt.Errorf("%w: item %s: no day from which it holds", inventory.ErrInvalid, b.Item)
	}
	return checkLine(Line{Item: b.Item, Qty: b.Qty}, b.On)
}

func (d Dispose) check() error {
	switch {
	case d.Date.IsZero():
		return fmt.Errorf("%w: no day", inventory.ErrInvalid)
	case d.Number != 0:
		return fmt.Errorf("%w: found number %d, expected none: the next of the day is given to it", inventory.ErrInvalid, d.Number)
	case !slices.Contains(inventory.Streams, d.Stream):
		return fmt.Errorf("%w: found stream %q, expected one of %v", inventory.ErrInvalid, d.Stream, inventory.Streams)
	case d.VolumeML == nil && d.WeightG == nil:
		return fmt.Errorf("%w: %s of %s: neither a volume nor a weight, expected one of them", inventory.ErrInvalid, d.Stream, d.Date)
	case !someAmount(d.VolumeML):
		return fmt.Errorf("%w: found %v ml of %s, expected more than 0", inventory.ErrInvalid, *d.VolumeML, d.Stream)
	case !someAmount(d.WeightG):
		return fmt.Errorf("%w: found %v g of %s, expected more than 0", inventory.ErrInvalid, *d.WeightG, d.Stream)
	case d.HandedOver && strings.TrimSpace(d.Carrier) == "":
		return fmt.Errorf("%w: %s of %s: handed over to nobody, expected the carrier's name", inventory.ErrInvalid, d.Stream, d.Date)
	}
	return nil
}

// someAmount reports whether an amount is above zero, or not known.
func someAmount(amount *float64) bool { return amount == nil || *amount > 0 && !math.IsInf(*amount, 1) }

// checkParts looks at the containers of a count of a whole item.
func (c Count) checkParts() error {
	if c.Lot != "" && len(c.Parts) > 0 {
		return fmt.Errorf("%w: item %s lot %s: found containers, expected them of a count of the whole item", inventory.ErrInvalid, c.Item, c.Lot)
	}
	var sum inventory.Quantity
	for i, p := range c.Parts {
		if p.Item != c.Item || p.Date != c.On || p.Number != i+1 {
			return fmt.Errorf("%w: item %s: found container %d of item %s on %s, expected number %d of the count on %s", inventory.ErrInvalid,
				c.Item, p.Number, p.Item, p.Date, i+1, c.On)
		}
		if err := checkPart(p); err != nil {
			return fmt.Errorf("item %s, container %d: %w", c.Item, p.Number, err)
		}
		sum += p.Qty
	}
	if len(c.Parts) > 0 && sum != c.Found {
		return fmt.Errorf("%w: item %s: found %d steps in all, %d in its containers, expected as much", inventory.ErrInvalid, c.Item, c.Found, sum)
	}
	return nil
}

func checkPart(p inventory.CountPart) error {
	switch w := p.Weighed; {
	case p.Qty < 0 || p.Qty > inventory.MaxQuantity:
		return fmt.Errorf("%w: found %d steps, expected 0 to %d", inventory.ErrInvalid, p.Qty, inventory.MaxQuantity)
	case p.OpenedOn > p.Date:
		return fmt.Errorf("%w: found opened on %s, expected a day until %s", inventory.ErrInvalid, p.OpenedOn, p.Date)
	case w == nil:
	case !(w.TareG >= 0 && w.GrossG >= w.TareG) || math.IsInf(w.GrossG, 1):
		return fmt.Errorf("%w: found %v g gross and %v g tare, expected a gross weight of the tare or more", inventory.ErrInvalid, w.GrossG, w.TareG)
	case w.TempC != nil && (math.IsNaN(*w.TempC) || math.IsInf(*w.TempC, 0)):
		return fmt.Errorf("%w: found %v °C, expected a temperature", inventory.ErrInvalid, *w.TempC)
	}
	return nil
}
