package reports

import (
	"math"
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/inventory/audit"
	"circlip/testdata/golden/plans"

	"pgregory.net/rapid"
)

// drawAudit is any audit that the types allow and whose indices hold.
func drawAudit(t *rapid.T) audit.Audit {
	text := rapid.SampledFrom(append([]string{"Damper oil", "svc-1", inventory.AnyModel}, hostile...))
	a := audit.Audit{Workshop: text.Draw(t, "workshop"), AsOf: plans.AsOf, Currency: euro, Scope: audit.Scope(rapid.IntRange(0, 1).Draw(t, "scope"))}
	a.Once = rapid.SliceOfN(text, 0, 3).Draw(t, "once")
	for range rapid.IntRange(0, 4).Draw(t, "items") {
		a.Items = append(a.Items, drawItemAudit(t, text))
	}
	return a
}

func drawItemAudit(t *rapid.T, text *rapid.Generator[string]) audit.ItemAudit {
	qty := rapid.Custom(func(t *rapid.T) inventory.Quantity {
		return inventory.Quantity(rapid.Int64Range(-1e9, 1e9).Draw(t, "steps"))
	})
	number := rapid.OneOf(rapid.Float64Range(-1e6, 1e6), rapid.SampledFrom([]float64{0, math.Inf(1), 1e-12}))
	real := rapid.Float64Range(-1e6, 1e6)
	measure := rapid.SampledFrom([]inventory.Measure{inventory.Each, inventory.Millilitre, inventory.Gram}).Draw(t, "measure")
	of := audit.ItemAudit{
		Item: inventory.Item{Code: text.Draw(t, "code"), Name: text.Draw(t, "name"), Measure: measure, Kind: rapid.SampledFrom(inventory.Kinds).Draw(t, "kind")},
		Cost: inventory.UnitCost(rapid.Int64Range(0, 1e7).Draw(t, "cost")),
	}
	kinds := rapid.SampledFrom([]audit.FindingKind{
		audit.BookedLate, audit.Whole, audit.GramsAsML, audit.MLAsGrams, audit.Miscounted, audit.Unexplained, audit.Negative, audit.TareChanged, audit.TareUnlike,
		audit.CountsMissed, audit.TwoWays, audit.NoTemp, audit.NoCards, audit.Opened, "a kind to come",
	})
	signal := rapid.SampledFrom([]audit.Signal{"", audit.High, audit.Low})
	periods := rapid.IntRange(1, 9).Draw(t, "periods")
	for i := range periods {
		to := plans.AsOf - inventory.Date(7*(periods-i-1))
		p := audit.Period{From: to - 7, To: to, Opening: qty.Draw(t, "opening"), Received: qty.Draw(t, "received"), Other: qty.Draw(t, "other"), Closing: qty.Draw(t, "closing"), Standard: qty.Draw(t, "standard"), Recorded: qty.Draw(t, "recorded")}
		for range rapid.IntRange(0, 2).Draw(t, "findings") {
			p.Findings = append(p.Findings, audit.Finding{Kind: kinds.Draw(t, "kind"), On: to, Ref: text.Draw(t, "ref"), N: rapid.IntRange(0, 3).Draw(t, "n"), Qty: qty.Draw(t, "qty")})
		}
		of.Periods = append(of.Periods, p)
		of.Marks = append(of.Marks, audit.Mark{Sigma: math.Abs(real.Draw(t, "sigma")), Z: real.Draw(t, "z"), EWMA: real.Draw(t, "ewma"), Signal: signal.Draw(t, "signal")})
	}
	for range rapid.IntRange(0, 2).Draw(t, "episodes") {
		start := rapid.IntRange(0, periods-1).Draw(t, "start")
		end := rapid.IntRange(start, periods-1).Draw(t, "end")
		e := audit.Episode{Direction: audit.High, Start: start, First: start, Last: end, End: end, Began: of.Periods[start].From + 1, Open: end == periods-1, Once: start == end, PerWeek: real.Draw(t, "rate"), Money: inventory.Money(qty.Draw(t, "money"))}
		of.Episodes = append(of.Episodes, e)
	}
	by := rapid.SampledFrom([]audit.By{audit.ByService, audit.ByModel, audit.ByPerson, audit.ByAll, audit.ByNone})
	estimate := func() audit.Estimate {
		return audit.Estimate{Code: text.Draw(t, "code"), Jobs: 3, StandardPerJob: real.Draw(t, "standard"), PerJob: number.Draw(t, "takes"), Low: number.Draw(t, "low"), High: number.Draw(t, "high"), Known: rapid.Bool().Draw(t, "known")}
	}
	of.Services, of.People = []audit.Estimate{estimate()}, []audit.Estimate{estimate()}
	of.Blame = &audit.Blame{By: by.Draw(t, "by"), Code: text.Draw(t, "blamed"), Prob: rapid.Float64Range(0, 1).Draw(t, "prob"), Extra: real.Draw(t, "extra"), RunUp: text.Draw(t, "next"), RunProb: 0.2}
	of.Alike = []audit.Alike{{By: by.Draw(t, "by"), A: text.Draw(t, "a"), B: text.Draw(t, "b"), Correlation: -0.95}}
	of.Changes = []audit.Change{{Line: inventory.BOMLine{Service: text.Draw(t, "service"), Model: text.Draw(t, "model"), Qty: qty.Draw(t, "says")}, Qty: qty.Draw(t, "should"), PerJob: real.Draw(t, "per job"), Low: number.Draw(t, "low"), High: number.Draw(t, "high")}}
	return of
}

// Whatever an audit comes to, it is told: on the terminal within its width, and
// as a document without a number that is none.
func TestAnyAuditIsTold(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		a := drawAudit(rt)
		var out strings.Builder
		if err := Text(&out, append(OilTables(a), append(OilSheets(a), Oil(a))...)...); err != nil {
			rt.Fatal(err)
		}
		for line := range strings.Lines(out.String()) {
			if line = strings.TrimRight(line, "\n"); width(line) > 80 {
				rt.Fatalf("line takes %d columns: %q", width(line), line)
			}
		}
		for _, lost := range []string{"NaN", "Inf", "%!"} {
			if strings.Contains(out.String(), lost) {
				rt.Fatalf("found %s in:\n%s", lost, out.String())
			}
		}
		if _, err := OilJSON(a); err != nil {
			rt.Fatal(err)
		}
		for _, s := range oilSentences(a) {
			if strings.TrimSpace(s) == "" {
				rt.Fatal("found a sentence that says nothing")
			}
		}
	})
}
