package db_test

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"circlip/db"
	"circlip/inventory"
)

func reported(code string) error { return &pgconn.PgError{Code: code, Message: "as reported"} }

// Outside source of the conditions: PostgreSQL's manual, appendix A.
func TestWhatIsTriedAgain(t *testing.T) {
	for name, c := range map[string]struct {
		err   error
		tries int
		kind  error
	}{
		"a lost race is tried again":               {reported("40001"), 3, nil},
		"a deadlock is tried again":                {reported("40P01"), 3, nil},
		"a lock that was not to be had likewise":   {reported("55P03"), 3, nil},
		"a server that stops likewise":             {reported("57P01"), 3, nil},
		"a server that starts likewise":            {reported("57P03"), 3, nil},
		"a connection that broke likewise":         {fmt.Errorf("read: %w", io.ErrUnexpectedEOF), 3, nil},
		"too many connections likewise":            {reported("53300"), 3, nil},
		"a full disk is not":                       {reported("53100"), 1, inventory.ErrUnavailable},
		"a broken rule is not":                     {reported("23514"), 1, inventory.ErrInvalid},
		"a row that is there already is not":       {reported("23505"), 1, inventory.ErrConflict},
		"a reference to nothing is not":            {reported("23503"), 1, inventory.ErrNotFound},
		"a text where a number belongs is not":     {reported("22P02"), 1, inventory.ErrInvalid},
		"the ledger's own refusal is not":          {reported("CLIMM"), 1, inventory.ErrConflict},
		"no rows is not":                           {pgx.ErrNoRows, 1, inventory.ErrNotFound},
		"what the caller called off is not":        {context.Canceled, 1, context.Canceled},
		"a file that is not there is not":          {&fs.PathError{Op: "open", Path: "x", Err: syscall.ENOENT}, 1, fs.ErrNotExist},
		"a file that cannot be moved is not":       {&os.LinkError{Op: "rename", Old: "x", New: "y", Err: syscall.EIO}, 1, syscall.EIO},
		"what has a kind already keeps its kind":   {fmt.Errorf("x: %w", inventory.ErrShort), 1, inventory.ErrShort},
		"what nobody foresaw is passed on at once": {errors.New("odd"), 1, nil},
	} {
		t.Run(name, func(t *testing.T) {
			tries := 0
			err := db.Persist(t.Context(), 5*time.Second, func(context.Context) error {
				if tries++; tries < 3 {
					return c.err
				}
				return nil
			})
			if tries != c.tries || (c.tries == 3) != (err == nil) || (c.kind != nil && !errors.Is(err, c.kind)) {
				t.Errorf("found %d tries and %v, expected %d and %v", tries, err, c.tries, c.kind)
			}
		})
	}
}

func TestPatienceEnds(t *testing.T) {
	started := time.Now()
	err := db.Persist(t.Context(), 200*time.Millisecond, func(context.Context) error { return reported("40001") })
	if took := time.Since(started); took > time.Second || !errors.Is(err, inventory.ErrUnavailable) {
		t.Errorf("found %v after %v, expected to give up within 0.2 s", err, took)
	}
	ctx, stop := context.WithCancel(t.Context())
	stop()
	tries := 0
	err = db.Persist(ctx, time.Minute, func(context.Context) error { tries++; return reported("40001") })
	if tries != 1 || err == nil {
		t.Errorf("called off: found %d tries, %v, expected one", tries, err)
	}
}

// A row that somebody else holds is waited for, and given up on in time.
func TestAHeldLot(t *testing.T) {
	t.Parallel() // it mostly waits
	for name, c := range map[string]struct {
		held, patience time.Duration
		want           error
	}{
		"a lot held for a while is waited for": {100 * time.Millisecond, 5 * time.Second, nil},
		"a lot held for ever is given up":      {time.Second, 300 * time.Millisecond, inventory.ErrUnavailable},
	} {
		t.Run(name, func(t *testing.T) {
			s := openShop(t)
			s.must(t, receive("seal", "A", 5))
			s.SetPatience(c.patience)
			s.exec(t, `BEGIN`)
			s.exec(t, `SELECT FROM circlip.balance FOR UPDATE`)
			freed := make(chan error, 1)
			go func() {
				time.Sleep(c.held)
				_, err := s.admin.Exec(context.Background(), `ROLLBACK`)
				freed <- err
			}()
			key := uuid.New()
			_, err := s.Do(t.Context(), s.workshop, key, take("J", "seal", 2))
			if !errors.Is(err, c.want) {
				t.Errorf("found %v, expected %v", err, c.want)
			}
			if err := <-freed; err != nil {
				t.Fatal(err)
			}
			if _, err := s.Do(t.Context(), s.workshop, key, take("J", "seal", 2)); err != nil {
				t.Errorf("afterwards, the same key: %v", err)
			}
			if got := s.standing(t)[0].OnHand; got != 3 {
				t.Errorf("found %d on hand, expected 3", got)
			}
		})
	}
}

