package db_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"circlip/db"
	"circlip/inventory"
)

// faultsOf loads papers that must be refused, and returns what is wrong.
func faultsOf(t *testing.T, bench *bench, p papers) []string {
	t.Helper()
	report, err := bench.Load(t.Context(), p.source(t), "")
	var faults db.Faults
	if !errors.As(err, &faults) || !errors.Is(err, inventory.ErrInvalid) {
		t.Fatalf("loaded %+v, error %v, want faults", report, err)
	}
	texts := make([]string, len(faults))
	for i, f := range faults {
		texts[i] = f.Error()
	}
	return texts
}

// edit is one change of the small book: in a table, a text and what stands
// there instead; an empty old text means at the end.
type edit struct{ table, old, replacement string }

// Every rule between rows and between tables, with the exact words in which a
// breach is told.
func TestFaultsBetweenRowsAndTables(t *testing.T) {
	bench := openBench(t)
	for _, tc := range []struct {
		rule  string
		edits []edit
		want  []string
	}{
		{"a supplier stands once", []edit{{"suppliers", "", "ravelin,,,,,,,\n"}},
			[]string{`suppliers:4:supplier: the same key as in row 2, found "ravelin", expected each key once`}},
		{"an item stands once", []edit{{"items", "", "grease,,grease,g\n"}},
			[]string{`items:9:item: the same key as in row 8, found "grease", expected each key once`}},
		{"a holiday stands once", []edit{{"holidays", "", "date,supplier,name\n2026-05-01,,Mayday\n2026-05-01,ravelin,Mayday\n2026-05-01,ravelin,\n2026-05-01,,\n"}},
			[]string{
				`holidays:4:date: the same key as in row 3, found "2026-05-01 / ravelin", expected each key once`,
				`holidays:5:date: the same key as in row 2, found "2026-05-01", expected each key once`}},
		{"a holiday is of a known supplier, or of the workshop", []edit{{"holidays", "", "date,supplier,name\n2026-05-01,ravellin,Mayday\n"}},
			[]string{`holidays:2:supplier: unknown code, found "ravellin", expected one of the table suppliers; is it "ravelin"?`}},
		{"an item sits in one groove", []edit{{"grooves", "", "item,root_mm,bore_mm,width_mm\nring-10,10.4,13.1,2.4\nring-10,10.4,13.1,2.5\n"}},
			[]string{`grooves:3:item: the same key as in row 2, found "ring-10", expected each key once`}},
		{"a groove is of a known item", []edit{{"grooves", "", "item,root_mm,bore_mm,width_mm\nring-11,10.4,13.1,2.4\n"}},
			[]string{`grooves:2:item: unknown code, found "ring-11", expected one of the table items; is it "ring-10"?`}},
		{"an offer stands once a price break", []edit{{"offers", "oil-15,cobbet,,C-15", "wiper-35,ravelin,5,,10,,,1,\noil-15,cobbet,,C-15"}},
			[]string{`offers:5:item: the same key as in row 3, found "wiper-35 / ravelin / 5", expected each key once`}},
		{"an offer is of a known item", []edit{{"offers", "kit-35,ravelin", "kit-53,ravelin"}},
			[]string{`offers:4:item: unknown code, found "kit-53", expected one of the table items; is it "kit-35"?`}},
		{"an offer is of a known supplier", []edit{{"offers", "kit-35,ravelin", "kit-35,ravellin"}},
			[]string{`offers:4:supplier: unknown code, found "ravellin", expected one of the table suppliers; is it "ravelin"?`}},
		{"a row with other faults is told its unknown codes too", []edit{{"offers", "kit-35,ravelin,", "kit-53,ravellin,none"}},
			[]string{
				`offers:4:from_packs: not a number, found "none", expected a whole number from 1 to 1000000`,
				`offers:4:item: unknown code, found "kit-53", expected one of the table items; is it "kit-35"?`,
				`offers:4:supplier: unknown code, found "ravellin", expected one of the table suppliers; is it "ravelin"?`,
			}},
		{"a part stands once in a kit", []edit{{"kits", "", "kit-35,ring-10,1\n"}},
			[]string{`kits:4:kit: the same key as in row 3, found "kit-35 / ring-10", expected each key once`}},
		{"a kit is a known item", []edit{{"kits", "kit-35,ring-10", "kit-36,ring-10"}},
			[]string{`kits:3:kit: unknown code, found "kit-36", expected one of the table items; is it "kit-35"?`}},
		{"a kit is of kind kit", []edit{{"kits", "", "wiper-36,ring-10,1\n"}},
			[]string{`kits:4:kit: holds parts but is of kind wiper, found "wiper-36", expected an item of kind kit`}},
		{"a kit is counted in pieces", []edit{{"items", "", "wet-kit,,kit,ml\n"}, {"kits", "", "wet-kit,ring-10,1\n"}},
			[]string{`kits:4:kit: a kit that is kept in ml, found "wet-kit", expected an item kept in ea`}},
		{"a kit does not come to hold itself", []edit{{"items", "", "kit-36,,kit,ea\n"}, {"kits", "", "kit-35,kit-36,1\nkit-36,kit-35,1\n"}},
			[]string{
				`kits:4:item: the kit comes to hold itself, found "kit-36", expected parts that do not hold the kit kit-35`,
				`kits:5:item: the kit comes to hold itself, found "kit-35", expected parts that do not hold the kit kit-36`}},
		{"an alternate stands once", []edit{{"alternates", "", "oil-15,oil-20,2,\n"}},
			[]string{`alternates:3:item: the same key as in row 2, found "oil-15 / oil-20", expected each key once`}},
		{"an alternate is a known item for a known item", []edit{{"alternates", "", "oil-51,oil-02,1,\n"}},
			[]string{
				`alternates:3:alternate: unknown code, found "oil-02", expected one of the table items; is it "oil-20"?`,
				`alternates:3:item: unknown code, found "oil-51", expected one of the table items; is it "oil-15"?`}},
		{"an alternate is measured as its item", []edit{{"alternates", "", "oil-20,grease,1,\n"}},
			[]string{`alternates:3:alternate: an alternate kept in g, found "grease", expected one kept in ml as oil-20 is`}},
		{"a model stands once", []edit{{"models", "", "ember,,shock\n"}},
			[]string{`models:4:model: the same key as in row 3, found "ember", expected each key once`}},
		{"a service stands once", []edit{{"services", "", "can,,shock,50,,,\n"}},
			[]string{`services:5:service: the same key as in row 4, found "can", expected each key once`}},
		{"a service covers known services", []edit{{"services", "24,lower,", "24,lower;fulll,"}},
			[]string{`services:3:covers: unknown code, found "fulll", expected one of the table services; is it "full"?`}},
		{"of its own family", []edit{{"services", "24,lower,", "24,lower;can,"}},
			[]string{`services:3:covers: covers a service of family shock, found "can", expected services of family fork`}},
		{"and none that covers it", []edit{{"services", "6,,45", "6,deep,45"}, {"services", "", "deep,,fork,400,,full,\n"}},
			[]string{
				`services:2:covers: the service comes to cover itself, found "deep", expected services that do not cover lower`,
				`services:3:covers: the service comes to cover itself, found "lower", expected services that do not cover full`,
				`services:5:covers: the service comes to cover itself, found "full", expected services that do not cover deep`}},
		{"a line of the bill stands once a day", []edit{{"bom", "", "lower,*,oil-15,,25,,,\n"}},
			[]string{`bom:7:service: the same key as in row 2, found "lower / * / oil-15 / always", expected each key once`}},
		{"a line is of a known service, model and item", []edit{{"bom", "", "lowr,fell-15,oil-15,,1,,,\n"}},
			[]string{
				`bom:7:model: unknown code, found "fell-15", expected one of the table models; is it "fell-150"?`,
				`bom:7:service: unknown code, found "lowr", expected one of the table services; is it "lower"?`}},
		{"a line's model is of its service's family", []edit{{"bom", "can,ember,", "can,fell-150,"}},
			[]string{`bom:6:model: a model of family fork, found "fell-150", expected a model of family shock, which can is for`}},
		{"two lines never hold on one day", []edit{{"bom", "2,,,2026-01-01", "2,,,2026-01-02"}},
			[]string{`bom:4:from: holds on the same days as row 3 to 2026-01-02, found "2026-01-01", expected one line of a service, model and item a day`}},
		{"an unending line neither", []edit{{"bom", "2,,,2026-01-01", "2,,,"}},
			[]string{`bom:4:from: holds on the same days as row 3, found "2026-01-01", expected one line of a service, model and item a day`}},
		{"a unit stands once", []edit{{"units", "", "F1,fell-150,fleet,,,,\n"}},
			[]string{`units:5:unit: the same key as in row 2, found "F1", expected each key once`}},
		{"a unit is of a known model", []edit{{"units", "S1,ember", "S1,embre"}},
			[]string{`units:4:model: unknown code, found "embre", expected one of the table models; is it "ember"?`}},
		{"a meter is read once a day", []edit{{"readings", "", "F1,2026-02-02,149,\n"}},
			[]string{`readings:6:unit: the same key as in row 3, found "F1 / 2026-02-02", expected each key once`}},
		{"a reading is of a known unit", []edit{{"readings", "F2,", "f-2,"}},
			[]string{`readings:5:unit: unknown code, found "f-2", expected one of the table units; is it "F2"?`}},
		{"a meter does not fall", []edit{{"readings", "149,", "119.9,"}},
			[]string{`readings:3:hours: less than on 2026-01-05, found "119.9", expected 120.5 or more, or reset = yes for a replaced meter`}},
		{"whatever the order of the rows", []edit{{"readings", "", "F1,2026-01-31,149.1,\n"}},
			[]string{`readings:3:hours: less than on 2026-01-31, found "149", expected 149.1 or more, or reset = yes for a replaced meter`}},
		{"a week stands once", []edit{{"season", "", "1,0.7\n"}},
			[]string{`season:4:week: the same key as in row 2, found "1", expected each key once`}},
		{"a job stands once", []edit{{"jobs", "", "J1,F1,,lower,2026-01-10,2026-01-14,done,2026-01-15\n"}},
			[]string{`jobs:7:job: the same key as in row 2, found "J1", expected each key once`}},
		{"a job is of a known unit, model and service", []edit{{"jobs", "", "J6,F11,,lower;upper,,2026-01-14,booked,\nJ7,,fell,full,,2026-01-14,booked,\n"}},
			[]string{
				`jobs:7:service: unknown code, found "upper", expected one of the table services`,
				`jobs:7:unit: unknown code, found "F11", expected one of the table units; is it "F1"?`,
				`jobs:8:model: unknown code, found "fell", expected one of the table models`}},
		{"a job's model is its unit's", []edit{{"jobs", "J3,S1,ember", "J3,S1,fell-150"}},
			[]string{`jobs:4:model: not the model of unit S1, found "fell-150", expected ember, or a blank cell`}},
		{"a job's services are of its model's family", []edit{{"jobs", "J3,S1,ember,can", "J3,S1,,can;lower"}},
			[]string{`jobs:4:service: a service for family fork, found "lower", expected services for family shock, which ember is of`}},
		{"also where the unit is not known", []edit{{"jobs", "J2,,fell-150,full", "J2,,fell-150,can"}},
			[]string{`jobs:3:service: a service for family shock, found "can", expected services for family fork, which fell-150 is of`}},
		{"a job is not booked after it was called off", []edit{{"jobs", "done_on\n", "done_on,cancelled_on\n"}, {"jobs", "J5,F1,,full,,2026-03-20,cancelled,", "J5,F1,,full,2026-03-02,2026-03-20,cancelled,,2026-03-01"}},
			[]string{`jobs:6:cancelled_on: before booked_on, found "2026-03-01", expected a day from 2026-03-02 on`}},
		{"a setup stands once a job and moment", []edit{{"setups", "", "job,moment,date\nJ1,before,2026-01-14\nJ1,after,2026-01-15\nJ1,before,2026-01-15\n"}},
			[]string{`setups:4:job: the same key as in row 2, found "J1 / before", expected each key once`}},
		{"it is of a known job and unit", []edit{{"setups", "", "job,moment,unit,date\nJ11,before,F1,2026-01-14\nJ1,after,F11,2026-01-15\n"}},
			[]string{
				`setups:2:job: unknown code, found "J11", expected one of the table jobs; is it "J1"?`,
				`setups:3:unit: unknown code, found "F11", expected one of the table units; is it "F1"?`}},
		{"of the unit of its job", []edit{{"setups", "", "job,moment,unit,date\nJ1,before,F2,2026-01-14\n"}},
			[]string{`setups:2:unit: not the unit of job J1, found "F2", expected F1, or a blank cell`}},
		{"which is known", []edit{{"setups", "", "job,moment,unit,date\nJ2,before,F2,2026-01-14\n"}},
			[]string{`setups:2:job: a job on a unit that is not known, found "J2", expected a job that has a unit in the table jobs`}},
		{"a use stands once a lot", []edit{{"job_use", "", "J1,oil-15,,3\n"}},
			[]string{`job_use:5:job: the same key as in row 2, found "J1 / oil-15", expected each key once`}},
		{"a use is of a known job and item", []edit{{"job_use", "", "J11,grease,,3\nJ1,greese,,3\n"}},
			[]string{
				`job_use:5:job: unknown code, found "J11", expected one of the table jobs; is it "J1"?`,
				`job_use:6:item: unknown code, found "greese", expected one of the table items; is it "grease"?`}},
		{"only what is done has used anything", []edit{{"job_use", "", "J3,grease,,4.5\n"}},
			[]string{`job_use:5:job: a job that is booked, found "J3", expected a job that is done`}},
		{"a use is of a known lot", []edit{{"job_use", "J1,wiper-35,W1", "J1,wiper-35,W2"}},
			[]string{`job_use:3:lot: unknown lot of wiper-35, found "W2", expected a lot of the table stock or an order of the item; blank for whichever expires first`}},
		{"a lot stands once in the opening shelf", []edit{{"stock", "", "oil-15,O1,1,2026-01-02,,,\n"}},
			[]string{`stock:7:item: the same key as in row 5, found "oil-15 / O1", expected each key once`}},
		{"a lot of the opening shelf came before it was counted", []edit{{"stock", "", "oil-15,PO1,1,2026-01-02,,,\n"}},
			[]string{`stock:7:lot: a lot that came with an order received on 2026-01-16, after the count, found "PO1", expected another lot code, or no row: what comes after the count is put on the shelf by the table orders`}},
		{"an item stands once in an order", []edit{{"orders", "", "PO1,grease,cobbet,1,2026-01-10,,,\n"}},
			[]string{`orders:5:order: the same key as in row 3, found "PO1 / grease", expected each key once`}},
		{"an order is of a known item from a known supplier", []edit{{"orders", "", "PO3,grise,cobbett,1,2026-01-10,,,\n"}},
			[]string{
				`orders:5:item: unknown code, found "grise", expected one of the table items`,
				`orders:5:supplier: unknown code, found "cobbett", expected one of the table suppliers; is it "cobbet"?`}},
		{"who offers it", []edit{{"orders", "PO1,grease,cobbet", "PO1,grease,ravelin"}},
			[]string{`orders:3:supplier: an order without an offer, found "ravelin", expected a supplier with an offer of grease in the table offers`}},
		{"an item is counted once a day", []edit{{"counts", "", "wiper-35,2026-02-28,9,,,\n"}},
			[]string{`counts:4:item: the same key as in row 3, found "wiper-35 / 2026-02-28", expected each key once`}},
		{"a count is of a known item", []edit{{"counts", "oil-15,2026-02-28", "oil-51,2026-02-28"}},
			[]string{`counts:2:item: unknown code, found "oil-51", expected one of the table items; is it "oil-15"?`}},
		{"millilitres are weighed with a density", []edit{{"counts", "oil-15,2026-02-28", "oil-20,2026-02-28"}},
			[]string{`counts:2:gross_g: an item kept in ml was weighed, but has no density, found "oil-20", expected density_kg_m3 of the item, or a quantity in qty`}},
		{"pieces are not weighed", []edit{{"counts", "oil-15,2026-02-28", "ring-10,2026-02-28"}},
			[]string{`counts:2:gross_g: an item kept in ea was weighed, found "ring-10", expected a number of pieces in qty`}},
		{"a cure mark is one the dates reach", []edit{{"stock", "3Q24", "3Q1950"}},
			[]string{`stock:2:cure_date: neither a date nor a quarter mark, found "3Q1950", expected YYYY-MM-DD, or a quarter such as 3Q24`}},
		{"what names a row at fault is not at fault itself", []edit{
			{"items", "oil-15,Lower leg oil,oil,ml", "oil-15,Lower leg oil,oil,litre"},
			{"units", "F1,fell-150,fleet", "F1,fell-150,flete"},
			{"jobs", "J1,F1,,lower,2026-01-10,2026-01-14", "J1,F1,,lower,2026-01-10,2026-01-41"},
		}, []string{
			`items:6:unit: not one of the choices, found "litre", expected one of ea, ml, g`,
			`units:2:holder: not one of the choices, found "flete", expected one of fleet, customer; is it "fleet"?`,
			`jobs:2:bench_date: no such day, found "2026-01-41", expected a day that exists, as YYYY-MM-DD`}},
		{"all that is wrong is told at once", []edit{
			{"items", "wiper-36,,wiper,ea", "wiper-36,,wiper,pcs"},
			{"readings", "149,", "119.9,"},
			{"jobs", "J3,S1,ember", "J3,S1,fell-150"},
			{"counts", "9,,,", "-9,,,"},
		}, []string{
			`items:3:unit: not one of the choices, found "pcs", expected one of ea, ml, g`,
			`readings:3:hours: less than on 2026-01-05, found "119.9", expected 120.5 or more, or reset = yes for a replaced meter`,
			`jobs:4:model: not the model of unit S1, found "fell-150", expected ember, or a blank cell`,
			`counts:3:qty: negative, found "-9", expected a quantity of 0 or more with a decimal point`}},
	} {
		p := smallBook()
		for _, e := range tc.edits {
			p = p.with(t, e.table, e.old, e.replacement)
		}
		if diff := cmp.Diff(tc.want, faultsOf(t, bench, p)); diff != "" {
			t.Errorf("%s: (- want, + got)\n%s", tc.rule, diff)
		}
		if all, err := bench.Workshops(t.Context()); err != nil || len(all) > 0 {
			t.Errorf("%s: the refused book left %+v, %v", tc.rule, all, err)
		}
	}
}

