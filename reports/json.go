package reports

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strings"

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

func dayOrNull(d inventory.Date) *string { return textOrNull(d.String()) }

// some makes an empty list [] and not null.
func some[T any](list []T) []T {
	if list == nil {
		return []T{}
	}
	return list
}

type weekJSON struct {
	Week string `json:"week"`
	From string `json:"from"`
	To   string `json:"to"`
}

type arrivalJSON struct {
	Week      string  `json:"week"`
	Service   string  `json:"service"`
	Model     string  `json:"model"`
	Booked    float64 `json:"booked"`
	Fleet     float64 `json:"fleet"`
	Returning float64 `json:"returning"`
	WalkIn    float64 `json:"walk_in"`
}

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

type orderJSON struct {
	Supplier string     `json:"supplier"`
	PlaceBy  string     `json:"place_by"`
	Lines    []lineJSON `json:"lines"`
	Goods    string     `json:"goods"`
	Carriage string     `json:"carriage"`
	Total    string     `json:"total"`
}

type lineJSON struct {
	Item         string      `json:"item"`
	SupplierCode string      `json:"supplier_code"`
	Packs        int         `json:"packs"`
	Qty          float64     `json:"qty"`
	Price        string      `json:"price"`
	Total        string      `json:"total"`
	ExpectedOn   string      `json:"expected_on"`
	Why          []causeJSON `json:"why"`
}

type causeJSON struct {
	Cause string  `json:"cause"`
	Qty   float64 `json:"qty"`
}

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

type readinessJSON struct {
	Target       float64 `json:"target"`
	WithoutOrder float64 `json:"without_order"`
	WithOrder    float64 `json:"with_order"`
}

type pointJSON struct {
	StockValue string  `json:"stock_value"`
	Readiness  float64 `json:"readiness"`
}

