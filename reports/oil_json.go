package reports

import (
	"math"

	"circlip/inventory"
	"circlip/inventory/audit"
)

// periodJSON is an item between two counts, in its unit: after the day from, up
// to and with the day to. Costs are null where nobody knows a price. Sigmas and
// other are in the unit; z, ewma and the two sums are in sigmas.
type periodJSON struct {
	Item            string        `json:"item"`
	From            string        `json:"from"`
	To              string        `json:"to"`
	Opening         float64       `json:"opening"`
	Received        float64       `json:"received"`
	Closing         float64       `json:"closing"`
	Drawn           float64       `json:"drawn"`
	Standard        float64       `json:"standard"`
	Recorded        float64       `json:"recorded"`
	Unrecorded      float64       `json:"unrecorded"`
	OverStandard    float64       `json:"over_standard"`
	Sigma           float64       `json:"sigma"`
	Z               float64       `json:"z"`
	EWMA            float64       `json:"ewma"`
	CUSUMHigh       float64       `json:"cusum_high"`
	CUSUMLow        float64       `json:"cusum_low"`
	Signal          *string       `json:"signal"` // high, low
	Other           float64       `json:"other"`
	Jobs            int           `json:"jobs"`
	UnrecordedSigma float64       `json:"unrecorded_sigma"`
	OverSigma       float64       `json:"over_standard_sigma"`
	UnrecordedCost  *string       `json:"unrecorded_cost"`
	OverCost        *string       `json:"over_standard_cost"`
	Fresh           bool          `json:"fresh"`    // the charts began anew here
	LeftOut         bool          `json:"left_out"` // of the estimates
	Joined          bool          `json:"joined"`   // with the next for the estimates
	Findings        []findingJSON `json:"findings"`
}

// findingJSON is what may explain a period or says how to read it; qty is in
// the item's unit.
type findingJSON struct {
	Kind string  `json:"kind"`
	On   *string `json:"on"`
	Ref  *string `json:"ref"`
	N    int     `json:"n"`
	Qty  float64 `json:"qty"`
	Text string  `json:"text"`
}

// estimateJSON is what a job may take of an item, in its unit; estimates that
// the periods do not bound are null.
type estimateJSON struct {
	Jobs            int      `json:"jobs"`
	StandardPerJob  float64  `json:"standard_per_job"`
	EstimatedPerJob *float64 `json:"estimated_per_job"`
	Low             *float64 `json:"low"`
	High            *float64 `json:"high"`
	Known           bool     `json:"known"`
}

// An estimate by service, by model, and by person; person null: not recorded.
type (
	byServiceJSON struct {
		Item    string `json:"item"`
		Service string `json:"service"`
		estimateJSON
	}
	byModelJSON struct {
		Item  string `json:"item"`
		Model string `json:"model"`
		estimateJSON
	}
	byPersonJSON struct {
		Item   string  `json:"item"`
		Person *string `json:"person"`
		estimateJSON
	}
)

// episodeJSON is a run of signals; per_week is in the item's unit, first and
// last are the days of the counts with the first and the latest signal.
type episodeJSON struct {
	Item      string  `json:"item"`
	Direction string  `json:"direction"`
	Began     string  `json:"began"`
	First     string  `json:"first"`
	Last      string  `json:"last"`
	Ended     *string `json:"ended"` // null: it lasts
	Once      bool    `json:"once"`
	PerWeek   float64 `json:"per_week"`
	Money     *string `json:"money"`
}

// blameJSON is what explains an item's last episode best; extra is what a job
// takes beyond the standard, or a week takes where by is none.
type blameJSON struct {
	Item    string  `json:"item"`
	By      string  `json:"by"`
	Code    *string `json:"code"`
	Prob    float64 `json:"prob"`
	Extra   float64 `json:"extra"`
	Share   float64 `json:"share"`
	RunUp   *string `json:"run_up"`
	RunProb float64 `json:"run_prob"`
}

// alikeJSON is a pair that the periods cannot tell apart.
type alikeJSON struct {
	Item        string  `json:"item"`
	By          string  `json:"by"`
	A           string  `json:"a"`
	B           string  `json:"b"`
	Correlation float64 `json:"correlation"`
	WeighOn     *string `json:"weigh_on"`
	JobsA       int     `json:"jobs_a"`
	JobsB       int     `json:"jobs_b"`
}

// billChangeJSON is a line of the bill that should say to instead of from.
type billChangeJSON struct {
	Item    string   `json:"item"`
	Service string   `json:"service"`
	Model   string   `json:"model"`
	From    float64  `json:"from"`
	To      float64  `json:"to"`
	PerJob  float64  `json:"per_job"`
	Low     *float64 `json:"low"`
	High    *float64 `json:"high"`
	Jobs    int      `json:"jobs"`
	Periods int      `json:"periods"`
}

// limitsJSON are those of the charts.
type limitsJSON struct {
	Lambda    float64 `json:"lambda"`
	Width     float64 `json:"width"`
	K         float64 `json:"k"`
	H         float64 `json:"h"`     // above, of what goes missing
	HLow      float64 `json:"h_low"` // below, of what is left over
	Alone     float64 `json:"alone"` // one period beyond it signals by itself
	RunLength float64 `json:"run_length"`
}

type sentenceJSON struct {
	Item string `json:"item"`
	Text string `json:"text"`
}

// oilJSON is the whole document.
type oilJSON struct {
	documentHead
	Periods     []periodJSON     `json:"periods"`
	ByService   []byServiceJSON  `json:"by_service"`
	ByModel     []byModelJSON    `json:"by_model"`
	ByPerson    []byPersonJSON   `json:"by_person"`
	Episodes    []episodeJSON    `json:"episodes"`
	Blame       []blameJSON      `json:"blame"`
	Alike       []alikeJSON      `json:"alike"`
	Changes     []billChangeJSON `json:"changes"`
	Sentences   []sentenceJSON   `json:"sentences"`
	CountedOnce []string         `json:"counted_once"`
	Limits      limitsJSON       `json:"limits"`
}

