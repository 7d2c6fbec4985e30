package audit

import (
	"math"

	"circlip/inventory"
)

// bookedWithin is how many days after a count a delivery is still looked for
// that was on the shelf then: a choice.
const bookedWithin = 10

// bookedLate is deliveries that the closing count of a period held before they
// were booked in, or that still are not.
func (e evidence) bookedLate(i int) (suspects []suspect) {
	p := e.periods[i]
	if p.Excess() >= 0 {
		return nil
	}
	var day dated
	for _, r := range e.received {
		if r.on <= p.To || r.on > p.To+bookedWithin {
			continue
		}
		if r.on != day.on {
			day = dated{on: r.on}
		}
		day.qty += r.qty
		suspects = append(suspects, e.late(i, r))
		if day.qty != r.qty {
			suspects = append(suspects, e.late(i, day))
		}
	}
	if i+1 < len(e.periods) {
		return suspects
	}
	for _, o := range e.orders {
		if o.Outstanding() <= 0 || o.PlacedOn > p.To || o.DueOn > p.To+bookedWithin {
			continue
		}
		packs := min(e.nearest(i, o.PackQty), o.Packs-o.ReceivedPacks)
		suspects = append(suspects, suspect{first: i, Finding: Finding{Kind: BookedLate, Ref: o.Order, N: packs, Qty: -inventory.Quantity(packs) * o.PackQty}})
	}
	return suspects
}

// late is a delivery that shows in a period, and the other way in that in which
// it was booked.
func (e evidence) late(i int, r dated) suspect {
	s := suspect{first: i, Finding: Finding{Kind: BookedLate, On: r.on, Qty: -r.qty}}
	for _, o := range e.orders {
		if o.ReceivedOn == r.on {
			s.Ref = o.Order
		}
	}
	for _, pack := range e.packs {
		if r.qty%pack == 0 {
			s.N = int(r.qty / pack)
		}
	}
	for j := i + 1; j < len(e.periods); j++ {
		if e.periods[j].From < r.on && r.on <= e.periods[j].To {
			s.second = j
		}
	}
	return s
}

// nearest is how many containers come nearest to the excess of a period.
func (e evidence) nearest(i int, pack inventory.Quantity) int {
	return int(math.Round(math.Abs(float64(e.periods[i].Excess())) / float64(pack)))
}

// misread is what was measured at the end of a period and fits better if it
// was g written down as ml, or ml as g; in the first period also at its
// beginning.
func (e evidence) misread(i int) (suspects []suspect) {
	p := e.periods[i]
	tempC := e.warmthAbout(i)
	for _, f := range e.otherMeasure(p.Closing, p.To, tempC) {
		s := suspect{first: i, Finding: f}
		if i+1 < len(e.periods) {
			s.second = i + 1
		}
		suspects = append(suspects, s)
	}
	if i > 0 {
		return suspects
	}
	for _, f := range e.otherMeasure(p.Opening, p.From, tempC) {
		f.Qty = -f.Qty
		suspects = append(suspects, suspect{first: i, Finding: f})
	}
	return suspects
}

// warmthAbout is the temperature of the fluid about the end of a period, by the
// nearest count that tells it.
func (e evidence) warmthAbout(i int) float64 {
	counts := []inventory.Count{{Date: e.periods[i].To}, {Date: e.periods[i].From}}
	if i+1 < len(e.periods) {
		counts = append(counts, inventory.Count{Date: e.periods[i+1].To})
	}
	for _, c := range counts {
		if tempC, _, known := e.meanTemp(e.partsOf(c)); known {
			return tempC
		}
	}
	return inventory.ReferenceC
}

// otherMeasure is by how much more a count comes to with one of its measured
// parts, or all of them, in the other measure. A density of 870 kg/m³ makes 870
// g a litre.
func (e evidence) otherMeasure(qty inventory.Quantity, on inventory.Date, tempC float64) (findings []Finding) {
	density := inventory.DensityAt(e.item.DensityKgM3, tempC) / 1000
	kind, factor := GramsAsML, 1/density
	if e.item.Measure == inventory.Gram {
		kind, factor = MLAsGrams, density
	}
	if !(density > 0) || e.item.Measure == inventory.Each {
		return nil
	}
	all := Finding{Kind: kind, On: on}
	for _, p := range e.partsOf(inventory.Count{Date: on, Qty: qty}) {
		if p.Weighed != nil || e.sealed(p.Qty) {
			continue
		}
		one := Finding{Kind: kind, On: on, Ref: p.Container, N: 1, Qty: inventory.Quantity(math.Round(float64(p.Qty) * (factor - 1)))}
		all.N, all.Qty = all.N+1, all.Qty+one.Qty
		findings = append(findings, one)
	}
	if all.N > 1 {
		findings = append(findings, all)
	}
	return findings
}

// containers is whole packs that turned up or are gone, and in two periods that
// one count overlooked them or took some for full that were not. Only packs are
// tried that are large beside what the excess strays by anyway.
func (e evidence) containers(i int) (suspects []suspect) {
	p := e.periods[i]
	sign := inventory.Quantity(1)
	if p.Excess() < 0 {
		sign = -1
	}
	for _, pack := range e.packs {
		n := e.nearest(i, pack)
		if n == 0 || float64(pack) < hopeless*e.sigma(i) {
			continue
		}
		s := suspect{first: i, Finding: Finding{Kind: Whole, On: p.To, N: n, Qty: sign * inventory.Quantity(n) * pack}}
		if math.Abs(e.z(i, 0)) > veryOdd {
			suspects = append(suspects, s)
		}
		if i+1 < len(e.periods) && float64(pack) >= hopeless*e.sigma(i+1) {
			s.second = i + 1
			suspects = append(suspects, s)
		}
	}
	return suspects
}

// miscounted is a count that is wrong by whatever two periods show, each the
// opposite of the other.
func (e evidence) miscounted(i int) []suspect {
	if i+1 >= len(e.periods) {
		return nil
	}
	z, next := e.z(i, 0), e.z(i+1, 0)
	if z*next >= 0 || min(math.Abs(z), math.Abs(next)) <= veryOdd {
		return nil
	}
	// The amount that leaves the least of both.
	v, w := math.Pow(e.sigma(i), -2), math.Pow(e.sigma(i+1), -2)
	wrong := (v*float64(e.periods[i].Excess()) - w*float64(e.periods[i+1].Excess())) / (v + w)
	return []suspect{{first: i, second: i + 1, Finding: Finding{Kind: Miscounted, On: e.periods[i].To, N: 1, Qty: inventory.Quantity(math.Round(wrong))}}}
}
