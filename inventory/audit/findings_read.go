package audit

import (
	"math"
	"slices"

	"circlip/inventory"
)

// missedFrom is how many times as long as usual a period is that a count is
// missing in: a choice.
const missedFrom = 1.6

// medianDays is how many days a period usually lasts; 0 of too few to tell.
func medianDays(periods []Period) float64 {
	if len(periods) < 3 {
		return 0 // no rhythm yet
	}
	days := make([]int, len(periods))
	for i, p := range periods {
		days[i] = p.Days()
	}
	slices.Sort(days)
	return float64(days[len(days)/2]+days[(len(days)-1)/2]) / 2
}

// read adds what must be known to read a period.
func (e evidence) read(i int, usualDays float64) {
	p := &e.periods[i]
	tell := func(f Finding) { p.Findings = append(p.Findings, f) }
	if drawn := p.Drawn(); e.item.Measure.Number(drawn) < -odd*p.CountSpread {
		tell(Finding{Kind: Negative, Qty: drawn})
	}
	if usualDays > 0 && float64(p.Days()) >= missedFrom*usualDays {
		tell(Finding{Kind: CountsMissed, N: max(1, int(math.Round(float64(p.Days())/usualDays))-1)})
	}
	if p.NoCard > 0 {
		without := Finding{Kind: NoCards, N: p.NoCard}
		if e.explains(i, -p.Uncarded) {
			without.Qty = -p.Uncarded // they took none
		}
		tell(without)
	}
	if e.item.Measure == inventory.Each {
		return
	}
	opening := e.partsOf(inventory.Count{Date: p.From, Qty: p.Opening})
	closing := e.partsOf(inventory.Count{Date: p.To, Qty: p.Closing})
	p.Findings = append(p.Findings, e.tares(i, opening, closing)...)
	if e.differentWays(opening, closing) {
		tell(Finding{Kind: TwoWays, On: p.To})
	}
	if n := e.withoutTemp(closing); n > 0 {
		tell(Finding{Kind: NoTemp, On: p.To, N: n})
	}
	if n := e.withoutTemp(opening); n > 0 && i == 0 {
		tell(Finding{Kind: NoTemp, On: p.From, N: n})
	}
	for _, c := range closing {
		if e.item.OpenedMonths > 0 && !c.OpenedOn.IsZero() && c.OpenedOn.AddMonths(e.item.OpenedMonths) <= p.To {
			tell(Finding{Kind: Opened, On: c.OpenedOn, Ref: c.Container, N: 1, Qty: c.Qty})
		}
	}
}

// tares is containers that were reckoned with another tare than at the count
// before, with what that comes to, and with another than the known one where
// that is new: an error that is in both counts falls out.
func (e evidence) tares(i int, opening, closing []inventory.CountPart) (findings []Finding) {
	for _, now := range closing {
		if now.Weighed == nil {
			continue
		}
		before, found := sameContainer(now, opening)
		changed := found && math.Abs(now.Weighed.TareG-before.TareG) > e.settings.ScaleStepG
		if changed && (now.Container != "" || len(opening) == 1 && len(closing) == 1 && math.Abs(e.z(i, 0)) > odd) {
			more := e.tareMore(*now.Weighed, before.TareG)
			findings = append(findings, Finding{Kind: TareChanged, On: now.Date, Ref: now.Container, N: 1, Qty: more})
		}
		if !found || changed {
			findings = append(findings, e.unlikeKnown(now)...)
		}
	}
	if i == 0 {
		for _, first := range opening {
			findings = append(findings, e.unlikeKnown(first)...)
		}
	}
	return findings
}

func sameContainer(now inventory.CountPart, opening []inventory.CountPart) (inventory.Weighing, bool) {
	for _, o := range opening {
		if o.Container == now.Container && o.Weighed != nil {
			return *o.Weighed, true
		}
	}
	return inventory.Weighing{}, false
}

// unlikeKnown is a part that was reckoned with another tare than its container
// is known to have. Qty is by how much less it was taken to hold.
func (e evidence) unlikeKnown(p inventory.CountPart) []Finding {
	if p.Weighed == nil {
		return nil
	}
	known, ok := e.known[p.Container]
	if !ok || math.Abs(p.Weighed.TareG-known) <= e.settings.ScaleStepG {
		return nil
	}
	return []Finding{{Kind: TareUnlike, On: p.Date, Ref: p.Container, N: 1, Qty: e.tareMore(*p.Weighed, known)}}
}

// tareMore is how much more a weighing had found with another tare.
func (e evidence) tareMore(w inventory.Weighing, tareG float64) inventory.Quantity {
	return e.item.Measure.Nearest((w.TareG - tareG) * e.perGram(w.Temperature()))
}

// differentWays reports whether one count was weighed throughout and the other
// measured, sealed packs aside.
func (e evidence) differentWays(opening, closing []inventory.CountPart) bool {
	weighed, measured := e.ways(opening)
	weighed2, measured2 := e.ways(closing)
	return weighed != weighed2 && measured != measured2 && weighed != measured && weighed2 != measured2
}

func (e evidence) ways(parts []inventory.CountPart) (weighed, measured bool) {
	for _, p := range parts {
		weighed = weighed || p.Weighed != nil
		measured = measured || (p.Weighed == nil && !e.sealed(p.Qty))
	}
	return weighed, measured
}

// withoutTemp is how many weighed parts of a fluid whose expansion is known
// have no temperature.
func (e evidence) withoutTemp(parts []inventory.CountPart) (n int) {
	for _, p := range parts {
		if p.Weighed != nil && p.Weighed.TempC == nil && e.expansion(inventory.ReferenceC) != 0 {
			n++
		}
	}
	return n
}
