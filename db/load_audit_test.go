package db_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"circlip/db"
)

// mustRefuse holds each book that the edits make of one against the faults that it
// must be told.
func mustRefuse(t *testing.T, bench *bench, p papers, cases []refusedBook) {
	t.Helper()
	for _, tc := range cases {
		edited := p
		for _, e := range tc.edits {
			edited = edited.with(t, e.table, e.old, e.replacement)
		}
		if diff := cmp.Diff(tc.want, faultsOf(t, bench, edited)); diff != "" {
			t.Errorf("%s: (- want, + got)\n%s", tc.rule, diff)
		}
	}
}

type refusedBook struct {
	rule  string
	edits []edit
	want  []string
}

func TestFaultsOfContainersPartsAndDisposals(t *testing.T) {
	mustRefuse(t, openBench(t), auditBook(t), []refusedBook{
		{"a container stands once", []edit{{"containers", "", "tub,,,1,\n"}},
			[]string{`containers:4:container: the same key as in row 3, found "tub", expected each key once`}},
		{"it is for a known item", []edit{{"containers", "tub,,grease", "tub,,greese"}},
			[]string{`containers:3:item: unknown code, found "greese", expected one of the table items; is it "grease"?`}},
		{"it has an empty weight", []edit{{"containers", "180.5", ""}, {"count_parts", ",2,,250,", ",2,can-1,250,"}},
			[]string{`containers:2:tare_g: blank, expected a number with a decimal point from 0 to 10000000`}},
		{"a part stands once", []edit{{"count_parts", "", "grease,2026-03-05,2,,1,,,,\n"}},
			[]string{`count_parts:4:item: the same key as in row 3, found "grease / 2026-03-05 / 2", expected each key once`}},
		{"it is of a known item and container", []edit{{"count_parts", "grease,2026-03-05,1,tub", "grise,2026-03-05,1,tubb"}},
			[]string{
				`count_parts:2:container: unknown code, found "tubb", expected one of the table containers; is it "tub"?`,
				`count_parts:2:date: a part of no count, found "2026-03-05", expected a day on which the table counts has a row of grise`,
				`count_parts:2:item: unknown code, found "grise", expected one of the table items`,
				`count_parts:3:number: not the next of the count, found "2", expected 1`}},
		{"of a count", []edit{{"counts", "grease,2026-03-05", "grease,2026-03-06"}},
			[]string{
				`counts:4:qty: blank, and so are the weights, expected a quantity, gross_g and tare_g, or rows of the count in count_parts`,
				`count_parts:2:date: a part of no count, found "2026-03-05", expected a day on which the table counts has a row of grease`,
				`count_parts:3:date: a part of no count, found "2026-03-05", expected a day on which the table counts has a row of grease`}},
		{"which is told once", []edit{{"counts", "grease,2026-03-05,,,,", "grease,2026-03-05,750,,,"}},
			[]string{`counts:4:qty: told beside its containers in count_parts, found "750", expected a blank cell, since the count is the sum of its parts`}},
		{"by weight too", []edit{{"counts", "grease,2026-03-05,,,,", "grease,2026-03-05,,800,50,"}},
			[]string{`counts:4:gross_g: told beside its containers in count_parts, found "800", expected a blank cell, since the count is the sum of its parts`}},
		{"numbers follow each other", []edit{{"count_parts", ",2,,250", ",3,,250"}},
			[]string{`count_parts:3:number: not the next of the count, found "3", expected 2`}},
		{"a container is for its own item", []edit{{"containers", "tub,,grease", "tub,,oil-15"}},
			[]string{`count_parts:2:container: a container for oil-15, found "tub", expected one for grease, or for anything`}},
		{"and weighs less than it does with what is in it", []edit{{"containers", "tub,,grease,40", "tub,,grease,540.5"}},
			[]string{`count_parts:2:gross_g: less than the tare of tub, found "540", expected 540.5 or more`}},
		{"pieces are not weighed", []edit{{"counts", "grease,2026", "ring-10,2026"}, {"count_parts", "grease,2026-03-05,1,tub", "ring-10,2026-03-05,1,can-1"},
			{"count_parts", "grease,2026", "ring-10,2026"}},
			[]string{`count_parts:2:gross_g: an item kept in ea was weighed, found "ring-10", expected a number of pieces in qty`}},
		{"millilitres are weighed with a density", []edit{{"counts", "grease,2026", "oil-20,2026"}, {"count_parts", "grease,2026-03-05,1,tub", "oil-20,2026-03-05,1,can-1"},
			{"count_parts", "grease,2026", "oil-20,2026"}},
			[]string{`count_parts:2:gross_g: an item kept in ml was weighed, but has no density, found "oil-20", expected density_kg_m3 of the item, or a quantity in qty`}},
		{"a count is no more than an item can have", []edit{{"count_parts", ",2,,250", ",2,,1000000000"}},
			[]string{`counts:4:qty: more than an item can have, found "1000000500 in its parts", expected at most 1000000000`}},
		{"whatever its density", []edit{{"items", "870,15.2", "0.0001,15.2"}, {"counts", "grease,2026", "oil-15,2026"},
			{"count_parts", "grease,2026-03-05,1,tub", "oil-15,2026-03-05,1,can-1"}, {"count_parts", "grease,2026", "oil-15,2026"}},
			[]string{
				`counts:2:gross_g: invalid: found 1.53e+10 ml on the scale, expected at most 1000000000, found "oil-15", expected weights that can be`,
				`count_parts:2:gross_g: invalid: found 3.595e+09 ml on the scale, expected at most 1000000000, found "oil-15", expected weights that can be`}},
		{"a part at fault is told once", []edit{{"count_parts", "540,", "54O,"}},
			[]string{`count_parts:2:gross_g: not a number, found "54O", expected a number with a decimal point from 0 to 10000000`}},
		{"so is a count at fault", []edit{{"counts", "grease,2026-03-05", "grease,2026-03-35"}},
			[]string{`counts:4:date: no such day, found "2026-03-35", expected a day that exists, as YYYY-MM-DD`}},
		{"a disposal stands once", []edit{{"disposals", "2026-03-01,2,", "2026-03-01,1,"}},
			[]string{`disposals:4:date: the same key as in row 3, found "2026-03-01 / 1", expected each key once`}},
		{"disposals of a day follow each other", []edit{{"disposals", "2026-03-01,2,", "2026-03-01,4,"}},
			[]string{`disposals:4:number: not the next of the day, found "4", expected 2`}},
	})
}

