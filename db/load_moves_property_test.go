package db_test

import (
	"cmp"
	"errors"
	"fmt"
	"maps"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/google/uuid"

	"circlip/db"
	"circlip/inventory"
)

// turmoil is a workshop whose book and acts come in any order and on any day.
type turmoil struct {
	*rand.Rand
	book     papers
	workshop int64
	did      map[string]int // acts that were not refused
	refused  int
	loads    int
}

const turmoilSteps = 48

// turmoilBook is the ordering book with what counts in parts need.
func turmoilBook(t testing.TB) papers {
	p := orderingBook(t)
	p["count_parts"] = "item,date,number,container,qty,gross_g,tare_g,temp_c,opened_on\n"
	return p
}

var turmoilItems = []string{"wiper-35", "oil-15", "grease", "kit-35"}

// step is an act, or a row of the book that is told late. Acts that the shelf
// refuses are as good as none.
func (u *turmoil) step(t testing.TB, bench *bench, n int) {
	t.Helper()
	day := on(time.February, 1) + inventory.Date(u.IntN(60))
	item := turmoilItems[u.IntN(len(turmoilItems))]
	lot := []string{"", "W1", "O1", "PO1", fmt.Sprint("L", u.IntN(4))}[u.IntN(5)]
	qty := inventory.Quantity(1 + u.IntN(30))
	late, was := "", maps.Clone(u.book)
	var act db.Act
	switch u.IntN(23) {
	case 0, 1:
		act = db.Receive{Item: item, Lot: fmt.Sprint("L", u.IntN(4)), Qty: qty, Order: fmt.Sprint("PO", 10+n), On: day, Expires: on(time.December, 1)}
	case 2, 20:
		act = db.Take{Job: []string{"J3", "B0", "B1"}[u.IntN(3)], On: day, Lines: []db.Line{{Item: item, Lot: lot, Qty: 1 + qty%3}}}
	case 3:
		act = db.Waste{Item: item, Lot: lot, Qty: qty, Ref: "torn", On: day}
	case 4:
		act = db.Count{Item: item, Lot: lot, Found: qty, Ref: "look", On: day}
	case 18:
		act = u.countInParts(item, qty, day)
	case 19:
		if u.IntN(2) == 0 {
			ml := float64(qty)
			act = db.Dispose{Disposal: inventory.Disposal{Date: day, Stream: inventory.UsedOil, VolumeML: &ml, Note: fmt.Sprint("can ", n)}}
			break
		}
		act = db.ReviseBill{Service: "lower", Model: "*", Item: "oil-15", Qty: 190 + qty, From: day, Note: fmt.Sprint("try ", n), On: day}
	case 5, 6:
		act = db.Reverse{Item: item, Lot: fmt.Sprint("L", u.IntN(4)), Seq: int64(1 + u.IntN(4)), On: day}
	case 7:
		act = db.OpenContainer{Item: item, Lot: lot, Qty: qty, Until: day + 90, On: day}
	case 8:
		late = "counts"
		if u.IntN(2) == 0 {
			u.book[late] += fmt.Sprintf("%s,%s,%d,,,\n", item, day, qty)
			break
		}
		u.book[late] += fmt.Sprintf("%s,%s,,,,\n", item, day)
		u.book["count_parts"] += fmt.Sprintf("%s,%s,1,can-1,%d,,,,\n%s,%s,2,,%d,,,,%s\n", item, day, qty, item, day, qty%7, day-3)
	case 9:
		late = "orders"
		supplier := map[string]string{"oil-15": "cobbet", "grease": "cobbet"}[item]
		u.book[late] += fmt.Sprintf("PO%d,%s,%s,1,2026-01-20,,%s,1,\n", 200+n, item, cmp.Or(supplier, "ravelin"), day)
	case 10, 11, 12, 13, 14, 21, 22:
		act = u.ofAJob(n, db.Line{Item: item, Qty: 1 + qty%3})
	case 17: // of few sheets, so that some come twice
		act = db.Place{Sheet: fmt.Sprintf("%032x", u.IntN(4)), Order: fmt.Sprint("PO", 300+n), Supplier: "ravelin", On: day,
			Lines: []db.PlaceLine{{Item: item, Packs: 1, PackQty: qty}}}
	default:
		late = "job_use"
		job := fmt.Sprint("J", 100+n)
		u.book["jobs"] += fmt.Sprintf("%s,F1,,lower,,%s,done,%s\n", job, day, day)
		u.book[late] += fmt.Sprintf("%s,%s,,%d\n", job, item, qty)
	}
	if late != "" {
		u.tell(t, bench, was)
		return
	}
	var refusal *db.Refusal
	if _, err := bench.Do(t.Context(), u.workshop, uuid.New(), act); errors.As(err, &refusal) || errors.Is(err, inventory.ErrInvalid) {
		u.refused++
	} else if err != nil {
		t.Fatalf("%#v: %v", act, err)
	} else {
		u.did[fmt.Sprintf("%T", act)]++
	}
}

