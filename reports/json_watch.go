package reports

import (
	"circlip/inventory"
	"circlip/reports/plan"
)

// limitJSON is what one limit cuts and what that costs: shares of jobs from 0
// to 1 without it and with it. What is allowed and wanted stands with its unit;
// of is the code of a supplier or item, null where the whole order is meant.
type limitJSON struct {
	Kind      string    `json:"kind"`
	Of        *string   `json:"of"`
	Allowed   string    `json:"allowed"`
	Wanted    string    `json:"wanted"`
	Cut       []cutJSON `json:"cut"`
	Without   float64   `json:"readiness_without"`
	Readiness float64   `json:"readiness_with"`
}

// cutJSON is a quantity that is not ordered, in its item's unit.
type cutJSON struct {
	Item string  `json:"item"`
	Qty  float64 `json:"qty"`
}

// forwardJSON is what is worth adding to a supplier's order now: saving is
// carriage_saved and price breaks less holding.
type forwardJSON struct {
	Supplier      string     `json:"supplier"`
	Lines         []lineJSON `json:"lines"`
	Goods         string     `json:"goods"`
	CarriageSaved string     `json:"carriage_saved"`
	Holding       string     `json:"holding"`
	Saving        string     `json:"saving"`
}

// chaseJSON is a line on order to call about, by call_by at the latest; packs
// and qty are those still to come, bench_date is that of the first of jobs.
type chaseJSON struct {
	Order     string   `json:"order"`
	Supplier  string   `json:"supplier"`
	Item      string   `json:"item"`
	Packs     int      `json:"packs"`
	Qty       float64  `json:"qty"`
	DueOn     *string  `json:"due_on"`
	DaysLate  int      `json:"days_late"`
	Jobs      []string `json:"jobs"`
	BenchDate *string  `json:"bench_date"`
	CallBy    string   `json:"call_by"`
	Why       string   `json:"why"`
}

// expiringJSON is a lot of which more is on hand than is expected to be used
// before expires_on; extend_to is when it would expire after an inspection.
type expiringJSON struct {
	Item      string   `json:"item"`
	Lot       string   `json:"lot"`
	OnHand    float64  `json:"on_hand"`
	ExpiresOn string   `json:"expires_on"`
	Expected  float64  `json:"expected"`
	Over      float64  `json:"over"`
	Value     string   `json:"value"`
	Jobs      []string `json:"jobs"`
	ExtendTo  *string  `json:"extend_to"`
}

// limitsDocument, like the others, turns steps into units and minor units into
// decimals and computes nothing.
func limitsDocument(limits []plan.Limit) []limitJSON {
	list := make([]limitJSON, len(limits))
	for i, l := range limits {
		list[i] = limitJSON{
			Kind: string(l.Kind), Of: textOrNull(l.Of), Allowed: l.Allowed, Wanted: l.Wanted, Cut: []cutJSON{},
			Without: number(l.Without), Readiness: number(l.With),
		}
		for _, c := range l.Cut {
			list[i].Cut = append(list[i].Cut, cutJSON{c.Item.Code, c.Item.Measure.Number(c.Qty)})
		}
	}
	return list
}

func forwardDocument(c inventory.Currency, forward []plan.Forward) []forwardJSON {
	list := make([]forwardJSON, len(forward))
	for i, f := range forward {
		list[i] = forwardJSON{
			Supplier: f.Supplier.Code, Lines: linesDocument(c, f.Lines), Goods: c.Format(f.Goods),
			CarriageSaved: c.Format(f.Carriage), Holding: c.Format(f.Holding), Saving: c.Format(f.Saving),
		}
	}
	return list
}

func chaseDocument(chase []plan.Chase) []chaseJSON {
	list := make([]chaseJSON, len(chase))
	for i, c := range chase {
		list[i] = chaseJSON{
			Order: c.Order, Supplier: c.Supplier.Code, Item: c.Item.Code, Packs: c.Packs, Qty: c.Item.Measure.Number(c.Qty),
			DueOn: dayOrNull(c.DueOn), DaysLate: c.DaysLate, Jobs: some(c.Jobs), BenchDate: dayOrNull(c.Bench),
			CallBy: c.CallBy.String(), Why: c.Why,
		}
	}
	return list
}

func expiringDocument(c inventory.Currency, expiring []plan.Expiring) []expiringJSON {
	list := make([]expiringJSON, len(expiring))
	for i, e := range expiring {
		m := e.Item.Measure
		list[i] = expiringJSON{
			Item: e.Item.Code, Lot: e.Lot.Code, OnHand: m.Number(e.Lot.OnHand), ExpiresOn: e.Lot.Expires.String(),
			Expected: m.Number(e.Expected), Over: m.Number(e.Over), Value: c.Format(e.Value),
			Jobs: some(e.Jobs), ExtendTo: dayOrNull(e.Extend),
		}
	}
	return list
}
