package db_test

import (
	"context"
	"errors"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"

	"circlip/db"
	"circlip/inventory"
)

// Each row is a shelf, one act and the shelf after it.
func TestActs(t *testing.T) {
	s := openShop(t)
	old := db.Receive{Item: "seal", Lot: "old", Qty: 4, On: day(1), Expires: day(10)}
	fresh := db.Receive{Item: "seal", Lot: "fresh", Qty: 6, On: day(2), Expires: day(20)}
	lasting := db.Receive{Item: "seal", Lot: "lasting", Qty: 6, On: day(1)}
	aside := func(job, lot string, qty inventory.Quantity) db.SetAside {
		return db.SetAside{Job: job, On: day(3), Lines: []db.Line{{Item: "seal", Lot: lot, Qty: qty}}}
	}
	for name, c := range map[string]struct {
		before []db.Act
		act    db.Act
		want   []standing
		err    error
	}{
		"a delivery opens its lot": {nil, old, []standing{{"seal", "old", 4, 0}}, nil},
		"a second delivery of the same lot adds to it": {
			[]db.Act{old}, old, []standing{{"seal", "old", 8, 0}}, nil},
		"a delivery with another expiry is not the same lot": {
			[]db.Act{old}, db.Receive{Item: "seal", Lot: "old", Qty: 1, On: day(1), Expires: day(11)},
			[]standing{{"seal", "old", 4, 0}}, inventory.ErrConflict},
		"a delivery of an item nobody keeps is refused": {
			nil, db.Receive{Item: "sael", Lot: "L", Qty: 1, On: day(1)}, nil, inventory.ErrNotFound},
		"what expires first goes first, what lasts goes last": {
			[]db.Act{lasting, fresh, old}, db.Take{Job: "J", On: day(5), Lines: []db.Line{{Item: "seal", Qty: 11}}},
			[]standing{{"seal", "fresh", 0, 0}, {"seal", "lasting", 5, 0}, {"seal", "old", 0, 0}}, nil},
		"an expired lot is not taken on the day it expires": {
			[]db.Act{old, fresh}, db.Take{Job: "J", On: day(10), Lines: []db.Line{{Item: "seal", Qty: 2}}},
			[]standing{{"seal", "fresh", 4, 0}, {"seal", "old", 4, 0}}, nil},
		"an expired lot is taken by name": {
			[]db.Act{old, fresh}, db.Take{Job: "J", On: day(12), Lines: []db.Line{{Item: "seal", Lot: "old", Qty: 1}}},
			[]standing{{"seal", "fresh", 6, 0}, {"seal", "old", 3, 0}}, nil},
		"all lines are taken or none": {
			[]db.Act{old, receive("oil", "drum", 900)},
			db.Take{Job: "J", On: day(2), Lines: []db.Line{{Item: "oil", Qty: 200}, {Item: "seal", Qty: 5}}},
			[]standing{{"oil", "drum", 900, 0}, {"seal", "old", 4, 0}}, inventory.ErrShort},
		"two lines of one item add up": {
			[]db.Act{old}, db.Take{Job: "J", On: day(2), Lines: []db.Line{{Item: "seal", Qty: 2}, {Item: "seal", Qty: 3}}},
			[]standing{{"seal", "old", 4, 0}}, inventory.ErrShort},
		"what is set aside is not free for another job": {
			[]db.Act{old, aside("K", "", 3)}, db.Take{Job: "J", On: day(4), Lines: []db.Line{{Item: "seal", Qty: 2}}},
			[]standing{{"seal", "old", 4, 3}}, inventory.ErrShort},
		"a job takes what is set aside for it before what is free": {
			[]db.Act{old, fresh, aside("J", "fresh", 2)},
			db.Take{Job: "J", On: day(4), Lines: []db.Line{{Item: "seal", Qty: 3}}},
			[]standing{{"seal", "fresh", 4, 0}, {"seal", "old", 3, 0}}, nil},
		"no more is set aside than is free": {
			[]db.Act{old, aside("K", "", 3)}, aside("J", "", 2), []standing{{"seal", "old", 4, 3}}, inventory.ErrShort},
		"a release without lines gives back all of the job": {
			[]db.Act{old, fresh, aside("J", "", 7)}, db.Release{Job: "J", On: day(4)},
			[]standing{{"seal", "fresh", 6, 0}, {"seal", "old", 4, 0}}, nil},
		"a release gives back what lasts longest first": {
			[]db.Act{old, fresh, aside("J", "", 7)},
			db.Release{Job: "J", On: day(4), Lines: []db.Line{{Item: "seal", Qty: 4}}},
			[]standing{{"seal", "fresh", 6, 0}, {"seal", "old", 4, 3}}, nil},
		"no more is released than is set aside": {
			[]db.Act{old, aside("J", "", 2)},
			db.Release{Job: "J", On: day(4), Lines: []db.Line{{Item: "seal", Qty: 3}}},
			[]standing{{"seal", "old", 4, 2}}, inventory.ErrShort},
		"waste takes free stock first, and then what is set aside": {
			[]db.Act{old, aside("J", "", 3)}, db.Waste{Item: "seal", Qty: 2, On: day(4)},
			[]standing{{"seal", "old", 2, 2}}, nil},
		"no more is wasted than is there": {
			[]db.Act{old}, db.Waste{Item: "seal", Qty: 5, On: day(4)}, []standing{{"seal", "old", 4, 0}}, inventory.ErrShort},
		"a count above goes to the newest lot": {
			[]db.Act{old, fresh}, db.Count{Item: "seal", Found: 11, On: day(4)},
			[]standing{{"seal", "fresh", 7, 0}, {"seal", "old", 4, 0}}, nil},
		"of two lots of one day the later code is the newest": {
			[]db.Act{receive("seal", "A", 1), receive("seal", "B", 1)}, db.Count{Item: "seal", Found: 5, On: day(4)},
			[]standing{{"seal", "A", 1, 0}, {"seal", "B", 4, 0}}, nil},
		"a count below comes from what expires first": {
			[]db.Act{old, fresh}, db.Count{Item: "seal", Found: 5, On: day(4)},
			[]standing{{"seal", "fresh", 5, 0}, {"seal", "old", 0, 0}}, nil},
		"a count of nothing empties the shelf and the set-asides": {
			[]db.Act{old, aside("J", "", 3)}, db.Count{Item: "seal", Found: 0, On: day(4)},
			[]standing{{"seal", "old", 0, 0}}, nil},
		"a count of what was never received names no lot": {
			nil, db.Count{Item: "seal", Found: 1, On: day(4)}, nil, inventory.ErrNotFound},
		"a reversal puts back what was taken": {
			[]db.Act{old, take("J", "seal", 3)}, db.Reverse{Item: "seal", Lot: "old", Seq: 2, On: day(4)},
			[]standing{{"seal", "old", 4, 0}}, nil},
		"a movement is reversed once": {
			[]db.Act{old, take("J", "seal", 1), db.Reverse{Item: "seal", Lot: "old", Seq: 2, On: day(4)}},
			db.Reverse{Item: "seal", Lot: "old", Seq: 2, On: day(4)},
			[]standing{{"seal", "old", 4, 0}}, inventory.ErrConflict},
		"a reversal is not reversed": {
			[]db.Act{old, take("J", "seal", 1), db.Reverse{Item: "seal", Lot: "old", Seq: 2, On: day(4)}},
			db.Reverse{Item: "seal", Lot: "old", Seq: 3, On: day(4)},
			[]standing{{"seal", "old", 4, 0}}, inventory.ErrConflict},
		"a delivery is not reversed once its stock is used": {
			[]db.Act{old, take("J", "seal", 1)}, db.Reverse{Item: "seal", Lot: "old", Seq: 1, On: day(4)},
			[]standing{{"seal", "old", 3, 0}}, inventory.ErrShort},
	} {
		t.Run(name, func(t *testing.T) {
			s := *s
			s.workshop = s.another(t)
			for _, act := range c.before {
				s.must(t, act)
			}
			_, err := s.Do(t.Context(), s.workshop, uuid.New(), c.act)
			if !errors.Is(err, c.err) {
				t.Errorf("found error %v, expected %v", err, c.err)
			}
			if diff := cmp.Diff(c.want, s.standing(t)); diff != "" && len(c.want)+len(s.standing(t)) > 0 {
				t.Errorf("shelf (-expected +found):\n%s", diff)
			}
			s.mustBeSound(t)
		})
	}
}

