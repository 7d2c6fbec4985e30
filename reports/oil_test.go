package reports

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/inventory/audit"
	"circlip/testdata/golden/plans"
)

func TestTheAuditIsAsApproved(t *testing.T) {
	none := audit.Audit{Workshop: "Larchfell Bike Park", AsOf: plans.AsOf, Currency: euro, Once: []string{"OIL-LL20"}}
	noParts := none
	noParts.Scope, noParts.Once = audit.Parts, nil
	texts := map[string]string{
		"oil.txt":        textOf(t, OilTables(plans.Audit())...),
		"oil-parts.txt":  textOf(t, OilTables(plans.PartsAudit())...),
		"oil-sheets.txt": textOf(t, OilSheets(plans.Audit())...),
		"oil-none.txt":   textOf(t, append(OilTables(none), OilSheets(noParts)...)...),
	}
	for name, text := range texts {
		t.Run(name, func(t *testing.T) {
			golden(t, name, text)
			fitsTheTerminal(t, text)
		})
	}
}

// So many figures a period do not fit 80 columns beside a fluid's name: several
// tables carry them all, and none is left out at this width.
func TestOilTablesCarryEveryFigure(t *testing.T) {
	a := latest(plans.Audit(), periodsTold)
	whole, tables := OilPeriods(a), periodTables(a, latest(a, periodsTold))
	for _, name := range []string{
		"Opening", "Received", otherColumn, "Closing", drawnColumn, standardColumn, recordedColumn, unrecordedColumn, overColumn,
		"Unrecorded ±", "Over standard ±", "Unrecorded cost", "Over standard cost", "Sigma", "z", "EWMA", "CUSUM high", "CUSUM low", signalColumn,
	} {
		at := slices.IndexFunc(tables, func(s Sheet) bool { return s.column(name) >= 0 })
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
	if text := textOf(t, OilTables(plans.Audit())...); strings.Contains(text, "Not shown") {
		t.Errorf("a column found no room at 80 columns:\n%s", text)
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
			a := audit.Audit{AsOf: plans.AsOf, Currency: euro}
			for _, code := range []string{"A", "B"} {
				of := audit.ItemAudit{Item: inventory.Item{Code: code, Measure: inventory.Gram}}
				for n := range r.periods[code] {
					of.Periods = append(of.Periods, audit.Period{Item: code, To: plans.AsOf + inventory.Date(n)})
				}
				a.Items = append(a.Items, of)
			}
			all := periodsOf(a)
			tables := periodTables(a, latest(a, periodsTold))
			for _, s := range tables {
				var told []string
				for _, row := range s.Rows {
					told = append(told, fmt.Sprintf("%s%d", row.Cells[0], row.Cells[s.column(untilColumn)].Date()-plans.AsOf))
				}
				if got := strings.Join(told, " "); got != r.told {
					t.Errorf("%s: found %s, expected %s", s.Title, got, r.told)
				}
			}
			if noted := strings.Contains(textOf(t, tables...), "The latest 3 periods of each fluid."); noted != r.note {
				t.Errorf("found the note on what is left out: %t, expected %t", noted, r.note)
			}
			if periodsOf(a) != all {
				t.Errorf("the audit has %d periods left of %d, expected it unchanged", periodsOf(a), all)
			}
		})
	}
}

// One item is told with all its periods and findings; of many the latest, with
// the names of those of which earlier counts have something to know.
func TestOneItemIsToldWhole(t *testing.T) {
	of := damper()
	of.Periods[1].Findings = []audit.Finding{{Kind: audit.Whole, N: 1, Qty: -10000}}
	a := audit.Audit{AsOf: plans.AsOf, Currency: euro, Items: []audit.ItemAudit{of}}
	const finding, hint = "that was found, 1,000.0 ml", "earlier counts of: Damper oil (circlip oil O)."
	rows := []struct {
		rule          string
		tables        []Sheet
		finding, hint bool
		periods       int
	}{
		{"by itself", OilItemTables(a), true, false, 8},
		{"among others", OilTables(a), false, true, periodsTold},
	}
	for _, r := range rows {
		text := strings.Join(strings.Fields(textOf(t, r.tables...)), " ")
		if strings.Contains(text, finding) != r.finding || strings.Contains(text, hint) != r.hint {
			t.Errorf("%s: expected %q: %t and %q: %t in\n%s", r.rule, finding, r.finding, hint, r.hint, text)
		}
		for _, s := range r.tables {
			if s.column(drawnColumn) >= 0 && len(s.Rows) != r.periods {
				t.Errorf("%s: found %d periods, expected %d", r.rule, len(s.Rows), r.periods)
			}
		}
	}
}

func TestAnItemThatWasCountedOnceIsNoEmptyShelf(t *testing.T) {
	a := audit.Audit{AsOf: plans.AsOf, Currency: euro, Once: []string{"O"}}
	text := strings.Join(strings.Fields(textOf(t, OilItemTables(a)...)), " ")
	if !strings.Contains(text, "It has not been counted twice yet.") || strings.Contains(text, "No fluid") {
		t.Errorf("found %q, expected what to do about this one", text)
	}
}

// A parts audit may be of a thousand items: what is quiet is counted and not
// told one by one, and gets no chart of its own.
func TestOfManyItemsThoseAreToldOfWhichThereIsSomethingToTell(t *testing.T) {
	many := func(n int, loud ...int) audit.Audit {
		a := audit.Audit{AsOf: plans.AsOf, Currency: euro, Scope: audit.Parts}
		for i := range n {
			of := damper()
			of.Item = inventory.Item{Code: fmt.Sprintf("P%d", i), Measure: inventory.Each}
			if slices.Contains(loud, i) {
				since(&of, 5, 3)
			}
			a.Items = append(a.Items, of)
		}
		return a
	}
	rows := []struct {
		rule   string
		a      audit.Audit
		charts int
		says   string
	}{
		{"few are all told", many(auditedTold), auditedTold, ""},
		{"of many the loud ones", many(200, 7, 150), 2, "What left of 198 other parts is within what chance explains."},
		{"of many none may be loud", many(200), 0, "What left of 200 other parts is within what chance explains."},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			sheets := OilSheets(r.a)
			charts := 0
			for _, s := range sheets {
				if len(s.Charts) > 0 {
					charts++
				}
			}
			if charts != r.charts || len(sheets[0].Rows) != len(r.a.Items) {
				t.Errorf("found %d charts and %d rows, expected %d charts and every item in a row", charts, len(sheets[0].Rows), r.charts)
			}
			text := strings.Join(strings.Fields(textOf(t, OilTables(r.a)...)), " ")
			if !strings.Contains(text, r.says) || strings.Contains(text, "No part has been counted twice") {
				t.Errorf("expected %q in:\n%.2000s", r.says, text)
			}
			if whole := strings.Join(sheets[0].Notes, " "); !strings.Contains(whole, r.says) {
				t.Errorf("expected %q in the summary's notes, found %.2000s", r.says, whole)
			}
		})
	}
}
