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
)

// Eight figures a period do not fit 80 columns beside a fluid's name: two
// tables carry them all, and none is left out at this width.
func TestOilTablesCarryEveryFigure(t *testing.T) {
	p := plans.Plan()
	whole := Oil(p)
	tables := OilTables(p)
	for _, name := range []string{"Opening", "Received", "Closing", "Drawn", "Standard", "Recorded", "Unrecorded", "Over standard"} {
		at := slices.IndexFunc(tables, func(s Sheet) bool {
			return slices.ContainsFunc(s.Columns, func(c Column) bool { return c.Name == name })
		})
		if at < 0 {
			t.Errorf("no table has the column %s", name)
			continue
		}
		for i, r := range whole.Rows {
			if got, want := tables[at].Rows[i].Cells[tables[at].column(name)].String(), r.Cells[whole.column(name)].String(); got != want {
				t.Errorf("row %d, %s: found %s, expected %s", i, name, got, want)
			}
		}
	}
	var out strings.Builder
	if err := Text(&out, tables...); err != nil {
		t.Fatal(err)
	}
	if strings.Contains(out.String(), "Not shown") {
		t.Errorf("a column found no room at 80 columns:\n%s", out.String())
	}
}

func TestOilTablesTellTheLatestPeriods(t *testing.T) {
	rows := []struct {
		rule    string
		periods map[string]int // of each fluid
		told    string
		note    bool
	}{
		{"few periods are all told, without a word", map[string]int{"A": periodsTold, "B": 1}, "A0 A1 A2 B0", false},
		{"of more the latest of each fluid, oldest first", map[string]int{"A": periodsTold + 2, "B": periodsTold + 1}, "A2 A3 A4 B1 B2 B3", true},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			p := plan.Plan{AsOf: plans.AsOf, Currency: euro}
			for _, item := range []string{"A", "B"} {
				for n := range r.periods[item] {
					p.Oil = append(p.Oil, audit.Period{Item: item, To: plans.AsOf + inventory.Date(n)})
				}
			}
			all := len(p.Oil)
			tables := OilTables(p)
			for _, s := range tables {
				var told []string
				for _, row := range s.Rows {
					told = append(told, fmt.Sprintf("%s%d", row.Cells[0], row.Cells[2].Date()-plans.AsOf))
				}
				if got := strings.Join(told, " "); got != r.told {
					t.Errorf("%s: found %s, expected %s", s.Title, got, r.told)
				}
			}
			if noted := strings.Contains(textOf(t, tables...), "The latest 3 periods of each fluid."); noted != r.note {
				t.Errorf("found the note on what is left out: %t, expected %t", noted, r.note)
			}
			if len(p.Oil) != all {
				t.Errorf("the plan has %d periods left of %d, expected it unchanged", len(p.Oil), all)
			}
		})
	}
}
