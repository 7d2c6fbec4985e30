package db_test

import (
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"circlip/db"
	"circlip/inventory"
)

// auditBook is the small book with a row of everything that an audit adds. The
// grease is counted in two containers, and found as it should be.
func auditBook(t testing.TB) papers {
	p := smallBook().
		with(t, "bom", "waste,to\n", "waste,to,note\n").
		with(t, "bom", "20,,0.05,\n", "20,,0.05,,measured in spring\n").
		with(t, "jobs", "state,done_on\n", "state,done_on,done_by\n").
		with(t, "jobs", "done,2026-01-15\n", "done,2026-01-15,Ann\n").
		with(t, "counts", "", "grease,2026-03-05,,,,\n")
	p["containers"] = "container,name,item,tare_g,volume_ml\ncan-1,Big can,,180.5,5000\ntub,,grease,40,\n"
	p["count_parts"] = "item,date,number,container,qty,gross_g,tare_g,temp_c,opened_on\n" +
		"grease,2026-03-05,1,tub,,540,,21,2026-02-10\ngrease,2026-03-05,2,,250,,,,\n"
	p["disposals"] = "date,number,stream,moment,volume_ml,weight_g,carrier,document,note\n" +
		"2026-02-01,1,oil,gathered,750,,,,first can\n2026-03-01,1,solvent,handed-over,,1200.5,Dray and Daughter,W-17,\n2026-03-01,2,oil,gathered,80,70,,,\n"
	return p
}

func TestAShopHoldsWhatAnAuditNeeds(t *testing.T) {
	bench := openBench(t)
	workshop := auditBook(t).load(t, bench).Workshop.ID
	number := func(n float64) *float64 { return &n }
	oil := inventory.CountPart{Item: "oil-15", Date: on(time.February, 28), Qty: 17650,
		Weighed: &inventory.Weighing{GrossG: 1710, TareG: 180, TempC: number(20)}}
	gathered := inventory.Disposal{Date: on(time.February, 1), Number: 1, Stream: inventory.UsedOil, VolumeML: number(750), Note: "first can"}
	for _, tc := range []struct {
		rule      string
		day       inventory.Date
		parts     []inventory.CountPart
		disposals []inventory.Disposal
		doneBy    string // job J1
	}{
		{"on the eve of it all", on(time.January, 14), nil, nil, ""},
		{"what was weighed as a whole is its only part", on(time.February, 28), []inventory.CountPart{oil}, []inventory.Disposal{gathered}, "Ann"},
		{"a part has the tare of its container", on(time.March, 5), []inventory.CountPart{
			{Item: "grease", Date: on(time.March, 5), Number: 1, Container: "tub", Qty: 5000, OpenedOn: on(time.February, 10),
				Weighed: &inventory.Weighing{GrossG: 540, TareG: 40, TempC: number(21)}},
			{Item: "grease", Date: on(time.March, 5), Number: 2, Qty: 2500}, oil,
		}, []inventory.Disposal{gathered,
			{Date: on(time.March, 1), Number: 1, Stream: inventory.UsedSolvent, HandedOver: true, WeightG: number(1200.5), Carrier: "Dray and Daughter", Document: "W-17"},
			{Date: on(time.March, 1), Number: 2, Stream: inventory.UsedOil, VolumeML: number(80), WeightG: number(70)},
		}, "Ann"},
	} {
		got := bench.shop(t, workshop, tc.day)
		if diff := cmp.Diff(tc.parts, got.CountParts); diff != "" {
			t.Errorf("%s: parts (- want, + got)\n%s", tc.rule, diff)
		}
		if diff := cmp.Diff(tc.disposals, got.Disposals); diff != "" {
			t.Errorf("%s: disposals (- want, + got)\n%s", tc.rule, diff)
		}
		if j := got.Jobs[0]; j.Code != "J1" || j.DoneBy != tc.doneBy {
			t.Errorf("%s: job %s was done by %q, want J1 by %q", tc.rule, j.Code, j.DoneBy, tc.doneBy)
		}
	}
	shop := bench.shop(t, workshop, on(time.March, 5))
	if c := shop.Counts[0]; c.Item != "grease" || c.Qty != 7500 {
		t.Errorf("counted %+v, want the 7500 of its parts", c)
	}
	containers := []inventory.Container{{Code: "can-1", Name: "Big can", TareG: 180.5, VolumeML: 5000}, {Code: "tub", Name: "tub", Item: "grease", TareG: 40}}
	if diff := cmp.Diff(containers, shop.Containers); diff != "" {
		t.Error(diff)
	}
	if line := shop.BOM[2]; line.Item != "oil-15" || line.Note != "measured in spring" {
		t.Errorf("line %+v, want the note", line)
	}
}

