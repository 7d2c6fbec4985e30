package audit

import (
	"math"

	"circlip/inventory"
)

const (
	// How far a fluid is from 15 °C where no temperature was taken, and from
	// what a thermometer says where one was, as standard deviations in °C:
	// common practice, no source.
	roomC, thermometerC = 4, 0.5
)

// partsOf is the containers that a count was made of. A count of which nothing
// more is known is one container whose contents were measured.
func (a *account) partsOf(c inventory.Count) []inventory.CountPart {
	if parts := a.parts[c.Date]; len(parts) > 0 {
		return parts
	}
	return []inventory.CountPart{{Item: c.Item, Date: c.Date, Qty: c.Qty}}
}

// countVariance is that of the difference of two counts. Pieces are counted
// without error.
func (a *account) countVariance(from, to inventory.Count) float64 {
	if a.item.Measure == inventory.Each {
		return 0
	}
	opening, closing := a.partsOf(from), a.partsOf(to)
	grown := a.grown(opening, closing)
	return a.readVariance(opening, closing) + a.readVariance(closing, opening) + grown*grown
}

// readVariance is that of reading the parts of one count, another being given:
// the error in the tare of a container that is in both falls out of their
// difference. A rounding to steps of s has the variance s²/12. Temperatures
// are wrong in all parts alike.
func (a *account) readVariance(parts, other []inventory.CountPart) float64 {
	variance, thermal := 0.0, 0.0
	for _, p := range parts {
		switch {
		case p.Weighed != nil:
			tempC := p.Weighed.Temperature()
			reading := a.settings.ScaleStepG * a.perGram(tempC)
			variance += reading * reading / 12
			if !tareIn(p, other) {
				variance += reading * reading / 12
			}
			thermal += a.item.Measure.Number(p.Qty) * a.expansion(tempC) * unsureC(p.Weighed.TempC)
		case a.sealed(p.Qty):
		case a.item.Measure == inventory.Gram:
			variance += a.settings.ScaleStepG * a.settings.ScaleStepG / 12
		default:
			variance += a.settings.MarkStepML * a.settings.MarkStepML / 12
		}
	}
	return variance + thermal*thermal
}

// tareIn reports whether the part's container was weighed with the same tare
// in the other count.
func tareIn(p inventory.CountPart, other []inventory.CountPart) bool {
	for _, o := range other {
		if p.Container != "" && o.Container == p.Container && o.Weighed != nil && o.Weighed.TareG == p.Weighed.TareG {
			return true
		}
	}
	return false
}

// sealed reports whether what was not weighed is as much as whole packs hold,
// and so was never measured. None is exact too.
func (a *account) sealed(qty inventory.Quantity) bool {
	for _, pack := range a.packs {
		if qty%pack == 0 {
			return true
		}
	}
	return qty == 0
}

// perGram is how much of the item's measure one gram on the scale is at tempC.
func (a *account) perGram(tempC float64) float64 {
	if a.item.Measure != inventory.Millilitre || !(a.item.DensityKgM3 > 0) {
		return 1
	}
	return 1000 / inventory.DensityAt(a.item.DensityKgM3, tempC)
}

// expansion is the share by which a fluid kept in ml grows with 1 °C about tempC.
func (a *account) expansion(tempC float64) float64 {
	if a.item.Measure != inventory.Millilitre {
		return 0
	}
	return math.Log(inventory.VolumeCorrection(a.item.DensityKgM3, tempC-0.5) / inventory.VolumeCorrection(a.item.DensityKgM3, tempC+0.5))
}

func unsureC(tempC *float64) float64 {
	if tempC == nil {
		return roomC
	}
	return thermometerC
}

// grown is by how much what stayed on the shelf grew or shrank between two
// counts at temperatures that differ by more than thermometers do. Nothing is
// corrected for it: nobody knows what jobs took at which temperature.
func (a *account) grown(opening, closing []inventory.CountPart) float64 {
	before, wasML, known := a.meanTemp(opening)
	after, isML, knownAfter := a.meanTemp(closing)
	if !known || !knownAfter || math.Abs(after-before) <= 3*math.Sqrt2*thermometerC {
		return 0
	}
	return min(wasML, isML) * a.expansion(before) * (after - before)
}

// meanTemp is the temperature of the weighed parts of a count that have one,
// and their volume.
func (a *account) meanTemp(parts []inventory.CountPart) (tempC, ml float64, known bool) {
	for _, p := range parts {
		if p.Weighed != nil && p.Weighed.TempC != nil {
			v := a.item.Measure.Number(p.Qty)
			tempC += v * *p.Weighed.TempC
			ml += v
		}
	}
	return tempC / ml, ml, ml > 0
}
