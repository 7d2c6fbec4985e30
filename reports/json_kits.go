package reports

import (
	"slices"
	"strings"

	"circlip/inventory"
	"circlip/reports/plan"
)

// jobJSON is a booked job; unit is null where the book does not know it.
type jobJSON struct {
	Job       string        `json:"job"`
	BenchDate string        `json:"bench_date"`
	Service   string        `json:"service"` // several codes as the book has them: with ; between
	Model     string        `json:"model"`
	Unit      *string       `json:"unit"`
	State     string        `json:"state"`
	Lines     []kitLineJSON `json:"lines"`
}

// kitLineJSON is one line of a kit, quantities in the item's unit. set_aside,
// from_free, from_order, short and what from_kit or alternate supply add up to
// need_qty.
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

// benchDayJSON is a day of the benches; bench_minutes is null where the
// workshop states no bench hours, 0 on a day off. jobs and short are codes.
type benchDayJSON struct {
	Date         string   `json:"date"`
	Minutes      int      `json:"minutes"`
	BenchMinutes *int     `json:"bench_minutes"`
	Jobs         []string `json:"jobs"`
	Short        []string `json:"short"`
}

// KitsJSON is the document of `kits --json`: every booked job and all the
// lines of its kit, and what the benches have to do day by day.
func KitsJSON(p plan.Plan) ([]byte, error) { return kitsJSON(p, p.Kits) }

// KitJSON is the same document with the kit of one job alone.
func KitJSON(p plan.Plan, job string) ([]byte, error) {
	return kitsJSON(p, slices.DeleteFunc(slices.Clone(p.Kits), func(k inventory.JobKit) bool { return k.Job != job }))
}

func kitsJSON(p plan.Plan, kits []inventory.JobKit) ([]byte, error) {
	document := struct {
		documentHead
		Jobs  []jobJSON      `json:"jobs"`
		Bench []benchDayJSON `json:"bench"`
	}{headOf(p), []jobJSON{}, []benchDayJSON{}}
	measures := measures(p)
	for _, k := range kits {
		document.Jobs = append(document.Jobs, jobDocument(k, measures))
	}
	for _, d := range p.Bench {
		document.Bench = append(document.Bench, benchDayJSON{d.Date.String(), d.Minutes, d.Limit, some(d.Jobs), some(d.Short)})
	}
	return encode("kits", document)
}

// jobDocument turns steps into the unit; no figure is computed here.
func jobDocument(k inventory.JobKit, measures func(item string) inventory.Measure) jobJSON {
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
	return job
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
