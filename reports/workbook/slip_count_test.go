package workbook

import (
	"bytes"
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/reports"
	"circlip/testdata/golden/plans"

	"github.com/google/go-cmp/cmp"
	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"
)

// countShop keeps wipers in bin A2, O-rings in A10, an oil and a grease in B1,
// and a solvent whose density nobody knows nowhere in particular.
func countShop() inventory.Shop {
	return inventory.Shop{
		AsOf: plans.AsOf, Settings: inventory.Settings{Workshop: "Larchfell Bike Park", Currency: plainPlan().Currency},
		Items: []inventory.Item{
			{Code: "OR-12", Name: "O-ring 12", Measure: inventory.Each, Bin: "A10"},
			{Code: "WIP-35", Name: "Wiper 35", Measure: inventory.Each, Bin: "A2"},
			{Code: "grease", Measure: inventory.Gram, Bin: "B1"},
			{Code: "oil-10", Measure: inventory.Millilitre, Bin: "B1", DensityKgM3: 860},
			{Code: "solvent", Measure: inventory.Millilitre},
		},
		Lots: []inventory.Lot{
			{Item: "OR-12", Code: "A", OnHand: 1717, Received: plans.AsOf - 9}, {Item: "WIP-35", Code: "A", OnHand: 2929, Received: plans.AsOf - 9},
			{Item: "WIP-35", Code: "B", OnHand: 3131, Received: plans.AsOf - 9}, {Item: "oil-10", Code: "A", OnHand: 98765, Received: plans.AsOf - 9},
		},
	}
}

func countSheet(t testing.TB) reports.CountDue {
	t.Helper()
	d, err := reports.CountAll(countShop(), "")
	if err != nil {
		t.Fatal(err)
	}
	return d
}

func countBytes(t testing.TB, d reports.CountDue) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := EncodeCount(&out, d); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// counting is the sheet with its day filled in: Counted on in B7; the rows by
// bin from row 10 on: wipers, O-rings, grease, oil, solvent; found in E, gross,
// tare and temperature in G, H and I.
func counting(more func(desk)) func(desk) {
	return func(d desk) {
		d.set("B7", int(plans.AsOf)+1+epoch)
		if more != nil {
			more(d)
		}
	}
}

// stocktake is what comes of it, with what was counted.
func stocktake(counted ...inventory.Counted) inventory.Stocktake {
	return inventory.Stocktake{
		Workshop: "Larchfell Bike Park", WrittenOn: plans.AsOf, On: plans.AsOf + 1, Counted: counted,
		Listed: []inventory.Listed{{Item: "WIP-35", OnHand: 6060}, {Item: "OR-12", OnHand: 1717}, {Item: "grease"}, {Item: "oil-10", OnHand: 98765}, {Item: "solvent"}},
	}
}

func TestACountSheetIsBlind(t *testing.T) {
	workbook := countBytes(t, countSheet(t))
	for name, part := range zipParts(t, workbook) {
		for _, figure := range []string{"1717", "6060", "2929", "3131", "98765", "9876.5"} {
			if strings.Contains(part, figure) {
				t.Errorf("%s shows %s, which is what is to be found", name, figure)
			}
		}
	}
	f := reorderFile(t, workbook)
	for cell, want := range map[string]string{"A10": "WIP-35", "A11": "OR-12", "A12": "grease", "A13": "oil-10", "A14": "solvent", "C11": "A10", "D13": "ml", "E10": "", "E13": "", "G9": "Gross\ng"} {
		if got, err := f.GetCellValue("Count", cell); err != nil || got != want {
			t.Errorf("%s: found %q, %v, expected %q", cell, got, err, want)
		}
	}
	if visible, err := f.GetSheetVisible(countMemory); err != nil || visible {
		t.Errorf("found the hidden sheet in sight, %v", err)
	}
}

func TestTheSameCountGivesTheSameBytes(t *testing.T) {
	for range 5 {
		if !bytes.Equal(countBytes(t, countSheet(t)), countBytes(t, countSheet(t))) {
			t.Fatal("found other bytes for the same count")
		}
	}
}

// countedRow is a count as a person filled it, and what was counted.
type countedRow struct {
	rule string
	work func(desk)
	want []inventory.Counted
}

