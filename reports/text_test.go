package reports

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/inventory/audit"
	"circlip/reports/plan"
	"circlip/testdata/golden/plans"

	"pgregory.net/rapid"
)

func TestColumnsGiveWayByRank(t *testing.T) {
	long := strings.Repeat("long name ", 4)
	s := Sheet{
		Title: "Ranks",
		Columns: []Column{
			{Name: "Kept"}, {Name: "Least", Rank: 3}, {Name: "Middle", Rank: 2}, {Name: "Number", Kind: CountKind}, {Name: "More", Rank: 1},
		},
		Rows: []Row{{Cells: []Cell{Words(long), Words(long), Words(long), Counted(1234567), Words(long)}}},
	}
	text := textOf(t, s)
	if !strings.Contains(text, "Not shown at this width: Least.") {
		t.Errorf("expected the column of rank 3 to go and to be named, found:\n%s", text)
	}
	if !strings.Contains(text, "1,234,567") || strings.Count(text, "…") != 3 {
		t.Errorf("expected the number whole and the three names shortened, found:\n%s", text)
	}
}

func TestLongTitlesKeepTheirDay(t *testing.T) {
	what, who, day := "Booked jobs and their kits", "Workshop at the lift "+strings.Repeat("with a long name ", 2), "Monday 1 March 2027"
	rows := []struct {
		rule, title string
		lines       int
	}{
		{"a short one stays on a line", what + " · " + day, 1},
		{"of whom and of which day on a second", what + " · " + who + " · " + day, 2},
		{"and on a third, if need be", what + " · " + strings.Repeat(who, 2) + " · " + day, 3},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			text := textOf(t, Sheet{Title: r.title})
			fitsTheTerminal(t, text)
			above, _, _ := strings.Cut(text, "═")
			if strings.Count(above, "\n") != r.lines || !strings.HasSuffix(above, day+"\n") || strings.Contains(above, "…") {
				t.Errorf("expected %d lines that end in the day, found:\n%s", r.lines, text)
			}
		})
	}
}

// Names that begin alike must not become the same text.
func TestNamesThatBeginAlikeStayApart(t *testing.T) {
	p := plans.Plan()
	o := p.Orders[0]
	o.Lines = append(o.Lines[:0:0], o.Lines[0], o.Lines[0])
	o.Lines[0].Item.Name, o.Lines[1].Item.Name = "Air can quad seal set of the long travel version, first", "Air can quad seal set of the long travel version, second"
	text := textOf(t, SupplierOrder(p, o))
	if !strings.Contains(text, "first") || !strings.Contains(text, "second") {
		t.Errorf("expected both names whole, found:\n%s", text)
	}
}

func TestColumnsThatHoldNothingAreNotShown(t *testing.T) {
	s := Sheet{Title: "Blank", Columns: []Column{{Name: "Item"}, {Name: "Chance", Kind: ShareKind}}, Rows: []Row{{Cells: []Cell{Words("wiper"), {}}}}}
	if text := textOf(t, s); strings.Contains(text, "Chance") {
		t.Errorf("expected no column of blanks, found:\n%s", text)
	}
}

func TestOnesStandUnderOnes(t *testing.T) {
	s := Sheet{
		Title: "Mixed", Columns: []Column{{Name: "Item"}, {Name: "Qty", Kind: QuantityKind}},
		Rows: []Row{
			{Cells: []Cell{Words("wiper"), Measured(12, inventory.Each)}},
			{Cells: []Cell{Words("oil"), Measured(3455, inventory.Millilitre)}},
		},
	}
	lines := strings.Split(textOf(t, s), "\n")
	ones := func(word string, digits string) int {
		for _, l := range lines {
			if strings.HasPrefix(l, word) {
				return strings.Index(l, digits) + len(digits) - 1
			}
		}
		return -1
	}
	if a, b := ones("wiper", "12"), ones("oil", "345"); a != b {
		t.Errorf("the ones stand in columns %d and %d, expected the same:\n%s", a, b, strings.Join(lines, "\n"))
	}
}

func TestAnEmptySheetSaysWhatToDoNext(t *testing.T) {
	var none plan.Plan
	none.AsOf, none.Currency = plans.AsOf, euro
	for _, s := range []Sheet{Summary(none), SupplierOrder(none, plan.Order{}), Kits(none), KitTable(none), KitLines(none, ""), Calendar(none), Why(none), Oil(none.Oil), Demand(none), DemandTable(none), Arrivals(none), Curve(none)} {
		text := textOf(t, s)
		if s.Empty == "" || !strings.Contains(strings.Join(strings.Fields(text), " "), s.Empty) {
			t.Errorf("sheet %s: expected %q in:\n%s", s.Key, s.Empty, text)
		}
		fitsTheTerminal(t, text)
	}
	page := Page(none)
	fitsTheTerminal(t, page)
	for _, want := range []string{"Nothing to order today", "None is booked", "No fluid has been counted twice"} {
		if !strings.Contains(page, want) {
			t.Errorf("expected %q on the page of an empty plan, found:\n%s", want, page)
		}
	}
}

