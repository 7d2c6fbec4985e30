package reports

import (
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/reports/plan"
	"circlip/testdata/golden/plans"
)

// allSheets are those of a plan.
func allSheets(p plan.Plan) []Sheet {
	sheets := []Sheet{Summary(p), Kits(p), Why(p), Oil(p.Oil), Demand(p), Arrivals(p), Curve(p), Limits(p), Forward(p), Chase(p), Ageing(p), KitLines(p, ""), Calendar(p)}
	sheets = append(sheets, OrderSheets(p)...)
	sheets = append(sheets, OilSheets(p.Oil)...)
	sheets = append(sheets, OilSheets(plans.PartsAudit())...)
	sheets = append(sheets, Disposal(plans.Spent(), plans.Disposals())...)
	return sheets
}

func TestSheetsHoldTogether(t *testing.T) {
	keys := map[string]bool{}
	for _, s := range allSheets(plans.Plan()) {
		if s.Key == "" || s.Name == "" || s.Title == "" || s.Empty == "" || keys[s.Key] {
			t.Errorf("sheet %q: expected a key of its own, a name, a title and what to do when it is empty", s.Key)
		}
		keys[s.Key] = true
		names := map[string]bool{}
		for _, c := range s.Columns {
			if names[c.Name] {
				t.Errorf("sheet %s: two columns %q", s.Key, c.Name)
			}
			names[c.Name] = true
		}
		for n, r := range s.Rows {
			if len(r.Cells) != len(s.Columns) {
				t.Fatalf("sheet %s row %d: found %d cells, expected %d", s.Key, n, len(r.Cells), len(s.Columns))
			}
			for i, c := range r.Cells {
				if !c.Blank() && c.Kind != s.Columns[i].Kind {
					t.Errorf("sheet %s row %d column %s: found kind %d, expected %d", s.Key, n, s.Columns[i].Name, c.Kind, s.Columns[i].Kind)
				}
			}
		}
		for _, c := range s.Charts {
			if c.Rows.First+c.Rows.Count > len(s.Rows) || !names[c.X] || c.Alt == "" {
				t.Errorf("sheet %s chart %q: rows %+v of %d, along %q", s.Key, c.Title, c.Rows, len(s.Rows), c.X)
			}
			for _, l := range c.Layers {
				if !names[l.Column] {
					t.Errorf("sheet %s chart %q: no column %q", s.Key, c.Title, l.Column)
				}
			}
		}
	}
}

// computed works out a formula over the sheet's own cells, apart from any
// spreadsheet.
func computed(t *testing.T, s Sheet, f Formula, row int) float64 {
	t.Helper()
	at := func(name string) float64 { return s.Rows[row].Cells[s.column(name)].Number() }
	total := func(name string) float64 {
		for _, x := range s.Totals {
			if x.Name == name {
				return x.Value.Number()
			}
		}
		t.Fatalf("sheet %s: no total %q", s.Key, name)
		return 0
	}
	result := 0.0
	switch {
	case len(f.Product) > 0:
		result = 1
		for _, name := range f.Product {
			result *= at(name)
		}
	case len(f.Add) > 0:
		for _, name := range f.Add {
			result += at(name)
		}
		for _, name := range f.Less {
			result -= at(name)
		}
	case f.ColumnSum != "":
		for _, r := range s.Rows {
			result += r.Cells[s.column(f.ColumnSum)].Number()
		}
	case len(f.TotalSum) > 0:
		for _, name := range f.TotalSum {
			result += total(name)
		}
	case f.Carriage != nil:
		goods := total(f.Carriage.Of)
		packs := 0.0
		for _, r := range s.Rows {
			packs += r.Cells[s.column(f.Carriage.Ordered)].Number()
		}
		if packs > 0 && (!f.Carriage.Free || goods < euro.Number(f.Carriage.FreeFrom)) {
			result = euro.Number(f.Carriage.Flat)
		}
	}
	return result
}

func TestFormulasGiveThePlansOwnFigures(t *testing.T) {
	checked := 0
	check := func(s Sheet, c Cell, row int) {
		if c.Formula == nil || c.Formula.Sheet != "" {
			return
		}
		checked++
		if got := computed(t, s, *c.Formula, row); got-c.Number() > 1e-9 || c.Number()-got > 1e-9 {
			t.Errorf("sheet %s row %d: the formula %+v gives %v, the plan says %v", s.Key, row, *c.Formula, got, c.Number())
		}
	}
	for _, s := range allSheets(plans.Plan()) {
		for n, r := range s.Rows {
			for _, c := range r.Cells {
				check(s, c, n)
			}
		}
		for _, total := range s.Totals {
			check(s, total.Value, 0)
		}
	}
	if checked < 30 {
		t.Errorf("found %d formulas, expected more than 30: something is not checked", checked)
	}
}

func TestOnlyPacksAndNotesMayBeChanged(t *testing.T) {
	for _, s := range allSheets(plans.Plan()) {
		for _, c := range s.Columns {
			if c.Edit != (strings.HasPrefix(s.Key, "order ") && (c.Name == "Packs" || c.Name == "Note")) {
				t.Errorf("sheet %s column %s: Edit = %v", s.Key, c.Name, c.Edit)
			}
		}
	}
}

