package reports

import (
	"circlip/inventory"
	"circlip/inventory/cost"
)

// flowJSON is what came to the shelf and left it; see cost.Flow.
type flowJSON struct {
	Opening string `json:"opening"`
	Bought  string `json:"bought"`
	Found   string `json:"found"`
	Kits    string `json:"kits"`
	Used    string `json:"used"`
	Wasted  string `json:"wasted"`
	Missing string `json:"missing"`
}

// monthCostJSON is the flow of a month, 2027-02, and the stock's value at its
// end.
type monthCostJSON struct {
	Month string `json:"month"`
	flowJSON
	StockValue string `json:"stock_value"`
}

// itemCostJSON is an item that ever was on the shelf. Costs are those of one of
// its unit, null where there is none; on_hand is in its unit.
type itemCostJSON struct {
	Item       string  `json:"item"`
	LastCost   *string `json:"last_cost"`
	LastBought *string `json:"last_bought"`
	MeanCost   *string `json:"mean_cost"`
	YearCost   *string `json:"year_cost"`
	OnHand     float64 `json:"on_hand"`
	Value      string  `json:"value"`
}

// supplierSpendJSON is what came from a supplier in a month; null: no order
// names it.
type supplierSpendJSON struct {
	Supplier *string `json:"supplier"`
	Month    string  `json:"month"`
	Spend    string  `json:"spend"`
}

// serviceSpendJSON is what jobs took for a service in a month; null: the job is
// not in the book.
type serviceSpendJSON struct {
	Service *string `json:"service"`
	Month   string  `json:"month"`
	Spend   string  `json:"spend"`
}

// jobCostJSON is what the parts of the recorded jobs of a service on a model
// cost.
type jobCostJSON struct {
	Service *string `json:"service"`
	Model   *string `json:"model"`
	Jobs    int     `json:"jobs"`
	Total   string  `json:"total"`
	Mean    string  `json:"mean"`
	Median  string  `json:"median"`
	P90     string  `json:"p90"`
}

// doneJSON counts the jobs done by what is on record of them.
type doneJSON struct {
	Recorded   int `json:"recorded"`
	Partly     int `json:"partly"`
	Unrecorded int `json:"unrecorded"`
}

// costsJSON is the whole document; lots without a cost of their own are counted
// by whether an offer values them.
type costsJSON struct {
	documentHead
	StockValue string              `json:"stock_value"`
	Expired    string              `json:"expired"` // of it in lots past their date
	Flow       flowJSON            `json:"flow"`
	Items      []itemCostJSON      `json:"items"`
	Months     []monthCostJSON     `json:"months"`
	Suppliers  []supplierSpendJSON `json:"suppliers"`
	Services   []serviceSpendJSON  `json:"services"`
	Jobs       []jobCostJSON       `json:"jobs"`
	JobsDone   doneJSON            `json:"jobs_done"`
	Estimated  int                 `json:"lots_estimated"`
	Unpriced   int                 `json:"lots_unpriced"`
}

// CostsJSON is the document of `costs --json`: what stock is worth, how that
// came about, what was spent with whom and for what, what jobs cost. Money
// stands as decimal texts.
func CostsJSON(a cost.Account) ([]byte, error) {
	money := a.Currency.Format
	document := costsJSON{
		documentHead: documentHead{AsOf: a.AsOf.String(), Workshop: a.Workshop, Schema: schema},
		StockValue:   money(a.Stock), Expired: money(a.Expired), Flow: flowDocument(a.Flow, a.Currency),
		Items: itemCosts(a), Months: []monthCostJSON{}, Suppliers: []supplierSpendJSON{}, Services: []serviceSpendJSON{}, Jobs: []jobCostJSON{},
		JobsDone: doneJSON{a.Done.Recorded, a.Done.Partly, a.Done.Unrecorded}, Estimated: a.Estimated, Unpriced: a.Unpriced,
	}
	for _, m := range a.Months {
		document.Months = append(document.Months, monthCostJSON{m.Month.String(), flowDocument(m.Flow, a.Currency), money(m.End)})
	}
	for _, s := range a.Suppliers {
		document.Suppliers = append(document.Suppliers, supplierSpendJSON{textOrNull(s.Supplier.Code), s.Month.String(), money(s.Spend)})
	}
	for _, s := range a.Services {
		document.Services = append(document.Services, serviceSpendJSON{textOrNull(s.Service.Code), s.Month.String(), money(s.Spend)})
	}
	for _, j := range a.Jobs {
		document.Jobs = append(document.Jobs, jobCostJSON{
			textOrNull(j.Service.Code), textOrNull(j.Model), j.Jobs, money(j.Total), money(j.Mean), money(j.Median), money(j.P90),
		})
	}
	return encode("costs", document)
}

func flowDocument(f cost.Flow, c inventory.Currency) flowJSON {
	return flowJSON{
		c.Format(f.Opening), c.Format(f.Bought), c.Format(f.Found), c.Format(f.Kits),
		c.Format(f.Used), c.Format(f.Wasted), c.Format(f.Missing),
	}
}

func itemCosts(a cost.Account) []itemCostJSON {
	unitCost := func(u inventory.UnitCost) *string {
		if u == 0 {
			return nil
		}
		text := a.Currency.FormatUnitCost(u)
		return &text
	}
	list := make([]itemCostJSON, 0, len(a.Items))
	for _, i := range a.Items {
		list = append(list, itemCostJSON{
			i.Item.Code, unitCost(i.LastCost), dayOrNull(i.LastOn), unitCost(i.MeanCost), unitCost(i.YearCost),
			i.Item.Measure.Number(i.OnHand), a.Currency.Format(i.Value),
		})
	}
	return list
}