// hostile are texts that people, or what they paste, put into names.
var hostile = []string{
	"=cmd|'/c calc'!A1", "+1", "-1+1", "@SUM(A1)", "\tafter a tab", "\x1b[2Jcleared", "a\u202egnp.exe",
	"👩\u200d🔧🔩 spanner", strings.Repeat("密封圈", 100), strings.Repeat("x", 300), "two\nlines", "&D &P", "]O'Neill's[*?/\\:", "", " ", "_x0041_", "<b>&amp;</b>",
}

// Poisoned is the plan with every text that a person may type replaced.
func poisoned() plan.Plan {
	p := plans.Plan()
	n := 0
	next := func() string {
		n++
		return hostile[n%len(hostile)]
	}
	p.Workshop = "=1+1\x1b[31m & Söhne \u202e" + strings.Repeat("lang", 30)
	for i := range p.Items {
		p.Items[i].Item.Name = next()
	}
	for i := range p.Orders {
		p.Orders[i].Supplier.Name = next()
		for j := range p.Orders[i].Lines {
			p.Orders[i].Lines[j].SupplierCode, p.Orders[i].Lines[j].Item.Name = next(), next()
		}
	}
	for i := range p.Kits {
		p.Kits[i].Job, p.Kits[i].Model, p.Kits[i].Unit, p.Kits[i].Services = next(), next(), next(), []string{next(), next()}
	}
	p.Oil = poisonedAudit(p.Oil, next)
	p.Warnings = append(p.Warnings, hostile...)
	return p
}

// poisonedAudit is an audit with every text that a person may type replaced.
func poisonedAudit(a audit.Audit, next func() string) audit.Audit {
	a.Workshop, a.Once = next(), []string{next(), next()}
	a.Services, a.Models = []inventory.Service{{Code: "S", Name: next()}}, []inventory.Model{{Code: "M", Name: next()}}
	for i := range a.Items {
		of := &a.Items[i]
		of.Item.Code, of.Item.Name = next(), next()
		for j := range of.Periods {
			for k := range of.Periods[j].Findings {
				of.Periods[j].Findings[k].Ref = next()
			}
		}
		for j := range of.People {
			of.People[j].Code = next()
		}
		for j := range of.Services {
			of.Services[j].Code = next()
		}
		if of.Blame != nil {
			of.Blame.By, of.Blame.Code, of.Blame.RunUp = audit.ByPerson, next(), next()
		}
		for j := range of.Alike {
			of.Alike[j].A, of.Alike[j].B = next(), next()
		}
		for j := range of.Changes {
			of.Changes[j].Line.Service, of.Changes[j].Line.Model = next(), next()
		}
	}
	return a
}

func TestNothingTypedReachesTheTerminalAsACommand(t *testing.T) {
	p := poisoned()
	sheets := []Sheet{Summary(p), Kits(p), KitTable(p), KitLines(p, ""), Calendar(withBench(p)), Why(p), Oil(p.Oil), Demand(p), DemandTable(p), Arrivals(p), Curve(p)}
	sheets = slices.Concat(sheets, OilTables(p.Oil), OilSheets(p.Oil), OrderSheets(p))
	fitsTheTerminal(t, textOf(t, sheets...))
	fitsTheTerminal(t, Page(p))
}

func TestAnySheetFitsAndKeepsItsNumbers(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		s := drawSheet(rt)
		var out strings.Builder
		if err := Text(&out, s); err != nil {
			rt.Fatal(err)
		}
		for _, line := range strings.Split(out.String(), "\n") {
			if width(line) > 80 {
				rt.Fatalf("line takes %d columns: %q", width(line), line)
			}
		}
		for i, c := range s.Columns {
			if c.Kind != CountKind || c.Rank > 0 {
				continue
			}
			for _, r := range s.Rows {
				if !strings.Contains(out.String(), r.Cells[i].String()) {
					rt.Fatalf("column %s: expected %s whole in:\n%s", c.Name, r.Cells[i], out.String())
				}
			}
		}
	})
}

func drawSheet(t *rapid.T) Sheet {
	s := Sheet{Title: rapid.String().Draw(t, "title"), Notes: []string{rapid.String().Draw(t, "note")}}
	columns := rapid.IntRange(1, 14).Draw(t, "columns")
	for i := range columns {
		c := Column{Name: fmt.Sprintf("%s %d", rapid.StringMatching(`[a-z ]{0,12}`).Draw(t, "name"), i), Rank: rapid.IntRange(0, 3).Draw(t, "rank")}
		if i > 0 && rapid.Bool().Draw(t, "number") {
			c.Kind = CountKind
		} else {
			c.Wrap = rapid.Bool().Draw(t, "wrap")
		}
		s.Columns = append(s.Columns, c)
	}
	for range rapid.IntRange(1, 4).Draw(t, "rows") {
		var r Row
		for _, c := range s.Columns {
			if c.Kind == CountKind {
				r.Cells = append(r.Cells, Counted(rapid.IntRange(-1e9, 1e9).Draw(t, "count")))
			} else {
				r.Cells = append(r.Cells, Words(rapid.StringMatching(`[a-zé密 ]{0,40}`).Draw(t, "text")))
			}
		}
		s.Rows = append(s.Rows, r)
	}
	return s
}
