package db_test

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"circlip/db"
	"circlip/db/dbtest"
	"circlip/inventory"
)

const (
	crowdSize = 8
	crowdTime = 3 * time.Second
)

// Eight people at one scarce shelf. Afterwards every movement that was
// answered is there once and no other, nothing is below zero, and Check is
// clean.
func TestACrowdAtOneShelf(t *testing.T) {
	s := openShop(t)
	for _, item := range []string{"seal", "wiper", "oil", "kit"} {
		s.must(t, receive(item, "A", 20))
	}
	s.must(t, place("PO-7", db.PlaceLine{Item: "seal", Packs: 9, PackQty: 12}, db.PlaceLine{Item: "wiper", Packs: 9, PackQty: 12}, db.PlaceLine{Item: "kit", Packs: 9, PackQty: 4}))
	var lock sync.Mutex
	var answered []string
	outcomes := map[string]int{}
	var wait sync.WaitGroup
	until := time.Now().Add(crowdTime)
	for person := range crowdSize {
		wait.Go(func() {
			r := rand.New(rand.NewPCG(uint64(person), 1))
			for time.Now().Before(until) {
				act := crowdAct(r)
				done, err := s.Do(context.Background(), s.workshop, uuid.New(), act)
				lock.Lock()
				for _, m := range done.Moved {
					answered = append(answered, fmt.Sprintf("%s/%s #%d: %d from %s to %s", m.Item, m.Lot, m.Seq, m.Qty, m.From, m.To))
				}
				outcomes[fmt.Sprintf("%T %v", act, err == nil)]++
				if err != nil && refusalOf(err) == nil {
					t.Errorf("%#v: %v", act, err)
				}
				lock.Unlock()
			}
		})
	}
	wait.Wait()
	t.Log(outcomes)
	recorded := collect(t, s.admin, pgx.RowTo[string], `SELECT format('%s/%s #%s: %s from %s to %s', item, lot, seq, qty, from_place, to_place)
		FROM circlip.movement WHERE workshop = $1 AND act <> (SELECT act FROM circlip.act WHERE kind = 'receive' ORDER BY at LIMIT 1)`, s.workshop)
	slices.Sort(answered)
	slices.Sort(recorded)
	for _, first := range []string{"kit/A #1: 20 from supplier to shelf", "oil/A #1: 20 from supplier to shelf", "seal/A #1: 20 from supplier to shelf", "wiper/A #1: 20 from supplier to shelf"} {
		recorded = slices.DeleteFunc(recorded, func(m string) bool { return m == first })
	}
	if diff := cmp.Diff(answered, recorded); diff != "" {
		t.Errorf("movements (-answered +recorded):\n%s", diff)
	}
	for _, kind := range []string{"db.Take true", "db.Take false", "db.SetAside true", "db.Release true", "db.Receive true", "db.Count true", "db.Waste true",
		"db.Deliver true", "db.OpenKit true", "db.Extend true", "db.OpenContainer true"} {
		if outcomes[kind] < 5 {
			t.Errorf("%s was reached %d times, expected more", kind, outcomes[kind])
		}
	}
	for _, b := range s.standing(t) {
		if b.OnHand < 0 || b.Reserved < 0 || b.Reserved > b.OnHand {
			t.Errorf("found %+v", b)
		}
	}
	s.mustBeSound(t)
	s.mustHaveLocked(t)
}

// mustHaveLocked fails when sessions ever locked lots crosswise.
func (s *shop) mustHaveLocked(t *testing.T) {
	t.Helper()
	s.Close() // sessions report what they met when they end
	time.Sleep(100 * time.Millisecond)
	if n := collect(t, s.admin, rowToInt, `SELECT deadlocks FROM pg_stat_database WHERE datname = current_database()`); n[0] != 0 {
		t.Errorf("found %d deadlocks, expected none", n[0])
	}
}

