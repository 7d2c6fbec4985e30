package reports

import (
	"strconv"

	"circlip/forecast/rehearse"
	"circlip/inventory"
	"circlip/reports/rehearsal"
)

// resultJSON is what a replay came to, money as decimal texts.
type resultJSON struct {
	Readiness  float64 `json:"readiness"`
	StockValue string  `json:"stock_value"`
	Orders     int     `json:"orders"`
	Lines      int     `json:"lines"`
	Carriage   string  `json:"carriage"`
	Goods      string  `json:"goods"`
	Expired    string  `json:"expired"`
	Left       string  `json:"left"`
}

func resultDocument(r rehearse.Result, c inventory.Currency) resultJSON {
	money := func(minor int64) string { return c.Format(inventory.Money(minor)) }
	return resultJSON{
		number(r.Readiness), c.Format(meanMoney(r.MeanStockValue)), r.Orders, r.Lines,
		money(r.Carriage), money(r.Goods), money(r.Expired), money(r.Left),
	}
}

// targetJSON is circlip's plans at one target, knobJSON a textbook method at
// one setting.
type targetJSON struct {
	Target float64 `json:"target"`
	resultJSON
}

type knobJSON struct {
	Setting float64 `json:"setting"`
	resultJSON
}

type curveJSON struct {
	Method string     `json:"method"`
	Points []knobJSON `json:"points"`
}

// bestJSON is the textbook method with the least stock at the readiness that
// circlip's plans reached at the target.
type bestJSON struct {
	Method     string `json:"method"`
	StockValue string `json:"stock_value"`
}

// rehearsalJSON is one rehearsal; saving is a share of 1, null like best where
// no textbook method reaches the readiness.
type rehearsalJSON struct {
	Seed      *string      `json:"seed"` // a text: some readers cut long numbers
	From      string       `json:"from"`
	To        string       `json:"to"`
	Weeks     int          `json:"weeks"`
	Target    float64      `json:"target"`
	Jobs      int          `json:"jobs"`
	Readiness float64      `json:"readiness"`
	Circlip   []targetJSON `json:"circlip"`
	Textbook  []curveJSON  `json:"textbook"`
	Saving    *float64     `json:"saving"`
	Best      *bestJSON    `json:"best"`
	Flat      int          `json:"flat"`
	Cells     int          `json:"cells"`
	LeftOut   []string     `json:"left_out"`
	Assumed   int          `json:"assumed"`
}

// scoreJSON is what a method's forecasts of a sort of thing were worth so many
// weeks ahead.
type scoreJSON struct {
	Of      string      `json:"of"`
	Method  string      `json:"method"`
	Horizon int         `json:"horizon"`
	N       int         `json:"n"`
	RPS     float64     `json:"rps"`
	Pinball pinballJSON `json:"pinball"`
	Bias    float64     `json:"bias"`
	BiasSE  float64     `json:"bias_se"`
	Flat    int         `json:"flat"`
	Cells   int         `json:"cells"`
}

type pinballJSON struct {
	P50 float64 `json:"p50"`
	P90 float64 `json:"p90"`
	P98 float64 `json:"p98"`
}

// allJSON is several rehearsals together: all jobs, means of the stocks, and
// the saving of all their money.
type allJSON struct {
	Jobs        int      `json:"jobs"`
	Readiness   float64  `json:"readiness"`
	Saving      *float64 `json:"saving"`
	WithinPoint int      `json:"within_a_point"` // rehearsals no more than a point below the target
	Flat        int      `json:"flat"`
	Cells       int      `json:"cells"`
}

// RehearsalJSON is the document of `rehearse --json` for one past.
func RehearsalJSON(r rehearsal.Report) ([]byte, error) {
	return encode("rehearsal", struct {
		documentHead
		Rehearsal rehearsalJSON `json:"rehearsal"`
		Scores    []scoreJSON   `json:"scores"`
	}{rehearsalHead(r), rehearsalDocument(r), scoresDocument([]rehearsal.Report{r})})
}

// TrialsJSON is the document of `rehearse --json` for several workshops.
func TrialsJSON(trials []rehearsal.Report) ([]byte, error) {
	sum := addUp(trials)
	document := struct {
		documentHead
		Rehearsals []rehearsalJSON `json:"rehearsals"`
		All        allJSON         `json:"all"`
		Scores     []scoreJSON     `json:"scores"`
	}{Rehearsals: []rehearsalJSON{}, Scores: scoresDocument(trials)}
	for _, r := range trials {
		document.documentHead = rehearsalHead(r)
		document.Rehearsals = append(document.Rehearsals, rehearsalDocument(r))
	}
	document.All = allJSON{Jobs: sum.jobs, Readiness: number(sum.readiness()), WithinPoint: sum.withinAPoint, Flat: sum.flat, Cells: sum.cells}
	if saving, known := sum.saving(); known {
		saving = number(saving)
		document.All.Saving = &saving
	}
	return encode("rehearsal", document)
}

func rehearsalHead(r rehearsal.Report) documentHead {
	return documentHead{AsOf: r.AsOf.String(), Workshop: r.Workshop, Schema: schema}
}

func rehearsalDocument(r rehearsal.Report) rehearsalJSON {
	d := rehearsalJSON{
		From: r.From.String(), To: r.To.String(), Weeks: r.Weeks, Target: number(r.Target),
		Circlip: []targetJSON{}, Textbook: []curveJSON{}, LeftOut: some(r.LeftOut), Assumed: r.Assumed,
	}
	if r.Seed != 0 {
		d.Seed = textOrNull(strconv.FormatUint(r.Seed, 10))
	}
	for _, p := range r.Plans {
		d.Circlip = append(d.Circlip, targetJSON{number(p.Target), resultDocument(p.Result, r.Currency)})
	}
	for _, c := range r.Textbook {
		curve := curveJSON{c.Method.String(), []knobJSON{}}
		for _, p := range c.Points {
			curve.Points = append(curve.Points, knobJSON{number(p.Knob), resultDocument(p.Result, r.Currency)})
		}
		d.Textbook = append(d.Textbook, curve)
	}
	if p, played := r.AtTarget(); played {
		d.Jobs, d.Readiness = p.Jobs, number(p.Readiness)
		if method, value, found := r.Best(p.Readiness); found {
			d.Best = &bestJSON{method.String(), r.Currency.Format(meanMoney(value))}
		}
	}
	if saving, known := r.Saving(); known {
		saving = number(saving)
		d.Saving = &saving
	}
	d.Flat, d.Cells = flatCells(r)
	return d
}

func scoresDocument(trials []rehearsal.Report) []scoreJSON {
	list := []scoreJSON{}
	for _, sort := range sorts {
		for _, v := range verdicts(trials, sort.of) {
			loss := v.Pinball()
			bias, standardError := v.Bias()
			list = append(list, scoreJSON{
				Of: sort.name, Method: v.Method, Horizon: v.Ahead, N: v.Count(), RPS: number(v.RPS()),
				Pinball: pinballJSON{number(loss[0]), number(loss[1]), number(loss[2])},
				Bias:    number(bias), BiasSE: number(standardError), Flat: v.Flat, Cells: v.Cells,
			})
		}
	}
	return list
}