// What was counted stands, container by container; what was gathered may be
// written down better, but stays what it is.
func TestFaultsAgainstRecordedPartsAndDisposals(t *testing.T) {
	bench := openBench(t)
	workshop := auditBook(t).load(t, bench).Workshop.ID
	before := saved(t, bench, workshop)
	mustRefuse(t, bench, auditBook(t), []refusedBook{
		{"a part keeps what it says", []edit{{"count_parts", "1,tub,,540,,21,2026-02-10", "1,can-1,,541,50,,2026-02-11"}},
			[]string{
				`count_parts:2:container: already recorded otherwise, found "can-1", expected tub as recorded; correct it by a count of another day`,
				`count_parts:2:gross_g: already recorded otherwise, found "541", expected 540 as recorded; correct it by a count of another day`,
				`count_parts:2:opened_on: already recorded otherwise, found "2026-02-11", expected 2026-02-10 as recorded; correct it by a count of another day`,
				`count_parts:2:tare_g: already recorded otherwise, found "50", expected 40 as recorded; correct it by a count of another day`,
				`count_parts:2:temp_c: already recorded otherwise, found "nothing", expected 21 as recorded; correct it by a count of another day`}},
		{"whether it was weighed or measured", []edit{{"count_parts", "2,,250,,,,", "2,,,290,40,,"}},
			[]string{
				`count_parts:3:gross_g: already recorded otherwise, found "290", expected nothing as recorded; correct it by a count of another day`,
				`count_parts:3:qty: already recorded otherwise, found "nothing", expected 250 as recorded; correct it by a count of another day`,
				`count_parts:3:tare_g: already recorded otherwise, found "40", expected nothing as recorded; correct it by a count of another day`}},
		{"a count gets no more parts", []edit{{"count_parts", "", "grease,2026-03-05,3,,1,,,,\n"}},
			[]string{`count_parts:4:number: already recorded otherwise, found "3", expected none of this number as recorded; correct it by a count of another day`}},
		{"nor any where it had none", []edit{{"counts", "wiper-35,2026-02-28,9", "wiper-35,2026-02-28,"}, {"count_parts", "", "wiper-35,2026-02-28,1,,9,,,,\n"}},
			[]string{
				`counts:3:qty: already recorded otherwise, found "nothing", expected 9 as recorded; correct it by a count of another day`,
				`count_parts:4:number: already recorded otherwise, found "1", expected none of this number as recorded; correct it by a count of another day`}},
		{"nor a quantity beside them", []edit{{"counts", "grease,2026-03-05,", "grease,2026-03-05,750"}},
			[]string{
				`counts:4:qty: already recorded otherwise, found "750", expected nothing as recorded; correct it by a count of another day`,
				`counts:4:qty: told beside its containers in count_parts, found "750", expected a blank cell, since the count is the sum of its parts`}},
		{"a disposal of another kind is another", []edit{{"disposals", "2026-02-01,1,oil,gathered,750,,,", "2026-02-01,1,grease,handed-over,750,,Dray,"}},
			[]string{
				`disposals:2:moment: already recorded otherwise, found "handed-over", expected gathered as recorded; give another disposal the next number of the day`,
				`disposals:2:stream: already recorded otherwise, found "grease", expected oil as recorded; give another disposal the next number of the day`}},
		{"and follows those of its day", []edit{{"disposals", "", "2026-03-01,4,oil,gathered,5,,,,\n"}},
			[]string{`disposals:5:number: not the next of the day, found "4", expected 3`}},
	})
	if diff := cmp.Diff(before, saved(t, bench, workshop)); diff != "" {
		t.Errorf("the refused books left their mark: %s", diff)
	}
}