// ofAJob is an act on one of a few jobs, some of which the book tells of too,
// one after the other by day.
func (u *turmoil) ofAJob(n int, line db.Line) db.Act {
	day := on(time.February, 21) + inventory.Date(n)
	job, lines := []string{"J1", "J3", "B0", "B1"}[u.IntN(4)], []db.Line{line}
	bar := float64(u.IntN(9))
	setup, reading := &inventory.Setup{AirBar: &bar, Note: fmt.Sprint("visit ", n)}, &inventory.Reading{Hours: bar, Reset: true}
	switch u.IntN(8) {
	case 0, 1:
		return db.BookJob{Job: fmt.Sprint("B", u.IntN(2)), Unit: "F1", Services: []string{"lower"}, On: day, Bench: day + 3, Reading: reading, Before: setup}
	case 2, 20:
		return db.MoveJob{Job: job, On: day, Bench: day + 7}
	case 3:
		return db.CancelJob{Job: job, NoShow: u.IntN(2) == 0, On: day}
	case 4:
		return db.SetAside{Job: job, On: day, Lines: lines}
	case 5:
		return db.CloseJob{Job: job, On: day, Used: lines, Wasted: []db.Line{{Item: "ring-10", Qty: 1}}, After: setup, By: []string{"", "Ann"}[u.IntN(2)]}
	case 6:
		return db.CorrectJob{Job: job, On: day, Reason: "miscounted", Less: lines}
	default:
		return db.CorrectJob{Job: job, On: day, Reason: "one more", More: lines}
	}
}

// countInParts is a count of a can and, where the item is kept in g, of a tub
// on the scale.
func (u *turmoil) countInParts(item string, qty inventory.Quantity, day inventory.Date) db.Act {
	parts := []inventory.CountPart{{Item: item, Date: day, Number: 1, Container: "can-1", Qty: qty, OpenedOn: day - 9}}
	if item == "grease" {
		tempC := float64(u.IntN(30))
		parts = append(parts, inventory.CountPart{Item: item, Date: day, Number: 2, Container: "tub", Qty: qty,
			Weighed: &inventory.Weighing{GrossG: 40.5 + float64(qty)/10, TareG: 40.5, TempC: &tempC}})
	}
	return db.Count{Item: item, Found: qty * inventory.Quantity(len(parts)), Parts: parts, Ref: "look", On: day}
}

// tell loads the book; where the rest of it does not allow what is new, the book
// is as it was.
func (u *turmoil) tell(t testing.TB, bench *bench, was papers) {
	t.Helper()
	_, err := bench.Load(t.Context(), u.book.source(t), "")
	if errors.Is(err, inventory.ErrInvalid) {
		u.book = was
		return
	}
	if err != nil {
		t.Fatal(err)
	}
	u.loads++
}

// Whatever came in whichever order on whichever day, a saved book loads to the
// same ledger, and is saved again as it was.
func TestASavedBookLoadsToTheSameShelfWhateverCameFirst(t *testing.T) {
	first, second := openBench(t), openBench(t)
	const histories = 12
	refused, loads, did := 0, 0, map[string]int{}
	for seed := range uint64(histories) {
		u := &turmoil{Rand: rand.New(rand.NewPCG(seed, 7)), book: turmoilBook(t), did: did}
		name := fmt.Sprint("bench ", seed)
		u.book = u.book.with(t, "settings", "north bench", name)
		u.workshop = u.book.load(t, first).Workshop.ID
		for n := range turmoilSteps {
			u.step(t, first, n)
		}
		is := saved(t, first, u.workshop).load(t, second).Workshop.ID
		theSame(t, name, first, second, u.workshop, is, on(time.June, 1))
		first.mustBeSound(t, u.workshop)
		second.mustBeSound(t, is)
		refused, loads = refused+u.refused, loads+u.loads
	}
	for _, kind := range []db.Act{db.Take{}, db.BookJob{}, db.MoveJob{}, db.CancelJob{}, db.SetAside{}, db.CloseJob{}, db.CorrectJob{},
		db.Count{}, db.ReviseBill{}, db.Dispose{}} {
		if name := fmt.Sprintf("%T", kind); did[name] < 3 {
			t.Errorf("%s was done %d times: the property hardly looked", name, did[name])
		}
	}
	if steps := histories * turmoilSteps; refused > steps*2/3 || loads < steps/10 {
		t.Errorf("of %d steps %d were refused and %d were loads: the property hardly looked", steps, refused, loads)
	}
}