// Of what is set aside, the job that came last loses it: whoever asked first
// keeps what was promised.
func TestTheJobThatCameLastLosesIt(t *testing.T) {
	s := openShop(t)
	s.must(t, receive("seal", "A", 9))
	for _, job := range []string{"M", "A", "Z"} {
		s.must(t, db.SetAside{Job: job, On: day(2), Lines: []db.Line{{Item: "seal", Qty: 2}}})
	}
	s.must(t, db.SetAside{Job: "M", On: day(3), Lines: []db.Line{{Item: "seal", Qty: 1}}}) // and so M came last
	done := s.must(t, db.Waste{Item: "seal", Qty: 6, On: day(4)})
	want := []db.Kept{{Item: "seal", Lot: "A", Job: "M", Qty: -3}, {Item: "seal", Lot: "A", Job: "Z", Qty: -1}}
	if diff := cmp.Diff(want, done.Kept); diff != "" {
		t.Errorf("given back (-expected +found):\n%s", diff)
	}
}

func TestARequestThatMakesNoSenseIsNotSent(t *testing.T) {
	s := openShop(t)
	line := func(l db.Line) []db.Line { return []db.Line{l} }
	s.mustNotSend(t, map[string]db.Act{
		"nothing received":        db.Receive{Item: "seal", Lot: "L", On: day(1)},
		"a lot without a name":    db.Receive{Item: "seal", Qty: 1, On: day(1)},
		"a cost below zero":       db.Receive{Item: "seal", Lot: "L", Qty: 1, On: day(1), UnitCost: -1},
		"a take without lines":    db.Take{Job: "J", On: day(1)},
		"a take without a job":    db.Take{On: day(1), Lines: line(db.Line{Item: "seal", Qty: 1})},
		"a line without an item":  db.Take{Job: "J", On: day(1), Lines: line(db.Line{Qty: 1})},
		"a line below zero":       db.SetAside{Job: "J", On: day(1), Lines: line(db.Line{Item: "seal", Qty: -1})},
		"more than the most":      db.Take{Job: "J", On: day(1), Lines: line(db.Line{Item: "seal", Qty: inventory.MaxQuantity + 1})},
		"a release without a day": db.Release{Job: "J"},
		"a waste without a day":   db.Waste{Item: "seal", Qty: 1},
		"a count below zero":      db.Count{Item: "seal", Found: -1, On: day(1)},
		"a reversal of none":      db.Reverse{Item: "seal", Lot: "L", On: day(1)},

		"a job of no unit and no model":       db.BookJob{Job: "B", Services: []string{"fork service"}, On: day(1), Bench: day(2)},
		"a job without a service":             db.BookJob{Job: "B", Unit: "U1", On: day(1), Bench: day(2)},
		"a job without a bench day":           db.BookJob{Job: "B", Unit: "U1", Services: []string{"fork service"}, On: day(1)},
		"a bench day before the booking":      db.BookJob{Job: "B", Unit: "U1", Services: []string{"fork service"}, On: day(2), Bench: day(1)},
		"a meter below zero":                  db.BookJob{Job: "B", Unit: "U1", Services: []string{"fork service"}, On: day(1), Bench: day(2), Reading: &inventory.Reading{Hours: -1}},
		"a meter that shows no number":        db.CloseJob{Job: "J", On: day(1), Reading: &inventory.Reading{Hours: math.NaN()}},
		"less air than none":                  db.CloseJob{Job: "J", On: day(1), After: &inventory.Setup{AirBar: value(-1.0)}},
		"a job moved to no day":               db.MoveJob{Job: "J", On: day(1)},
		"a job called off on no day":          db.CancelJob{Job: "J"},
		"nothing set aside for nobody":        db.SetAsideAll{On: day(1)},
		"a job twice in a set":                asideAll("J", "J"),
		"a job that takes over from itself":   takeOver("J", "J"),
		"a job that takes over from no other": takeOver("", "J"),
		"a take-over without a reason":        db.TakeOver{From: "J", Job: "K", Reason: " ", On: day(1)},
		"a close with a line of nothing":      db.CloseJob{Job: "J", On: day(1), Wasted: lines("seal", 0)},
		"a correction of nothing":             db.CorrectJob{Job: "J", On: day(1), Reason: "x"},
		"a correction without a reason":       db.CorrectJob{Job: "J", On: day(1), More: lines("seal", 1)},
	})
}

