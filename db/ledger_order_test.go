package db_test

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"circlip/db"
	"circlip/inventory"
)

// place is an order with north, of the sheet that is called like it.
func place(order string, lines ...db.PlaceLine) db.Place {
	return db.Place{Sheet: "sheet " + order, Order: order, Supplier: "north", On: day(1), Lines: lines}
}

func deliver(order string, lines ...db.DeliverLine) db.Deliver {
	return db.Deliver{Order: order, On: day(3), Lines: lines}
}

const orderLinesSQL = `
SELECT format('%s %s from %s: %s × %s at %s due %s, %s received on %s, closed %s', order_code, item, supplier, packs, pack_qty, price,
	coalesce(due_on::text, '-'), coalesce(received_packs::text, '-'), coalesce(received_on::text, '-'), coalesce(closed_on::text, '-'))
FROM circlip.order_line WHERE workshop = $1 ORDER BY order_code, item`

func (s *shop) orderLines(t failer) []string {
	t.Helper()
	return collect(t, s.admin, pgx.RowTo[string], orderLinesSQL, s.workshop)
}

// Each row is what went before, one act, the lines of the orders after it and
// the shelf.
func TestActsOnOrders(t *testing.T) {
	s := openShop(t)
	seals := db.PlaceLine{Item: "seal", Packs: 3, PackQty: 10, Price: 1250, Due: day(8)}
	wipers := db.PlaceLine{Item: "wiper", Packs: 1, PackQty: 5}
	placed := place("PO-7", seals, wipers)
	came := func(packs int, qty inventory.Quantity) db.DeliverLine {
		return db.DeliverLine{Item: "seal", Packs: packs, Qty: qty}
	}
	last := func(lines ...db.DeliverLine) db.Deliver {
		return db.Deliver{Order: "PO-7", On: day(5), Closed: true, Lines: lines}
	}
	const (
		sealsOpen  = "PO-7 seal from north: 3 × 10 at 1250 due 2026-03-08, - received on -, closed -"
		wipersOpen = "PO-7 wiper from north: 1 × 5 at 0 due -, - received on -, closed -"
		sealsTwo   = "PO-7 seal from north: 3 × 10 at 1250 due 2026-03-08, 2 received on 2026-03-03, closed -"
		sealsThree = "PO-7 seal from north: 3 × 10 at 1250 due 2026-03-08, 3 received on 2026-03-03, closed -"
	)
	two := deliver("PO-7", came(2, 20))
	for name, c := range map[string]struct {
		before []db.Act
		act    db.Act
		lines  []string
		shelf  []standing
		err    error
	}{
		"an order is placed and moves nothing": {nil, placed, []string{sealsOpen, wipersOpen}, nil, nil},
		"an order written by hand has no sheet": {
			nil, db.Place{Order: "PO-7", Supplier: "north", On: day(1), Lines: []db.PlaceLine{wipers}}, []string{wipersOpen}, nil, nil},
		"a sheet is placed once": {
			[]db.Act{placed}, db.Place{Sheet: placed.Sheet, Order: "PO-8", Supplier: "north", On: day(2), Lines: placed.Lines},
			[]string{sealsOpen, wipersOpen}, nil, inventory.ErrConflict},
		"an order's code is used once": {
			[]db.Act{placed}, db.Place{Sheet: "another", Order: "PO-7", Supplier: "south", On: day(2), Lines: []db.PlaceLine{wipers}},
			[]string{sealsOpen, wipersOpen}, nil, inventory.ErrConflict},
		"so is that of an order written by hand": {
			[]db.Act{placed}, db.Place{Order: "PO-7", Supplier: "south", On: day(2), Lines: []db.PlaceLine{{Item: "oil", Packs: 1, PackQty: 1}}},
			[]string{sealsOpen, wipersOpen}, nil, inventory.ErrConflict},
		"two orders written by hand are two": {
			[]db.Act{placed}, db.Place{Order: "PO-8", Supplier: "south", On: day(2), Lines: []db.PlaceLine{wipers}},
			[]string{sealsOpen, wipersOpen, "PO-8 wiper from south: 1 × 5 at 0 due -, - received on -, closed -"}, nil, nil},
		"an order goes to a supplier of the workshop": {
			nil, db.Place{Order: "PO-7", Supplier: "east", On: day(1), Lines: placed.Lines}, nil, nil, inventory.ErrNotFound},
		"an order is of items of the workshop": {
			nil, place("PO-7", wipers, db.PlaceLine{Item: "sael", Packs: 1, PackQty: 1}), nil, nil, inventory.ErrNotFound},

		"a part of an order comes, the rest stays on order": {
			[]db.Act{placed}, two, []string{sealsTwo, wipersOpen}, []standing{{"seal", "PO-7", 20, 0}}, nil},
		"the rest comes to the same lot": {
			[]db.Act{placed, two}, deliver("PO-7", came(1, 10)),
			[]string{sealsThree, wipersOpen}, []standing{{"seal", "PO-7", 30, 0}}, nil},
		"even when that is empty by now": {
			[]db.Act{placed, two, take("J", "seal", 20)}, deliver("PO-7", came(1, 10)),
			[]string{sealsThree, wipersOpen}, []standing{{"seal", "PO-7", 10, 0}}, nil},
		"the rest with another expiry comes to a lot of its own": {
			[]db.Act{placed, two}, deliver("PO-7", db.DeliverLine{Item: "seal", Packs: 1, Qty: 10, Expires: day(20)}),
			[]string{sealsThree, wipersOpen}, []standing{{"seal", "PO-7", 20, 0}, {"seal", "PO-7-2", 10, 0}}, nil},
		"and what comes alike joins it": {
			[]db.Act{placed, two, deliver("PO-7", db.DeliverLine{Item: "seal", Packs: 1, Qty: 9, Expires: day(20)})},
			deliver("PO-7", db.DeliverLine{Item: "seal", Packs: 1, Qty: 1, Expires: day(20)}, db.DeliverLine{Item: "seal", Packs: 1, Qty: 1, UnitCost: 7}),
			[]string{"PO-7 seal from north: 3 × 10 at 1250 due 2026-03-08, 5 received on 2026-03-03, closed -", wipersOpen},
			[]standing{{"seal", "PO-7", 20, 0}, {"seal", "PO-7-2", 10, 0}, {"seal", "PO-7-3", 1, 0}}, nil},
		"a lot is named as its marks say": {
			[]db.Act{placed, receive("seal", "A", 5)}, deliver("PO-7", db.DeliverLine{Item: "seal", Lot: "A", Packs: 3, Qty: 30, Expires: day(30)}),
			[]string{sealsThree, wipersOpen}, []standing{{"seal", "A", 35, 0}}, nil},
		"a named lot with another expiry is not the same": {
			[]db.Act{placed, receive("seal", "A", 5)}, deliver("PO-7", db.DeliverLine{Item: "seal", Lot: "A", Packs: 3, Qty: 30}),
			[]string{sealsOpen, wipersOpen}, []standing{{"seal", "A", 5, 0}}, inventory.ErrConflict},
		"more may come than was ordered": {
			[]db.Act{placed, two}, deliver("PO-7", came(4, 40)),
			[]string{"PO-7 seal from north: 3 × 10 at 1250 due 2026-03-08, 6 received on 2026-03-03, closed -", wipersOpen},
			[]standing{{"seal", "PO-7", 60, 0}}, nil},
		"packs may hold less than they should": {
			[]db.Act{placed}, deliver("PO-7", came(3, 28)), []string{sealsThree, wipersOpen}, []standing{{"seal", "PO-7", 28, 0}}, nil},
		"and not more": {
			[]db.Act{placed}, deliver("PO-7", came(2, 21)), []string{sealsOpen, wipersOpen}, nil, inventory.ErrConflict},
		"a late entry of an early delivery leaves the latest day": {
			[]db.Act{placed, two}, db.Deliver{Order: "PO-7", On: day(2), Lines: []db.DeliverLine{came(1, 10)}},
			[]string{sealsThree, wipersOpen}, []standing{{"seal", "PO-7", 30, 0}}, nil},
		"nothing comes before it is ordered": {
			[]db.Act{db.Place{Order: "PO-7", Supplier: "north", On: day(4), Lines: []db.PlaceLine{wipers}}},
			deliver("PO-7", db.DeliverLine{Item: "wiper", Packs: 1, Qty: 5}), []string{wipersOpen}, nil, inventory.ErrConflict},
		"a delivery answers an order": {
			[]db.Act{placed}, deliver("PO-8", came(1, 10)), []string{sealsOpen, wipersOpen}, nil, inventory.ErrNotFound},
		"a delivery holds what was ordered": {
			[]db.Act{placed}, deliver("PO-7", came(1, 10), db.DeliverLine{Item: "oil", Packs: 1, Qty: 10}),
			[]string{sealsOpen, wipersOpen}, nil, inventory.ErrNotFound},

		"the last delivery gives up what is missing of its lines": {
			[]db.Act{placed}, last(came(2, 20)),
			[]string{"PO-7 seal from north: 3 × 10 at 1250 due 2026-03-08, 2 received on 2026-03-05, closed 2026-03-05", wipersOpen},
			[]standing{{"seal", "PO-7", 20, 0}}, nil},
		"a line of which all came is not closed": {
			[]db.Act{placed}, last(came(3, 30)),
			[]string{"PO-7 seal from north: 3 × 10 at 1250 due 2026-03-08, 3 received on 2026-03-05, closed -", wipersOpen},
			[]standing{{"seal", "PO-7", 30, 0}}, nil},
		"the rest of a line is given up where nothing more comes": {
			[]db.Act{placed, two}, last(came(0, 0)),
			[]string{"PO-7 seal from north: 3 × 10 at 1250 due 2026-03-08, 2 received on 2026-03-03, closed 2026-03-05", wipersOpen},
			[]standing{{"seal", "PO-7", 20, 0}}, nil},
		"a line of which nothing came is given up whole": {
			[]db.Act{placed}, last(came(0, 0)),
			[]string{"PO-7 seal from north: 3 × 10 at 1250 due 2026-03-08, - received on -, closed 2026-03-05", wipersOpen}, nil, nil},
		"without lines the rest of the whole order is given up": {
			[]db.Act{placed, two}, last(),
			[]string{"PO-7 seal from north: 3 × 10 at 1250 due 2026-03-08, 2 received on 2026-03-03, closed 2026-03-05",
				"PO-7 wiper from north: 1 × 5 at 0 due -, - received on -, closed 2026-03-05"},
			[]standing{{"seal", "PO-7", 20, 0}}, nil},
		"what is given up comes no more": {
			[]db.Act{placed, last(came(2, 20))}, deliver("PO-7", came(1, 10)),
			[]string{"PO-7 seal from north: 3 × 10 at 1250 due 2026-03-08, 2 received on 2026-03-05, closed 2026-03-05", wipersOpen},
			[]standing{{"seal", "PO-7", 20, 0}}, inventory.ErrConflict},
		"what is given up is not given up again, and stands in nobody's way": {
			[]db.Act{placed, last(came(2, 20))}, last(came(0, 0), db.DeliverLine{Item: "wiper", Packs: 1, Qty: 5}),
			[]string{"PO-7 seal from north: 3 × 10 at 1250 due 2026-03-08, 2 received on 2026-03-05, closed 2026-03-05",
				"PO-7 wiper from north: 1 × 5 at 0 due -, 1 received on 2026-03-05, closed -"},
			[]standing{{"seal", "PO-7", 20, 0}, {"wiper", "PO-7", 5, 0}}, nil},
		"nothing is given up of an order that is complete": {
			[]db.Act{placed, deliver("PO-7", came(3, 30), db.DeliverLine{Item: "wiper", Packs: 1, Qty: 5})}, last(),
			[]string{sealsThree, "PO-7 wiper from north: 1 × 5 at 0 due -, 1 received on 2026-03-03, closed -"},
			[]standing{{"seal", "PO-7", 30, 0}, {"wiper", "PO-7", 5, 0}}, inventory.ErrConflict},
		"nothing is given up before it is ordered": {
			[]db.Act{db.Place{Order: "PO-7", Supplier: "north", On: day(6), Lines: []db.PlaceLine{wipers}}}, last(),
			[]string{wipersOpen}, nil, inventory.ErrConflict},

		"a delivery that is reversed is on order again": {
			[]db.Act{placed, two}, db.Reverse{Item: "seal", Lot: "PO-7", Seq: 1, On: day(4)},
			[]string{sealsOpen, wipersOpen}, []standing{{"seal", "PO-7", 0, 0}}, nil},
		"a reversal takes back its own packs and day": {
			[]db.Act{placed, two, last(came(1, 2))}, db.Reverse{Item: "seal", Lot: "PO-7", Seq: 2, On: day(6)},
			[]string{sealsTwo, wipersOpen}, []standing{{"seal", "PO-7", 20, 0}}, nil},
		"and opens what was given up": {
			[]db.Act{placed, last(came(2, 20))}, db.Reverse{Item: "seal", Lot: "PO-7", Seq: 1, On: day(6)},
			[]string{sealsOpen, wipersOpen}, []standing{{"seal", "PO-7", 0, 0}}, nil},
		"a reversal that is refused leaves the order": {
			[]db.Act{placed, two, take("J", "seal", 1)}, db.Reverse{Item: "seal", Lot: "PO-7", Seq: 1, On: day(6)},
			[]string{sealsTwo, wipersOpen}, []standing{{"seal", "PO-7", 19, 0}}, inventory.ErrShort},
		"a receipt by hand that names an order leaves it": {
			[]db.Act{placed, db.Receive{Item: "seal", Lot: "X", Qty: 4, Order: "PO-7", On: day(2)}},
			db.Reverse{Item: "seal", Lot: "X", Seq: 1, On: day(6)},
			[]string{sealsOpen, wipersOpen}, []standing{{"seal", "X", 0, 0}}, nil},
	} {
		t.Run(name, func(t *testing.T) {
			s := *s
			s.workshop = s.another(t)
			for _, act := range c.before {
				s.must(t, act)
			}
			key := uuid.New()
			done, err := s.Do(t.Context(), s.workshop, key, c.act)
			if !errors.Is(err, c.err) {
				t.Errorf("found error %v, expected %v", err, c.err)
			}
			if diff := cmp.Diff(c.lines, s.orderLines(t)); diff != "" && len(c.lines)+len(s.orderLines(t)) > 0 {
				t.Errorf("orders (-expected +found):\n%s", diff)
			}
			if diff := cmp.Diff(c.shelf, s.standing(t)); diff != "" && len(c.shelf)+len(s.standing(t)) > 0 {
				t.Errorf("shelf (-expected +found):\n%s", diff)
			}
			s.mustBeSound(t)
			s.mustAnswerAgain(t, key, c.act, done, err)
		})
	}
}