// What is in the ledger stands: a book that tells it otherwise is refused.
func TestFaultsAgainstWhatIsRecorded(t *testing.T) {
	bench := openBench(t)
	first := smallBook().load(t, bench)
	before, ledger := saved(t, bench, first.Workshop.ID), bench.movements(t, first.Workshop.ID)
	for _, tc := range []struct {
		rule  string
		edits []edit
		want  []string
	}{
		{"an item keeps its measure", []edit{{"items", "oil-20,Thicker oil,oil,ml", "oil-20,Thicker oil,oil,g"}, {"alternates", "oil-15,oil-20", "grease,oil-20"}},
			[]string{`items:7:unit: the item is already kept in another unit, found "g", expected ml, or another item code`}},
		{"a workshop keeps its currency", []edit{{"settings", "EUR", "CHF"}},
			[]string{`settings:value: currency: the workshop's amounts are already in another, found "CHF", expected EUR`}},
		{"a use keeps its quantity", []edit{{"job_use", "21.5", "22"}},
			[]string{`job_use:2:qty: already recorded otherwise, found "22", expected 21.5 as recorded; correct it by a count or a reversing movement`}},
		{"a job that used something keeps its day", []edit{{"jobs", "done,2026-01-15", "done,2026-01-16"}},
			[]string{`jobs:2:done_on: what the job took is already recorded on 2026-01-15, found "2026-01-16", expected 2026-01-15; correct what it took by a count or a reversing movement`}},
		{"and stays done", []edit{{"jobs", "done,2026-01-15", "cancelled,"}},
			[]string{
				`jobs:2:done_on: what the job took is already recorded on 2026-01-15, found "a job that is cancelled", expected 2026-01-15; correct what it took by a count or a reversing movement`,
				`job_use:2:job: a job that is cancelled, found "J1", expected a job that is done`,
				`job_use:3:job: a job that is cancelled, found "J1", expected a job that is done`}},
		{"the opening shelf stays", []edit{{"stock", "W1,12,2026-01-01,3Q24,,4.10", "W1,13,2026-01-02,4Q24,2031-01-01,4.20"}},
			[]string{
				`stock:2:counted_on: already recorded otherwise, found "2026-01-02", expected 2026-01-01 as recorded; correct it by a count or a reversing movement`,
				`stock:2:cure_date: already recorded otherwise, found "4Q24", expected 3Q24 as recorded; correct it by a count or a reversing movement`,
				`stock:2:expires_on: already recorded otherwise, found "2031-01-01", expected nothing as recorded; correct it by a count or a reversing movement`,
				`stock:2:qty: already recorded otherwise, found "13", expected 12 as recorded; correct it by a count or a reversing movement`,
				`stock:2:unit_cost: already recorded otherwise, found "another cost", expected the cost as recorded, which a lot keeps`}},
		{"a delivery stays", []edit{{"orders", "2026-01-16,1", "2026-01-17,2"}},
			[]string{
				`orders:2:received_on: already recorded otherwise, found "2026-01-17", expected 2026-01-16 as recorded; correct it by a count or a reversing movement`,
				`orders:2:received_packs: already recorded otherwise, found "2", expected 1 as recorded; correct it by a count or a reversing movement`}},
		{"a count stays", []edit{{"counts", "2026-02-28,9", "2026-02-28,8"}},
			[]string{`counts:3:qty: already recorded otherwise, found "8", expected 9 as recorded; correct it by a count of another day`}},
		{"a weighed one too", []edit{{"counts", "1710,180,20", "1711,180,"}},
			[]string{
				`counts:2:gross_g: already recorded otherwise, found "1711", expected 1710 as recorded; correct it by a count of another day`,
				`counts:2:temp_c: already recorded otherwise, found "nothing", expected 20 as recorded; correct it by a count of another day`}},
		{"a meter does not fall behind what it showed", []edit{{"readings", "F2,2026-01-10,75,\n", "F2,2026-01-31,74,\n"}},
			[]string{`readings:5:hours: less than on 2026-01-10, found "74", expected 75 or more, or reset = yes for a replaced meter`}},
		{"nor was it higher before", []edit{{"readings", "F2,2026-01-10,75,\n", "F2,2026-01-01,76,\n"}},
			[]string{`readings:5:hours: more than on 2026-01-10, found "76", expected at most 75`}},
		{"a new line of the bill leaves the old ones their days", []edit{{"bom", "full,fell-150,kit-35,,1,,,", "full,fell-150,kit-35,2026-05-01,1,,,"}},
			[]string{`bom:5:from: holds on the same days as a line that the workshop has, found "2026-05-01", expected one line of a service, model and item a day`}},
	} {
		p := smallBook()
		for _, e := range tc.edits {
			p = p.with(t, e.table, e.old, e.replacement)
		}
		if diff := cmp.Diff(tc.want, faultsOf(t, bench, p)); diff != "" {
			t.Errorf("%s: (- want, + got)\n%s", tc.rule, diff)
		}
	}
	if diff := cmp.Diff(before, saved(t, bench, first.Workshop.ID)); diff != "" {
		t.Errorf("the refused books left their mark: %s", diff)
	}
	if diff := cmp.Diff(ledger, bench.movements(t, first.Workshop.ID)); diff != "" {
		t.Errorf("the refused books moved stock: %s", diff)
	}
}

