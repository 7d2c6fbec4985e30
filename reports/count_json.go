package reports

import "circlip/inventory"

// countDueJSON is an item of the plan of counts.
type countDueJSON struct {
	Item       string  `json:"item"`
	Bin        string  `json:"bin"`
	Class      string  `json:"class"`
	Movement   *string `json:"movement"`
	Used       float64 `json:"used_a_year"`
	Value      string  `json:"value_a_year"`
	TimesAYear int     `json:"times_a_year"`
	LastOn     *string `json:"last_on"`
	DueOn      *string `json:"due_on"`
	DaysLate   int     `json:"days_late"`
}

// CountPlanJSON is the document of `count plan --json`.
func CountPlanJSON(shop inventory.Shop, due []inventory.CountDue) ([]byte, error) {
	document := struct {
		documentHead
		Items []countDueJSON `json:"items"`
	}{documentHead: documentHead{shop.AsOf.String(), shop.Settings.Workshop, schema}, Items: []countDueJSON{}}
	for _, d := range due {
		document.Items = append(document.Items, countDueJSON{
			d.Item.Code, d.Item.Bin, d.Class, textOrNull(d.Movement), d.Item.Measure.Number(d.Used), shop.Settings.Currency.Format(d.Value),
			d.TimesAYear, dayOrNull(d.LastOn), dayOrNull(d.DueOn), d.DaysLate,
		})
	}
	return encode("count plan", document)
}

// discrepancyJSON is what was found of an item against what was expected.
type discrepancyJSON struct {
	Item     string        `json:"item"`
	Expected float64       `json:"expected"`
	Found    float64       `json:"found"`
	Diff     float64       `json:"difference"`
	Value    string        `json:"value"`
	Causes   []causeOfJSON `json:"look_first"`
	Parts    []partJSON    `json:"containers"`
	Unlike   []unlikeJSON  `json:"tare_unlike"`
}

// partJSON is what one container held.
type partJSON struct {
	Number    int      `json:"number"`
	Container *string  `json:"container"`
	Qty       float64  `json:"qty"`
	GrossG    *float64 `json:"gross_g"`
	TareG     *float64 `json:"tare_g"`
	TempC     *float64 `json:"temp_c"`
	OpenedOn  *string  `json:"opened_on"`
}

// unlikeJSON is a container that was reckoned with another tare than its own.
type unlikeJSON struct {
	Container string  `json:"container"`
	UsedG     float64 `json:"used_g"`
	KnownG    float64 `json:"known_g"`
}

// causeOfJSON is one thing that alone would explain a difference.
type causeOfJSON struct {
	Why string  `json:"why"`
	Ref string  `json:"ref"`
	On  *string `json:"on"`
	Qty float64 `json:"qty"`
}

// TallyJSON is the document of `count read --json`; posted says whether the
// differences were booked.
func TallyJSON(shop inventory.Shop, t inventory.Tallied, posted bool) ([]byte, error) {
	c := shop.Settings.Currency
	document := struct {
		documentHead
		CountedOn  string            `json:"counted_on"`
		Posted     bool              `json:"posted"`
		Items      []discrepancyJSON `json:"items"`
		NotCounted []string          `json:"not_counted"`
		Missing    string            `json:"missing"`
		TooMuch    string            `json:"too_much"`
	}{
		documentHead: documentHead{shop.AsOf.String(), shop.Settings.Workshop, schema}, CountedOn: t.On.String(), Posted: posted,
		Items: []discrepancyJSON{}, NotCounted: some(t.NotCounted), Missing: c.Format(t.Missing), TooMuch: c.Format(t.TooMuch),
	}
	measures := map[string]inventory.Measure{}
	for _, i := range shop.Items {
		measures[i.Code] = i.Measure
	}
	for _, l := range t.Lines {
		m := measures[l.Item]
		line := discrepancyJSON{l.Item, m.Number(l.Expected), m.Number(l.Found), m.Number(l.Diff), c.Format(l.Value), []causeOfJSON{}, []partJSON{}, []unlikeJSON{}}
		for _, cause := range l.Causes {
			line.Causes = append(line.Causes, causeOfJSON{string(cause.Why), cause.Ref, dayOrNull(cause.On), m.Number(cause.Qty)})
		}
		for _, p := range l.Parts {
			line.Parts = append(line.Parts, partOf(p, m))
		}
		for _, u := range l.Unlike {
			line.Unlike = append(line.Unlike, unlikeJSON(u))
		}
		document.Items = append(document.Items, line)
	}
	return encode("count", document)
}

// partOf is a container with its weights where it was weighed.
func partOf(p inventory.CountPart, m inventory.Measure) partJSON {
	j := partJSON{Number: p.Number, Container: textOrNull(p.Container), Qty: m.Number(p.Qty), OpenedOn: dayOrNull(p.OpenedOn)}
	if w := p.Weighed; w != nil {
		j.GrossG, j.TareG, j.TempC = &w.GrossG, &w.TareG, w.TempC
	}
	return j
}
