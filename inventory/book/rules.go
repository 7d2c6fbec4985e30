package book

import (
	"slices"

	"circlip/inventory"
)

// rowRule ties several columns of a row together. It is asked only where the
// columns it needs are fine; its fault stands at column.
type rowRule struct {
	column string
	needs  []string
	broken func(*rowValues) *flaw
}

// rowRules are the rules of whole rows, by table.
var rowRules = map[string][]rowRule{
	"kits":       {differs("item", "kit", "a kit that holds itself", "another item")},
	"alternates": {differs("alternate", "item", "an item as its own alternate", "another item")},
	"grooves":    {{"bore_mm", []string{"root_mm", "bore_mm"}, boreAroundRoot}},
	"models":     {{"model", []string{"model"}, modelNotStar}},
	"services":   {{"covers", []string{"service", "covers"}, coversNotItself}},
	"bom":        {{"to", []string{"from", "to"}, endsLater}},
	"units":      {notBefore("retired", "in_service")},
	"jobs": {
		{"model", []string{"unit", "model"}, unitOrModel},
		{"done_on", []string{"state", "done_on"}, doneOn},
		{"cancelled_on", []string{"state", "cancelled_on"}, cancelledOn},
		notBefore("cancelled_on", "booked_on"),
		{"done_by", []string{"state", "done_by"}, doneBy},
	},
	"orders": {
		notBefore("due_on", "placed_on"),
		notBefore("received_on", "placed_on"),
		{"received_on", []string{"received_on", "received_packs"}, receivedWhen},
		notBefore("closed_on", "placed_on"),
		{"sheet", []string{"sheet"}, sheetOfOrder},
	},
	"counts": {
		{"qty", []string{"qty", "gross_g", "tare_g"}, countedOrWeighed},
		{"tare_g", []string{"gross_g", "tare_g"}, tareBelowGross},
	},
	"count_parts": {
		{"qty", []string{"qty", "gross_g"}, measuredOrWeighed},
		{"tare_g", []string{"container", "gross_g", "tare_g"}, tareOfWeight},
		{"tare_g", []string{"gross_g", "tare_g"}, tareBelowGross},
		{"temp_c", []string{"gross_g", "temp_c"}, tempOfWeight},
		{"opened_on", []string{"date", "opened_on"}, openedByThen},
	},
	"disposals": {
		{"volume_ml", []string{"volume_ml", "weight_g"}, amountKnown},
		{"carrier", []string{"moment", "carrier"}, carrierNamed},
	},
	"moves": {
		{"to", []string{"from", "to"}, shelfAtOneEnd},
		{"lot", []string{"lot", "qty"}, lotMoves},
		{"act", []string{"lot", "act"}, actOfLot},
		{"received", []string{"lot", "received"}, lotReceived},
		{"reverses", []string{"number", "reverses"}, reversesEarlier},
	},
}

// differs: the codes of two columns must not be the same.
func differs(column, other, problem, expected string) rowRule {
	return rowRule{column, []string{column, other}, func(v *rowValues) *flaw {
		if v.of(column) == v.of(other) {
			return &flaw{problem, expected}
		}
		return nil
	}}
}

// notBefore: a day must not lie before another, where both are given.
func notBefore(column, other string) rowRule {
	return rowRule{column, []string{column, other}, func(v *rowValues) *flaw {
		day, earlier := v.date(column), v.date(other)
		if !day.IsZero() && day < earlier {
			return &flaw{"before " + other, "a day from " + earlier.String() + " on"}
		}
		return nil
	}}
}

// date is the value of a column of dates; zero when blank.
func (v *rowValues) date(column string) inventory.Date {
	d, _ := v.of(column).(inventory.Date)
	return d
}

// modelNotStar: the bill of materials says * for every model of a family.
func modelNotStar(v *rowValues) *flaw {
	if v.of("model") == inventory.AnyModel {
		return &flaw{"a model called *", "another code, since * stands for every model in the table bom"}
	}
	return nil
}