func TestDemandTellsFirstWhatAJobWouldWaitFor(t *testing.T) {
	item := func(code string, waits bool, without float64) plan.Item {
		return plan.Item{Item: inventory.Item{Code: code}, Waits: waits, AvailabilityWithout: without, Week: []plan.Demand{{Mean: 1}}}
	}
	p := plan.Plan{Items: []plan.Item{
		item("sure", true, 0.99), item("extra", false, 0.1), item("tight", true, 0.5), item("dear", true, 0.5), {Item: inventory.Item{Code: "unused"}, Waits: true, Week: make([]plan.Demand, 1)},
	}}
	p.Orders = []plan.Order{{Lines: []plan.Line{{Item: inventory.Item{Code: "dear"}, Total: 100}}}}
	var got []string
	for _, i := range atStake(p) {
		got = append(got, i.Item.Code)
	}
	if want := "dear tight sure extra"; strings.Join(got, " ") != want {
		t.Errorf("found %v, expected %s: what no one waits for last, what no one uses not at all", got, want)
	}
}

func TestDemandStopsWhereNobodyReadsOn(t *testing.T) {
	s := Demand(plans.Big(100, 26, 1))
	if len(s.Rows) != itemsTold*26 || len(s.Charts) != itemsDrawn {
		t.Errorf("found %d rows and %d charts, expected %d and %d", len(s.Rows), len(s.Charts), itemsTold*26, itemsDrawn)
	}
}

func TestTheDemandTableTellsTheFirstWeeks(t *testing.T) {
	rows := []struct {
		rule         string
		weeks, lines int // of each item
		note         string
	}{
		{"a short horizon is told whole", 4, 4, ""},
		{"of a long one the first weeks, and a note", 26, weeksTold, "The first 6 weeks of 26."},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			p := plans.Big(3, r.weeks, 1)
			s := DemandTable(p)
			items := 0
			for _, row := range s.Rows {
				if !row.Cells[0].Blank() {
					items++
				}
			}
			if items == 0 || len(s.Rows) != items*r.lines {
				t.Errorf("found %d lines of %d items, expected %d of each", len(s.Rows), items, r.lines)
			}
			if text := textOf(t, s); !strings.Contains(text, r.note) || r.note == "" && strings.Contains(text, "first weeks") {
				t.Errorf("expected the note %q, found:\n%s", r.note, text)
			}
			if whole := Demand(p); len(whole.Rows) != items*r.weeks {
				t.Errorf("found %d lines of the whole sheet, expected all %d weeks of %d items", len(whole.Rows), r.weeks, items)
			}
		})
	}
}

func TestTheCurveIsToldByWholePercents(t *testing.T) {
	point := func(value inventory.Money, readiness float64) plan.Point {
		return plan.Point{StockValue: value, Readiness: readiness}
	}
	p := plan.Plan{Currency: euro, Readiness: plan.Readiness{Target: 0.95}, Curve: []plan.Point{
		point(0, 0.101), point(100, 0.105), point(200, 0.12), point(300, 0.951), point(400, 0.9511), point(500, 0.9512),
	}}
	s := Curve(p)
	var got []string
	for _, r := range s.Rows {
		got = append(got, r.Cells[1].String()+" "+r.Cells[3].String())
	}
	want := "0.00 |2.00 |3.00 chosen: reaches the target of 95.0 %|5.00 "
	if strings.Join(got, "|") != want {
		t.Errorf("found %q, expected %q: the first to reach a percent, and where it ends", strings.Join(got, "|"), want)
	}
}

func TestThePageSaysWhatKeepsTheTargetFromBeingMet(t *testing.T) {
	p := plans.Plan()
	p.Readiness = plan.Readiness{Target: 0.97, WithoutOrder: 0.5, WithOrder: 0.96999, Exact: true}
	page := strings.Join(strings.Fields(Page(p)), " ")
	if !strings.Contains(page, "96.9 % find on their day") || !strings.Contains(page, "which this order does not reach") || strings.Contains(page, "simulation") {
		t.Errorf("expected a target that is missed, exactly, found:\n%s", Page(p))
	}
}

func TestThePageStaysAPage(t *testing.T) {
	const sheetOfPaper = 64 // lines of A4, six an inch, with margins of half an inch
	quiet := plans.Big(200, 26, 200)
	quiet.Limits, quiet.Forward, quiet.Chase, quiet.Expiring = nil, nil, nil, nil
	busy := plans.Big(200, 26, 200)
	for len(busy.Chase) < 100 {
		busy.Limits, busy.Forward = append(busy.Limits, busy.Limits[0]), append(busy.Forward, busy.Forward[0])
		busy.Chase, busy.Expiring = append(busy.Chase, busy.Chase[2]), append(busy.Expiring, busy.Expiring[1])
	}
	for _, r := range []struct {
		rule  string
		p     plan.Plan
		most  int
		wants []string
	}{
		{"nothing but orders and jobs: a sheet and a half", quiet, sheetOfPaper * 3 / 2, []string{"All 20 suppliers", "more are short"}},
		{"something to say of everything, and a hundred times: two sheets", busy, sheetOfPaper * 2, []string{"… and 97 more in the workbook."}},
	} {
		page := Page(r.p)
		if lines := strings.Count(page, "\n"); lines > r.most {
			t.Errorf("%s: found %d lines, expected at most %d:\n%s", r.rule, lines, r.most, page)
		}
		for _, want := range r.wants {
			if !strings.Contains(page, want) {
				t.Errorf("%s: expected %q: what is left out is counted", r.rule, want)
			}
		}
		fitsTheTerminal(t, page)
	}
}