// mustCount holds what is read of a workbook that was filled in each way against
// what was counted.
func mustCount(t *testing.T, workbook []byte, rows []countedRow) {
	t.Helper()
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			got, faults, err := ReadCount(saved(t, edited(t, workbook, "Count", counting(r.work))))
			if err != nil || len(faults) > 0 {
				t.Fatal(faults, err)
			}
			if diff := cmp.Diff(stocktake(r.want...), got); diff != "" {
				t.Errorf("(-expected +read)\n%s", diff)
			}
		})
	}
}

func TestACountIsReadAsItWasFilled(t *testing.T) {
	warm := 30.0
	oil := func(q inventory.Quantity, w inventory.Weighing) inventory.Counted {
		return inventory.Counted{Item: "oil-10", Qty: q, Weighed: &w}
	}
	mustCount(t, countBytes(t, countSheet(t)), []countedRow{
		{"pieces", func(d desk) { d.set("E10", 12) }, []inventory.Counted{{Item: "WIP-35", Qty: 12}}},
		{"none is a count", func(d desk) { d.set("E10", 0) }, []inventory.Counted{{Item: "WIP-35"}}},
		{"a number as text", func(d desk) { d.set("E10", "12") }, []inventory.Counted{{Item: "WIP-35", Qty: 12}}},
		{"tenths of a millilitre", func(d desk) { d.set("E13", 812.5) }, []inventory.Counted{{Item: "oil-10", Qty: 8125}}},
		{"what a spreadsheet adds up to tenths", func(d desk) { d.set("E12", 0.1+0.2) }, []inventory.Counted{{Item: "grease", Qty: 3}}},
		{"an oil on the scale", func(d desk) { d.set("G13", 960.0); d.set("H13", 100.0) }, []inventory.Counted{oil(1000_0, inventory.Weighing{GrossG: 960, TareG: 100})}},
		{"a warm oil has more millilitres", func(d desk) { d.set("G13", 960.0); d.set("H13", 100.0); d.set("I13", warm) },
			[]inventory.Counted{oil(1011_1, inventory.Weighing{GrossG: 960, TareG: 100, TempC: &warm})}},
		{"a grease on the scale, without a container", func(d desk) { d.set("G12", 250.4); d.set("H12", 0) },
			[]inventory.Counted{{Item: "grease", Qty: 250_4, Weighed: &inventory.Weighing{GrossG: 250.4}}}},
		{"an empty container", func(d desk) { d.set("G12", 80); d.set("H12", 80) }, []inventory.Counted{{Item: "grease", Weighed: &inventory.Weighing{GrossG: 80, TareG: 80}}}},
		{"two containers and one measured", func(d desk) {
			d.copyRow(13, 14)
			d.copyRow(13, 15)
			d.set("E13", 1000)
			d.set("G14", 186.0)
			d.set("H14", 100.0)
			d.set("G15", 272.0)
			d.set("H15", 100.0)
		}, []inventory.Counted{{Item: "oil-10", Qty: 1000_0}, oil(100_0, inventory.Weighing{GrossG: 186, TareG: 100}), oil(200_0, inventory.Weighing{GrossG: 272, TareG: 100})}},
		{"a blank copy of a row of pieces", func(d desk) { d.set("E10", 1); d.copyRow(11, 12) }, []inventory.Counted{{Item: "WIP-35", Qty: 1}}},
		{"rows deleted were not counted", func(d desk) { d.set("E10", 1); d.remove(12); d.remove(11) }, []inventory.Counted{{Item: "WIP-35", Qty: 1}}},
		{"names and bins taken away", func(d desk) { d.set("E10", 1); d.ok(d.f.RemoveCol(d.tab, "C")) }, []inventory.Counted{{Item: "WIP-35", Qty: 1}}},
		{"a bin put right", func(d desk) { d.set("E10", 1); d.set("C10", "A3") }, []inventory.Counted{{Item: "WIP-35", Qty: 1}}},
	})
}