// coversNotItself: longer circles cannot be seen in one row.
func coversNotItself(v *rowValues) *flaw {
	service, _ := v.of("service").(string)
	if covers, _ := v.of("covers").([]string); slices.Contains(covers, service) {
		return &flaw{"a service that covers itself", "other services"}
	}
	return nil
}

// endsLater: a line holds from its first day until the day before its last.
func endsLater(v *rowValues) *flaw {
	if from, to := v.date("from"), v.date("to"); !to.IsZero() && to <= from {
		return &flaw{"not after from", "a day after " + from.String() + ", the first on which the line no longer holds"}
	}
	return nil
}

// unitOrModel: what a job takes depends on the model, so one must be known.
func unitOrModel(v *rowValues) *flaw {
	if v.of("unit") == nil && v.of("model") == nil {
		return &flaw{"blank, and so is unit", "a unit, or the model of one that is not known"}
	}
	return nil
}

// doneOn: use is booked on the day a job was done, so that day must be known,
// and a job that is not done has none.
func doneOn(v *rowValues) *flaw {
	done, dated := v.of("state") == string(inventory.Done), !v.date("done_on").IsZero()
	switch {
	case done && !dated:
		return &flaw{"blank for a job that is done", "the day it was done"}
	case dated && !done:
		return &flaw{"a day for a job that is not done", "a blank cell, or the state done"}
	}
	return nil
}

// cancelledOn: that day may not be known, but only a job that was called off or
// missed has one.
func cancelledOn(v *rowValues) *flaw {
	state, _ := v.of("state").(string)
	ended := state == string(inventory.Cancelled) || state == string(inventory.NoShow)
	if !v.date("cancelled_on").IsZero() && !ended {
		return &flaw{"a day for a job that is " + state, "a blank cell, or the state cancelled or no-show"}
	}
	return nil
}

// doneBy: only what was done was done by somebody.
func doneBy(v *rowValues) *flaw {
	if v.of("done_by") != nil && v.of("state") != string(inventory.Done) {
		return &flaw{"a name for a job that is not done", "a blank cell, or the state done"}
	}
	return nil
}

// receivedWhen: packs came on some day. A day without packs means all came.
func receivedWhen(v *rowValues) *flaw {
	if v.of("received_packs") != nil && v.date("received_on").IsZero() {
		return &flaw{"blank where packs were received", "the day they came"}
	}
	return nil
}

// sheetOfOrder: a sheet is known by the name of its proposal.
func sheetOfOrder(v *rowValues) *flaw {
	sheet, placed := v.of("sheet").(string)
	if placed && (failing(sheet, "len=32,hexadecimal,lowercase") != "" || sheet[1] == 'x') { // 0x is no digit
		return &flaw{"not the name of a sheet", "32 digits of 0 to 9 and a to f, as book save writes them"}
	}
	return nil
}

// countedOrWeighed: a count is a quantity, or two weights of a container; a
// blank one is the sum of its parts, which cannot be seen here.
func countedOrWeighed(v *rowValues) *flaw {
	gross, tare, qty := v.of("gross_g") != nil, v.of("tare_g") != nil, v.of("qty") != nil
	switch {
	case gross != tare:
		return &flaw{"gross_g without tare_g, or the other way about", "both weights, or neither"}
	case qty && gross:
		return &flaw{"a quantity beside two weights", "one or the other"}
	}
	return nil
}

// measuredOrWeighed: what is in a container is known in one way.
func measuredOrWeighed(v *rowValues) *flaw {
	gross, qty := v.of("gross_g") != nil, v.of("qty") != nil
	switch {
	case qty && gross:
		return &flaw{"a quantity beside a weight", "one or the other"}
	case !qty && !gross && !v.withheld:
		return &flaw{"blank, and so is gross_g", "a quantity, or the weight with the container"}
	}
	return nil
}