// What the database itself refuses to read is not stored under the key.
func TestABlankLotIsRefusedByTheTable(t *testing.T) {
	s := openShop(t)
	key := uuid.New()
	act := db.Receive{Item: "seal", Lot: " padded", Qty: 1, On: day(1)}
	if _, err := s.Do(t.Context(), s.workshop, key, act); !errors.Is(err, inventory.ErrInvalid) {
		t.Errorf("found %v, expected it to be invalid", err)
	}
	act.Lot = "zero\x00byte"
	if _, err := s.Do(t.Context(), s.workshop, key, act); !errors.Is(err, inventory.ErrInvalid) {
		t.Errorf("found %v, expected it to be invalid", err)
	}
	act.Lot = "plain"
	if _, err := s.Do(t.Context(), s.workshop, key, act); err != nil {
		t.Error(err)
	}
}

func TestARepeatAnswersTheSameAndMovesNothing(t *testing.T) {
	s := openShop(t)
	ctx := context.Background()
	for _, c := range []struct {
		name string
		act  db.Act
	}{
		{"a delivery", receive("seal", "L", 5)},
		{"a take", take("J", "seal", 2)},
		{"a shortage", take("J", "seal", 9)},
		{"a set-aside", db.SetAside{Job: "J", On: day(2), Lines: []db.Line{{Item: "seal", Qty: 1}}}},
		{"a count without a difference", db.Count{Item: "seal", Found: 3, On: day(3)}},
	} {
		key := uuid.New()
		first, firstErr := s.Do(ctx, s.workshop, key, c.act)
		shelf := s.standing(t)
		for range 2 {
			again, err := s.Do(ctx, s.workshop, key, c.act)
			if diff := cmp.Diff(first, again); diff != "" {
				t.Errorf("%s: the answer changed: %s", c.name, diff)
			}
			if (err == nil) != (firstErr == nil) || (err != nil && err.Error() != firstErr.Error()) {
				t.Errorf("%s: found error %v, expected %v", c.name, err, firstErr)
			}
		}
		if diff := cmp.Diff(shelf, s.standing(t)); diff != "" {
			t.Errorf("%s: the repeat moved something: %s", c.name, diff)
		}
	}
	s.mustBeSound(t)
}