func TestWhatIsWrongWithACountIsTold(t *testing.T) {
	changed := []string{"circlip count:2: the hidden sheet was changed, expected it as it was written; write the workbook again"}
	memory := func(cell string, value any) func(desk) {
		return func(d desk) { d.set("E10", 1); d.ok(d.f.SetCellValue(countMemory, cell, value)) }
	}
	rows := []struct {
		rule string
		work func(desk)
		want []string
	}{
		{"no day", func(d desk) { d.set("E10", 1); d.clear("B7") }, []string{"Count:7:Counted on: blank, expected the day of the count, YYYY-MM-DD"}},
		{"a day before the sheet", func(d desk) { d.set("E10", 1); d.set("B7", "2027-02-28") }, []string{`Count:Counted on: before the sheet was written, found "2027-02-28", expected 2027-03-01 or later`}},
		{"nothing was counted", func(desk) {}, []string{"Count:Found: nothing was counted, expected what was found, 0 where there was none"}},
		{"text", func(d desk) { d.set("E10", "a few") }, []string{`Count:10:Found: not a number, found "a few", expected a number with a decimal point from 0 to 10000000000`}},
		{"fewer than none", func(d desk) { d.set("E10", -1) }, []string{`Count:10:Found: negative, found "-1", expected a number with a decimal point from 0 to 10000000000`}},
		{"half a piece", func(d desk) { d.set("E10", 1.5) }, []string{`Count:10:Found: too many decimals, found "1.5", expected a whole number`}},
		{"hundredths of a gram", func(d desk) { d.set("E12", 1.25) }, []string{`Count:12:Found: too many decimals, found "1.25", expected one decimal at most`}},
		{"more millilitres than there may be", func(d desk) { d.set("E13", 1e10) }, []string{`Count:13:Found: more than a shelf can hold, found "1e+10", expected at most 1000000000`}},
		{"a formula", func(d desk) { d.formula("E10", "1+1") }, []string{`Count:10:Found: holds a formula, expected a plain value; type it`}},
		{"an error of a spreadsheet", func(d desk) { d.set("E10", "#VALUE!") }, []string{`Count:10:Found: not a number, found "#VALUE!", expected a number with a decimal point from 0 to 10000000000`}},
		{"an item that is not on the sheet", func(d desk) { d.set("A10", "SEA-35"); d.set("E10", 1) }, []string{`Count:10:Our code: not an item of this count, found "SEA-35", expected one of the items listed; what else was found is counted by itself`}},
		{"pieces in two rows", func(d desk) { d.set("E10", 1); d.copyRow(10, 11) }, []string{`Count:11:Our code: the item stands twice, found "WIP-35", expected each item once; add up what lies in several places`}},
		{"another unit", func(d desk) { d.set("E13", 1); d.set("D13", "l") }, []string{`Count:13:Unit: the unit was changed, found "l", expected ml`}},
		{"pieces on the scale", func(d desk) { d.set("G10", 100); d.set("H10", 1) }, []string{`Count:10:Gross: a weight of pieces, found "100", expected the number of pieces under Found`}},
		{"a fluid of no known density on the scale", func(d desk) { d.set("G14", 100); d.set("H14", 1) }, []string{`Count:14:Gross: a weight of an item without a density, found "100", expected what is there in ml under Found`}},
		{"counted and weighed", func(d desk) { d.set("E13", 1); d.set("G13", 100); d.set("H13", 1) }, []string{`Count:13:Found: counted and weighed, found "1", expected one of them; another container has its own row`}},
		{"no tare", func(d desk) { d.set("G13", 100) }, []string{"Count:13:Tare: blank, expected the weight of the empty container, 0 where there is none; or a known container"}},
		{"nothing but a tare", func(d desk) { d.set("H13", 100) }, []string{"Count:13:Gross: blank, expected the weight of the container with what it holds"}},
		{"nothing but a temperature", func(d desk) { d.set("I13", 20) }, []string{"Count:13:Gross: blank, expected the weight of the container with what it holds"}},
		{"lighter than empty", func(d desk) { d.set("G13", 99.5); d.set("H13", 100) }, []string{`Count:13:Gross: less than the empty container, found "99.5", expected 100 or more`}},
		{"boiling", func(d desk) { d.set("G13", 200); d.set("H13", 100); d.set("I13", 101) }, []string{`Count:13:Temperature: out of range, found "101", expected a number with a decimal point from -50 to 100`}},
		{"both wrong rows", func(d desk) { d.set("E10", "x"); d.set("E11", "y") }, []string{`Count:10:Found: not a number, found "x", expected a number with a decimal point from 0 to 10000000000`, `Count:11:Found: not a number, found "y", expected a number with a decimal point from 0 to 10000000000`}},
		{"a row hidden", func(d desk) { d.set("E10", 1); d.ok(d.f.SetRowVisible(d.tab, 10, false)) }, []string{"Count:10: the row is hidden, expected only rows that can be seen; show it, or delete it"}},
		{"a column hidden", func(d desk) { d.set("E10", 1); d.ok(d.f.SetColVisible(d.tab, "H", false)) }, []string{"Count:Tare: the column is hidden, expected columns that can be seen; show it"}},
		{"a column gone", func(d desk) { d.set("E10", 1); d.ok(d.f.RemoveCol(d.tab, "I")) }, []string{"Count:9:Temperature: the column is missing, expected a column of this name in the header row"}},
		{"cells joined", func(d desk) { d.set("E10", 1); d.ok(d.f.MergeCell(d.tab, "E10", "E11")) }, []string{"Count:10:E10: merged cells in the table, expected one cell a column and line; split them"}},
		{"the sheet renamed", func(d desk) { d.ok(d.f.SetSheetName(d.tab, "Shelf")) }, []string{"Count: the sheet is missing or hidden, expected the count under this name"}},
		{"the ledger on the hidden sheet", memory("G2", "x0000000000000001"), changed},
		{"no mask on the hidden sheet", memory("G2", "12"), changed},
		{"the workshop on the hidden sheet", memory("B2", "Another"), []string{strings.Replace(changed[0], ":2:", ":3:", 1)}},
		{"the density on the hidden sheet", memory("F5", 861), changed},
		{"a line of the hidden sheet gone", func(d desk) { d.set("E10", 1); d.ok(d.f.RemoveRow(countMemory, 6)) }, changed},
		{"all of them gone", func(d desk) {
			for range 5 {
				d.ok(d.f.RemoveRow(countMemory, 2))
			}
		}, []string{strings.Replace(changed[0], ":2:", ":", 1)}},
		{"the hidden sheet gone", func(d desk) { d.ok(d.f.DeleteSheet(countMemory)) }, []string{"circlip count: the hidden sheet is missing, expected a count sheet as it was written, with all its sheets"}},
	}
	workbook := countBytes(t, countSheet(t))
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			got, faults, err := ReadCount(saved(t, edited(t, workbook, "Count", counting(r.work))))
			toldOf(t, faults, err, r.want)
			if diff := cmp.Diff(inventory.Stocktake{}, got); diff != "" {
				t.Errorf("found a count beside a fault:\n%s", diff)
			}
		})
	}
}

