package workbook

import (
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/reports"
	"circlip/testdata/golden/plans"

	"github.com/google/go-cmp/cmp"
)

// bottledCount is the count sheet of a shop that knows a can for anything, a jar
// for grease and two bottles of the oil, in which it was counted last.
func bottledCount(t testing.TB) []byte {
	t.Helper()
	shop := countShop()
	shop.Containers = []inventory.Container{
		{Code: "007", Item: "oil-10", TareG: 95.5}, {Code: "CAN", TareG: 120}, {Code: "JAR", Item: "grease", TareG: 80}, {Code: "OIL-2", Item: "oil-10", TareG: 101},
	}
	shop.Counts = []inventory.Count{{Item: "oil-10", Date: plans.AsOf - 7}}
	shop.CountParts = []inventory.CountPart{
		{Item: "oil-10", Date: plans.AsOf - 7, Number: 1, Container: "007", OpenedOn: plans.AsOf - 30}, {Item: "oil-10", Date: plans.AsOf - 7, Number: 2, Container: "OIL-2"},
	}
	d, err := reports.CountAll(shop, "")
	if err != nil {
		t.Fatal(err)
	}
	return countBytes(t, d)
}

// Rows by bin from row 10 on: wipers, O-rings, grease, oil in 007, oil in OIL-2,
// solvent; container, gross, tare, temperature and opened on in F to J.
func TestContainersAreReadAsTheyWereFilled(t *testing.T) {
	oil := func(in string, q inventory.Quantity, gross, tare float64, opened inventory.Date) inventory.Counted {
		return inventory.Counted{Item: "oil-10", Qty: q, Container: in, OpenedOn: opened, Weighed: &inventory.Weighing{GrossG: gross, TareG: tare}}
	}
	mustCount(t, bottledCount(t), []countedRow{
		{"a known container needs no tare", func(d desk) { d.set("G13", 955.5); d.remove(14) }, []inventory.Counted{oil("007", 1000_0, 955.5, 95.5, plans.AsOf-30)}},
		{"a tare that was typed is the one that counts", func(d desk) { d.set("G13", 955.5); d.set("H13", 95); d.remove(14) },
			[]inventory.Counted{oil("007", 1000_6, 955.5, 95, plans.AsOf-30)}},
		{"both", func(d desk) { d.set("G13", 955.5); d.set("G14", 187) }, []inventory.Counted{oil("007", 1000_0, 955.5, 95.5, plans.AsOf-30), oil("OIL-2", 100_0, 187, 101, 0)}},
		{"an empty one", func(d desk) { d.set("G13", 955.5); d.set("E14", 0) }, []inventory.Counted{oil("007", 1000_0, 955.5, 95.5, plans.AsOf-30), {Item: "oil-10", Container: "OIL-2"}}},
		{"another in its place, opened today", func(d desk) {
			d.set("F13", "CAN")
			d.set("G13", 206)
			d.set("J13", int(plans.AsOf)+1+epoch)
			d.remove(14)
		},
			[]inventory.Counted{oil("CAN", 100_0, 206, 120, plans.AsOf+1)}},
		{"each in the row of the other", func(d desk) {
			d.set("F13", "OIL-2")
			d.set("G13", 187)
			d.set("F14", "007")
			d.set("G14", 955.5)
			d.clear("J13")
		},
			[]inventory.Counted{oil("OIL-2", 100_0, 187, 101, 0), oil("007", 1000_0, 955.5, 95.5, 0)}},
		{"marks of a known container", func(d desk) { d.set("E13", 400); d.remove(14) }, []inventory.Counted{{Item: "oil-10", Qty: 400_0, Container: "007", OpenedOn: plans.AsOf - 30}}},
		{"one that nobody knows, with its tare", func(d desk) { d.clear("F13"); d.clear("J13"); d.set("G13", 960); d.set("H13", 100); d.remove(14) },
			[]inventory.Counted{oil("", 1000_0, 960, 100, 0)}},
		{"an item of several containers that was not counted", func(d desk) { d.set("E10", 3) }, []inventory.Counted{{Item: "WIP-35", Qty: 3}}},
	})
}