// mustAnswerAgain repeats an act under its key: the same answer, and nothing
// moves.
func (s *shop) mustAnswerAgain(t *testing.T, key uuid.UUID, act db.Act, done db.Done, err error) {
	t.Helper()
	lines, shelf := s.orderLines(t), s.standing(t)
	again, errAgain := s.Do(t.Context(), s.workshop, key, act)
	if diff := cmp.Diff(done, again); diff != "" || fmt.Sprint(err) != fmt.Sprint(errAgain) {
		t.Errorf("the repeat answered %v, %v, expected %v, %v", again, errAgain, done, err)
	}
	if diff := cmp.Diff(lines, s.orderLines(t)) + cmp.Diff(shelf, s.standing(t)); diff != "" {
		t.Errorf("the repeat moved something: %s", diff)
	}
}

func TestAnOrderThatIsPlacedAnswersWithItsCode(t *testing.T) {
	s := openShop(t)
	done := s.must(t, place("PO-7", db.PlaceLine{Item: "seal", Packs: 1, PackQty: 10}))
	if diff := cmp.Diff(db.Done{Order: "PO-7"}, done); diff != "" {
		t.Errorf("answer (-expected +found):\n%s", diff)
	}
}

// A refusal says what stands against the act, and where.
func TestARefusedOrderReadsAsASentence(t *testing.T) {
	s := openShop(t)
	line := db.PlaceLine{Item: "oil", Packs: 2, PackQty: 125}
	s.must(t, place("PO-7", line))
	s.must(t, db.Deliver{Order: "PO-7", On: day(4), Closed: true})
	again := place("PO-7", line)
	again.Order = "PO-8"
	for want, act := range map[string]db.Act{
		"place: order PO-7: conflict: sheet sheet PO-7 was placed as order PO-7 on 2026-03-01":                    again,
		"place: order PO-7: conflict: order PO-7 was placed with north on 2026-03-01; give this one another code": db.Place{Order: "PO-7", Supplier: "north", On: day(2), Lines: []db.PlaceLine{line}},
		"place: order PO-9: not found: no supplier east":                                                          db.Place{Order: "PO-9", Supplier: "east", On: day(2), Lines: []db.PlaceLine{line}},
		"place: item sael: not found":                                                                                     place("PO-9", db.PlaceLine{Item: "sael", Packs: 1, PackQty: 1}),
		"deliver: order PO-9: not found":                                                                                  deliver("PO-9", db.DeliverLine{Item: "oil", Packs: 1, Qty: 1}),
		"deliver: order PO-7 item seal: not found: the order has no line of it":                                           deliver("PO-7", db.DeliverLine{Item: "seal", Packs: 1, Qty: 1}),
		"deliver: order PO-7 item oil: conflict: the rest of it was given up on 2026-03-04; order it anew":                deliver("PO-7", db.DeliverLine{Item: "oil", Packs: 1, Qty: 1}),
		"deliver: order PO-7: conflict: nothing of it is missing":                                                         db.Deliver{Order: "PO-7", On: day(4), Closed: true},
		"deliver: order PO-7: conflict: found a delivery on 2026-02-28, expected none before it was placed on 2026-03-01": db.Deliver{Order: "PO-7", On: inventory.NewDate(2026, 2, 28), Closed: true},
	} {
		if _, err := s.Do(t.Context(), s.workshop, uuid.New(), act); err == nil || err.Error() != want {
			t.Errorf("found %q, expected %q", err, want)
		}
	}
	s.must(t, place("PO-10", line))
	_, err := s.Do(t.Context(), s.workshop, uuid.New(), deliver("PO-10", db.DeliverLine{Item: "oil", Packs: 1, Qty: 130}))
	if want := "deliver: order PO-10 item oil: conflict: found 13 ml, expected at most 12.5 ml (packs: 1)"; err == nil || err.Error() != want {
		t.Errorf("found %q, expected %q", err, want)
	}
	if r := refusalOf(err); r == nil || r.Order != "PO-10" || r.Item != "oil" {
		t.Errorf("found %+v, expected the order and the item by themselves", r)
	}
}