// OilJSON is the document of `oil --json`: every fluid, or with the scope Parts
// every part, between its counts, and all that the audit makes of them.
func OilJSON(a audit.Audit) ([]byte, error) {
	document := oilJSON{
		documentHead: documentHead{a.AsOf.String(), a.Workshop, schema},
		Periods:      []periodJSON{}, ByService: []byServiceJSON{}, ByModel: []byModelJSON{}, ByPerson: []byPersonJSON{},
		Episodes: []episodeJSON{}, Blame: []blameJSON{}, Alike: []alikeJSON{}, Changes: []billChangeJSON{}, Sentences: []sentenceJSON{},
		CountedOnce: some(a.Once),
		Limits:      limitsJSON(audit.ChartLimits()),
	}
	for _, of := range a.Items {
		document.add(a, of)
	}
	return encode("oil", document)
}

// add tells of one item.
func (d *oilJSON) add(a audit.Audit, of audit.ItemAudit) {
	item := of.Item.Code
	for i, p := range of.Periods {
		d.Periods = append(d.Periods, periodDocument(a, of, p, markOf(of, i)))
	}
	for _, e := range of.Services {
		d.ByService = append(d.ByService, byServiceJSON{item, e.Code, estimateDocument(e)})
	}
	for _, e := range of.Models {
		d.ByModel = append(d.ByModel, byModelJSON{item, e.Code, estimateDocument(e)})
	}
	for _, e := range of.People {
		d.ByPerson = append(d.ByPerson, byPersonJSON{item, textOrNull(e.Code), estimateDocument(e)})
	}
	for _, e := range of.Episodes {
		d.Episodes = append(d.Episodes, episodeDocument(a, of, e))
	}
	if b := of.Blame; b != nil {
		d.Blame = append(d.Blame, blameJSON{item, string(b.By), textOrNull(b.Code), number(b.Prob), number(b.Extra), number(b.Share), textOrNull(b.RunUp), number(b.RunProb)})
	}
	for _, p := range of.Alike {
		d.Alike = append(d.Alike, alikeJSON{item, string(p.By), p.A, p.B, number(p.Correlation), dayOrNull(p.WeighOn), p.JobsA, p.JobsB})
	}
	q := of.Item.Measure.Number
	for _, c := range of.Changes {
		d.Changes = append(d.Changes, billChangeJSON{item, c.Line.Service, c.Line.Model, q(c.Line.Qty), q(c.Qty), number(c.PerJob), bounded(c.Low), bounded(c.High), c.Jobs, c.Periods})
	}
	d.Sentences = append(d.Sentences, sentenceJSON{item, oilSentence(a, of)})
}

func periodDocument(a audit.Audit, of audit.ItemAudit, p audit.Period, m audit.Mark) periodJSON {
	q := of.Item.Measure.Number
	period := periodJSON{
		Item: of.Item.Code, From: p.From.String(), To: p.To.String(),
		Opening: q(p.Opening), Received: q(p.Received), Closing: q(p.Closing), Drawn: q(p.Drawn()),
		Standard: q(p.Standard), Recorded: q(p.Recorded), Unrecorded: q(p.Unrecorded()), OverStandard: q(p.OverStandard()),
		Sigma: number(m.Sigma), Z: number(m.Z), EWMA: number(m.EWMA), CUSUMHigh: number(m.High), CUSUMLow: number(m.Low),
		Signal: textOrNull(string(m.Signal)), Other: q(p.Other), Jobs: p.Jobs,
		UnrecordedSigma: number(unrecordedSpread(p)), OverSigma: number(p.JobSpread),
		UnrecordedCost: costOrNull(a, of, inventory.Value(p.Unrecorded(), of.Item.Measure, of.Cost)),
		OverCost:       costOrNull(a, of, inventory.Value(p.OverStandard(), of.Item.Measure, of.Cost)),
		Fresh:          m.Fresh, LeftOut: p.LeftOut, Joined: p.Joined, Findings: []findingJSON{},
	}
	for _, f := range p.Findings {
		period.Findings = append(period.Findings, findingJSON{string(f.Kind), dayOrNull(f.On), textOrNull(f.Ref), f.N, q(f.Qty), findingText(f, of.Item)})
	}
	return period
}

func estimateDocument(e audit.Estimate) estimateJSON {
	return estimateJSON{e.Jobs, number(e.StandardPerJob), bounded(e.PerJob), bounded(e.Low), bounded(e.High), e.Known}
}

func episodeDocument(a audit.Audit, of audit.ItemAudit, e audit.Episode) episodeJSON {
	day := func(period int) string { return of.Periods[period].To.String() }
	episode := episodeJSON{
		Item: of.Item.Code, Direction: string(e.Direction), Began: e.Began.String(), First: day(e.First), Last: day(e.Last),
		Once: e.Once, PerWeek: number(e.PerWeek), Money: costOrNull(a, of, e.Money),
	}
	if !e.Open {
		episode.Ended = textOrNull(day(e.End))
	}
	return episode
}

// costOrNull is money, null where nobody knows what the item costs.
func costOrNull(a audit.Audit, of audit.ItemAudit, m inventory.Money) *string {
	if of.Cost == 0 {
		return nil
	}
	return textOrNull(a.Currency.Format(m))
}

// bounded is a figure, null where it is none: no document holds an infinity.
func bounded(x float64) *float64 {
	if math.IsInf(x, 0) || math.IsNaN(x) {
		return nil
	}
	x = number(x)
	return &x
}
