package db_test

import (
	"fmt"
	"os"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"circlip/db"
)

// changes tells what a load did, by table: rows, new+changed+same, missing.
func changes(report db.LoadReport) map[string]string {
	told := map[string]string{}
	for _, t := range report.Tables {
		if t.Rows != t.New+t.Changed+t.Same {
			told[t.Table] = fmt.Sprintf("%+v does not add up", t)
			continue
		}
		told[t.Table] = fmt.Sprintf("%d+%d+%d, %d missing", t.New, t.Changed, t.Same, t.Missing)
	}
	return told
}

func TestLoadingTwiceChangesNothing(t *testing.T) {
	bench := openBench(t)
	first := smallBook().load(t, bench)
	if !first.Created || first.Workshop.Name != "north bench" {
		t.Errorf("loaded into %+v, created %t, want a new north bench", first.Workshop, first.Created)
	}
	for table, did := range changes(first) {
		if !strings.HasSuffix(did, "+0+0, 0 missing") {
			t.Errorf("first load of %s: %s, want all of it new", table, did)
		}
	}
	before, ledger := saved(t, bench, first.Workshop.ID), bench.movements(t, first.Workshop.ID)
	again := smallBook().load(t, bench)
	if again.Created || again.Movements != 0 || again.Lots != 0 || again.Workshop != first.Workshop {
		t.Errorf("second load: %+v, want no movement and the same workshop", again)
	}
	for table, did := range changes(again) {
		if !strings.HasPrefix(did, "0+0+") || !strings.HasSuffix(did, ", 0 missing") {
			t.Errorf("second load of %s: %s, want all of it the same", table, did)
		}
	}
	if diff := cmp.Diff(before, saved(t, bench, first.Workshop.ID)); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff(ledger, bench.movements(t, first.Workshop.ID)); diff != "" {
		t.Error(diff)
	}
}

func TestTheDemoBookLoadsTwice(t *testing.T) {
	bench := openBench(t)
	for range 2 {
		report, err := bench.Load(t.Context(), folderOf(t, os.DirFS("../testdata/demo")), "")
		if err != nil {
			t.Fatal(err)
		}
		for _, w := range report.Warnings {
			if strings.Contains(w, "more used") {
				t.Error(w)
			}
		}
	}
}

// smallMovements are what the small book comes to.
var smallMovements = []string{
	"grease G1 1 opening>shelf 2500 on 2026-01-01 stock",
	"grease PO1 1 supplier>shelf 5000 on 2026-01-16 PO1",
	"kit-35 K1 1 opening>shelf 2 on 2026-01-01 stock",
	"kit-35 K1 2 shelf>job 1 on 2026-02-11 J2",
	"oil-15 O1 1 opening>shelf 9000 on 2026-01-02 stock",
	"oil-15 O1 2 shelf>job 215 on 2026-01-15 J1",
	// 1530 g at 870 kg/m³ · 0.996388 (20 °C, see the published values) are 1765.0 ml, of 1878.5
	"oil-15 O1 3 shelf>difference 1135 on 2026-02-28 2026-02-28",
	"oil-15 PO1 1 supplier>shelf 10000 on 2026-01-16 PO1",
	"ring-10 R1 1 opening>shelf 30 on 2026-01-01 stock",
	"wiper-35 W1 1 opening>shelf 12 on 2026-01-01 stock",
	"wiper-35 W1 2 shelf>job 2 on 2026-01-15 J1",
	"wiper-35 W1 3 shelf>difference 1 on 2026-02-28 2026-02-28",
}

