package plans

import (
	"math"
	"time"

	"circlip/inventory"
	"circlip/inventory/audit"
)

var solvent = inventory.Item{Code: "SOL-CIT", Name: "Citrus cleaner", Kind: inventory.Solvent, Measure: inventory.Millilitre}

// Audit is the fluids of the same bike park, made by hand: one that loses more
// than its bill allows, one whose latest count lacks a whole bottle, one of which
// little is known yet, one that is quiet, and one that was counted once.
func Audit() audit.Audit {
	a := auditOf(audit.Fluids)
	a.Once = []string{"OIL-SH5"}
	a.Items = []audit.ItemAudit{losing(), lacking(), fresh(), still()}
	return a
}

// PartsAudit is the same for pieces: one of which some get lost, one that is
// quiet.
func PartsAudit() audit.Audit {
	a := auditOf(audit.Parts)
	wipers := audited(wiper, 7_400_000, 0.7, []float64{8, 6, 10, 8, 6, 8, 10, 8}, []float64{0, 0, 1, 2, 0, 2, 1, 2}, []float64{0, 0, 0, 0, 0, 0, 0, 0})
	wipers.Episodes = []audit.Episode{{Direction: audit.High, Start: 2, First: 6, Last: 7, End: 7, Began: wipers.Periods[2].From + 1, Open: true, PerWeek: 8.0 / 6, Money: 59_20}}
	wipers.Marks[6].Signal, wipers.Marks[7].Signal = audit.High, audit.High
	wipers.Services = []audit.Estimate{{Code: "fork-lower", Jobs: 32, StandardPerJob: 2, PerJob: 2.25, Low: 2.02, High: 2.51, Known: true}}
	rings := audited(ring, 0, 0.5, []float64{4, 5, 3}, []float64{0, 0, 0}, []float64{0, 0, 0})
	a.Items = []audit.ItemAudit{wipers, rings}
	return a
}

func auditOf(scope audit.Scope) audit.Audit {
	return audit.Audit{
		Workshop: "Larchfell Bike Park", AsOf: AsOf, Currency: euro, Scope: scope,
		Services: []inventory.Service{{Code: "fork-lower", Name: "Lower leg service"}, {Code: "fork-damper", Name: "Damper service"}, {Code: "shock-air", Name: "Air can service"}},
		Models:   []inventory.Model{{Code: "F-36", Name: "Fork 36"}, {Code: "F-34", Name: "Fork 34"}},
	}
}

// audited is an item counted weekly up to AsOf: what the bill allowed in each
// period, what left on no card and what the cards took beyond the bill. Sigma is
// the spread that is to be expected; the charts follow from it.
func audited(item inventory.Item, cost inventory.UnitCost, sigma float64, standard, unrecorded, over []float64) audit.ItemAudit {
	of := audit.ItemAudit{Item: item, Cost: cost}
	q := item.Measure.Nearest
	opening := q(900)
	var ewma, high, low float64
	for i := range standard {
		p := audit.Period{
			Item: item.Code, From: AsOf - inventory.Date(7*(len(standard)-i)), To: AsOf - inventory.Date(7*(len(standard)-1-i)),
			Opening: opening, Standard: q(standard[i]), Recorded: q(standard[i] + over[i]), Jobs: 1 + i%3,
			JobSpread: sigma * 0.8, CountSpread: sigma * 0.6, CardSpread: sigma * 0.1,
		}
		if opening < q(400) {
			p.Received = q(1000)
		}
		p.Closing = p.Opening + p.Received - p.Recorded - q(unrecorded[i])
		opening = p.Closing
		z := item.Measure.Number(p.Excess()) / sigma
		ewma, high, low = 0.2*z+0.8*ewma, max(0, high+z-0.5), max(0, low-z-0.5)
		limit := 3 * math.Sqrt(0.2/1.8*(1-math.Pow(0.8, float64(2*(i+1)))))
		of.Periods = append(of.Periods, p)
		of.Marks = append(of.Marks, audit.Mark{Sigma: sigma, Z: z, Score: z, EWMA: ewma, EWMALimit: limit, High: high, Low: low})
	}
	return of
}

