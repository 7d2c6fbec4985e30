package db_test

import (
	"cmp"
	"context"
	"errors"
	"flag"
	"fmt"
	"slices"
	"testing"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"pgregory.net/rapid"

	gocmp "github.com/google/go-cmp/cmp"

	"circlip/db"
	"circlip/inventory"
)

// reach is how often each kind of act ended each way, and the least that a run
// of the property must reach: a generator that stops producing a case would
// otherwise pass in silence.
var leastReach = map[string]int{
	"db.Receive done": 20, "db.Receive conflict": 3, "db.Receive not found": 1,
	"db.Take done": 20, "db.Take short": 20, "db.Take not found": 1,
	"db.SetAside done": 10, "db.SetAside short": 10,
	"db.Release done": 10, "db.Release short": 3,
	"db.Waste done": 10, "db.Waste short": 10,
	"db.Count done": 10, "db.Count not found": 3, "counted again": 3, "counted in containers": 10, "a count undone": 1,
	"db.ReviseBill done": 10, "db.ReviseBill conflict": 5, "db.ReviseBill not found": 5, "db.Dispose done": 20,
	"db.Reverse done": 10, "db.Reverse conflict": 3, "db.Reverse short": 3, "db.Reverse not found": 3,
	"db.Place done": 20, "db.Place conflict": 10, "db.Place not found": 3,
	"db.Deliver done": 20, "db.Deliver conflict": 10, "db.Deliver not found": 10,
	"db.OpenKit done": 10, "db.OpenKit short": 10, "db.OpenKit conflict": 3, "db.OpenKit not found": 3,
	"db.Extend done": 10, "db.Extend conflict": 10, "db.Extend not found": 3,
	"db.OpenContainer done": 10, "db.OpenContainer short": 5, "db.OpenContainer conflict": 3, "db.OpenContainer not found": 3,
	"inspected with set-asides": 5, "packs taken back": 2, "line closed": 5, "one more lot of a name": 5,
	"repeat": 10, "key reused": 10, "lost to a count": 1, "several lots": 10,
}

// TestAnySequenceOfActsIsWhatTheModelSays runs random acts on the database and
// on the model, and compares everything there is after every step.
func TestAnySequenceOfActsIsWhatTheModelSays(t *testing.T) {
	limitChecks(t, 300)
	s := openShop(t)
	reach := map[string]int{}
	rapid.Check(t, func(t *rapid.T) {
		run := &ledgerRun{shop: *s, reach: reach, model: &model{items: []string{"seal", "wiper", "oil", "kit"},
			kits: map[string]map[string]inventory.Quantity{"kit": {"seal": 2, "wiper": 1}}, suppliers: []string{"north", "south"}, bill: shopBill()}}
		run.workshop = s.another(t)
		t.Repeat(map[string]func(*rapid.T){
			"receive":   func(t *rapid.T) { run.do(t, drawReceive(t)) },
			"deliver":   func(t *rapid.T) { run.do(t, drawReceive(t)) }, // twice as likely: shelves fill
			"take":      func(t *rapid.T) { run.do(t, drawTake(t)) },
			"set aside": func(t *rapid.T) { run.do(t, db.SetAside(drawTake(t))) },
			"keep":      func(t *rapid.T) { run.do(t, run.drawKeep(t)) },
			"release":   func(t *rapid.T) { run.do(t, drawRelease(t)) },
			"waste":     func(t *rapid.T) { run.do(t, drawWaste(t)) },
			"count":     func(t *rapid.T) { run.do(t, drawCount(t)) },
			"reverse":   func(t *rapid.T) { run.do(t, run.drawReverse(t)) },
			"place":     func(t *rapid.T) { run.do(t, drawPlace(t)) },
			"come":      func(t *rapid.T) { run.do(t, run.drawDeliver(t)) },
			"come too":  func(t *rapid.T) { run.do(t, run.drawDeliver(t)) }, // twice as likely: few orders stand open
			"kits":      func(t *rapid.T) { run.do(t, drawKits(t)) },
			"open kit":  func(t *rapid.T) { run.do(t, drawOpenKit(t)) },
			"extend":    func(t *rapid.T) { run.do(t, run.drawExtend(t)) },
			"open":      func(t *rapid.T) { run.do(t, run.drawOpenContainer(t)) },
			"write":     func(t *rapid.T) { run.do(t, drawPaper(t)) },
			"repeat":    run.repeat,
			"reuse":     run.reuse,
			"":          run.compare,
		})
		run.mustBeSound(t)
	})
	t.Log(reach)
	for what, least := range leastReach {
		if reach[what] < least {
			t.Errorf("%q was reached %d times, expected at least %d", what, reach[what], least)
		}
	}
}

