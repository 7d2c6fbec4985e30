package db_test

import (
	"cmp"
	"errors"
	"fmt"
	"math/rand/v2"
	"strings"
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
	refused  int
	loads    int
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
	late := ""
	var act db.Act
	switch u.IntN(13) {
	case 0, 1:
		act = db.Receive{Item: item, Lot: fmt.Sprint("L", u.IntN(4)), Qty: qty, Order: fmt.Sprint("PO", 10+n), On: day, Expires: on(time.December, 1)}
	case 2:
		act = db.Take{Job: "J3", On: day, Lines: []db.Line{{Item: item, Lot: lot, Qty: qty}}}
	case 3:
		act = db.Waste{Item: item, Lot: lot, Qty: qty, Ref: "torn", On: day}
	case 4:
		act = db.Count{Item: item, Lot: lot, Found: qty, Ref: "look", On: day}
	case 5, 6:
		act = db.Reverse{Item: item, Lot: fmt.Sprint("L", u.IntN(4)), Seq: int64(1 + u.IntN(4)), On: day}
	case 7:
		act = db.OpenContainer{Item: item, Lot: lot, Qty: qty, Until: day + 90, On: day}
	case 8:
		late = "counts"
		u.book[late] += fmt.Sprintf("%s,%s,%d,,,\n", item, day, qty)
	case 9:
		late = "orders"
		supplier := map[string]string{"oil-15": "cobbet", "grease": "cobbet"}[item]
		u.book[late] += fmt.Sprintf("PO%d,%s,%s,1,2026-01-20,,%s,1,\n", 200+n, item, cmp.Or(supplier, "ravelin"), day)
	case 12: // of few sheets, so that some come twice
		act = db.Place{Sheet: fmt.Sprintf("%032x", u.IntN(4)), Order: fmt.Sprint("PO", 300+n), Supplier: "ravelin", On: day,
			Lines: []db.PlaceLine{{Item: item, Packs: 1, PackQty: qty}}}
	default:
		late = "job_use"
		job := fmt.Sprint("J", 100+n)
		u.book["jobs"] += fmt.Sprintf("%s,F1,,lower,,%s,done,%s\n", job, day, day)
		u.book[late] += fmt.Sprintf("%s,%s,,%d\n", job, item, qty)
	}
	if late != "" {
		u.tell(t, bench, late)
		return
	}
	var refusal *db.Refusal
	if _, err := bench.Do(t.Context(), u.workshop, uuid.New(), act); errors.As(err, &refusal) || errors.Is(err, inventory.ErrInvalid) {
		u.refused++
	} else if err != nil {
		t.Fatalf("%#v: %v", act, err)
	}
}

// tell loads the book; a row that the rest of it does not allow is taken out of
// it again.
func (u *turmoil) tell(t testing.TB, bench *bench, table string) {
	t.Helper()
	_, err := bench.Load(t.Context(), u.book.source(t), "")
	if errors.Is(err, inventory.ErrInvalid) {
		text := strings.TrimSuffix(u.book[table], "\n")
		u.book[table] = text[:strings.LastIndex(text, "\n")+1]
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
	refused, loads := 0, 0
	for seed := range uint64(histories) {
		u := &turmoil{Rand: rand.New(rand.NewPCG(seed, 7)), book: orderingBook(t)}
		name := fmt.Sprint("bench ", seed)
		u.book = u.book.with(t, "settings", "north bench", name)
		u.workshop = u.book.load(t, first).Workshop.ID
		for n := range 30 {
			u.step(t, first, n)
		}
		is := saved(t, first, u.workshop).load(t, second).Workshop.ID
		theSame(t, name, first, second, u.workshop, is, on(time.June, 1))
		first.mustBeSound(t, u.workshop)
		second.mustBeSound(t, is)
		refused, loads = refused+u.refused, loads+u.loads
	}
	if steps := histories * 30; refused > steps*2/3 || loads < steps/10 {
		t.Errorf("of %d steps %d were refused and %d were loads: the property hardly looked", steps, refused, loads)
	}
}
