package reports

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/inventory/audit"
	"circlip/testdata/golden/plans"
)

func TestWhatBecameOfSpentFluidsIsAsApproved(t *testing.T) {
	shop := plans.Disposals()
	none := shop
	none.Disposals = nil
	texts := map[string]string{
		"disposal.txt":      textOf(t, append(DisposalTables(plans.Spent(), shop), Disposal(plans.Spent(), shop)...)...),
		"disposal-none.txt": textOf(t, append(DisposalTables(nil, none), Disposal(nil, none)...)...),
	}
	for name, text := range texts {
		t.Run(name, func(t *testing.T) {
			golden(t, name, text)
			fitsTheTerminal(t, text)
		})
	}
	document, err := DisposalJSON(plans.Spent(), shop)
	if err != nil {
		t.Fatal(err)
	}
	var readable bytes.Buffer
	if err := json.Indent(&readable, document, "", "  "); err != nil {
		t.Fatal(err)
	}
	golden(t, "disposal.json", readable.String())
	empty, err := DisposalJSON(nil, none)
	if err != nil || bytes.Contains(empty, []byte(":null")) {
		t.Errorf("found %s (%v), expected empty lists", empty, err)
	}
}

func TestTheShareGatheredIsOfWhatCountsCover(t *testing.T) {
	day := plans.AsOf
	rows := []struct {
		rule  string
		month audit.Spent
		share string
	}{
		{"by volume where every record has one", audit.Spent{DrawnML: 100, DrawnG: 90, GatheredML: 80, GatheredG: 10, WithoutG: 1}, "80.0"},
		{"else by weight", audit.Spent{DrawnML: 100, DrawnG: 90, GatheredG: 45, WithoutML: 1}, "50.0"},
		{"neither is whole", audit.Spent{DrawnML: 100, DrawnG: 90, GatheredML: 80, GatheredG: 45, WithoutML: 1, WithoutG: 1}, ""},
		{"nothing was drawn", audit.Spent{GatheredML: 80}, ""},
		{"more was found than drawn", audit.Spent{DrawnML: -5, GatheredML: 80}, ""},
		{"more was gathered than drawn: rinsing, or a count too few", audit.Spent{DrawnML: 100, GatheredML: 120}, "120.0"},
		{"counts do not reach the end of the month", audit.Spent{To: day, CountedTo: day - 3, DrawnML: 100, GatheredML: 80}, ""},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			if got := shareGathered(r.month).String(); got != r.share {
				t.Errorf("found %q, expected %q", got, r.share)
			}
		})
	}
}

// Amounts are all that is told: whoever reads them is pointed to the rules and
// to the carrier, on every sheet.
func TestEverySheetOfSpentFluidsPointsToLocalRules(t *testing.T) {
	for _, s := range Disposal(plans.Spent(), plans.Disposals()) {
		if len(s.Notes) == 0 || !strings.Contains(s.Notes[0], "local rules and the carrier") || !strings.Contains(s.Notes[0], "permits nothing") {
			t.Errorf("sheet %s: found the notes %q, expected the pointer to local rules first", s.Key, s.Notes)
		}
	}
}

func TestTheRecordForTheCarrierHoldsHandOversAlone(t *testing.T) {
	shop := plans.Disposals()
	over, in := HandedOver(shop), Gathered(shop)
	if len(over.Rows)+len(in.Rows) != len(shop.Disposals) {
		t.Errorf("found %d and %d rows of %d records, expected each once", len(over.Rows), len(in.Rows), len(shop.Disposals))
	}
	for i, r := range over.Rows {
		if r.Cells[over.column("Carrier")].Blank() {
			t.Errorf("row %d: expected a carrier", i)
		}
	}
	if len(over.Fields) == 0 {
		t.Error("expected lines for those who sign")
	}
}

func TestTextOfDisposalsIsSafeOnATerminal(t *testing.T) {
	shop := plans.Disposals()
	for i, text := range hostile {
		d := &shop.Disposals[i%len(shop.Disposals)]
		d.Carrier, d.Document, d.Note, shop.Settings.Workshop = text, text, text, text
		d.Stream = inventory.Streams[i%3]
		fitsTheTerminal(t, textOf(t, append(DisposalTables(plans.Spent(), shop), Disposal(plans.Spent(), shop)...)...))
	}
}