// limited is what limitChecks has set: a flag does not tell by whom.
var limited string

// limitChecks sets how many random sequences are tried, unless the command
// line says it.
func limitChecks(t *testing.T, n int) {
	t.Helper()
	given := false
	flag.Visit(func(f *flag.Flag) { given = given || f.Name == "rapid.checks" && f.Value.String() != limited })
	if !given {
		if err := flag.Set("rapid.checks", fmt.Sprint(n)); err != nil {
			t.Fatal(err)
		}
		limited = fmt.Sprint(n)
	}
}

var (
	drawItem = rapid.SampledFrom([]string{"seal", "seal", "seal", "seal", "seal", "wiper", "wiper", "oil", "oil", "sael"})
	drawLot  = rapid.SampledFrom([]string{"A", "B", "C"})
	drawMay  = rapid.SampledFrom([]string{"", "", "", "A", "B"}) // a lot, or none named
	drawJob  = rapid.SampledFrom([]string{"J1", "J2", "J3"})
	drawOn   = rapid.Map(rapid.IntRange(1, 12), day)
	drawQty  = rapid.Map(rapid.IntRange(1, 9), func(n int) inventory.Quantity { return inventory.Quantity(n) })
)

// drawReceive ties the lot to its expiry most of the time, so that lots grow
// and some deliveries clash.
func drawReceive(t *rapid.T) db.Receive {
	r := db.Receive{Item: drawItem.Draw(t, "item"), Lot: drawLot.Draw(t, "lot"), Qty: drawQty.Draw(t, "qty") + 3,
		Order: "PO", On: drawOn.Draw(t, "on")}
	switch r.Lot {
	case "A":
		r.Expires = day(8)
	case "B":
		r.Expires, r.UnitCost = day(15), 12_500
	}
	if rapid.IntRange(0, 9).Draw(t, "clash") == 0 {
		r.Expires = day(20)
	}
	return r
}

func drawLine(t *rapid.T) db.Line {
	return db.Line{Item: drawItem.Draw(t, "item"), Lot: drawMay.Draw(t, "lot"), Qty: drawQty.Draw(t, "qty")}
}

func drawTake(t *rapid.T) db.Take {
	return db.Take{Job: drawJob.Draw(t, "job"), On: drawOn.Draw(t, "on"),
		Lines: rapid.SliceOfN(rapid.Custom(drawLine), 1, 3).Draw(t, "lines")}
}

// drawKeep sets aside a piece of a lot that there is.
func (r *ledgerRun) drawKeep(t *rapid.T) db.SetAside {
	item, lot := r.aLot(t)
	return db.SetAside{Job: drawJob.Draw(t, "job"), On: drawOn.Draw(t, "on"), Lines: []db.Line{{Item: item, Lot: lot, Qty: 1}}}
}

func drawRelease(t *rapid.T) db.Release {
	r := db.Release{Job: drawJob.Draw(t, "job"), On: drawOn.Draw(t, "on")}
	r.Lines = rapid.SliceOfN(rapid.Custom(drawLine), 0, 2).Draw(t, "lines")
	for i := range r.Lines {
		r.Lines[i].Qty = inventory.Quantity(rapid.IntRange(0, 5).Draw(t, "qty"))
	}
	return r
}

func drawWaste(t *rapid.T) db.Waste {
	return db.Waste{Item: drawItem.Draw(t, "item"), Lot: drawMay.Draw(t, "lot"), Qty: drawQty.Draw(t, "qty"), Ref: "torn",
		On: drawOn.Draw(t, "on")}
}

// drawCount is of few days, so that some count again.
func drawCount(t *rapid.T) db.Count {
	c := db.Count{Item: drawItem.Draw(t, "item"), Lot: drawMay.Draw(t, "lot"),
		Found: inventory.Quantity(rapid.IntRange(0, 20).Draw(t, "found")), Ref: "march", On: rapid.Map(rapid.IntRange(3, 5), day).Draw(t, "on")}
	if c.Lot == "" {
		c.Parts = drawParts(t, c)
	}
	return c
}