func TestAnOrderThatMakesNoSenseIsNotSent(t *testing.T) {
	s := openShop(t)
	line := db.PlaceLine{Item: "seal", Packs: 1, PackQty: 10, Due: day(2)}
	placed := func(spoil func(*db.Place, *db.PlaceLine)) db.Place {
		l := line
		p := place("PO-7")
		spoil(&p, &l)
		p.Lines = append(p.Lines, l)
		return p
	}
	came := func(spoil func(*db.DeliverLine)) db.Deliver {
		l := db.DeliverLine{Item: "seal", Packs: 1, Qty: 10}
		spoil(&l)
		return deliver("PO-7", l)
	}
	s.mustNotSend(t, map[string]db.Act{
		"an order without a code":        placed(func(p *db.Place, _ *db.PlaceLine) { p.Order = "" }),
		"an order without a day":         placed(func(p *db.Place, _ *db.PlaceLine) { p.On = 0 }),
		"an order with nobody":           placed(func(p *db.Place, _ *db.PlaceLine) { p.Supplier = "" }),
		"an order of nothing":            place("PO-7"),
		"an item twice":                  placed(func(p *db.Place, l *db.PlaceLine) { p.Lines = append(p.Lines, *l) }),
		"a line without an item":         placed(func(_ *db.Place, l *db.PlaceLine) { l.Item = "" }),
		"no packs":                       placed(func(_ *db.Place, l *db.PlaceLine) { l.Packs = 0 }),
		"more packs than the book has":   placed(func(_ *db.Place, l *db.PlaceLine) { l.Packs = 1_000_001 }),
		"packs of nothing":               placed(func(_ *db.Place, l *db.PlaceLine) { l.PackQty = 0 }),
		"a price below zero":             placed(func(_ *db.Place, l *db.PlaceLine) { l.Price = -1 }),
		"due before it is placed":        placed(func(p *db.Place, _ *db.PlaceLine) { p.On = day(3) }),
		"a delivery without an order":    db.Deliver{On: day(3), Closed: true},
		"a delivery without a day":       db.Deliver{Order: "PO-7", Closed: true},
		"a delivery of nothing":          deliver("PO-7"),
		"a delivery without an item":     came(func(l *db.DeliverLine) { l.Item = "" }),
		"a delivery of no packs":         came(func(l *db.DeliverLine) { l.Packs, l.Qty = 0, 0 }),
		"packs that held nothing":        came(func(l *db.DeliverLine) { l.Qty = 0 }),
		"a delivery at less than zero":   came(func(l *db.DeliverLine) { l.UnitCost = -1 }),
		"a delivery of packs below zero": came(func(l *db.DeliverLine) { l.Packs = -1 }),
		"a quantity in no packs": db.Deliver{Order: "PO-7", On: day(3), Closed: true,
			Lines: []db.DeliverLine{{Item: "seal", Qty: 1}}},
	})
}

