package db_test

import (
	"errors"
	"fmt"
	"io/fs"
	"iter"
	"maps"
	"math/rand/v2"
	"os"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"

	"circlip/db"
	"circlip/db/dbtest"
	"circlip/inventory"
	"circlip/inventory/book"
)

// modest is a book of every table, small enough to load many times.
var modest = bigBook{units: 24, items: 20, readings: 12, jobs: 240, uses: 3, weeks: 40, workshop: "modest bench"}

// text is the whole book as papers.
func (b bigBook) text() papers {
	p := papers{}
	for table, rows := range b.makers() {
		p[table] = strings.Join(slices.Collect(rows), "\n") + "\n"
	}
	return p
}

// onHand is what a workshop's shelf holds of each item.
func (b *bench) onHand(t testing.TB, workshop int64) []string {
	t.Helper()
	return b.lines(t, `
SELECT format('%s %s', item, sum(on_hand)) FROM circlip.balance WHERE workshop = $1 GROUP BY item ORDER BY item`, workshop)
}

func (b *bench) mustBeSound(t testing.TB, workshop int64) {
	t.Helper()
	findings, err := b.Check(t.Context(), workshop)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range findings {
		t.Errorf("check: %s", f)
	}
}

func TestSavedAndLoadedIsTheSame(t *testing.T) {
	demo := papers{}
	for _, table := range book.Tables {
		text, err := os.ReadFile("../testdata/demo/" + table.Name + ".csv")
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		demo[table.Name] = string(text)
	}
	for name, p := range map[string]papers{"small": smallBook(), "audited": auditBook(t), "modest": modest.text(), "demo": demo} {
		first, second := openBench(t), openBench(t)
		was := p.load(t, first)
		once := saved(t, first, was.Workshop.ID)
		again := once.load(t, second)
		if diff := cmp.Diff(once, saved(t, second, again.Workshop.ID)); diff != "" {
			t.Errorf("%s: saved again it differs: %s", name, diff)
		}
		if diff := cmp.Diff(first.movements(t, was.Workshop.ID), second.movements(t, again.Workshop.ID)); diff != "" {
			t.Errorf("%s: the shelf differs: %s", name, diff)
		}
		if diff := cmp.Diff(first.lots(t, was.Workshop.ID), second.lots(t, again.Workshop.ID)); diff != "" {
			t.Errorf("%s: the lots differ: %s", name, diff)
		}
		back := once.load(t, first)
		for table, did := range changes(back) {
			if !strings.HasPrefix(did, "0+0+") || back.Movements > 0 {
				t.Errorf("%s: the saved book changes what it was saved from: %s %s", name, table, did)
			}
		}
		first.mustBeSound(t, was.Workshop.ID)
	}
}

// spoil puts one fault into a random cell or row of a random table, and says
// which.
func spoil(r *rand.Rand, p papers) (papers, string) {
	for {
		table := book.Tables[1+r.IntN(len(book.Tables)-1)]
		lines := strings.Split(strings.TrimSuffix(p[table.Name], "\n"), "\n")
		if len(lines) < 2 {
			continue
		}
		at := 1 + r.IntN(len(lines)-1)
		cells, columns := strings.Split(lines[at], ","), strings.Split(lines[0], ",")
		cells = append(cells, make([]string, len(columns)-len(cells))...)
		i := r.IntN(len(columns))
		column := table.Columns[slices.IndexFunc(table.Columns, func(c book.Column) bool { return c.Name == columns[i] })]
		bad, how := badCell(r, column)
		switch {
		case r.IntN(8) == 0:
			lines, how = append(lines, lines[at]), "the row stands twice"
		case bad == cells[i]:
			continue
		default:
			cells[i] = bad
			lines[at] = strings.Join(cells, ",")
		}
		spoiled := maps.Clone(p)
		spoiled[table.Name] = strings.Join(lines, "\n") + "\n"
		return spoiled, fmt.Sprintf("%s:%d:%s: %s", table.Name, at+1, column.Name, how)
	}
}

// badCell is a text that the column cannot hold.
func badCell(r *rand.Rand, c book.Column) (text, how string) {
	if c.Required && r.IntN(3) == 0 {
		return "", "blank"
	}
	switch c.Kind {
	case book.Code, book.Codes:
		if c.Refers != "" {
			return "no-such-code", "unknown code"
		}
		return strings.Repeat("x", 65), "too long a code"
	case book.Integer, book.Decimal, book.Quantity, book.Money, book.UnitCost:
		return []string{"1e3", "twelve", "--1", "0x10"}[r.IntN(4)], "no number"
	case book.Date:
		return []string{"2025-02-30", "01.02.2025", "2025-2-3"}[r.IntN(3)], "no date"
	case book.Text, book.Material:
		return "a\x01b", "a control character"
	}
	return "neither", "not a choice"
}