// The shelf has grown meanwhile, and the refusal stands: a new act needs a new
// key.
func TestARefusalStaysRefused(t *testing.T) {
	s := openShop(t)
	s.must(t, receive("seal", "L", 1))
	key := uuid.New()
	for range 2 {
		_, err := s.Do(t.Context(), s.workshop, key, take("J", "seal", 2))
		if r := refusalOf(err); r == nil || r.Found != 1 || r.Expected != 2 || !errors.Is(err, inventory.ErrShort) {
			t.Fatalf("found %v, expected 1 found and 2 expected", err)
		}
		s.must(t, receive("seal", "L", 5))
	}
}

func TestAKeyIsForOneRequest(t *testing.T) {
	s := openShop(t)
	key := uuid.New()
	s.must(t, receive("seal", "L", 5))
	if _, err := s.Do(t.Context(), s.workshop, key, take("J", "seal", 2)); err != nil {
		t.Fatal(err)
	}
	for name, act := range map[string]db.Act{
		"another quantity": take("J", "seal", 3),
		"another kind":     db.SetAside{Job: "J", On: day(2), Lines: []db.Line{{Item: "seal", Qty: 2}}},
	} {
		if _, err := s.Do(t.Context(), s.workshop, key, act); !errors.Is(err, inventory.ErrConflict) || refusalOf(err) != nil {
			t.Errorf("%s: found %v, expected a conflict", name, err)
		}
	}
	other := s.another(t)
	if _, err := s.Do(t.Context(), other, key, take("J", "seal", 3)); !errors.Is(err, inventory.ErrShort) {
		t.Errorf("another workshop's key: found %v, expected a shortage of its own", err)
	}
}

func TestARefusalReadsAsASentence(t *testing.T) {
	s := openShop(t)
	s.must(t, receive("oil", "drum", 125))
	for want, act := range map[string]db.Act{
		"take: item oil: short: found 12.5 ml, expected 20 ml":                                take("J", "oil", 200),
		"take: item sael: not found":                                                          take("J", "sael", 1),
		"waste: item oil lot dram: not found":                                                 db.Waste{Item: "oil", Lot: "dram", Qty: 1, On: day(2)},
		"reverse: item oil lot drum movement 7: not found":                                    db.Reverse{Item: "oil", Lot: "drum", Seq: 7, On: day(2)},
		"release: item oil for job J: short: found 0 ml, expected 1 ml":                       db.Release{Job: "J", On: day(2), Lines: []db.Line{{Item: "oil", Qty: 10}}},
		"count: item seal: not found: no lot of it was ever received; receive what was found": db.Count{Item: "seal", Found: 1, On: day(2)},
	} {
		if _, err := s.Do(t.Context(), s.workshop, uuid.New(), act); err == nil || err.Error() != want {
			t.Errorf("found %q, expected %q", err, want)
		}
	}
}