// losing is the lower leg oil: since its third period some 45 ml a week more
// leave than the bill allows, most of it on no card.
func losing() audit.ItemAudit {
	of := audited(lowerOil, 18_400, 24, []float64{210, 180, 240, 195, 230, 205, 250, 220},
		[]float64{6, -11, 42, 30, 51, 28, 47, 35}, []float64{0, 4, 8, 2, 12, 6, 4, 9})
	for _, i := range []int{5, 6, 7} {
		of.Marks[i].Signal = audit.High
	}
	of.Marks[6].Fresh = true
	of.Periods[4].Findings = []audit.Finding{{Kind: audit.NoCards, N: 2}, {Kind: audit.NoTemp, N: 1, On: AsOf - 21}}
	of.Episodes = []audit.Episode{{Direction: audit.High, Start: 2, First: 5, Last: 7, End: 7, Began: of.Periods[2].From + 1, Open: true, PerWeek: 45.7, Money: 5_04}}
	of.Services = []audit.Estimate{
		{Code: "fork-lower", Jobs: 31, StandardPerJob: 40, PerJob: 47.6, Low: 43.1, High: 52.4, Known: true},
		{Code: "fork-damper", Jobs: 9, StandardPerJob: 12, PerJob: 13.8, Low: 0, High: 31.5},
		{Code: "shock-air", Jobs: 8, StandardPerJob: 8, PerJob: 6.1, Low: 0, High: math.Inf(1)},
	}
	of.Models = []audit.Estimate{{Code: "F-36", Jobs: 22, StandardPerJob: 31.2, PerJob: 36.9, Low: 29.8, High: 44.2, Known: true}}
	of.People = []audit.Estimate{
		{Code: "Mira", Jobs: 25, StandardPerJob: 30.9, PerJob: 33.0, Low: 27.5, High: 39.1, Known: true},
		{Code: "", Jobs: 3, StandardPerJob: 28.5, PerJob: 30.2, Low: 0, High: 64},
	}
	of.Blame = &audit.Blame{By: audit.ByService, Code: "fork-lower", Prob: 0.62, Extra: 8.1, Share: 0.94, RunUp: "fork-damper", RunProb: 0.21}
	of.Alike = []audit.Alike{
		{By: audit.ByService, A: "fork-damper", B: "shock-air", Correlation: -0.96, WeighOn: AsOf + 9, JobsA: 3, JobsB: 0},
		{By: audit.ByModel, A: "F-34", B: "F-36", Correlation: -0.92},
	}
	line := inventory.BOMLine{Service: "fork-lower", Model: inventory.AnyModel, Item: lowerOil.Code, Qty: 400, Need: 1}
	of.Changes = []audit.Change{{Line: line, Qty: 476, PerJob: 47.6, Low: 43.1, High: 52.4, Jobs: 31, Periods: 8}}
	return of
}

// lacking is the cleaner: a whole bottle is missing in its latest count. The
// book has neither its price nor its density.
func lacking() audit.ItemAudit {
	of := audited(solvent, 0, 30, []float64{60, 75, 45, 90}, []float64{12, -20, 8, 515}, []float64{0, 0, 0, 0})
	of.Marks[3].Signal = audit.High
	last := &of.Periods[3]
	last.Findings, last.LeftOut = []audit.Finding{{Kind: audit.Whole, N: 1, Qty: 5000}}, true
	of.Episodes = []audit.Episode{{Direction: audit.High, Start: 3, First: 3, Last: 3, End: 3, Began: last.From + 1, Open: true, Once: true}}
	return of
}

// fresh is the grease, counted three times, once before a delivery was booked in.
func fresh() audit.ItemAudit {
	of := audited(grease, 31_200, 4, []float64{22, 19}, []float64{-1.5, -78}, []float64{0, 0})
	last := &of.Periods[1]
	last.Findings = []audit.Finding{
		{Kind: audit.BookedLate, On: AsOf + 1, Ref: "PO-0209", N: 1, Qty: -800},
		{Kind: audit.Negative, Qty: -590},
		{Kind: audit.TareChanged, On: AsOf, Ref: "tin-2", Qty: -25},
	}
	last.Joined = true
	of.Marks[1].Signal = audit.Low
	of.Episodes = []audit.Episode{{Direction: audit.Low, Start: 1, First: 1, Last: 1, End: 1, Began: last.From + 1, Open: true, Once: true, Money: -2_43}}
	return of
}

// still is the damper oil: an earlier loss is over. Some went out with a kit.
func still() audit.ItemAudit {
	of := audited(dampOil, 22_900, 12, []float64{80, 95, 70, 110, 85, 90, 75}, []float64{18, 20, 22, 19, 3, -4, 2}, []float64{6, 5, 4, 9, 1, -2, 0})
	of.Periods[6].Other = -500
	of.Periods[6].Closing -= 500
	of.Periods[5].Findings = []audit.Finding{
		{Kind: audit.CountsMissed, N: 1}, {Kind: audit.TwoWays}, {Kind: audit.Opened, On: inventory.NewDate(2026, time.January, 12), Ref: "D25-a", Qty: 420},
		{Kind: audit.TareUnlike, On: AsOf - 7, Ref: "D25-a", Qty: 12}, {Kind: audit.GramsAsML, On: AsOf - 7, N: 1, Qty: -130}, {Kind: audit.MLAsGrams, On: AsOf - 7, N: 1, Qty: 130}, {Kind: audit.Miscounted, On: AsOf - 7, Qty: 95},
	}
	of.Marks[2].Signal = audit.High
	of.Episodes = []audit.Episode{{Direction: audit.High, Start: 0, First: 2, Last: 3, End: 3, Began: of.Periods[0].From + 1, PerWeek: 25.8, Money: 2_36}}
	return of
}