// PlanJSON is the document of `plan --json`: orders with their causes, what
// was computed for every item, readiness, its curve, warnings.
func PlanJSON(p plan.Plan) ([]byte, error) {
	r := p.Readiness
	document := struct {
		documentHead
		Orders    []orderJSON   `json:"orders"`
		Items     []itemJSON    `json:"items"`
		Readiness readinessJSON `json:"readiness"`
		Curve     []pointJSON   `json:"curve"`
		Warnings  []string      `json:"warnings"`
	}{
		documentHead: headOf(p), Orders: []orderJSON{}, Items: []itemJSON{}, Curve: []pointJSON{},
		Readiness: readinessJSON{number(r.Target), number(r.WithoutOrder), number(r.WithOrder)},
		Warnings:  some(p.Warnings),
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

func orderDocument(c inventory.Currency, o plan.Order) orderJSON {
	order := orderJSON{
		Supplier: o.Supplier.Code, PlaceBy: o.PlaceBy.String(), Lines: []lineJSON{},
		Goods: c.Format(o.Goods), Carriage: c.Format(o.Carriage), Total: c.Format(o.Total),
	}
	for _, l := range o.Lines {
		m := l.Item.Measure
		line := lineJSON{
			Item: l.Item.Code, SupplierCode: l.SupplierCode, Packs: l.Packs, Qty: m.Number(l.Qty),
			Price: c.Format(l.Price), Total: c.Format(l.Total), ExpectedOn: l.ExpectedOn.String(), Why: []causeJSON{},
		}
		for _, w := range l.Why {
			line.Why = append(line.Why, causeJSON{causeCode(w.Cause), m.Number(w.Qty)})
		}
		order.Lines = append(order.Lines, line)
	}
	return order
}

func itemDocument(i plan.Item) itemJSON {
	m := i.Item.Measure
	return itemJSON{
		Item: i.Item.Code, OnHand: m.Number(i.OnHand), SetAside: m.Number(i.SetAside), Free: m.Number(i.Free), OnOrder: m.Number(i.OnOrder),
		ProtectUntil: dayOrNull(i.ProtectUntil), DemandMean: number(i.Protection.Mean), DemandSD: number(i.Protection.SD),
		OrderUpTo: m.Number(i.OrderUpTo), OrderQty: m.Number(i.OrderQty), Availability: number(i.Availability),
	}
}

func causeCode(kind plan.CauseKind) string {
	for _, c := range causes {
		if c.kind == kind {
			return c.code
		}
	}
	return string(kind)
}

type jobJSON struct {
	Job       string        `json:"job"`
	BenchDate string        `json:"bench_date"`
	Service   string        `json:"service"` // several codes as the book has them: with ; between
	Model     string        `json:"model"`
	Unit      *string       `json:"unit"`
	State     string        `json:"state"`
	Lines     []kitLineJSON `json:"lines"`
}

type kitLineJSON struct {
	Item        string  `json:"item"`
	NeedQty     float64 `json:"need_qty"`
	Probability float64 `json:"probability"`
	SetAside    float64 `json:"set_aside"`
	FromFree    float64 `json:"from_free"`
	FromOrder   float64 `json:"from_order"`
	ArrivesOn   *string `json:"arrives_on"`
	FromKit     *string `json:"from_kit"`
	Alternate   *string `json:"alternate"`
	Short       float64 `json:"short"`
}

// KitsJSON is the document of `kits --json`: every booked job and all the
// lines of its kit.
func KitsJSON(p plan.Plan) ([]byte, error) {
	document := struct {
		documentHead
		Jobs []jobJSON `json:"jobs"`
	}{headOf(p), []jobJSON{}}
	measures := measures(p)
	for _, k := range p.Kits {
		job := jobJSON{
			Job: k.Job, BenchDate: k.BenchDate.String(), Service: strings.Join(k.Services, ";"),
			Model: k.Model, Unit: textOrNull(k.Unit), State: string(k.State), Lines: []kitLineJSON{},
		}
		for _, l := range k.Lines {
			m := measures(l.Item)
			job.Lines = append(job.Lines, kitLineJSON{
				Item: l.Item, NeedQty: m.Number(l.Need), Probability: number(l.Probability), SetAside: m.Number(l.SetAside),
				FromFree: m.Number(l.FromFree), FromOrder: m.Number(l.FromOrder), ArrivesOn: dayOrNull(l.ArrivesOn),
				FromKit: textOrNull(l.FromKit), Alternate: textOrNull(l.Alternate), Short: m.Number(l.Short),
			})
		}
		document.Jobs = append(document.Jobs, job)
	}
	return encode("kits", document)
}

// measures looks up what an item is measured in; pieces where nobody says.
func measures(p plan.Plan) func(item string) inventory.Measure {
	known := make(map[string]inventory.Measure, len(p.Items))
	for _, i := range p.Items {
		known[i.Item.Code] = i.Item.Measure
	}
	return func(item string) inventory.Measure {
		if m, ok := known[item]; ok {
			return m
		}
		return inventory.Each
	}
}

// notYet is a figure that is not computed yet: always null.
type notYet = *float64

type periodJSON struct {
	Item         string  `json:"item"`
	From         string  `json:"from"`
	To           string  `json:"to"`
	Opening      float64 `json:"opening"`
	Received     float64 `json:"received"`
	Closing      float64 `json:"closing"`
	Drawn        float64 `json:"drawn"`
	Standard     float64 `json:"standard"`
	Recorded     float64 `json:"recorded"`
	Unrecorded   float64 `json:"unrecorded"`
	OverStandard float64 `json:"over_standard"`
	Sigma        notYet  `json:"sigma"`
	Z            notYet  `json:"z"`
	EWMA         notYet  `json:"ewma"`
	CUSUMHigh    notYet  `json:"cusum_high"`
	CUSUMLow     notYet  `json:"cusum_low"`
	Signal       *string `json:"signal"`
}

type byServiceJSON struct {
	Item            string  `json:"item"`
	Service         string  `json:"service"`
	Jobs            int     `json:"jobs"`
	StandardPerJob  float64 `json:"standard_per_job"`
	EstimatedPerJob notYet  `json:"estimated_per_job"`
	Low             notYet  `json:"low"`
	High            notYet  `json:"high"`
}

// OilJSON is the document of `oil --json`: every fluid between its counts,
// and what the jobs of each service may take of it.
func OilJSON(p plan.Plan) ([]byte, error) {
	document := struct {
		documentHead
		Periods   []periodJSON    `json:"periods"`
		ByService []byServiceJSON `json:"by_service"`
	}{headOf(p), []periodJSON{}, []byServiceJSON{}}
	measures := measures(p)
	for _, o := range p.Oil {
		q := measures(o.Item).Number
		document.Periods = append(document.Periods, periodJSON{
			Item: o.Item, From: o.From.String(), To: o.To.String(),
			Opening: q(o.Opening), Received: q(o.Received), Closing: q(o.Closing), Drawn: q(o.Drawn()),
			Standard: q(o.Standard), Recorded: q(o.Recorded), Unrecorded: q(o.Unrecorded()), OverStandard: q(o.OverStandard()),
		})
	}
	for _, s := range p.OilByUse {
		document.ByService = append(document.ByService, byServiceJSON{Item: s.Item, Service: s.Service, Jobs: s.Jobs, StandardPerJob: number(s.StandardPerJob)})
	}
	return encode("oil", document)
}