// A random book with one random fault among many good changes is refused
// whole.
func TestOneFaultAndNothingIsLoaded(t *testing.T) {
	bench := openBench(t)
	good := modest.text()
	first := good.load(t, bench)
	before, ledger := saved(t, bench, first.Workshop.ID), bench.movements(t, first.Workshop.ID)
	changed := maps.Clone(good)
	changed["models"] = strings.ReplaceAll(good["models"], "model,family\n", "model,family,name\n")
	changed["units"] = strings.ReplaceAll(good["units"], ",g1,", ",g9,")
	changed["season"] = strings.ReplaceAll(good["season"], "1,0.5", "1,0.25")
	changed["items"] += "item-9999,One more,seal,ea,NBR,,\n"
	changed["stock"] += "item-9999,opening,7,2025-01-06,\n"
	for seed := range uint64(24) {
		r := rand.New(rand.NewPCG(seed, 1))
		p, how := spoil(r, changed)
		report, err := bench.Load(t.Context(), p.source(t), "")
		if !errors.Is(err, inventory.ErrInvalid) {
			t.Errorf("seed %d, %s: loaded %+v, %v", seed, how, report, err)
			break
		}
		if seed%8 > 0 {
			continue
		}
		if diff := cmp.Diff(before, saved(t, bench, first.Workshop.ID)); diff != "" {
			t.Fatalf("seed %d, %s: the refused book left its mark: %s", seed, how, diff)
		}
	}
	if diff := cmp.Diff(before, saved(t, bench, first.Workshop.ID)); diff != "" {
		t.Errorf("the refused books left their mark: %s", diff)
	}
	if diff := cmp.Diff(ledger, bench.movements(t, first.Workshop.ID)); diff != "" {
		t.Errorf("the refused books moved stock: %s", diff)
	}
	if report := changed.load(t, bench); report.Movements != 1 {
		t.Errorf("without the fault the changes load: %+v", report)
	}
}

// until is what of a book was known at the end of a day.
func (p papers) until(day inventory.Date) papers {
	cut := maps.Clone(p)
	limit := day.String()
	done := map[string]bool{}
	filter := func(table string, keep func(cells []string) bool) {
		lines := strings.Split(strings.TrimSuffix(p[table], "\n"), "\n")
		kept := lines[:1:1]
		for _, line := range lines[1:] {
			if cells := strings.Split(line, ","); keep(cells) {
				kept = append(kept, strings.Join(cells, ","))
			}
		}
		cut[table] = strings.Join(kept, "\n") + "\n"
	}
	filter("readings", func(c []string) bool { return c[1] <= limit })
	filter("counts", func(c []string) bool { return c[1] <= limit })
	filter("count_parts", func(c []string) bool { return c[1] <= limit })
	filter("disposals", func(c []string) bool { return c[0] <= limit })
	filter("jobs", func(c []string) bool { // job,unit,service,booked_on,bench_date,state,done_on,done_by
		if c[6] > limit {
			c[5], c[6], c[7] = "booked", "", ""
		}
		done[c[0]] = c[5] == "done"
		return c[3] <= limit
	})
	filter("job_use", func(c []string) bool { return done[c[0]] })
	filter("orders", func(c []string) bool { // order,item,supplier,packs,placed_on,due_on,received_on
		if c[6] > limit {
			c[6] = ""
		}
		return c[4] <= limit
	})
	return cut
}

// A book told in parts, as the weeks go by, comes to the same shelf as one told
// at once.
func TestToldInPartsTheShelfIsTheSame(t *testing.T) {
	whole, parts := openBench(t), openBench(t)
	p := modest.text()
	want := p.load(t, whole)
	var got db.LoadReport
	for week := 5; week < modest.weeks; week += 7 {
		got = p.until(bigStart+inventory.Date(7*week)).load(t, parts)
	}
	if got = p.load(t, parts); got.Movements == 0 || got.Movements > want.Movements/2 {
		t.Errorf("the last part moved %d, all of it %d", got.Movements, want.Movements)
	}
	if diff := cmp.Diff(whole.onHand(t, want.Workshop.ID), parts.onHand(t, got.Workshop.ID)); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff(saved(t, whole, want.Workshop.ID), saved(t, parts, got.Workshop.ID)); diff != "" {
		t.Error(diff)
	}
	parts.mustBeSound(t, got.Workshop.ID)
}