func TestASnapshotIsOfOneMoment(t *testing.T) {
	s := openShop(t)
	s.must(t, receive("seal", "A", 5))
	err := s.InSnapshot(t.Context(), func(tx pgx.Tx) error {
		for range 2 {
			var onHand int64
			if err := tx.QueryRow(t.Context(), `SELECT on_hand FROM balance`).Scan(&onHand); err != nil {
				return err
			}
			if onHand != 5 {
				t.Errorf("found %d on hand, expected the 5 of the beginning", onHand)
			}
			s.must(t, take("J", "seal", 1))
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

func TestASnapshotCannotWrite(t *testing.T) {
	s := openShop(t)
	for _, sql := range []string{
		`INSERT INTO workshop (name) VALUES ('x')`,
		`SELECT perform(1, gen_random_uuid(), 'take', '{"job": "J", "on": "2026-03-01", "lines": []}')`,
	} {
		err := s.InSnapshot(t.Context(), func(tx pgx.Tx) error {
			_, err := tx.Exec(t.Context(), sql)
			return err
		})
		var pg *pgconn.PgError
		if !errors.As(err, &pg) || pg.Code != "25006" { // read_only_sql_transaction
			t.Errorf("%s: found %v, expected it to be refused", sql, err)
		}
	}
}

func TestBulkWorkIsAllOrNothing(t *testing.T) {
	s := openShop(t)
	before := collect(t, s.admin, rowToInt, `SELECT count(*) FROM circlip.workshop`)
	stop := errors.New("a fault in the last row")
	err := s.Bulk(t.Context(), func(tx pgx.Tx) error {
		if _, err := tx.Exec(t.Context(), `INSERT INTO workshop (name) VALUES ('x')`); err != nil {
			return err
		}
		return stop
	})
	after := collect(t, s.admin, rowToInt, `SELECT count(*) FROM circlip.workshop`)
	if !errors.Is(err, stop) || after[0] != before[0] {
		t.Errorf("found %v and %d workshops, expected %v and %d", err, after[0], stop, before[0])
	}
}

// What the tables refuse reads as a rule, with its kind.
func TestWhatTheTablesRefuse(t *testing.T) {
	s := openShop(t)
	s.must(t, receive("oil", "A", 5))
	for sql, c := range map[string]struct {
		kind error
		want string
	}{
		`INSERT INTO item (workshop, item, name, kind, measure) VALUES (1, 'seal', 'x', 'seal', 'ea')`: {inventory.ErrConflict, "table item, rule item_pkey"},
		`INSERT INTO item (workshop, item, name, kind, measure) VALUES (1, 'x', 'x', 'seal', 'inch')`:  {inventory.ErrInvalid, "table item, rule item_measure"},
		`INSERT INTO item (workshop, item, name, kind, measure) VALUES (99, 'x', 'x', 'seal', 'ea')`:   {inventory.ErrNotFound, "rule item_workshop_fkey"},
		`INSERT INTO item (workshop, item, name, kind, measure) VALUES (1, 'x', NULL, 'seal', 'ea')`:   {inventory.ErrInvalid, "table item"},
		`DELETE FROM item WHERE item = 'oil'`:                                {inventory.ErrConflict, "rule bom_line_item_known"},
		`INSERT INTO season (workshop, week, factor) VALUES (1, 1, 'often')`: {inventory.ErrInvalid, "often"},
	} {
		err := s.Bulk(t.Context(), func(tx pgx.Tx) error {
			_, err := tx.Exec(t.Context(), sql)
			return err
		})
		if got := fmt.Sprint(err); !errors.Is(err, c.kind) || !strings.Contains(got, c.want) {
			t.Errorf("%s: found %v, expected %v and %q", sql, err, c.kind, c.want)
		}
	}
}
