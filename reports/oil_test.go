package reports

import (
	"slices"
	"strings"
	"testing"

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