func TestWrongContainersAreTold(t *testing.T) {
	oils := "007, or CAN, or OIL-2, or it blank, with a tare"
	changed := []string{"circlip count:2: the hidden sheet was changed, expected it as it was written; write the workbook again"}
	rows := []struct {
		rule string
		work func(desk)
		want []string
	}{
		{"one that nobody knows", func(d desk) { d.set("F13", "OIL-3"); d.set("G13", 200); d.remove(14) },
			[]string{`Count:13:Container: no container of this name is known, found "OIL-3", expected ` + oils, "Count:13:Tare: blank, expected the weight of the empty container, 0 where there is none; or a known container"}},
		{"one of another item", func(d desk) { d.set("F13", "JAR"); d.set("E13", 200); d.remove(14) }, []string{`Count:13:Container: a container for grease, found "JAR", expected ` + oils}},
		{"one for pieces", func(d desk) { d.set("F10", "CAN"); d.set("E10", 2) }, []string{`Count:10:Container: a container of pieces, found "CAN", expected it blank`}},
		{"lighter than its known container", func(d desk) { d.set("G13", 95); d.remove(14) }, []string{`Count:13:Gross: less than the empty container, found "95", expected 95.5 or more`}},
		{"opened after the count", func(d desk) { d.set("G13", 955.5); d.set("J13", int(plans.AsOf)+2+epoch); d.remove(14) },
			[]string{`Count:13:Opened on: after the count, found "2027-03-03", expected 2027-03-02 or earlier`}},
		{"opened on no day", func(d desk) { d.set("G13", 955.5); d.set("J13", "soon"); d.remove(14) }, []string{`Count:13:Opened on: not a date, found "soon", expected YYYY-MM-DD`}},
		{"one of two forgotten", func(d desk) { d.set("G13", 955.5) },
			[]string{`Count:14:Gross: blank beside other containers of oil-10, found "OIL-2", expected its weight, 0 under Found where it is empty, or the row deleted where it is gone`}},
		{"a tare alone", func(d desk) { d.set("H13", 90); d.remove(14) }, []string{"Count:13:Gross: blank, expected the weight of the container with what it holds"}},
		{"the tare on the hidden sheet", func(d desk) { d.set("E10", 1); d.ok(d.f.SetCellValue(countMemory, "I7", 90)) }, changed},
		{"no tare on the hidden sheet", func(d desk) { d.set("E10", 1); d.ok(d.f.SetCellValue(countMemory, "I7", nil)) }, []string{strings.Replace(changed[0], ":2:", ":7:", 1)}},
		{"a container of the hidden sheet for another item", func(d desk) { d.set("E10", 1); d.ok(d.f.SetCellValue(countMemory, "D9", "oil-10")) }, changed},
		{"a container of the hidden sheet gone", func(d desk) { d.set("E10", 1); d.ok(d.f.RemoveRow(countMemory, 8)) }, changed},
	}
	workbook := bottledCount(t)
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

func TestKnownContainersAreOffered(t *testing.T) {
	offered := func(workbook []byte) bool {
		return strings.Contains(zipParts(t, workbook)[partOf(t, workbook, "Count")], `<formula1>"007,CAN,JAR,OIL-2"</formula1>`)
	}
	if !offered(bottledCount(t)) {
		t.Error("found no list of containers to choose from")
	}
	rows := []struct {
		rule  string
		words []string
		fits  bool
	}{
		{"some", []string{"A", "B"}, true},
		{"none", nil, false},
		{"one with a comma", []string{"A,1", "B"}, false},
		{"one that would be a formula", []string{"=A1"}, false},
		{"one with a quote", []string{`A"`}, false},
		{"as many as a list holds", []string{strings.Repeat("x", 127), strings.Repeat("y", 127)}, true},
		{"more", []string{strings.Repeat("x", 127), strings.Repeat("y", 128)}, false},
		{"more in wide letters", []string{strings.Repeat("𝔁", 128)}, false},
	}
	for _, r := range rows {
		if got := fitsList(r.words); got != r.fits {
			t.Errorf("%s: found %v, expected %v", r.rule, got, r.fits)
		}
	}
}

func TestContainersSavedByLibreOfficeAreTheSame(t *testing.T) {
	t.Parallel()
	filled := edited(t, bottledCount(t), "Count", counting(func(d desk) {
		d.set("G13", 955.5)
		d.set("G14", 187)
		d.set("J14", int(plans.AsOf)+epoch)
	}))
	got, faults, err := ReadCount(savedByOffice(t, filled)[0])
	if err != nil || len(faults) > 0 {
		t.Fatal(faults, err)
	}
	want := stocktake(
		inventory.Counted{Item: "oil-10", Qty: 1000_0, Container: "007", OpenedOn: plans.AsOf - 30, Weighed: &inventory.Weighing{GrossG: 955.5, TareG: 95.5}},
		inventory.Counted{Item: "oil-10", Qty: 100_0, Container: "OIL-2", OpenedOn: plans.AsOf, Weighed: &inventory.Weighing{GrossG: 187, TareG: 101}})
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-expected +read)\n%s", diff)
	}
}
