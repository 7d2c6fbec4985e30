package reports

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/reports/plan"
	"circlip/testdata/golden/plans"
)

func TestTheKitTableSaysWhatIsOnTheBench(t *testing.T) {
	rows := []struct {
		rule string
		job  inventory.JobKit
		want string
	}{
		{"a unit of the book", inventory.JobKit{Services: []string{"fork-full"}, Unit: "rental-07", Model: "fell-150"}, "fork-full on rental-07"},
		{"the model of a unit that is not in the book", inventory.JobKit{Services: []string{"fork-full"}, Model: "fell-150"}, "fork-full on fell-150"},
		{"several services", inventory.JobKit{Services: []string{"fork-full", "wash"}, Unit: "rental-07"}, "fork-full and wash on rental-07"},
		{"nothing known of the unit", inventory.JobKit{Services: []string{"fork-full"}}, "fork-full"},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			if got := (jobShortage{JobKit: r.job}).onTheBench(); got != r.want {
				t.Errorf("found %q, expected %q", got, r.want)
			}
		})
	}
}

// Whoever reads the list in the morning reads every job, once.
func TestTheKitTableNamesEachJobOnce(t *testing.T) {
	p := plans.Plan()
	s := KitTable(p)
	named := map[string]int{}
	for _, r := range s.Rows {
		if job := r.Cells[0].String(); job != "" {
			named[job]++
		}
		if r.Cells[len(r.Cells)-1].Blank() {
			t.Errorf("found a row that says nothing: %+v", r)
		}
	}
	for _, k := range p.Kits {
		if named[k.Job] != 1 {
			t.Errorf("found job %s %d times, expected it once", k.Job, named[k.Job])
		}
	}
	if len(s.Rows) != len(Kits(p).Rows) {
		t.Errorf("found %d rows, expected the %d of the workbook's sheet", len(s.Rows), len(Kits(p).Rows))
	}
	if text := textOf(t, s); strings.Contains(text, "Not shown") || strings.Contains(text, "…") {
		t.Errorf("expected every column and no text cut at 80 columns, found:\n%s", text)
	}
}

// withBench is a plan with its calendar: eight hours a day, a Saturday on which
// nobody works, and one day too full.
func withBench(p plan.Plan) plan.Plan {
	hours := 8.0
	shop := inventory.Shop{
		AsOf: p.AsOf, Settings: inventory.Settings{BenchHours: &hours},
		Services: []inventory.Service{{Code: "fork-lower", BenchMinutes: 45}, {Code: "shock-air", BenchMinutes: 40}, {Code: "shock-bushing", BenchMinutes: 450}},
	}
	p.Bench = inventory.Bench(shop, p.Kits)
	return p
}

// inCase is a plan whose kits hold parts that only some jobs take: some on the
// shelf, one to come, one in a kit.
func inCase() plan.Plan {
	p := plans.Plan()
	sometimes := func(job int, l inventory.KitLine, chance float64) {
		l.Critical, l.Probability = true, chance
		p.Kits[job].Lines = append(p.Kits[job].Lines, l)
	}
	sometimes(1, inventory.KitLine{Item: "OR-1.78x12", Need: 1, FromFree: 1}, 0.35)
	sometimes(1, inventory.KitLine{Item: "VS-10", Need: 2, FromFree: 2}, 0.12)
	sometimes(2, inventory.KitLine{Item: "VS-10", Need: 2, FromFree: 2}, 0.12)
	sometimes(4, inventory.KitLine{Item: "OR-1.78x12", Need: 1, FromOrder: 1, ArrivesOn: p.AsOf + 3}, 0.35)
	sometimes(5, inventory.KitLine{Item: "OR-1.78x12", Need: 1, FromKit: "KIT-AIR-S"}, 0.35)
	return p
}

func TestKitSheetsAreAsApproved(t *testing.T) {
	p := withBench(inCase())
	unstated := p
	unstated.Bench = inventory.Bench(inventory.Shop{AsOf: p.AsOf}, p.Kits[:2])
	texts := map[string]string{
		"kits-in-case.txt": textOf(t, KitTable(p), Kits(p)),
		"kit-lines.txt":    textOf(t, KitLines(p, ""), KitLines(p, "J-1033"), KitLines(p, "J-9")),
		"calendar.txt":     textOf(t, Calendar(p), Calendar(unstated)),
	}
	for name, text := range texts {
		t.Run(name, func(t *testing.T) {
			golden(t, name, text)
			fitsTheTerminal(t, text)
		})
	}
}

// Every line of every kit is told with its probability and with what covers it,
// on the sheet as in the document.
func TestEveryKitLineIsTold(t *testing.T) {
	p := inCase()
	s := KitLines(p, "")
	at := 0
	for _, k := range p.Kits {
		for _, l := range k.Lines {
			cell := func(column string) Cell { return s.Rows[at].Cells[s.column(column)] }
			if cell("Job").String() != k.Job || cell("Code").String() != l.Item || cell("Chance").Blank() != (l.Probability == 1) || cell("Covered").Blank() {
				t.Errorf("row %d: found %v, expected job %s and its line %+v", at, s.Rows[at].Cells, k.Job, l)
			}
			if covered := cell("Covered").String() != "no"; covered != (l.Short == 0) {
				t.Errorf("%s %s: found %q, expected it covered: %v", k.Job, l.Item, cell("Covered"), l.Short == 0)
			}
			at++
		}
	}
	if at != len(s.Rows) {
		t.Errorf("found %d rows, expected %d", len(s.Rows), at)
	}
}

// What is there in case it is needed stands on the list, once with its job.
func TestTheKitTableTellsWhatIsThereInCase(t *testing.T) {
	text := strings.Join(strings.Fields(textOf(t, KitTable(inCase()))), " ")
	for _, want := range []string{"there if needed:", "(12 %)", "if it is needed, open one"} {
		if !strings.Contains(text, want) {
			t.Errorf("expected %q in:\n%s", want, textOf(t, KitTable(inCase())))
		}
	}
	if s := textOf(t, KitTable(plans.Plan())); strings.Contains(s, "there if needed") {
		t.Errorf("expected nothing in case where every line is for certain, found:\n%s", s)
	}
}

func TestTheBenchInTheKitsDocument(t *testing.T) {
	document, err := KitsJSON(withBench(plans.Plan()))
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Bench []struct {
			Date         string   `json:"date"`
			Minutes      int      `json:"minutes"`
			BenchMinutes *int     `json:"bench_minutes"`
			Jobs         []string `json:"jobs"`
			Short        []string `json:"short"`
		} `json:"bench"`
	}
	d := json.NewDecoder(bytes.NewReader(document))
	if err := d.Decode(&got); err != nil {
		t.Fatal(err)
	}
	p := withBench(plans.Plan())
	if len(got.Bench) != len(p.Bench) || len(p.Bench) == 0 {
		t.Fatalf("found %d days, expected %d", len(got.Bench), len(p.Bench))
	}
	for i, b := range got.Bench {
		d := p.Bench[i]
		if b.Date != d.Date.String() || b.Minutes != d.Minutes || *b.BenchMinutes != *d.Limit || strings.Join(b.Jobs, " ") != strings.Join(d.Jobs, " ") || strings.Join(b.Short, " ") != strings.Join(d.Short, " ") || b.Jobs == nil || b.Short == nil {
			t.Errorf("found %+v, expected %+v", b, d)
		}
	}
}
