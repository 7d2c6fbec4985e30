package reports

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"

	"circlip/inventory"
	"circlip/reports/plan"
)

// schema is the version of the four documents' form.
const schema = 1

// documentHead is what every document begins with.
type documentHead struct {
	AsOf     string `json:"as_of"`
	Workshop string `json:"workshop"`
	Schema   int    `json:"schema"`
}

// headOf fills what every document begins with; the workshop stands as typed.
func headOf(p plan.Plan) documentHead {
	return documentHead{AsOf: p.AsOf.String(), Workshop: p.Workshop, Schema: schema}
}

// encode writes one document and a line end. Text stands as it was typed,
// but for what JSON itself must escape.
func encode(name string, document any) ([]byte, error) {
	var out bytes.Buffer
	e := json.NewEncoder(&out)
	e.SetEscapeHTML(false)
	if err := e.Encode(document); err != nil {
		return nil, fmt.Errorf("writing the %s document: %w", name, err)
	}
	return out.Bytes(), nil
}

// number is a computed figure, to a millionth: what stands behind it is noise
// that differs between machines.
func number(x float64) float64 { return math.Round(x*1e6)/1e6 + 0 }

// textOrNull is null for a code that is not there.
func textOrNull(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}

// dayOrNull is null for a day that is not known.
func dayOrNull(d inventory.Date) *string { return textOrNull(d.String()) }

