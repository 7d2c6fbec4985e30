package reports

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"gonum.org/v1/gonum/stat"

	"circlip/reports/rehearsal"
)

// together is what several rehearsals came to. Savings and money are of those
// in which a textbook method reaches the plans' readiness.
type together struct {
	jobs, ready   int
	plans, best   float64 // stock values added up, minor units
	savings       []float64
	flat, cells   int
	withinAPoint  int
	unmatched     int
	meanPlanStock float64 // of all
}

// addUp adds up rehearsals.
func addUp(trials []rehearsal.Report) (sum together) {
	for _, r := range trials {
		p, played := r.AtTarget()
		if !played {
			continue
		}
		sum.jobs, sum.ready = sum.jobs+p.Jobs, sum.ready+p.Ready
		sum.meanPlanStock += p.MeanStockValue / float64(len(trials))
		if p.Readiness >= r.Target-0.01 {
			sum.withinAPoint++
		}
		if saving, known := r.Saving(); known {
			_, value, _ := r.Best(p.Readiness)
			sum.plans, sum.best, sum.savings = sum.plans+p.MeanStockValue, sum.best+value, append(sum.savings, saving)
		} else {
			sum.unmatched++
		}
		flat, cells := flatCells(r)
		sum.flat, sum.cells = sum.flat+flat, sum.cells+cells
	}
	return sum
}

// readiness is the share of all jobs together.
func (t together) readiness() float64 {
	if t.jobs == 0 {
		return 1
	}
	return float64(t.ready) / float64(t.jobs)
}

// saving is that of all money together.
func (t together) saving() (float64, bool) {
	if t.best == 0 {
		return 0, false
	}
	return 1 - t.plans/t.best, true
}

// flatCells are circlip's service by horizon cells whose transforms lie flat,
// of those that can tell.
func flatCells(r rehearsal.Report) (flat, cells int) {
	if r.Scores == nil {
		return 0, 0
	}
	return r.Scores.Services.InBand(0)
}

// Trials are several rehearsals, a row each, and the last line over all.
func Trials(trials []rehearsal.Report) Sheet {
	s := Sheet{
		Key: "trials", Name: "Summary", Title: "Rehearsals of invented workshops",
		Empty: "No rehearsal was played.",
	}
	if len(trials) == 0 {
		s.Columns = []Column{{Name: "Seed"}}
		return s
	}
	r, sum := trials[0], addUp(trials)
	money := r.Currency.Code
	s.Title = fmt.Sprintf("Rehearsals of %s of %s each · target %s", plural(len(trials), "invented workshop", "invented workshops"), plural(r.Weeks, "week", "weeks"), percent(r.Target))
	s.Notes = []string{"Readiness is what circlip's plans reached, stock their mean value; beside it the textbook method that makes as many jobs ready with the least stock, and that stock. Flat cells are services by weeks ahead in which the forecasts lay as right ones do nineteen times of twenty, of those in which enough came to tell."}
	s.Facts = trialFacts(len(trials), sum)
	s.Columns = []Column{
		{Name: "Seed", Kind: TextKind},
		{Name: "Jobs", Kind: CountKind},
		{Name: "Ready", Unit: "%", Kind: ShareKind},
		{Name: "Stock", Unit: money, Kind: MoneyKind},
		{Name: "Best textbook method"},
		{Name: "Its stock", Unit: money, Kind: MoneyKind},
		{Name: "Saving", Unit: "%", Kind: ShareKind},
		{Name: "Flat", Kind: CountKind},
		{Name: "Cells", Kind: CountKind},
	}
	for _, r := range trials {
		s.Rows = append(s.Rows, trialRow(r))
	}
	all := []Cell{Words("all"), Counted(sum.jobs), Share(sum.readiness()), stock(sum.meanPlanStock, r.Currency), Words("mean of the best"), {}, {}, Counted(sum.flat), Counted(sum.cells)}
	if saving, known := sum.saving(); known {
		all[5], all[6] = stock(sum.best/float64(len(sum.savings)), r.Currency), Share(saving)
	}
	s.Rows = append(s.Rows, Row{Cells: all, Strong: true})
	s.Remarks = []string{"Over all: all jobs together, means of the stocks, and the saving of all their money together."}
	if sum.unmatched > 0 {
		s.Remarks = append(s.Remarks, fmt.Sprintf("%d without a saving: no textbook method makes as many jobs ready there, or it needs no stock for them. They count neither in the savings nor in the mean of the best.", sum.unmatched))
	}
	return s
}

func trialFacts(trials int, sum together) []Fact {
	facts := []Fact{{"Workshops no more than a point below the target", Words(fmt.Sprintf("%d of %d", sum.withinAPoint, trials)), ""}}
	if sum.cells > 0 {
		facts = append(facts, Fact{"Cells of services that lie flat", Share(float64(sum.flat) / float64(sum.cells)), "%"})
	}
	if n := len(sum.savings); n > 0 {
		facts = append(facts, Fact{"Mean of the savings", Share(stat.Mean(sum.savings, nil)), "%"}, Fact{"Least of the savings", Share(slices.Min(sum.savings)), "%"})
		if n > 1 {
			facts = append(facts, Fact{"Standard error of the mean", Figure(100*stat.StdDev(sum.savings, nil)/math.Sqrt(float64(n)), 1), "points"})
		}
	}
	return facts
}

func trialRow(r rehearsal.Report) Row {
	cells := make([]Cell, 9)
	cells[0] = seedOf(r)
	p, played := r.AtTarget()
	if !played {
		return Row{Cells: cells}
	}
	cells[1], cells[2], cells[3] = Counted(p.Jobs), Share(p.Readiness), stock(p.MeanStockValue, r.Currency)
	cells[4] = Words("none reaches it")
	if method, value, found := r.Best(p.Readiness); found {
		cells[4], cells[5] = Words(method.String()), stock(value, r.Currency)
	}
	if saving, known := r.Saving(); known {
		cells[6] = Share(saving)
	}
	if r.Scores != nil {
		flat, of := flatCells(r)
		cells[7], cells[8] = Counted(flat), Counted(of)
	}
	return Row{Cells: cells}
}

// seedOf is that of an invented workshop; a real one has none.
func seedOf(r rehearsal.Report) Cell {
	if r.Seed == 0 {
		return Cell{}
	}
	return Words(strconv.FormatUint(r.Seed, 10))
}
