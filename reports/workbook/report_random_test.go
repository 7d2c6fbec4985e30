package workbook

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"math"
	"strconv"
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/inventory/audit"
	"circlip/reports/plan"
	"circlip/testdata/golden/plans"

	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"
)

// Whatever people type and however much there is of it, a workbook comes out
// whose parts are sound XML, whose totals are the plan's, and which can be read
// again.
func TestAnyPlanMakesASoundWorkbook(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		p := drawPlan(rt)
		var out bytes.Buffer
		if err := EncodeReorder(&out, p); err != nil {
			rt.Fatal(err)
		}
		for name, part := range zipParts(t, out.Bytes()) {
			if err := sound(part); err != nil {
				rt.Fatalf("%s: %v", name, err)
			}
		}
		f, err := excelize.OpenReader(bytes.NewReader(out.Bytes()))
		if err != nil {
			rt.Fatal(err)
		}
		defer f.Close()
		tabs := f.GetSheetList()
		if len(tabs) != 11+len(p.Orders) {
			rt.Fatalf("found the sheets %q for %d orders", tabs, len(p.Orders))
		}
		for i, o := range p.Orders {
			if got := lastNumber(rt, f, tabs[i+1]); math.Abs(got-p.Currency.Number(o.Total)) > 1e-6 {
				rt.Fatalf("sheet %q: found the total %v, expected %v", tabs[i+1], got, p.Currency.Number(o.Total))
			}
		}
	})
}

// sound reads a part to its end as strict XML.
func sound(part string) error {
	d := xml.NewDecoder(strings.NewReader(part))
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			return nil
		} else if err != nil {
			return err
		}
	}
}

// lastNumber is the last cell of an order's sheet: its total.
func lastNumber(t *rapid.T, f *excelize.File, tab string) float64 {
	rows, err := f.GetRows(tab, excelize.Options{RawCellValue: true})
	if err != nil {
		t.Fatal(err)
	}
	last := rows[len(rows)-1]
	value, err := strconv.ParseFloat(last[len(last)-1], 64)
	if err != nil {
		t.Fatalf("sheet %q ends in %q, expected its total", tab, last)
	}
	return value
}

// drawPlan is a plan of random size with random texts in it, its sums right.
func drawPlan(t *rapid.T) plan.Plan {
	typed := rapid.OneOf(rapid.String(), rapid.SampledFrom([]string{"=1+1", "'", "&", "\x00", "_x000D_", strings.Repeat("long ", 99)}))
	p := plan.Plan{
		AsOf: plans.AsOf, Workshop: typed.Draw(t, "workshop"),
		Currency: inventory.Currency{Code: "EUR", Decimals: rapid.IntRange(0, 3).Draw(t, "decimals")},
		Warnings: rapid.SliceOfN(typed, 0, 3).Draw(t, "warnings"),
	}
	measures := rapid.SampledFrom([]inventory.Measure{inventory.Each, inventory.Millilitre, inventory.Gram})
	draw := func(name string, most int) int { return rapid.IntRange(0, most).Draw(t, name) }
	p.Weeks = []plan.Span{{Week: p.AsOf.Week(), From: p.AsOf, To: p.AsOf + 6}}
	for range draw("items", 4) {
		of := inventory.Item{Code: typed.Draw(t, "code"), Name: typed.Draw(t, "name"), Measure: measures.Draw(t, "measure")}
		p.Items = append(p.Items, plan.Item{
			Item: of, OrderQty: inventory.Quantity(draw("qty", 1e6)), Waits: true,
			Week: []plan.Demand{plans.Poisson(float64(draw("mean", 9)))},
			Why:  []plan.Cause{{Cause: plan.ForBooked, Qty: inventory.Quantity(draw("cause", 1e6))}},
		})
		period := audit.Period{Item: of.Code, From: p.AsOf - 9, To: p.AsOf, Opening: inventory.Quantity(draw("opening", 1e6)), Closing: inventory.Quantity(draw("closing", 1e6))}
		p.Oil.Items = append(p.Oil.Items, audit.ItemAudit{Item: of, Periods: []audit.Period{period}, Marks: make([]audit.Mark, 1)})
		p.Kits = append(p.Kits, inventory.JobKit{
			Job: typed.Draw(t, "job"), BenchDate: p.AsOf + inventory.Date(draw("days", 9)), State: inventory.Short,
			Lines: []inventory.KitLine{{Item: of.Code, Critical: true, Need: 2, Short: 2, Probability: 0.5}},
		})
		cut := plan.Cut{Item: of, Qty: inventory.Quantity(draw("cut", 1e6))}
		p.Limits = append(p.Limits, plan.Limit{Kind: plan.BudgetLimit, Of: typed.Draw(t, "of"), Allowed: typed.Draw(t, "allowed"), Cut: []plan.Cut{cut, cut}[:draw("cuts", 2)]})
		p.Chase = append(p.Chase, plan.Chase{Order: typed.Draw(t, "order"), Item: of, DaysLate: draw("late", 9), Jobs: []string{typed.Draw(t, "job")}, CallBy: p.AsOf, Why: typed.Draw(t, "why")})
		lot := inventory.Lot{Code: typed.Draw(t, "lot"), OnHand: inventory.Quantity(draw("on hand", 1e6)), Expires: p.AsOf + inventory.Date(draw("expires", 99))}
		p.Expiring = append(p.Expiring, plan.Expiring{Item: of, Lot: lot, Over: lot.OnHand, Value: inventory.Money(draw("worth", 1e6))})
		p.Curve = append(p.Curve, plan.Point{StockValue: inventory.Money(draw("value", 1e6)), Readiness: float64(draw("readiness", 1000)) / 1000})
	}
	for range draw("orders", 4) {
		o := plan.Order{Supplier: inventory.Supplier{Code: typed.Draw(t, "supplier"), Name: typed.Draw(t, "name"), Carriage: inventory.Money(draw("carriage", 5000))}, PlaceBy: p.AsOf}
		for range 1 + draw("lines", 3) {
			l := plan.Line{Item: inventory.Item{Name: typed.Draw(t, "item"), Measure: measures.Draw(t, "measure")}, SupplierCode: typed.Draw(t, "their code"), Packs: 1 + draw("packs", 99), PackQty: 7, Price: inventory.Money(draw("price", 1e6))}
			l.Total = l.Price * inventory.Money(l.Packs)
			o.Goods += l.Total
			o.Lines = append(o.Lines, l)
		}
		o.Carriage, o.Total = o.Supplier.Carriage, o.Goods+o.Supplier.Carriage
		p.Forward = append(p.Forward, plan.Forward{Supplier: o.Supplier, Lines: o.Lines, Goods: o.Goods, Saving: inventory.Money(draw("saving", 1e6)), Why: typed.Draw(t, "why")})
		p.Orders = append(p.Orders, o)
	}
	return p
}