// A lot that is written down after the others came on its day: the shelf that
// was there before is not counted again with it.
func TestALotWrittenDownLaterIsNoOpeningShelf(t *testing.T) {
	bench := openBench(t)
	workshop := smallBook().with(t, "stock", "", "wiper-35,W9,5,2026-02-10,,,4.10\n").load(t, bench).Workshop.ID
	for _, tc := range []struct {
		day  inventory.Date
		want []inventory.OtherMove
	}{{on(time.February, 9), nil}, {on(time.February, 10), []inventory.OtherMove{{Item: "wiper-35", Date: on(time.February, 10), Qty: 5}}}} {
		shop := bench.shop(t, workshop, tc.day)
		if diff := cmp.Diff(tc.want, shop.Others); diff != "" {
			t.Errorf("%s: others (- want, + got)\n%s", tc.day, diff)
		}
		wipers := slices.DeleteFunc(shop.Openings, func(c inventory.Count) bool { return c.Item != "wiper-35" })
		if diff := cmp.Diff([]inventory.Count{{Item: "wiper-35", Date: on(time.January, 1), Qty: 12}}, wipers); diff != "" {
			t.Errorf("%s: opening shelf (- want, + got)\n%s", tc.day, diff)
		}
	}
}

// What came and went on record is a receipt, what a job spoiled, or something
// else; what jobs use, counts find and lots hold under another code is none.
func TestWhatWentForNoOrderJobOrCount(t *testing.T) {
	bench := openBench(t)
	workshop := orderingBook(t).load(t, bench).Workshop.ID
	march := func(day int) inventory.Date { return on(time.March, day) }
	bench.performed(t, workshop,
		db.Receive{Item: "oil-15", Lot: "NEW", Qty: 5000, Order: "PO9", On: march(2)},
		db.Waste{Item: "oil-15", Qty: 50, Ref: "spilled", On: march(2)},
		db.Waste{Item: "oil-15", Qty: 30, Ref: "old", On: march(2)},
		db.Take{Job: "J3", On: march(3), Lines: []db.Line{{Item: "oil-15", Qty: 100}}},
		db.OpenKit{Kit: "kit-35", Qty: 1, On: march(4), Parts: []db.KitShare{{Item: "wiper-35", Qty: 2}, {Item: "ring-10", Qty: 4}}},
		db.OpenContainer{Item: "oil-15", Lot: "PO1", Qty: 1000, Until: march(30), On: march(4)},
		db.Count{Item: "ring-10", Lot: "R1", Found: 20, Ref: "look", On: march(5)},
		db.CloseJob{Job: "J3", On: march(6), Used: []db.Line{{Item: "grease", Qty: 45}}, Wasted: []db.Line{{Item: "grease", Qty: 5}, {Item: "wiper-35", Qty: 1}}},
		db.Waste{Item: "grease", Lot: "G1", Qty: 7, Ref: "dropped", On: march(7)},
	)
	var seq int64
	if err := bench.admin.QueryRow(t.Context(), `SELECT seq FROM circlip.movement WHERE workshop = $1 AND ref = 'dropped'`, workshop).Scan(&seq); err != nil {
		t.Fatal(err)
	}
	bench.performed(t, workshop, db.Reverse{Item: "grease", Lot: "G1", Seq: seq, On: march(9)})

	others := []inventory.OtherMove{
		{Item: "grease", Date: march(7), Qty: -7}, {Item: "grease", Date: march(9), Qty: 7},
		{Item: "kit-35", Date: march(4), Qty: -1},
		{Item: "oil-15", Date: march(2), Qty: -80},
		{Item: "ring-10", Date: march(4), Qty: 4}, {Item: "wiper-35", Date: march(4), Qty: 2},
	}
	spoils := []inventory.Spoiled{{Job: "J3", Item: "grease", Date: march(6), Qty: 5}, {Job: "J3", Item: "wiper-35", Date: march(6), Qty: 1}}
	shop := bench.shop(t, workshop, march(31))
	if diff := cmp.Diff(others, shop.Others); diff != "" {
		t.Errorf("others (- want, + got)\n%s", diff)
	}
	if diff := cmp.Diff(spoils, shop.Spoils); diff != "" {
		t.Errorf("spoiled (- want, + got)\n%s", diff)
	}
	if n := len(shop.Receipts); n != 3 || shop.Receipts[2] != (inventory.Receipt{Item: "oil-15", Date: march(2), Qty: 5000}) {
		t.Errorf("receipts %+v, want two of the book and one by hand", shop.Receipts)
	}
	early := bench.shop(t, workshop, march(3))
	if diff := cmp.Diff(others[3:4], early.Others); diff != "" || len(early.Spoils) > 0 {
		t.Errorf("by the third (- want, + got)\n%s, spoiled %v", diff, early.Spoils)
	}
	if diff := cmp.Diff(early.Others, shop.Before(march(4)).Others, cmpopts.EquateEmpty()); diff != "" {
		t.Errorf("as it was before the fourth (- read, + cut)\n%s", diff)
	}
}
