package db_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"circlip/db"
	"circlip/inventory"
)

// jobsOf are the jobs of a workshop with their state, days and uses, one a line.
func (b *bench) jobsOf(t testing.TB, workshop int64) string {
	t.Helper()
	return strings.Join(b.lines(t, `
SELECT concat_ws(' ', j.job, j.state, 'bench', j.bench_date, 'done ' || j.done_on, 'off ' || j.cancelled_on,
	(SELECT string_agg(concat_ws(' ', u.item, nullif(u.lot, ''), u.qty), ', ' ORDER BY u.item, u.lot) FROM circlip.job_use AS u
		WHERE u.workshop = j.workshop AND u.job = j.job))
FROM circlip.job AS j WHERE j.workshop = $1 ORDER BY j.job`, workshop), "\n")
}

// lifeOfJobs are acts on the jobs of the small book and on new ones.
func lifeOfJobs() []db.Act {
	march := func(day int) inventory.Date { return on(time.March, day) }
	bar, clicks, spacers := 5.8, 9, 2
	return []db.Act{
		db.BookJob{Job: "J8", Unit: "F1", Services: []string{"lower"}, On: march(3), Bench: march(9),
			Reading: &inventory.Reading{Hours: 4.5},
			Before:  &inventory.Setup{AirBar: &bar, ReboundClicks: &clicks, Compression: "half open", VolumeSpacers: &spacers, Note: "squeaks"}},
		db.BookJob{Job: "J9", Model: "fell-150", Services: []string{"full"}, On: march(3), Bench: march(10)},
		db.SetAside{Job: "J8", On: march(4), Lines: []db.Line{{Item: "wiper-35", Qty: 2}}},
		db.MoveJob{Job: "J8", On: march(5), Bench: march(11)},
		db.CancelJob{Job: "J3", On: march(6)},
		db.CancelJob{Job: "J9", NoShow: true, On: march(10)},
		db.Take{Job: "J8", On: march(11), Lines: []db.Line{{Item: "oil-15", Qty: 200}}},
		db.CloseJob{Job: "J8", On: march(11), Used: []db.Line{{Item: "wiper-35", Qty: 2}}, Wasted: []db.Line{{Item: "wiper-35", Qty: 1}},
			Reading: &inventory.Reading{Hours: 5}, After: &inventory.Setup{ReboundClicks: &clicks}},
		db.CorrectJob{Job: "J8", On: march(12), Reason: "one was still good", More: []db.Line{{Item: "grease", Qty: 10}},
			Less: []db.Line{{Item: "wiper-35", Qty: 1}}},
		db.CorrectJob{Job: "J1", On: march(12), Reason: "never used", Less: []db.Line{{Item: "wiper-35", Lot: "W1", Qty: 2}}},
	}
}

func TestWhatActsDidToJobsComesBackWithTheBook(t *testing.T) {
	first, second := openBench(t), openBench(t)
	was := orderingBook(t).load(t, first).Workshop.ID
	first.performed(t, was, lifeOfJobs()...)
	book := saved(t, first, was)
	is := book.load(t, second).Workshop.ID
	theSame(t, "after the life of jobs", first, second, was, is, on(time.April, 1))
	for name, b := range map[string]*bench{"where it came from": first, "where it was loaded": second} {
		again := book.load(t, b)
		for table, did := range changes(again) {
			if !strings.HasPrefix(did, "0+0+") || !strings.HasSuffix(did, ", 0 missing") || again.Movements > 0 {
				t.Errorf("loaded again %s: %s %s, %d movements", name, table, did, again.Movements)
			}
		}
		b.mustBeSound(t, again.Workshop.ID)
	}
	setups := second.shop(t, is, on(time.April, 1)).Setups
	if len(setups) != 2 || setups[0].After || !setups[1].After || setups[0].Unit != "F1" || *setups[0].AirBar != 5.8 || setups[1].AirBar != nil {
		t.Errorf("setups %+v, want that of J8 as it came and as it left", setups)
	}
	if early := second.shop(t, is, on(time.March, 10)).Setups; len(early) != 1 {
		t.Errorf("%d setups the day before it left, want 1", len(early))
	}
}