// placeAtOnce lets a crowd place one sheet, each under a key and an order code
// of its own, and returns who was told what.
func (s *shop) placeAtOnce(t *testing.T, sheet string, round int) (codes []string, refusals []string) {
	t.Helper()
	const managers = 16
	var lock sync.Mutex
	var wait sync.WaitGroup
	for i := range managers {
		wait.Go(func() {
			act := place(fmt.Sprintf("PO-%d-%d", round, i), db.PlaceLine{Item: "seal", Packs: 1, PackQty: 10})
			act.Sheet = sheet
			done, err := s.Do(t.Context(), s.workshop, uuid.New(), act)
			lock.Lock()
			defer lock.Unlock()
			if err == nil {
				codes = append(codes, done.Order)
				return
			}
			refusals = append(refusals, err.Error())
			if !errors.Is(err, inventory.ErrConflict) {
				t.Errorf("found %v, expected a conflict", err)
			}
		})
	}
	wait.Wait()
	return codes, refusals
}

// However many managers place one sheet at once, one order stands, and all
// others are told its code.
func TestASheetIsPlacedOnceByACrowd(t *testing.T) {
	s := openShop(t)
	for round := range 20 {
		codes, refusals := s.placeAtOnce(t, fmt.Sprint("sheet ", round), round)
		if len(codes) != 1 || len(refusals) != 15 {
			t.Fatalf("round %d: found %d orders and %d refusals, expected 1 and 15", round, len(codes), len(refusals))
		}
		for _, r := range refusals {
			if !strings.Contains(r, fmt.Sprintf("sheet %d was placed as order %s on 2026-03-01", round, codes[0])) {
				t.Errorf("found %q, expected to be told order %s", r, codes[0])
			}
		}
	}
	if n := len(s.orderLines(t)); n != 20 {
		t.Errorf("found %d orders, expected 20", n)
	}
	s.mustBeSound(t)
}