func TestSheetsOfOtherKindsAreNoCount(t *testing.T) {
	_, faults, err := ReadCount(saved(t, deliveryBytes(t, dueOf(sent()))))
	toldOf(t, faults, err, []string{"circlip delivery: found a delivery sheet, expected a count sheet"})
	_, faults, err = ReadDelivery(saved(t, countBytes(t, countSheet(t))))
	toldOf(t, faults, err, []string{"circlip count: found a count sheet, expected a delivery sheet"})
}

// Pieces alone are counted without a word on scales.
func TestNothingIsWeighedWherePiecesLie(t *testing.T) {
	d, err := reports.CountAll(countShop(), "A2")
	if err != nil {
		t.Fatal(err)
	}
	workbook := countBytes(t, d)
	if part := zipParts(t, workbook)[partOf(t, workbook, "Count")]; strings.Contains(part, "Tare") || strings.Contains(part, "weigh") {
		t.Error("found a word on weighing on a sheet of pieces")
	}
	got, faults, err := ReadCount(saved(t, edited(t, workbook, "Count", func(d desk) { d.set("B6", "2027-03-02"); d.set("E9", 4) })))
	want := inventory.Stocktake{Workshop: "Larchfell Bike Park", WrittenOn: plans.AsOf, On: plans.AsOf + 1,
		Listed: []inventory.Listed{{Item: "WIP-35", OnHand: 6060}}, Counted: []inventory.Counted{{Item: "WIP-35", Qty: 4}}}
	if diff := cmp.Diff(want, got); diff != "" || err != nil || len(faults) > 0 {
		t.Errorf("%v %v (-expected +read)\n%s", faults, err, diff)
	}
}