// A container that weighs something else, or is for something else, later
// changes no count that it was part of, whichever way that is told again.
func TestAPartKeepsTheTareItWasReckonedWith(t *testing.T) {
	bench := openBench(t)
	p := auditBook(t)
	workshop := p.load(t, bench).Workshop.ID
	parts := saved(t, bench, workshop)["count_parts"]
	if want := "grease,2026-03-05,1,tub,,540,40,21,2026-02-10\n"; !strings.Contains(parts, want) {
		t.Errorf("saved %q, want the tare in it: %q", parts, want)
	}
	for _, tub := range []string{"tub,,grease,45", "tub,,grease,700", "tub,,oil-15,700"} {
		changed := p.with(t, "containers", "tub,,grease,40", tub)
		did := changes(changed.load(t, bench))
		if did["containers"] != "0+1+1, 0 missing" || did["count_parts"] != "0+0+2, 0 missing" {
			t.Errorf("%s: containers %s, parts %s, want one changed and every part the same", tub, did["containers"], did["count_parts"])
		}
		changed["count_parts"] = parts
		if did := changes(changed.load(t, bench)); did["count_parts"] != "0+0+2, 0 missing" {
			t.Errorf("%s, tares told: parts %s, want every one the same", tub, did["count_parts"])
		}
		if now := saved(t, bench, workshop)["count_parts"]; now != parts {
			t.Errorf("%s: the parts are now %q, want %q", tub, now, parts)
		}
	}
	later := papers{"counts": "item,date\ngrease,2026-03-09\n", "count_parts": "item,date,number,container,gross_g\ngrease,2026-03-09,1,can-1,930.5\n"}
	later.load(t, bench)
	if now := saved(t, bench, workshop)["count_parts"]; !strings.Contains(now, "grease,2026-03-09,1,can-1,,930.5,180.5,,\n") {
		t.Errorf("a container that the workshop has is known to a book without it, but: %q", now)
	}
}

// A disposal may be weighed later, or get the number of its paper; what a book
// leaves blank stays.
func TestADisposalIsWrittenDownBetter(t *testing.T) {
	bench := openBench(t)
	workshop := auditBook(t).load(t, bench).Workshop.ID
	report := papers{"disposals": "date,number,stream,moment,volume_ml,weight_g,document\n" +
		"2026-02-01,1,oil,gathered,760,,W-3\n2026-03-01,2,oil,gathered,,75,\n2026-03-01,3,grease,gathered,,5,\n"}.load(t, bench)
	if did := changes(report)["disposals"]; did != "1+2+0, 1 missing" {
		t.Errorf("%s, want one new and two changed", did)
	}
	want := `date,number,stream,moment,volume_ml,weight_g,carrier,document,note
2026-02-01,1,oil,gathered,760,,,W-3,first can
2026-03-01,1,solvent,handed-over,,1200.5,Dray and Daughter,W-17,
2026-03-01,2,oil,gathered,80,75,,,
2026-03-01,3,grease,gathered,,5,,,
`
	if diff := cmp.Diff(want, saved(t, bench, workshop)["disposals"]); diff != "" {
		t.Error(diff)
	}
}