func TestWhatALoadMoved(t *testing.T) {
	bench := openBench(t)
	report := smallBook().load(t, bench)
	if diff := cmp.Diff(smallMovements, bench.movements(t, report.Workshop.ID)); diff != "" {
		t.Error(diff)
	}
	lots := []string{
		"grease G1 2026-01-01 infinity 36000",       // no cost told: 18.00 for 500 g now
		"grease PO1 2026-01-16 infinity 36000",      // as ordered
		"kit-35 K1 2026-01-01 2030-12-31 19900000",  // cured 4Q23; its wiper of NBR keeps 7 years
		"oil-15 O1 2026-01-02 2027-05-01 24900",     // as printed
		"oil-15 PO1 2026-01-16 2029-01-16 24900",    // 36 months from receipt
		"ring-10 R1 2026-01-01 2034-05-06 0",        // FKM keeps 10 years; nobody offers it
		"wiper-35 W1 2026-01-01 2031-09-30 4100000", // 3Q24 and 7 years
	}
	if diff := cmp.Diff(lots, bench.lots(t, report.Workshop.ID)); diff != "" {
		t.Error(diff)
	}
}

func TestABookWithoutSettingsGoesIntoTheOnlyWorkshop(t *testing.T) {
	bench := openBench(t)
	first := smallBook().load(t, bench)
	bare := papers{"units": "unit,model,holder\nF9,fell-150,fleet\n"}
	if report := bare.load(t, bench); report.Workshop != first.Workshop {
		t.Errorf("loaded into %+v, want %+v", report.Workshop, first.Workshop)
	}
	smallBook().with(t, "settings", "north", "south").load(t, bench)
	_, err := bench.Load(t.Context(), bare.source(t), "")
	if want := "workshop: invalid: found 2 of them, expected one to be named: north bench, south bench"; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
	report, err := bench.Load(t.Context(), bare.source(t), "south bench")
	if err != nil || report.Workshop.Name != "south bench" {
		t.Errorf("%+v, %v", report.Workshop, err)
	}
}

func TestRowsThatTheBookHasNotStay(t *testing.T) {
	bench := openBench(t)
	smallBook().load(t, bench)
	report := smallBook().with(t, "units", "F2,fell-150,customer,,,,2026-02-01\n", "F1b,fell-150,fleet,rental,,,\n").
		with(t, "readings", "F2,2026-01-10,75,\n", "").with(t, "suppliers", "Ravelin Seals", "Ravelin").load(t, bench)
	did := changes(report)
	for table, want := range map[string]string{
		"units": "1+0+2, 1 missing", "readings": "0+0+3, 1 missing", "suppliers": "0+1+1, 0 missing", "items": "0+0+7, 0 missing",
	} {
		if did[table] != want {
			t.Errorf("%s: %s, want %s", table, did[table], want)
		}
	}
	if units := saved(t, bench, report.Workshop.ID)["units"]; !strings.Contains(units, "F2,") || !strings.Contains(units, "F1b,") {
		t.Errorf("units are now\n%s", units)
	}
}

func TestWorkshopByName(t *testing.T) {
	bench := openBench(t)
	if _, err := bench.Workshop(t.Context(), ""); err == nil || !strings.Contains(err.Error(), "load a book first") {
		t.Errorf("no workshop: %v", err)
	}
	smallBook().load(t, bench)
	if w, err := bench.Workshop(t.Context(), ""); err != nil || w.Name != "north bench" {
		t.Errorf("the only one: %+v, %v", w, err)
	}
	_, err := bench.Workshop(t.Context(), "nroth bench")
	if want := `workshop "nroth bench": not found; is it "north bench"?`; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
	all, err := bench.Workshops(t.Context())
	if err != nil || len(all) != 1 {
		t.Errorf("%+v, %v", all, err)
	}
}