// The control: without the key of the table of sheets the same crowd orders
// more than once.
func TestWithoutTheKeyASheetIsPlacedTwice(t *testing.T) {
	s := openShop(t)
	s.exec(t, `ALTER TABLE circlip.order_sheet DROP CONSTRAINT order_sheet_pkey`)
	most := 0
	for round := range 20 {
		codes, _ := s.placeAtOnce(t, fmt.Sprint("sheet ", round), round)
		most = max(most, len(codes))
	}
	if t.Logf("up to %d orders of one sheet", most); most < 2 {
		t.Error("found no sheet that was placed twice, expected some: the crowd proves nothing")
	}
}

// One order's code under two sheets at once is one order.
func TestAnOrdersCodeIsUsedOnceByACrowd(t *testing.T) {
	s := openShop(t)
	for round := range 20 {
		order := fmt.Sprint("PO-", round)
		done := make([]bool, 8)
		var wait sync.WaitGroup
		for i := range done {
			wait.Go(func() {
				act := place(order, db.PlaceLine{Item: []string{"seal", "oil", "wiper", "kit"}[i%4], Packs: 1, PackQty: 10})
				act.Sheet = []string{"", fmt.Sprint(round, " ", i)}[i%2]
				_, err := s.Do(t.Context(), s.workshop, uuid.New(), act)
				done[i] = err == nil
				if err != nil && !errors.Is(err, inventory.ErrConflict) {
					t.Errorf("found %v, expected a conflict", err)
				}
			})
		}
		wait.Wait()
		if n := len(slices.DeleteFunc(done, func(d bool) bool { return !d })); n != 1 {
			t.Errorf("order %s: found %d placed, expected 1", order, n)
		}
	}
	if n := len(s.orderLines(t)); n != 20 {
		t.Errorf("found %d lines, expected 20", n)
	}
	s.mustBeSound(t)
}