// tareOfWeight: a weight needs a tare, its own or its container's.
func tareOfWeight(v *rowValues) *flaw {
	gross, tare := v.of("gross_g") != nil, v.of("tare_g") != nil
	switch {
	case gross && !tare && v.of("container") == nil:
		return &flaw{"blank, and so is container", "the weight of the empty container, or a container whose tare is known"}
	case tare && !gross:
		return &flaw{"a tare without gross_g", "both weights, or neither"}
	}
	return nil
}

// tempOfWeight: what was measured is taken as it was.
func tempOfWeight(v *rowValues) *flaw {
	if v.of("temp_c") != nil && v.of("gross_g") == nil {
		return &flaw{"the temperature of what was not weighed", "a blank cell, or a weight in gross_g"}
	}
	return nil
}

// openedByThen: what a count found open was opened by then.
func openedByThen(v *rowValues) *flaw {
	if day := v.date("date"); v.date("opened_on") > day {
		return &flaw{"after the count", "a day until " + day.String()}
	}
	return nil
}

// amountKnown: a disposal is of some amount.
func amountKnown(v *rowValues) *flaw {
	if v.of("volume_ml") == nil && v.of("weight_g") == nil {
		return &flaw{"blank, and so is weight_g", "a volume or a weight"}
	}
	return nil
}

// carrierNamed: what is handed over is handed to somebody.
func carrierNamed(v *rowValues) *flaw {
	if v.of("moment") == "handed-over" && v.of("carrier") == nil {
		return &flaw{"blank for what was handed over", "who took it"}
	}
	return nil
}

// tareBelowGross: an empty container weighs no more than a full one.
func tareBelowGross(v *rowValues) *flaw {
	gross, weighed := v.of("gross_g").(float64)
	if tare, _ := v.of("tare_g").(float64); weighed && tare > gross {
		return &flaw{"more than gross_g", "at most " + formatFloat(gross)}
	}
	return nil
}

// boreAroundRoot: the ring lies between the two.
func boreAroundRoot(v *rowValues) *flaw {
	root, _ := v.of("root_mm").(float64)
	if bore, _ := v.of("bore_mm").(float64); bore <= root {
		return &flaw{"not wider than root_mm", "more than " + formatFloat(root)}
	}
	return nil
}

// shelfAtOneEnd: what moves comes onto the shelf or leaves it.
func shelfAtOneEnd(v *rowValues) *flaw {
	shelf := string(inventory.Shelf)
	if (v.of("from") == shelf) == (v.of("to") == shelf) {
		return &flaw{"the shelf at both ends, or at none", "shelf in either from or to"}
	}
	return nil
}

// lotMoves: what moves is of a lot; a count that found what was there moves
// nothing and has none.
func lotMoves(v *rowValues) *flaw {
	qty, _ := v.of("qty").(inventory.Quantity)
	if lot := v.of("lot") != ""; lot != (qty > 0) && !v.withheld {
		return &flaw{"a quantity without a lot, or a lot without a quantity", "both, or for a count that found what was there neither"}
	}
	return nil
}

// actOfLot: the same act told twice is known by its key.
func actOfLot(v *rowValues) *flaw {
	act, _ := v.of("act").(string)
	if (v.of("lot") != "" || act != "") && failing(act, "uuid") != "" {
		return &flaw{"not the key of an act", "a UUID, as book save writes it"}
	}
	return nil
}

// lotReceived: a lot that comes back must know how old it is.
func lotReceived(v *rowValues) *flaw {
	if v.of("lot") != "" && v.date("received").IsZero() {
		return &flaw{"blank for a lot", "the day on which the lot came"}
	}
	return nil
}

// reversesEarlier: only what was done can be undone.
func reversesEarlier(v *rowValues) *flaw {
	number, _ := v.of("number").(int64)
	if wrong, reverses := v.of("reverses").(int64); reverses && wrong >= number {
		return &flaw{"not before number", "the number of an earlier row of the lot"}
	}
	return nil
}