// Neither the book that a workshop began with nor one saved in between takes
// back what acts did to its jobs.
func TestAnOlderBookLeavesJobsAsActsMadeThem(t *testing.T) {
	bench := openBench(t)
	p := smallBook()
	w := p.load(t, bench).Workshop.ID
	acts := lifeOfJobs()
	bench.performed(t, w, acts[:4]...)
	between := saved(t, bench, w)
	bench.performed(t, w, acts[4:]...)
	bench.performed(t, w, db.BookJob{Job: "J10", Model: "ember", Services: []string{"can"}, On: on(time.March, 2), Bench: on(time.March, 20)})
	want, ledger := bench.jobsOf(t, w), bench.movements(t, w)
	for name, old := range map[string]papers{"that it began with": p, "saved in between": between} {
		if report := old.load(t, bench); report.Movements != 0 || changes(report)["jobs"][:4] != "0+0+" {
			t.Errorf("the book %s: %v, %d movements", name, changes(report), report.Movements)
		}
		if diff := cmp.Diff(want, bench.jobsOf(t, w)); diff != "" {
			t.Errorf("the book %s: %s", name, diff)
		}
		if diff := cmp.Diff(ledger, bench.movements(t, w)); diff != "" {
			t.Errorf("the book %s: %s", name, diff)
		}
	}
	bench.mustBeSound(t, w)
}

func TestABookThatSaysSomethingNewOfAJob(t *testing.T) {
	bench := openBench(t)
	header := func(p papers) papers { return p.with(t, "jobs", "done_on\n", "done_on,cancelled_on\n") }
	p := smallBook()
	w := p.load(t, bench).Workshop.ID
	const j3 = "J3,S1,ember,can,2026-02-20,2026-03-10,booked,\n"
	for _, tc := range []struct {
		rule string
		act  db.Act
		row  string
		want string
	}{
		{"an act puts it off, and the book says as before", db.MoveJob{Job: "J3", On: on(time.March, 3), Bench: on(time.March, 12)},
			j3, "J3 booked bench 2026-03-12"},
		{"the book puts it off too", nil, "J3,S1,ember,can,2026-02-20,2026-03-16,booked,\n", "J3 booked bench 2026-03-16"},
		{"the book calls it off", nil, "J3,S1,ember,can,2026-02-20,2026-03-16,cancelled,,2026-03-04\n", "J3 cancelled bench 2026-03-16 off 2026-03-04"},
		{"a blank day is no news", nil, "J3,S1,ember,can,2026-02-20,2026-03-16,cancelled,\n", "J3 cancelled bench 2026-03-16 off 2026-03-04"},
		{"and on again", nil, "J3,S1,ember,can,2026-02-20,2026-03-16,booked,\n", "J3 booked bench 2026-03-16"},
		{"an act calls it off", db.CancelJob{Job: "J3", On: on(time.March, 5)},
			"J3,S1,ember,can,2026-02-20,2026-03-16,booked,\n", "J3 cancelled bench 2026-03-16 off 2026-03-05"},
		{"it came after all", nil, "J3,S1,ember,can,2026-02-20,2026-03-16,done,2026-03-16\n", "J3 done bench 2026-03-16 done 2026-03-16"},
	} {
		if tc.act != nil {
			bench.performed(t, w, tc.act)
		}
		header(p.with(t, "jobs", j3, tc.row)).load(t, bench)
		if got := bench.jobsOf(t, w); !strings.Contains(got+"\n", tc.want+"\n") {
			t.Errorf("%s: found\n%s\nwant %s", tc.rule, got, tc.want)
		}
	}
}

// What a job took by hand while it was booked is part of what its card says.
func TestWhatAJobTookBeforeIsToldOnce(t *testing.T) {
	for _, tc := range []struct {
		rule, use string
		want      []string
	}{
		{"all of it", "J3,grease,,4.5\n", nil},
		{"of whatever lot", "J3,grease,G1,4.5\n", nil},
		{"and some more", "J3,grease,,6\n", []string{"grease G1 3 shelf>job 15 on 2026-03-10 J3"}},
		{"in two rows", "J3,grease,PO1,2\nJ3,grease,,4\n", []string{"grease G1 3 shelf>job 15 on 2026-03-10 J3"}},
		{"something else", "J3,grease,,4.5\nJ3,ring-10,,1\n", []string{"ring-10 R1 2 shelf>job 1 on 2026-03-10 J3"}},
	} {
		bench := openBench(t)
		p := smallBook()
		w := p.load(t, bench).Workshop.ID
		bench.performed(t, w, db.Take{Job: "J3", On: on(time.March, 9), Lines: []db.Line{{Item: "grease", Lot: "G1", Qty: 45}}})
		before := strings.Join(bench.movements(t, w), "\n")
		p.with(t, "jobs", "2026-03-10,booked,", "2026-03-10,done,2026-03-10").with(t, "job_use", "", tc.use).load(t, bench)
		var news []string
		for _, m := range bench.movements(t, w) {
			if !strings.Contains(before, m) {
				news = append(news, m)
			}
		}
		if diff := cmp.Diff(tc.want, news); diff != "" {
			t.Errorf("%s: %s", tc.rule, diff)
		}
		bench.mustBeSound(t, w)
	}
}