// some makes an empty list [] and not null.
func some[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

// weekJSON is a week of the horizon; the first may begin inside its week.
type weekJSON struct {
	Week string `json:"week"`
	From string `json:"from"`
	To   string `json:"to"`
}

// arrivalJSON is the expected number of jobs of a service on a model in a
// week, by where they come from.
type arrivalJSON struct {
	Week      string  `json:"week"`
	Service   string  `json:"service"`
	Model     string  `json:"model"`
	Booked    float64 `json:"booked"`
	Fleet     float64 `json:"fleet"`
	Returning float64 `json:"returning"`
	WalkIn    float64 `json:"walk_in"`
}

// demandJSON is the law of an item's use, in its unit: in the week, or from
// as_of to the end of the week.
type demandJSON struct {
	Item string  `json:"item"`
	Week string  `json:"week"`
	Mean float64 `json:"mean"`
	SD   float64 `json:"sd"`
	P10  float64 `json:"p10"`
	P50  float64 `json:"p50"`
	P90  float64 `json:"p90"`
	P98  float64 `json:"p98"`
}

// ForecastJSON is the document of `forecast --json`: expected jobs by week,
// and the law of every item's use in each week and up to its end.
func ForecastJSON(p plan.Plan) ([]byte, error) {
	document := struct {
		documentHead
		Weeks    []weekJSON    `json:"weeks"`
		Arrivals []arrivalJSON `json:"arrivals"`
		Demand   []demandJSON  `json:"demand"`
		Through  []demandJSON  `json:"through"`
	}{documentHead: headOf(p), Weeks: []weekJSON{}, Arrivals: []arrivalJSON{}}
	for _, w := range p.Weeks {
		document.Weeks = append(document.Weeks, weekJSON{w.Week.String(), w.From.String(), w.To.String()})
	}
	for _, a := range p.Arrivals {
		document.Arrivals = append(document.Arrivals, arrivalJSON{
			document.Weeks[a.Week].Week, a.Service, a.Model,
			number(a.Booked), number(a.Fleet), number(a.Returning), number(a.WalkIn),
		})
	}
	document.Demand = demandsJSON(p, document.Weeks, func(i plan.Item) []plan.Demand { return i.Week })
	document.Through = demandsJSON(p, document.Weeks, func(i plan.Item) []plan.Demand { return i.Through })
	return encode("forecast", document)
}

// demandsJSON lists a law per item and week, items in the order of the book,
// weeks in time, with those in which nothing is expected: a reader need not
// guess what is missing.
func demandsJSON(p plan.Plan, weeks []weekJSON, of func(plan.Item) []plan.Demand) []demandJSON {
	list := make([]demandJSON, 0, len(p.Items)*len(weeks))
	for _, i := range p.Items {
		for w, d := range of(i) {
			list = append(list, demandJSON{
				i.Item.Code, weeks[w].Week, number(d.Mean), number(d.SD),
				number(d.P10), number(d.P50), number(d.P90), number(d.P98),
			})
		}
	}
	return list
}

// orderJSON is one order to one supplier, named by its code. Money stands as a
// decimal text of the workshop's currency.
type orderJSON struct {
	Supplier string     `json:"supplier"`
	PlaceBy  string     `json:"place_by"`
	Lines    []lineJSON `json:"lines"`
	Goods    string     `json:"goods"`
	Carriage string     `json:"carriage"`
	Total    string     `json:"total"`
}

// lineJSON is one item of an order; qty is packs times pack_qty, what a pack
// holds, in the item's unit; price is that of a pack.
type lineJSON struct {
	Item         string      `json:"item"`
	SupplierCode string      `json:"supplier_code"`
	Packs        int         `json:"packs"`
	PackQty      float64     `json:"pack_qty"`
	Qty          float64     `json:"qty"`
	Price        string      `json:"price"`
	Total        string      `json:"total"`
	ExpectedOn   string      `json:"expected_on"`
	Why          []causeJSON `json:"why"`
}

// causeJSON is one reason for a part of the quantity. The reasons of a line add
// up to its qty; what is there already counts with a minus.
type causeJSON struct {
	Cause string  `json:"cause"`
	Qty   float64 `json:"qty"`
}

// itemJSON is what was computed for an item, quantities in its unit;
// protect_until is the last day that an order placed now must last for.
type itemJSON struct {
	Item         string  `json:"item"`
	OnHand       float64 `json:"on_hand"`
	SetAside     float64 `json:"set_aside"`
	Free         float64 `json:"free"`
	OnOrder      float64 `json:"on_order"`
	ProtectUntil *string `json:"protect_until"`
	DemandMean   float64 `json:"demand_mean"`
	DemandSD     float64 `json:"demand_sd"`
	OrderUpTo    float64 `json:"order_up_to"`
	OrderQty     float64 `json:"order_qty"`
	Availability float64 `json:"availability"`
}

// readinessJSON is shares of jobs from 0 to 1.
type readinessJSON struct {
	Target       float64 `json:"target"`
	WithoutOrder float64 `json:"without_order"`
	WithOrder    float64 `json:"with_order"`
}

// pointJSON is one point of the curve: so much stock makes so many jobs ready.
type pointJSON struct {
	StockValue string  `json:"stock_value"`
	Readiness  float64 `json:"readiness"`
}

// PlanJSON is the document of `plan --json`: orders with their causes, what
// was computed for every item, readiness, its curve, warnings; what limits cut,
// what is worth bringing forward, what to chase and what ages out.
func PlanJSON(p plan.Plan) ([]byte, error) {
	r := p.Readiness
	document := struct {
		documentHead
		Orders    []orderJSON   `json:"orders"`
		Items     []itemJSON    `json:"items"`
		Readiness readinessJSON `json:"readiness"`
		Curve     []pointJSON   `json:"curve"`
		Warnings  []string      `json:"warnings"`

		Limits   []limitJSON    `json:"limits"`
		Forward  []forwardJSON  `json:"forward"`
		Chase    []chaseJSON    `json:"chase"`
		Expiring []expiringJSON `json:"expiring"`
	}{
		documentHead: headOf(p), Orders: []orderJSON{}, Items: []itemJSON{}, Curve: []pointJSON{},
		Readiness: readinessJSON{number(r.Target), number(r.WithoutOrder), number(r.WithOrder)},
		Warnings:  some(p.Warnings),
		Limits:    limitsDocument(p.Limits), Forward: forwardDocument(p.Currency, p.Forward),
		Chase: chaseDocument(p.Chase), Expiring: expiringDocument(p.Currency, p.Expiring),
	}
	for _, o := range p.Orders {
		document.Orders = append(document.Orders, orderDocument(p.Currency, o))
	}
	for _, i := range p.Items {
		document.Items = append(document.Items, itemDocument(i))
	}
	for _, point := range p.Curve {
		document.Curve = append(document.Curve, pointJSON{p.Currency.Format(point.StockValue), number(point.Readiness)})
	}
	return encode("plan", document)
}

// orderDocument turns steps into the unit and minor units into decimals; no
// figure is computed here.
func orderDocument(c inventory.Currency, o plan.Order) orderJSON {
	return orderJSON{
		Supplier: o.Supplier.Code, PlaceBy: o.PlaceBy.String(), Lines: linesDocument(c, o.Lines),
		Goods: c.Format(o.Goods), Carriage: c.Format(o.Carriage), Total: c.Format(o.Total),
	}
}

// linesDocument does the same for lines.
func linesDocument(c inventory.Currency, lines []plan.Line) []lineJSON {
	list := make([]lineJSON, len(lines))
	for i, l := range lines {
		m := l.Item.Measure
		list[i] = lineJSON{
			Item: l.Item.Code, SupplierCode: l.SupplierCode, Packs: l.Packs, PackQty: m.Number(l.PackQty), Qty: m.Number(l.Qty),
			Price: c.Format(l.Price), Total: c.Format(l.Total), ExpectedOn: l.ExpectedOn.String(), Why: []causeJSON{},
		}
		for _, w := range l.Why {
			list[i].Why = append(list[i].Why, causeJSON{causeCode(w.Cause), m.Number(w.Qty)})
		}
	}
	return list
}

// itemDocument does the same for an item.
func itemDocument(i plan.Item) itemJSON {
	m := i.Item.Measure
	return itemJSON{
		Item: i.Item.Code, OnHand: m.Number(i.OnHand), SetAside: m.Number(i.SetAside), Free: m.Number(i.Free), OnOrder: m.Number(i.OnOrder),
		ProtectUntil: dayOrNull(i.ProtectUntil), DemandMean: number(i.Protection.Mean), DemandSD: number(i.Protection.SD),
		OrderUpTo: m.Number(i.OrderUpTo), OrderQty: m.Number(i.OrderQty), Availability: number(i.Availability),
	}
}

// causeCode is the short form of a reason. One that is not in the table yet
// stands in the plan's own words rather than not at all.
func causeCode(kind plan.CauseKind) string {
	for _, c := range causes {
		if c.kind == kind {
			return c.code
		}
	}
	return string(kind)
}
