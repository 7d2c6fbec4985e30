package audit

import "circlip/inventory"

// Of audits every item of a scope that was counted at least twice, the opening
// shelf being its first count.
func Of(shop inventory.Shop, scope Scope) Audit {
	a := Audit{Workshop: shop.Settings.Workshop, AsOf: shop.AsOf, Currency: shop.Settings.Currency, Scope: scope}
	a.Services, a.Models = shop.Services, shop.Models
	ledger := gather(shop, scope)
	for _, item := range shop.Items {
		if !scope.holds(item) {
			continue
		}
		switch len(ledger.accounts[item.Code].counts) {
		case 0:
			continue
		case 1:
			a.Once = append(a.Once, item.Code)
			continue
		}
		of := ItemAudit{Item: item, Cost: inventory.UsualCost(shop, item), Periods: ledger.periods(item)}
		of.Marks = marks(of.Periods, item.Measure)
		of.Episodes = episodes(of)
		of.attribute(ledger.attribution(item))
		a.Items = append(a.Items, of)
	}
	return a
}

// attribution is what estimates of one item are made from, besides its periods.
type attribution struct {
	takings  []taking // by the day they were done
	services []string // codes in the order of the shop's
	models   []string
	coming   []taking            // of booked jobs, by bench day; recorded is 0
	bill     []inventory.BOMLine // the item's lines in force at AsOf or later
	asOf     inventory.Date
}

// taking is what one service of a done job is allowed by the bill of an item,
// and what the job's card says of it: a card that covers several services is
// shared out by what the bill allows each. Amounts are in the measure.
type taking struct {
	on                           inventory.Date
	job, service, model, person  string
	standard, variance, recorded float64 // variance of what it takes about the standard
	amount                       float64 // where it is taken at all
	certain                      bool    // always is
	onCard                       bool    // the card tells what it took, or that it took none
}

// by is the service, model or person of a taking.
func (t *taking) by(by By) string {
	switch by {
	case ByService:
		return t.service
	case ByModel:
		return t.model
	case ByPerson:
		return t.person
	}
	return ""
}