// A job that a book ends or puts off has nothing set aside any more, and may
// use just that.
func TestABookFreesWhatWasSetAside(t *testing.T) {
	for _, tc := range []struct {
		rule, row, use string
		kept           int
	}{
		{"done", "J3,S1,ember,can,2026-02-20,2026-03-10,done,2026-03-10\n", "J3,ring-10,,30\n", 0},
		{"called off", "J3,S1,ember,can,2026-02-20,2026-03-10,cancelled,\n", "", 0},
		{"put off", "J3,S1,ember,can,2026-02-20,2026-03-11,booked,\n", "", 0},
		{"as before", "J3,S1,ember,can,2026-02-20,2026-03-10,booked,\n", "", 30},
	} {
		bench := openBench(t)
		p := smallBook()
		w := p.load(t, bench).Workshop.ID
		bench.performed(t, w, db.SetAside{Job: "J3", On: on(time.March, 5), Lines: []db.Line{{Item: "ring-10", Qty: 30}}})
		report := p.with(t, "jobs", "J3,S1,ember,can,2026-02-20,2026-03-10,booked,\n", tc.row).with(t, "job_use", "", tc.use).load(t, bench)
		kept := 0
		for _, l := range bench.shop(t, w, on(time.April, 1)).Lots {
			for _, s := range l.SetAside {
				kept += int(s.Qty)
			}
		}
		const told = "jobs: no longer booked for the day that parts were set aside for, which are free again: J3"
		if kept != tc.kept || (len(report.Warnings) == 1 && report.Warnings[0] == told) != (tc.kept == 0) {
			t.Errorf("%s: %d kept, told %q; want %d", tc.rule, kept, report.Warnings, tc.kept)
		}
		bench.mustBeSound(t, w)
	}
}

func TestFaultsAgainstJobsThatActsClosed(t *testing.T) {
	bench := openBench(t)
	p := smallBook()
	w := p.load(t, bench).Workshop.ID
	bench.performed(t, w, db.CloseJob{Job: "J3", On: on(time.March, 10), Used: []db.Line{{Item: "grease", Qty: 45}}})
	const booked = "2026-03-10,booked,\n"
	for _, tc := range []struct {
		rule  string
		edits []edit
		want  []string
	}{
		{"it stays done on its day", []edit{{"jobs", booked, "2026-03-10,done,2026-03-09\n"}},
			[]string{`jobs:4:done_on: what the job took is already recorded on 2026-03-10, found "2026-03-09", expected 2026-03-10; correct what it took by a count or a reversing movement`}},
		{"it took what it took", []edit{{"jobs", booked, "2026-03-10,done,2026-03-10\n"}, {"job_use", "", "J3,ring-10,,1\n"}},
			[]string{`job_use:5:job: a job whose use was recorded when it was closed, found "J3", expected what it took as recorded; correct the job by what it took more or less`}},
		{"and so much", []edit{{"jobs", booked, "2026-03-10,done,2026-03-10\n"}, {"job_use", "", "J3,grease,G1,5\n"}},
			[]string{`job_use:5:qty: already recorded otherwise, found "5", expected 4.5 as recorded; correct it by a count or a reversing movement`}},
	} {
		q := p
		for _, e := range tc.edits {
			q = q.with(t, e.table, e.old, e.replacement)
		}
		if diff := cmp.Diff(tc.want, faultsOf(t, bench, q)); diff != "" {
			t.Errorf("%s: (- want, + got)\n%s", tc.rule, diff)
		}
	}
}