func TestWhatIsToldLateLeavesCountsAsTheyWere(t *testing.T) {
	bench := openBench(t)
	first := smallBook().load(t, bench)
	before := bench.onHand(t, first.Workshop.ID)
	late := smallBook().
		with(t, "jobs", "", "J6,F1,,lower,2026-02-01,2026-02-05,done,2026-02-05\nJ7,F1,,lower,2026-03-01,2026-03-05,done,2026-03-05\n").
		with(t, "job_use", "", "J6,oil-15,,100\nJ7,wiper-35,,1\n").
		with(t, "orders", "", "PO3,wiper-35,ravelin,1,2026-02-03,,2026-02-09,\n")
	if report := late.load(t, bench); report.Movements != 5 || report.Lots != 1 {
		t.Errorf("%d movements and %d lots, want 5 and 1", report.Movements, report.Lots)
	}
	want := []string{
		"oil-15 O1 4 difference>shelf 1000 on 2026-02-28 2026-02-28", // the count of that day stands
		"oil-15 O1 5 shelf>job 1000 on 2026-02-05 J6",
		"wiper-35 PO3 1 supplier>shelf 10 on 2026-02-09 PO3",
		"wiper-35 PO3 2 shelf>difference 10 on 2026-02-28 2026-02-28",
		"wiper-35 W1 4 shelf>job 1 on 2026-03-05 J7",
	}
	var got []string
	known := strings.Join(smallMovements, "\n")
	for _, m := range bench.movements(t, first.Workshop.ID) {
		if !strings.Contains(known, m) {
			got = append(got, m)
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
	after := bench.onHand(t, first.Workshop.ID)
	if diff := cmp.Diff(before[:4], after[:4]); diff != "" {
		t.Errorf("only wiper-35 has changed since its count, but: %s", diff)
	}
	if got := after[4]; got != "wiper-35 8" {
		t.Errorf("%s, want 9 counted less 1 used", got)
	}
	bench.mustBeSound(t, first.Workshop.ID)
}

func TestAnOrderKeepsItsOffer(t *testing.T) {
	bench := openBench(t)
	p := smallBook().with(t, "orders", "PO2,wiper-35,ravelin,6,2026-02-20,2026-02-27,,\n",
		"PO2,wiper-35,ravelin,6,2026-02-20,2026-02-27,,\nPO4,wiper-35,ravelin,4,2026-02-20,,2026-03-02,\n")
	p.load(t, bench)
	p = p.with(t, "offers", "ravelin,5,R-35,10,1,1,38.00", "ravelin,5,R-35,20,1,1,70.00").
		with(t, "orders", "PO2,wiper-35,ravelin,6,2026-02-20,2026-02-27,,", "PO2,wiper-35,ravelin,6,2026-02-20,2026-02-27,2026-03-03,5").
		with(t, "orders", "", "PO5,wiper-35,ravelin,5,2026-03-01,,2026-03-04,\n")
	w := p.load(t, bench).Workshop.ID
	for _, want := range []string{
		"wiper-35 PO4 1 supplier>shelf 40 on 2026-03-02 PO4",
		"wiper-35 PO2 1 supplier>shelf 50 on 2026-03-03 PO2",  // packs of 10, as when it was told
		"wiper-35 PO5 1 supplier>shelf 100 on 2026-03-04 PO5", // packs of 20, as now
	} {
		if all := bench.movements(t, w); !slices.Contains(all, want) {
			t.Errorf("want %s among\n%s", want, strings.Join(all, "\n"))
		}
	}
	for _, want := range []string{
		"wiper-35 PO4 2026-03-02 2033-03-02 4250000", // 4 packs do not reach the break from 5
		"wiper-35 PO2 2026-03-03 2033-03-03 3800000", // 6 do
		"wiper-35 PO5 2026-03-04 2033-03-04 3500000", // 70.00 for 20
	} {
		if all := bench.lots(t, w); !slices.Contains(all, want) {
			t.Errorf("want %s among\n%s", want, strings.Join(all, "\n"))
		}
	}
}

func TestMoreUsedThanThereWasIsToldAndFound(t *testing.T) {
	bench := openBench(t)
	report := smallBook().with(t, "job_use", "J2,kit-35,,1\n", "J2,kit-35,,5\nJ2,wiper-36,,2\n").load(t, bench)
	want := []string{
		`job_use:4:qty: more used of kit-35 than the shelf had on 2026-02-11; 3 booked as found by difference, found "5", expected at most 2`,
		`job_use:5:qty: more used of wiper-36 than the shelf had on 2026-02-11; 2 booked as found by difference, found "2", expected at most 0`,
	}
	if diff := cmp.Diff(want, report.Warnings); diff != "" {
		t.Error(diff)
	}
	bench.mustBeSound(t, report.Workshop.ID)
}