// Whatever is on the shelf and whatever is found comes back as it was.
func TestEveryCountComesBack(t *testing.T) {
	code := rapid.StringMatching(`[A-Za-z0-9äß漢./+=@'"&<-]{1,20}`).Filter(func(s string) bool { return !strings.Contains(s, "_x") })
	rapid.Check(t, func(rt *rapid.T) {
		d := reports.CountDue{Workshop: "Larchfell & Söhne", WrittenOn: plans.AsOf}
		want := inventory.Stocktake{Workshop: d.Workshop, WrittenOn: d.WrittenOn, On: plans.AsOf + 3}
		for _, c := range rapid.SliceOfNDistinct(code, 1, 8, rapid.ID[string]).Draw(rt, "codes") {
			m := rapid.SampledFrom([]inventory.Measure{inventory.Each, inventory.Millilitre, inventory.Gram}).Draw(rt, "measure")
			there := inventory.Quantity(rapid.Int64Range(0, int64(inventory.MaxQuantity)).Draw(rt, "there"))
			d.Lines = append(d.Lines, reports.CountLine{Item: inventory.Item{Code: c, Measure: m, DensityKgM3: rapid.SampledFrom([]float64{0, 861.237}).Draw(rt, "density")}, OnHand: there})
			want.Listed = append(want.Listed, inventory.Listed{Item: c, OnHand: there})
		}
		filled := edited(t, countBytes(t, d), "Count", func(sheet desk) {
			rows, err := sheet.f.GetRows(sheet.tab)
			sheet.ok(err)
			for n, row := range rows {
				if len(row) > 0 && row[0] == reports.CountedOnField {
					at, _ := excelize.CoordinatesToCellName(2, n+1)
					sheet.set(at, int(want.On)+epoch)
				}
			}
			for n, l := range d.Lines {
				found := inventory.Quantity(rapid.Int64Range(0, 1e9).Draw(rt, "found"))
				at, _ := excelize.CoordinatesToCellName(5, len(rows)-len(d.Lines)+n+1)
				sheet.set(at, l.Item.Measure.Number(found))
				want.Counted = append(want.Counted, inventory.Counted{Item: l.Item.Code, Qty: found})
			}
		})
		got, faults, err := ReadCount(saved(t, filled))
		if err != nil || len(faults) > 0 {
			rt.Fatal(faults, err)
		}
		if diff := cmp.Diff(want, got); diff != "" {
			rt.Fatalf("(-expected +read)\n%s", diff)
		}
	})
}

func TestWhatIsReadOfACountIsWhatIsWritten(t *testing.T) {
	sheet, form := countSheet(t).Sheet(), countSlip(true)
	var columns []string
	for _, c := range sheet.Columns {
		columns = append(columns, nameOf(c.Name))
	}
	for _, name := range namesOf(form.columns) {
		if !strings.Contains("\n"+strings.Join(columns, "\n")+"\n", "\n"+name+"\n") {
			t.Errorf("the column %s is read and not written", name)
		}
	}
	if len(columns) != len(form.columns) || namesOf(form.fields)[0] != nameOf(sheet.Fields[0].Label) {
		t.Errorf("found the columns %v, expected %v", namesOf(form.columns), columns)
	}
	workbook := countBytes(t, countSheet(t))
	part := zipParts(t, workbook)[partOf(t, workbook, "Count")]
	for _, mark := range []string{`sqref="B7" type="date"`, `sqref="E10:E14" type="decimal"`, `sqref="G10:G14" type="decimal"`} {
		if !strings.Contains(part, mark) {
			t.Errorf("expected %s on the sheet", mark)
		}
	}
}

func TestACountSavedByLibreOfficeIsTheSame(t *testing.T) {
	t.Parallel()
	filled := edited(t, countBytes(t, countSheet(t)), "Count", counting(func(d desk) {
		d.set("E10", 12)
		d.set("E12", 3.7)
		d.set("G13", 960.0)
		d.set("H13", 100.0)
	}))
	got, faults, err := ReadCount(savedByOffice(t, filled)[0])
	if err != nil || len(faults) > 0 {
		t.Fatal(faults, err)
	}
	want := stocktake(inventory.Counted{Item: "WIP-35", Qty: 12}, inventory.Counted{Item: "grease", Qty: 3_7},
		inventory.Counted{Item: "oil-10", Qty: 1000_0, Weighed: &inventory.Weighing{GrossG: 960, TareG: 100}})
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-expected +read)\n%s", diff)
	}
}