// Who did a job is not lost to a book that does not say so, and goes with the
// day it was done.
func TestWhoDidAJobStaysWhereTheBookIsBlank(t *testing.T) {
	bench := openBench(t)
	workshop := auditBook(t).load(t, bench).Workshop.ID
	hand := func(what, want string) {
		t.Helper()
		got := bench.lines(t, `SELECT coalesce(done_by, 'nobody') FROM circlip.job WHERE workshop = $1 AND job = 'J1'`, workshop)[0]
		if got != want {
			t.Errorf("%s: done by %s, want %s", what, got, want)
		}
	}
	hand("as told", "Ann")
	smallBook().load(t, bench)
	hand("an older book", "Ann")
	auditBook(t).with(t, "jobs", "done,2026-01-15,Ann", "done,2026-01-15,Ben").load(t, bench)
	hand("a correction", "Ben")
	with := smallBook().with(t, "job_use", "J1,oil-15,,21.5\nJ1,wiper-35,W1,2\n", "")
	other := openBench(t)
	p := auditBook(t)
	p["job_use"] = with["job_use"]
	workshop = p.load(t, other).Workshop.ID
	p.with(t, "jobs", "done,2026-01-15,Ann", "booked,,").load(t, other)
	bench = other
	hand("not done after all", "nobody")
}

// A bill that was revised since the book was written stays revised; the book
// says nothing of it, so that it has no news of the line that was ended.
func TestARevisedBillStaysRevised(t *testing.T) {
	bench := openBench(t)
	workshop := auditBook(t).load(t, bench).Workshop.ID
	may, june := on(time.May, 1), on(time.June, 1)
	bench.performed(t, workshop,
		db.ReviseBill{Service: "lower", Model: "*", Item: "oil-15", Qty: 230, From: may, Note: "as weighed", On: on(time.April, 20)},
		db.ReviseBill{Service: "lower", Model: "*", Item: "oil-15", Qty: 240, From: june, On: on(time.May, 20)})
	before := saved(t, bench, workshop)
	for _, line := range []string{"lower,*,oil-15,,20,1,0.05,2026-05-01,measured in spring\n",
		"lower,*,oil-15,2026-05-01,23,1,0.05,2026-06-01,as weighed\n", "lower,*,oil-15,2026-06-01,24,1,0.05,,\n"} {
		if !strings.Contains(before["bom"], line) {
			t.Errorf("the bill is %q, want %q in it", before["bom"], line)
		}
	}
	if did := changes(auditBook(t).load(t, bench))["bom"]; did != "0+0+5, 2 missing" {
		t.Errorf("the older book: %s, want nothing new or changed", did)
	}
	if diff := cmp.Diff(before, saved(t, bench, workshop)); diff != "" {
		t.Errorf("the older book changed the bill: %s", diff)
	}
	mustRefuse(t, bench, auditBook(t), []refusedBook{
		{"a line does not last beyond one that the workshop has", []edit{{"bom", "20,,0.05,,", "20,,0.05,2026-05-02,"}},
			[]string{`bom:2:from: holds on the same days as a line that the workshop has from 2026-05-01 to 2026-06-01, found "always", expected one line of a service, model and item a day`}},
	})
	if did := changes(auditBook(t).with(t, "bom", "20,,0.05,,", "20,,0.05,2026-04-01,").load(t, bench))["bom"]; did != "0+1+4, 2 missing" {
		t.Errorf("a line that the book ends itself: %s, want it changed", did)
	}
}

// A density that is put right later leaves what was weighed as it was found, and
// that is told.
func TestADensityChangedAfterAWeighingIsTold(t *testing.T) {
	bench := openBench(t)
	p := auditBook(t)
	workshop := p.load(t, bench).Workshop.ID
	counts := saved(t, bench, workshop)["counts"]
	told := func(report db.LoadReport) (about []string) {
		for _, w := range report.Warnings {
			if strings.Contains(w, "density_kg_m3") {
				about = append(about, w)
			}
		}
		return about
	}
	if again := told(p.load(t, bench)); again != nil {
		t.Errorf("loaded again: %q, want no word of densities", again)
	}
	want := []string{"items: oil-15: density_kg_m3 was 870 and is 880: what was weighed before (containers: 1) stays what it came to, but a saved book that is loaded elsewhere reckons it anew: count it once more"}
	if diff := cmp.Diff(want, told(p.with(t, "items", "870", "880").load(t, bench))); diff != "" {
		t.Error(diff)
	}
	if now := saved(t, bench, workshop)["counts"]; now != counts {
		t.Errorf("the counts are now %q, want %q", now, counts)
	}
}