// drawReverse mostly picks a movement that was made.
func (r *ledgerRun) drawReverse(t *rapid.T) db.Reverse {
	a := db.Reverse{Item: drawItem.Draw(t, "item"), Lot: drawLot.Draw(t, "lot"),
		Seq: int64(rapid.IntRange(1, 6).Draw(t, "seq")), On: drawOn.Draw(t, "on")}
	if len(r.model.lots) > 0 && rapid.IntRange(0, 4).Draw(t, "any") > 0 {
		l := rapid.SampledFrom(r.model.lots).Draw(t, "made")
		a.Item, a.Lot, a.Seq = l.item, l.code, rapid.Int64Range(1, int64(len(l.moved))).Draw(t, "seq")
	}
	if came := r.model.delivered(); len(came) > 0 && rapid.Bool().Draw(t, "delivered") {
		m := came[len(came)-1]
		a.Item, a.Lot, a.Seq = m.Item, m.Lot, m.Seq
	}
	return a
}

// ledgerRun is one random sequence on both.
type ledgerRun struct {
	shop
	model *model
	past  []performed
	reach map[string]int
}

// performed is an act that was done, and how it was answered.
type performed struct {
	key  uuid.UUID
	act  db.Act
	done db.Done
	err  string
}

func (r *ledgerRun) do(t *rapid.T, act db.Act) {
	p := performed{key: uuid.New(), act: act}
	after, want, no := r.model.do(act)
	done, err := r.Do(context.Background(), r.workshop, p.key, act)
	sortDone(&want)
	sortDone(&done)
	outcome := "done"
	if no != nil {
		outcome = no.kind
		if got := asRefused(err); got == nil || *got != *no {
			t.Fatalf("%#v: found %v, expected the refusal %+v", act, err, *no)
		}
	} else if err != nil {
		t.Fatalf("%#v: found %v, expected %+v", act, err, want)
	}
	if diff := gocmp.Diff(want, done); diff != "" {
		t.Fatalf("%#v (-expected +found):\n%s", act, diff)
	}
	r.reach["counted again"] += after.acts - r.model.acts - max(0, len(after.counts)-len(r.model.counts))
	r.reach["a count undone"] += max(0, len(r.model.counts)-len(after.counts))
	r.model = after
	p.done, p.err = done, fmt.Sprint(err)
	r.past = append(r.past, p)
	r.count(act, outcome, done)
}

func (r *ledgerRun) count(act db.Act, outcome string, done db.Done) {
	r.reach[fmt.Sprintf("%T %s", act, outcome)]++
	if _, counted := act.(db.Count); counted && len(done.Kept) > 0 {
		r.reach["lost to a count"]++
	}
	if a, counted := act.(db.Count); counted && len(a.Parts) > 0 && outcome == "done" {
		r.reach["counted in containers"]++
	}
	if len(done.Moved) > 1 {
		r.reach["several lots"]++
	}
	r.countOrders(act, outcome, done)
}

func (r *ledgerRun) repeat(t *rapid.T) {
	if len(r.past) == 0 {
		t.Skip("nothing to repeat yet")
	}
	p := rapid.SampledFrom(r.past).Draw(t, "act")
	done, err := r.Do(context.Background(), r.workshop, p.key, p.act)
	sortDone(&done)
	if diff := gocmp.Diff(p.done, done); diff != "" || fmt.Sprint(err) != p.err {
		t.Fatalf("the repeat of %#v answered %v, expected %s: %s", p.act, err, p.err, diff)
	}
	r.reach["repeat"]++
}

func (r *ledgerRun) reuse(t *rapid.T) {
	if len(r.past) == 0 {
		t.Skip("no key yet")
	}
	p := rapid.SampledFrom(r.past).Draw(t, "act")
	other := db.Waste{Item: "seal", Qty: 77, On: day(1)}
	if _, err := r.Do(context.Background(), r.workshop, p.key, other); !errors.Is(err, inventory.ErrConflict) || refusalOf(err) != nil {
		t.Fatalf("another request under the key of %#v: found %v, expected a conflict", p.act, err)
	}
	r.reach["key reused"]++
}

func asRefused(err error) *refused {
	got := refusalOf(err)
	if got == nil {
		return nil
	}
	return &refused{kindOf(err), got.Item, got.Lot, got.Job, got.Seq, got.Found, got.Expected, got.Order}
}

