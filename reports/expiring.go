package reports

import (
	"fmt"

	"circlip/inventory"
	"circlip/reports/plan"
)

// Ageing is what will not be used up before it expires, or has expired, with
// the booked jobs that could still use it.
func Ageing(p plan.Plan) Sheet {
	s := Sheet{
		Key: "ageing", Name: "Ageing",
		Title: fmt.Sprintf("What ages out · %s · %s", p.Workshop, longDay(p.AsOf)),
		Notes: []string{
			"Lots that have expired, and those of which more is on hand than is expected to be used until then. The lot that expires first is used first. For lots that outlive the weeks of the plan, use is taken to go on as in them, up to a year from now.",
			"A lot is good until the day before it expires. Where " + inventory.ISO2230 + " allows a longer life after an inspection, the day on which that would end stands beside it; circlip lots inspect records one. Where the maker printed a day, the maker decides.",
		},
		Columns: []Column{
			{Name: "Expires on", Kind: DateKind},
			{Name: "Item"},
			{Name: "Code", Rank: 5},
			{Name: "Lot", Rank: 1},
			{Name: "On hand", Kind: QuantityKind, Rank: 2},
			{Name: "Expected use", Kind: QuantityKind, Rank: 4},
			{Name: "Over", Kind: QuantityKind},
			{Name: "Unit"},
			{Name: "Value on hand", Unit: p.Currency.Code, Kind: MoneyKind, Rank: 3},
			{Name: "Jobs that could use it", Wrap: true, Rank: 4},
			{Name: "Inspected, expires on", Kind: DateKind, Rank: 3},
			{Name: "What to do", Wrap: true},
		},
		Empty: "Nothing ages out: every lot that expires within a year is expected to be used up before.",
	}
	var value inventory.Money
	for _, e := range p.Expiring {
		m := e.Item.Measure
		value += e.Value
		s.Rows = append(s.Rows, Row{Strong: expired(p, e), Cells: []Cell{
			Day(e.Lot.Expires), Words(itemName(e.Item)), Words(e.Item.Code), Words(e.Lot.Code),
			Measured(e.Lot.OnHand, m), Measured(e.Expected, m),
			Measured(e.Over, m).With(Formula{Add: []string{"On hand"}, Less: []string{"Expected use"}}), Words(string(m)),
			Amount(e.Value, p.Currency), Words(listed(e.Jobs, 8)), Day(e.Extend), Words(ageingAdvice(p, e)),
		}})
	}
	if len(p.Expiring) > 0 {
		s.Totals = []Total{{"All lots", "Value on hand", Amount(value, p.Currency).With(Formula{ColumnSum: "Value on hand"})}}
	}
	return s
}

// expired reports whether a lot is not good any more.
func expired(p plan.Plan, e plan.Expiring) bool { return !e.Lot.UsableOn(p.AsOf) }

// ageingAdvice says in a few words what to do with a lot. An inspection is only
// proposed: whoever is trained for it decides.
func ageingAdvice(p plan.Plan, e plan.Expiring) string {
	switch inspect := !e.Extend.IsZero(); {
	case expired(p, e) && inspect:
		return "expired: have it inspected, or take it off the shelf"
	case expired(p, e):
		return "expired: take it off the shelf"
	case len(e.Jobs) > 0 && inspect:
		return "use it first, and have the rest inspected in time"
	case len(e.Jobs) > 0:
		return "use it first"
	case inspect:
		return "no booked job takes it: have it inspected in time"
	}
	return "no booked job takes it: pass it on while it is good"
}

// ageingSentences tell on the page which lots age out and what helps.
func ageingSentences(p plan.Plan) []string {
	var sentences []string
	for _, e := range p.Expiring {
		m := e.Item.Measure
		text := fmt.Sprintf("%s, lot %s, expires on %s: %s of %s left over", itemName(e.Item), e.Lot.Code, dayYear(e.Lot.Expires), Measured(e.Over, m), quantity(e.Lot.OnHand, m))
		if expired(p, e) {
			text = fmt.Sprintf("%s, lot %s, expired on %s: %s on the shelf", itemName(e.Item), e.Lot.Code, dayYear(e.Lot.Expires), quantity(e.Lot.OnHand, m))
		}
		if len(e.Jobs) > 0 {
			text += "; " + listed(e.Jobs, 4) + " could use it"
		}
		if !e.Extend.IsZero() {
			text += "; after an inspection it would expire on " + dayYear(e.Extend)
		}
		sentences = append(sentences, text+".")
	}
	return sentences
}