// What a shop was at the end of a day is what a book of that day comes to.
func TestAShopOfThePastIsTheBookOfThatDay(t *testing.T) {
	now := openBench(t)
	p := modest.text()
	report := p.load(t, now)
	for _, week := range []int{0, 11, 39, 60} {
		day := bigStart + inventory.Date(7*week+3)
		then := openBench(t)
		cut := p.until(day).load(t, then)
		want, err := then.Shop(t.Context(), cut.Workshop.ID, day)
		if err != nil {
			t.Fatal(err)
		}
		got, err := now.Shop(t.Context(), report.Workshop.ID, day)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(want, got, cmpopts.EquateEmpty()); diff != "" {
			t.Errorf("as of %s: (- the book of that day, + of now): %s", day, diff)
		}
		if len(got.Jobs) == 0 || len(got.Units) != modest.units {
			t.Errorf("as of %s: %d jobs and %d units", day, len(got.Jobs), len(got.Units))
		}
	}
}

func TestTwoLoadsOfOneWorkshopTakeTurns(t *testing.T) {
	bench := openBench(t)
	p := modest.text()
	reports := make([]db.LoadReport, 4)
	var group sync.WaitGroup
	for i := range reports {
		group.Go(func() {
			var err error
			if reports[i], err = bench.Load(t.Context(), p.source(t), ""); err != nil {
				t.Error(err)
			}
		})
	}
	group.Wait()
	created, moved := 0, map[int]int{}
	for _, r := range reports {
		moved[r.Movements]++
		if r.Created {
			created++
		}
	}
	if created != 1 || moved[0] != len(reports)-1 {
		t.Errorf("%d of them made the workshop, movements %v", created, moved)
	}
	bench.mustBeSound(t, reports[0].Workshop.ID)
}

// broken is a source whose table ends in a failure to read.
type broken struct {
	book.Source
	table string
}

var errDisk = errors.New("the disk is gone")

func (b broken) Rows(table string) iter.Seq2[book.Row, error] {
	if table != b.table {
		return b.Source.Rows(table)
	}
	return func(yield func(book.Row, error) bool) {
		for row := range b.Source.Rows(table) {
			if !yield(row, nil) || row.Number == 3 && !yield(book.Row{}, errDisk) {
				return
			}
		}
	}
}

func TestAReadThatFailsLeavesNothing(t *testing.T) {
	bench := openBench(t)
	for _, table := range []string{"settings", "items", "counts"} {
		_, err := bench.Load(t.Context(), broken{smallBook().source(t), table}, "")
		if !errors.Is(err, errDisk) || errors.Is(err, inventory.ErrInvalid) {
			t.Errorf("table %s: %v, want the failure to read", table, err)
		}
	}
	if all, err := bench.Workshops(t.Context()); err != nil || len(all) > 0 {
		t.Errorf("left %+v, %v", all, err)
	}
}

// A session that is killed at any moment of a load leaves all of it or nothing,
// and loading again comes to the same.
func TestAKilledLoadIsWholeOrAbsent(t *testing.T) {
	p := modest.text()
	killed := 0
	for _, pause := range []time.Duration{5, 20, 40, 70, 110, 160} {
		dsn := dbtest.Migrated(t)
		store, admin := dbtest.OpenDSN(t, dsn), dbtest.Connect(t, dsn)
		done := make(chan error)
		go func() {
			_, err := store.Load(t.Context(), p.source(t), "")
			done <- err
		}()
		time.Sleep(pause * time.Millisecond)
		if _, err := admin.Exec(t.Context(), `
SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()`); err != nil {
			t.Fatal(err)
		}
		first := <-done
		all, err := store.Workshops(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		if first != nil {
			killed++
		}
		if first == nil && len(all) != 1 || first != nil && len(all) > 0 && len(saved(t, &bench{store, admin}, all[0].ID)["jobs"]) < len(p["jobs"]) {
			t.Errorf("killed after %d ms (%v): found %+v", pause, first, all)
		}
		report, err := store.Load(t.Context(), p.source(t), "")
		if err != nil {
			t.Fatal(err)
		}
		if len(all) > 0 != (report.Movements == 0) {
			t.Errorf("killed after %d ms (%v): the second load moved %d, the first left %+v", pause, first, report.Movements, all)
		}
	}
	if killed == 0 {
		t.Error("no load was killed")
	}
}
