package db_test

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"circlip/db/dbtest"
)

// A schedule says whose turn it is: the n-th client's next step at each place.
// Every client makes the same number of steps; client n starts only after
// client n-1 has, since they are alike.
func schedules(clients, steps int) (all [][]int) {
	made := make([]int, clients)
	var turns []int
	var next func()
	next = func() {
		if len(turns) == clients*steps {
			all = append(all, append([]int(nil), turns...))
			return
		}
		for c := range clients {
			if made[c] == steps || (c > 0 && made[c] == 0 && made[c-1] == 0) {
				continue
			}
			made[c]++
			turns = append(turns, c)
			next()
			made[c]--
			turns = turns[:len(turns)-1]
		}
	}
	next()
	return all
}

// Outside source: the multinomial coefficients 6!/(3!·3!) and 9!/(3!·3!·3!),
// divided by the orders of alike clients.
func TestEveryScheduleIsThere(t *testing.T) {
	for clients, want := range map[int]int{2: 20 / 2, 3: 1680 / 6} {
		if got := len(schedules(clients, 3)); got != want {
			t.Errorf("%d clients: found %d schedules, expected %d", clients, got, want)
		}
	}
}

// client is a session that makes one step at a time and may be blocked in it.
type client struct {
	conn    *pgx.Conn
	pid     uint32
	pending chan error // of the step that has not come back yet
	steps   []func(ctx context.Context, conn *pgx.Conn) error
	made    int
	blocked int // how often it had to wait for another
}

// turn starts the client's next step and returns when it is done or blocked. A
// blocked client loses its turns; what is left is made up for by drain.
func (c *client) turn(t *testing.T, admin *pgx.Conn) {
	if c.pending != nil && !c.settled(t, 0) {
		return
	}
	c.start()
	for !c.settled(t, 300*time.Microsecond) {
		var blocked bool
		if err := admin.QueryRow(t.Context(), `SELECT cardinality(pg_blocking_pids($1)) > 0`, c.pid).Scan(&blocked); err != nil {
			t.Fatal(err)
		}
		if blocked {
			c.blocked++
			return
		}
	}
}

func (c *client) start() {
	step := c.steps[c.made]
	c.made++
	pending := make(chan error, 1)
	c.pending = pending
	go func() { pending <- step(context.Background(), c.conn) }()
}

// settled reports whether the step came back within the time.
func (c *client) settled(t *testing.T, within time.Duration) bool {
	select {
	case err := <-c.pending:
		if err != nil {
			t.Error(err)
		}
		c.pending = nil
		return true
	case <-time.After(within):
		return false
	}
}

// drain lets every client finish, whichever can go on first.
func drain(t *testing.T, clients []*client) {
	deadline := time.Now().Add(10 * time.Second)
	for left := len(clients); left > 0; {
		left = 0
		for _, c := range clients {
			if c.pending != nil && !c.settled(t, 100*time.Microsecond) {
				left++
				continue
			}
			if c.made < len(c.steps) {
				c.start()
				left++
			}
		}
		if time.Now().After(deadline) {
			t.Fatal("clients wait for each other for ever")
		}
	}
}

func connectClients(t *testing.T, s *shop, n int) []*client {
	t.Helper()
	clients := make([]*client, n)
	for i := range clients {
		conn := dbtest.Connect(t, s.dsn)
		if _, err := conn.Exec(t.Context(), `SET search_path = circlip; SET ROLE circlip_app`, pgx.QueryExecModeSimpleProtocol); err != nil {
			t.Fatal(err)
		}
		clients[i] = &client{conn: conn, pid: conn.PgConn().PID()}
	}
	return clients
}

func statement(sql string) func(context.Context, *pgx.Conn) error {
	return func(ctx context.Context, conn *pgx.Conn) error {
		_, err := conn.Exec(ctx, sql)
		return err
	}
}

// acting is a client that does one act: begin, the act, commit.
func acting(workshop int64, key uuid.UUID, kind, request string, answer *string) []func(context.Context, *pgx.Conn) error {
	return []func(context.Context, *pgx.Conn) error{
		statement(`BEGIN`),
		func(ctx context.Context, conn *pgx.Conn) error {
			return conn.QueryRow(ctx, `SELECT circlip.perform($1, $2, $3, $4)`, workshop, key, kind, json.RawMessage(request)).Scan(answer)
		},
		statement(`COMMIT`),
	}
}

const (
	takeSix     = `{"job": "J", "on": "2026-03-02", "lines": [{"item": "seal", "qty": 6}]}`
	wasteSix    = `{"item": "seal", "qty": 6, "ref": "", "on": "2026-03-02"}`
	reverseIt   = `{"item": "seal", "lot": "L", "seq": 1, "on": "2026-03-02"}`
	receiveMore = `{"item": "seal", "lot": "M", "qty": 10, "order": "", "on": "2026-03-01"}`
)

func closeSix(job string) string {
	return `{"job": "` + job + `", "unit": "", "on": "2026-03-02", "used": [{"item": "seal", "qty": 6}], "wasted": [], "back": []}`
}

func allSix(first, second string) string {
	return `{"on": "2026-03-02", "jobs": [{"job": "` + first + `", "lines": [{"item": "seal", "qty": 6}]}, {"job": "` + second + `", "lines": [{"item": "seal", "qty": 6}]}]}`
}