func TestATerminalTellsTheLatestMonthsAndTheShareOfAll(t *testing.T) {
	var spent []audit.Spent
	for _, stream := range []inventory.Stream{inventory.UsedOil, inventory.UsedGrease} {
		for month := range spentMonthsTold + 2 {
			from := plans.AsOf.AddMonths(month - 12)
			spent = append(spent, audit.Spent{Stream: stream, From: from, To: from.AddMonths(1) - 1, CountedTo: from.AddMonths(1) - 1, DrawnG: 100, GatheredG: 10 * float64(month), WithoutML: 1})
		}
	}
	tables := DisposalTables(spent, plans.Disposals())
	weights := tables[0]
	if len(tables) != 2 || len(weights.Rows) != 2*spentMonthsTold || weights.column("Gathered ml") >= 0 {
		t.Errorf("found %d tables, the first of %d rows, expected %d months of both streams by weight, and the record", len(tables), len(weights.Rows), spentMonthsTold)
	}
	if first := weights.Rows[0].Cells[1].String(); first != "2026-05" {
		t.Errorf("found %s first, expected the two oldest months left out", first)
	}
	if got := weights.Facts[0].Value.String(); got != "35.0" { // 0 to 70 g of 100 g each
		t.Errorf("found %s %% gathered, expected 35.0 of all months", got)
	}
	if !strings.Contains(textOf(t, tables...), "The latest 6 months of each stream.") {
		t.Error("expected to be told that there are more months")
	}
}

func TestHandingOverMoreThanIsHeldIsNoticed(t *testing.T) {
	spent := []audit.Spent{{Stream: inventory.UsedOil, HeldML: 50}, {Stream: inventory.UsedOil, HeldML: 900, HeldG: 300}, {Stream: inventory.UsedSolvent, HeldML: -20}}
	qty := func(x float64) *float64 { return &x }
	rows := []struct {
		rule   string
		stream inventory.Stream
		ml, g  *float64
		want   string
	}{
		{"all that is held", inventory.UsedOil, qty(900), nil, ""},
		{"more than is held", inventory.UsedOil, qty(1900), nil, "1,900.0 ml of used oil is more than the 900.0 ml that the record has: write down what else was gathered"},
		{"by weight", inventory.UsedOil, nil, qty(301), "301.0 g of used oil is more than the 300.0 g that the record has: write down what else was gathered"},
		{"nothing was held", inventory.UsedSolvent, qty(5), nil, "5.0 ml of used solvent is more than the 0.0 ml that the record has: write down what else was gathered"},
		{"nothing was ever gathered", inventory.UsedGrease, nil, qty(5), "5.0 g of used grease is more than the 0.0 g that the record has: write down what else was gathered"},
	}
	for _, r := range rows {
		if got := BeyondHeld(spent, inventory.Disposal{Stream: r.stream, VolumeML: r.ml, WeightG: r.g}); got != r.want {
			t.Errorf("%s: found %q, expected %q", r.rule, got, r.want)
		}
	}
}

func TestAStreamIsToldTheWayItWasWrittenDown(t *testing.T) {
	oil := audit.Spent{Stream: inventory.UsedOil, DrawnML: 100, DrawnG: 87, GatheredML: 80, WithoutG: 1}
	both := oil
	both.GatheredG, both.WithoutG, both.WithoutML = 70, 0, 2
	grease := audit.Spent{Stream: inventory.UsedGrease, DrawnG: 50}
	rows := []struct {
		rule    string
		spent   []audit.Spent
		titles  string
		remarks int
	}{
		{"in volumes alone", []audit.Spent{oil}, "Used oil, grease and solvent", 0},
		{"in weights where nothing says otherwise", []audit.Spent{grease}, "Used oil, grease and solvent", 0},
		{"each in its own", []audit.Spent{oil, grease}, "Used oil, grease and solvent|By weight", 0},
		{"in both, with what lacks one of them", []audit.Spent{both}, "Used oil, grease and solvent|By weight", 1},
	}
	for _, r := range rows {
		tables := DisposalTables(r.spent, plans.Disposals())
		var titles []string
		for _, s := range tables[:len(tables)-1] {
			title, _, _ := strings.Cut(s.Title, " · ")
			titles = append(titles, title)
			if len(s.Rows) != 1 {
				t.Errorf("%s: found %d rows, expected each stream in its table", r.rule, len(s.Rows))
			}
		}
		if got := strings.Join(titles, "|"); got != r.titles || len(tables[0].Remarks) != r.remarks {
			t.Errorf("%s: found %s with the remarks %q, expected %s with %d", r.rule, got, tables[0].Remarks, r.titles, r.remarks)
		}
	}
}