func sortDone(d *db.Done) {
	slices.SortFunc(d.Moved, func(a, b db.Moved) int {
		return cmp.Or(cmp.Compare(a.Item, b.Item), cmp.Compare(a.Lot, b.Lot), cmp.Compare(a.Seq, b.Seq))
	})
	slices.SortFunc(d.Kept, func(a, b db.Kept) int {
		return cmp.Or(cmp.Compare(a.Item, b.Item), cmp.Compare(a.Lot, b.Lot), cmp.Compare(a.Job, b.Job), cmp.Compare(a.Qty, b.Qty))
	})
}

// A ledger as rows of text, so that both sides print alike.
const wholeLedgerSQL = `
SELECT format('%s/%s: %s on hand, %s reserved, %s movements, %s set-asides', item, lot, on_hand, reserved, seq, kept_seq)
FROM circlip.balance WHERE workshop = $1
UNION ALL SELECT format('%s/%s: %s kept for %s', item, lot, qty, job) FROM circlip.kept WHERE workshop = $1
UNION ALL SELECT format('%s/%s #%s: %s from %s to %s for %s on %s, reverses %s', item, lot, seq, qty, from_place, to_place, ref,
	happened_on, coalesce(reverses, 0)) FROM circlip.movement WHERE workshop = $1
UNION ALL SELECT format('%s/%s: movements come to %s', item, lot, sum(CASE WHEN to_place = 'shelf' THEN qty ELSE -qty END))
	FROM circlip.movement WHERE workshop = $1 GROUP BY item, lot
UNION ALL SELECT format('%s/%s: received %s, expires %s, at %s', item, lot, received_on, NULLIF(expires_on, 'infinity'), unit_cost)
	FROM circlip.lot WHERE workshop = $1
UNION ALL SELECT format('order %s of %s from %s on %s: %s × %s at %s due %s, %s came by %s, closed %s', order_code, item, supplier,
	placed_on, packs, pack_qty, price, due_on, coalesce(received_packs, 0), received_on, closed_on) FROM circlip.order_line WHERE workshop = $1
UNION ALL SELECT format('sheet %s is order %s', sheet, order_code) FROM circlip.order_sheet WHERE workshop = $1
UNION ALL SELECT format('%s/%s #%s brought %s packs of %s', item, lot, seq, packs, order_code) FROM circlip.delivery WHERE workshop = $1
UNION ALL SELECT format('%s/%s inspected by %s on %s (%s), goes on as %s until %s', item, lot, inspected_by, inspected_on, note, new_lot, until)
	FROM circlip.inspection WHERE workshop = $1`

// compare holds the database against the model: balances, set-asides, every
// movement, and the movements' sum against both.
func (r *ledgerRun) compare(t *rapid.T) {
	found := collect(t, r.admin, pgx.RowTo[string], wholeLedgerSQL+` UNION ALL `+wholeCountsSQL+` UNION ALL `+wholeBillSQL, r.workshop)
	want := slices.Concat(r.model.lotRows(), r.model.orderRows(), r.model.auditRows())
	slices.Sort(found)
	slices.Sort(want)
	if diff := gocmp.Diff(want, found); diff != "" {
		t.Fatalf("ledger (-model +database):\n%s", diff)
	}
}

// lotRows are the lots as wholeLedgerSQL tells them.
func (m *model) lotRows() []string {
	want := []string{}
	for _, l := range m.lots {
		want = append(want, fmt.Sprintf("%s/%s: %d on hand, %d reserved, %d movements, %d set-asides", l.item, l.code,
			l.onHand, l.reserved(), len(l.moved), l.keptEvents))
		want = append(want, fmt.Sprintf("%s/%s: movements come to %d", l.item, l.code, l.onHand))
		want = append(want, fmt.Sprintf("%s/%s: received %s, expires %s, at %d", l.item, l.code, l.received, written(l.expires), l.cost))
		for job, qty := range l.kept {
			if qty != 0 {
				want = append(want, fmt.Sprintf("%s/%s: %d kept for %s", l.item, l.code, qty, job))
			}
		}
		for _, m := range l.moved {
			want = append(want, fmt.Sprintf("%s/%s #%d: %d from %s to %s for %s on %s, reverses %d", l.item, l.code, m.Seq, m.Qty,
				m.From, m.To, m.Ref, m.HappenedOn, m.reverses))
		}
	}
	return want
}