// Whatever the interleaving, of ten on the shelf six go once.
func TestNoScheduleOversells(t *testing.T) {
	s := openShop(t)
	for name, c := range map[string]struct {
		kinds, requests []string
		oneKey          bool
		onHand, free    int64 // in every schedule
		refused         int
	}{
		"two take six of ten":           {[]string{"take", "take"}, []string{takeSix, takeSix}, false, 4, 4, 1},
		"three take six of ten":         {[]string{"take", "take", "take"}, []string{takeSix, takeSix, takeSix}, false, 4, 4, 2},
		"two set six of ten aside":      {[]string{"set aside", "set aside"}, []string{takeSix, takeSix}, false, 10, 4, 1},
		"two close with six of ten":     {[]string{"close job", "close job"}, []string{closeSix("J"), closeSix("K")}, false, 4, 4, 1},
		"three close with six of ten":   {[]string{"close job", "close job", "close job"}, []string{closeSix("J"), closeSix("K"), closeSix("M")}, false, 4, 4, 2},
		"two close one job":             {[]string{"close job", "close job"}, []string{closeSix("J"), closeSix("J")}, false, 4, 4, 1},
		"two set aside all":             {[]string{"set aside all", "set aside all"}, []string{allSix("J", "K"), allSix("K", "J")}, false, 10, 0, 0},
		"two waste six of ten":          {[]string{"waste", "waste"}, []string{wasteSix, wasteSix}, false, 4, 4, 1},
		"two reverse one delivery":      {[]string{"reverse", "reverse"}, []string{reverseIt, reverseIt}, false, 0, 0, 1},
		"two receive one new lot":       {[]string{"receive", "receive"}, []string{receiveMore, receiveMore}, false, 30, 30, 0},
		"two with one key take once":    {[]string{"take", "take"}, []string{takeSix, takeSix}, true, 4, 4, 0},
		"three with one key take once":  {[]string{"take", "take", "take"}, []string{takeSix, takeSix, takeSix}, true, 4, 4, 0},
		"two with one key waste once":   {[]string{"waste", "waste"}, []string{wasteSix, wasteSix}, true, 4, 4, 0},
		"two with one key receive once": {[]string{"receive", "receive"}, []string{receiveMore, receiveMore}, true, 20, 20, 0},
	} {
		t.Run(name, func(t *testing.T) {
			s := *s
			clients := connectClients(t, &s, len(c.kinds))
			for i, turns := range schedules(len(clients), 3) {
				s.workshop = s.another(t)
				s.must(t, receive("seal", "L", 10))
				answers := make([]string, len(clients))
				key := uuid.New()
				for i, client := range clients {
					if !c.oneKey {
						key = uuid.New()
					}
					client.made, client.steps = 0, acting(s.workshop, key, c.kinds[i], c.requests[i], &answers[i])
				}
				for _, who := range turns {
					clients[who].turn(t, s.admin)
				}
				drain(t, clients)
				s.mustHold(t, turns, answers, c.onHand, c.free, c.refused)
				if i%7 == 0 {
					s.mustBeSound(t)
				}
			}
			if clients[1].blocked == 0 {
				t.Error("no schedule made the second client wait, expected most to")
			}
		})
	}
}

func (s *shop) mustHold(t *testing.T, turns []int, answers []string, onHand, free int64, refused int) {
	t.Helper()
	var got, reserved int64
	for _, b := range s.standing(t) {
		got += b.OnHand
		reserved += b.Reserved
	}
	no := 0
	for _, a := range answers {
		if strings.Contains(a, `"refused"`) {
			no++
		}
	}
	if got != onHand || got-reserved != free || no != refused {
		t.Errorf("schedule %v: found %d on hand, %d free, %d refused, expected %d, %d, %d: %s",
			turns, got, got-reserved, no, onHand, free, refused, answers)
	}
}

// The control: the same schedules with the stock read first and written later.
// If these did not oversell, the permuter would prove nothing.
func TestTheNaiveWayOversells(t *testing.T) {
	s := openShop(t)
	s.exec(t, `CREATE TABLE circlip.naive (shelf bigint, on_hand bigint); GRANT ALL ON circlip.naive TO circlip_app`)
	for _, n := range []int{2, 3} {
		t.Run(fmt.Sprint(n, " clients"), func(t *testing.T) {
			clients := connectClients(t, s, n)
			oversold, all := 0, schedules(n, 3)
			for shelf, turns := range all {
				s.exec(t, `INSERT INTO circlip.naive VALUES ($1, 10)`, shelf)
				var sold atomic.Int64
				for _, c := range clients {
					c.made, c.steps = 0, naiveTake(shelf, &sold)
				}
				for _, who := range turns {
					clients[who].turn(t, s.admin)
				}
				drain(t, clients)
				if sold.Load() > 1 {
					oversold++
				}
			}
			t.Logf("%d of %d schedules sold six of ten more than once", oversold, len(all))
			if oversold < len(all)/2 {
				t.Errorf("found %d of %d schedules that oversell, expected most", oversold, len(all))
			}
		})
	}
}

// naiveTake reads what is there, writes back six less if it was enough, and
// commits; it begins with the read.
func naiveTake(shelf int, sold *atomic.Int64) []func(context.Context, *pgx.Conn) error {
	var seen int64
	return []func(context.Context, *pgx.Conn) error{
		func(ctx context.Context, conn *pgx.Conn) error {
			if err := statement(`BEGIN`)(ctx, conn); err != nil {
				return err
			}
			return conn.QueryRow(ctx, `SELECT on_hand FROM circlip.naive WHERE shelf = $1`, shelf).Scan(&seen)
		},
		func(ctx context.Context, conn *pgx.Conn) error {
			if seen < 6 {
				return nil
			}
			sold.Add(1)
			_, err := conn.Exec(ctx, `UPDATE circlip.naive SET on_hand = $2 WHERE shelf = $1`, shelf, seen-6)
			return err
		},
		statement(`COMMIT`),
	}
}