func TestFaultsOfTheWorkshopItself(t *testing.T) {
	bench := openBench(t)
	if diff := cmp.Diff([]string{"settings:workshop: missing, expected the name of the workshop, since there is none yet"},
		faultsOf(t, bench, smallBook().without("settings"))); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]string{"settings:time_zone: missing, expected a name of the IANA database such as Europe/Vienna"},
		faultsOf(t, bench, smallBook().with(t, "settings", "time_zone,Europe/Vienna\n", ""))); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]string{
		`settings:3:value: currency: not a currency, found "EURO", expected a code of ISO 4217 such as EUR`,
		`units:4:model: unknown code, found "embre", expected one of the table models; is it "ember"?`,
	}, faultsOf(t, bench, smallBook().with(t, "settings", "EUR", "EURO").with(t, "units", "S1,ember", "S1,embre"))); diff != "" {
		t.Errorf("faults of other tables are told too: %s", diff)
	}
	_, err := bench.Load(t.Context(), smallBook().source(t), "south bench")
	if want := `settings:value: workshop: the book is of another workshop, found "north bench", expected south bench`; err == nil || !strings.Contains(err.Error(), want) {
		t.Errorf("%v, want %s", err, want)
	}
	if all, err := bench.Workshops(t.Context()); err != nil || len(all) > 0 {
		t.Errorf("the refused books left %+v, %v", all, err)
	}
}