// crowdAct draws an act on items in any order.
func crowdAct(r *rand.Rand) db.Act {
	items := []string{"seal", "wiper", "oil"}
	r.Shuffle(3, func(i, j int) { items[i], items[j] = items[j], items[i] })
	job := fmt.Sprintf("J%d", r.IntN(6))
	var lines []db.Line
	for _, item := range items[:1+r.IntN(3)] {
		lines = append(lines, db.Line{Item: item, Qty: inventory.Quantity(1 + r.IntN(6))})
	}
	lot := string(rune('A' + r.IntN(4)))
	later := inventory.NewDate(2026, 4, 1+r.IntN(20))
	switch r.IntN(18) {
	case 0, 1, 2, 3:
		return db.Take{Job: job, On: day(2), Lines: lines}
	case 4, 5:
		return db.SetAside{Job: job, On: day(2), Lines: lines}
	case 6, 7:
		return db.Release{Job: job, On: day(2)}
	case 8, 9:
		return db.Receive{Item: items[0], Lot: lot, Qty: inventory.Quantity(1 + r.IntN(12)), On: day(1), Expires: day(30)}
	case 10:
		found := inventory.Quantity(r.IntN(30))
		return db.Count{Item: items[0], Found: found, On: day(2), Parts: []inventory.CountPart{{Item: items[0], Date: day(2), Number: 1, Container: "jug", Qty: found}}}
	case 11, 12:
		return crowdDelivery(r, items, lot)
	case 13, 14:
		return openKit("", inventory.Quantity(1+r.IntN(3)))
	case 15:
		return db.Extend{Item: items[0], Lot: lot, Until: later, By: "Ann", On: day(3)}
	case 16:
		return db.OpenContainer{Item: items[0], Lot: lot, Qty: 1, Until: later, On: day(3)}
	}
	return db.Waste{Item: items[0], Qty: 1, On: day(2)}
}

// crowdDelivery brings some of everything that is ordered, in any order.
func crowdDelivery(r *rand.Rand, items []string, lot string) db.Deliver {
	delivery := db.Deliver{Order: "PO-7", On: day(3)}
	for _, item := range items {
		if item == "oil" {
			item = "kit"
		}
		delivery.Lines = append(delivery.Lines, db.DeliverLine{Item: item, Packs: 1, Qty: inventory.Quantity(1 + r.IntN(4)),
			Lot: []string{"", lot}[r.IntN(2)], Expires: day(30)})
	}
	return delivery
}

// Whoever waited for a lot and found too little looks again: what came in
// meanwhile is seen.
func TestADeliveryThatCameWhileWaitingIsSeen(t *testing.T) {
	s := openShop(t)
	s.must(t, receive("seal", "A", 5))
	s.exec(t, `BEGIN`)
	s.exec(t, `SELECT FROM circlip.balance WHERE lot = 'A' FOR UPDATE`)
	got := make(chan error, 1)
	go func() {
		_, err := s.Do(context.Background(), s.workshop, uuid.New(), take("J", "seal", 6))
		got <- err
	}()
	watch := dbtest.Connect(t, s.dsn)
	for waiting := int64(0); waiting == 0; {
		waiting = collect(t, watch, rowToInt, `SELECT count(*) FROM pg_stat_activity WHERE datname = current_database() AND wait_event_type = 'Lock'`)[0]
	}
	s.must(t, receive("seal", "B", 5))
	s.exec(t, `ROLLBACK`)
	if err := <-got; err != nil {
		t.Errorf("found %v, expected five of the one and one of the other", err)
	}
	s.mustBeSound(t)
}

// A crowd under one key does the act once, and everybody is told the same.
func TestACrowdWithOneKey(t *testing.T) {
	s := openShop(t)
	s.must(t, receive("seal", "A", 50))
	for range 10 {
		key := uuid.New()
		answers := make([]string, crowdSize)
		var wait sync.WaitGroup
		for i := range answers {
			wait.Go(func() {
				done, err := s.Do(context.Background(), s.workshop, key, take("J", "seal", 4))
				answers[i] = fmt.Sprint(done, errors.Is(err, inventory.ErrShort))
			})
		}
		wait.Wait()
		if len(slices.Compact(answers)) != 1 {
			t.Errorf("found different answers under one key: %v", answers)
		}
	}
	if got := s.standing(t)[0].OnHand; got != 10 {
		t.Errorf("found %d on hand, expected 10", got)
	}
	s.mustBeSound(t)
}
