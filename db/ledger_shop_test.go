package db_test

import (
	"context"
	"errors"
	"fmt"
	"testing"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"circlip/db"
	"circlip/db/dbtest"
	"circlip/inventory"
)

// shop is a workshop in a fresh database, with a second connection that has
// the rights of a superuser.
type shop struct {
	*db.Store
	dsn      string
	admin    *pgx.Conn
	workshop int64
}

// failer is what a test and a property have in common.
type failer interface {
	Helper()
	Fatalf(format string, args ...any)
}

// openShop makes a shop that keeps a seal, a wiper and a kit of two seals and a
// wiper by the piece and an oil by the millilitre, has none of them, and buys
// from north and south. Fifteen jobs on its model fork are booked for 1 March,
// on no unit; its unit U1 is a fork, U2 a shock. The service of forks takes 40 ml
// of oil until June and 50 ml from July, and half the time two wipers from 10
// March. It has containers of 120.5 g each: jug and tin, and a box for seals.
func openShop(t testing.TB) *shop {
	t.Helper()
	dsn := dbtest.Migrated(t)
	s := &shop{Store: dbtest.OpenDSN(t, dsn), dsn: dsn, admin: dbtest.Connect(t, dsn)}
	s.workshop = s.another(t)
	return s
}

const addShopSQL = `
WITH added AS (INSERT INTO circlip.workshop (name) VALUES ('shop ' || gen_random_uuid()) RETURNING workshop),
items AS (
	INSERT INTO circlip.item (workshop, item, name, kind, measure)
	SELECT workshop, i.item, i.item, i.kind, i.measure FROM added CROSS JOIN (VALUES
		('seal', 'seal', 'ea'), ('wiper', 'wiper', 'ea'), ('oil', 'oil', 'ml'), ('kit', 'kit', 'ea')) AS i(item, kind, measure)),
suppliers AS (
	INSERT INTO circlip.supplier (workshop, supplier, name)
	SELECT workshop, s, s FROM added CROSS JOIN (VALUES ('north'), ('south')) AS o(s)),
parts AS (
	INSERT INTO circlip.kit_part (workshop, kit, item, qty)
	SELECT workshop, 'kit', p.item, p.qty FROM added CROSS JOIN (VALUES ('seal', 2), ('wiper', 1)) AS p(item, qty)),
models AS (
	INSERT INTO circlip.model (workshop, model, name, family)
	SELECT workshop, m, m, m FROM added CROSS JOIN (VALUES ('fork'), ('shock')) AS o(m)),
services AS (
	INSERT INTO circlip.service (workshop, service, name, family)
	SELECT workshop, m || ' service', m, m FROM added CROSS JOIN (VALUES ('fork'), ('shock')) AS o(m)),
bill AS (
	INSERT INTO circlip.bom_line (workshop, service, model, item, valid_from, qty, need, waste, valid_to, note)
	SELECT workshop, 'fork service', '*', l.item, l.since, l.qty, l.need, 0.1, l.until, l.note FROM added CROSS JOIN (VALUES
		('oil', DATE '-infinity', 400, 1, DATE '2026-06-01', 'by the book'), ('oil', '2026-07-01', 500, 1, 'infinity', NULL),
		('wiper', '2026-03-10', 2, 0.5, 'infinity', NULL)) AS l(item, since, qty, need, until, note)),
containers AS (
	INSERT INTO circlip.container (workshop, container, name, item, tare_g, volume_ml)
	SELECT workshop, c, c, i, 120.5, NULL FROM added CROSS JOIN (VALUES ('jug', NULL), ('tin', NULL), ('box', 'seal')) AS o(c, i)),
units AS (
	INSERT INTO circlip.unit (workshop, unit, model, holder)
	SELECT workshop, u, m, 'fleet' FROM added CROSS JOIN (VALUES ('U1', 'fork'), ('U2', 'shock')) AS o(u, m))
SELECT workshop FROM added`

// Triggers that look for the service do not see it in the statement that makes it.
const addJobsSQL = `
INSERT INTO circlip.job (workshop, job, model, services, bench_date)
SELECT $1, j, 'fork', '{fork service}', '2026-03-01'
FROM unnest(ARRAY['J', 'K', 'L', 'M', 'A', 'Z', 'J0', 'J1', 'J2', 'J3', 'J4', 'J5', 'J6', 'J7', 'J9']) AS j`

// another makes one more workshop in the same database.
func (s *shop) another(t failer) (workshop int64) {
	t.Helper()
	if err := s.admin.QueryRow(context.Background(), addShopSQL).Scan(&workshop); err != nil {
		t.Fatalf("add a workshop: %v", err)
	}
	s.exec(t, `SET search_path = circlip`)
	s.exec(t, addJobsSQL, workshop)
	return workshop
}

// must does an act that has to succeed.
func (s *shop) must(t failer, act db.Act) db.Done {
	t.Helper()
	done, err := s.Do(context.Background(), s.workshop, uuid.New(), act)
	if err != nil {
		t.Fatalf("%#v: %v", act, err)
	}
	return done
}

// mustNotSend wants each of the acts to be invalid, and none to be recorded.
func (s *shop) mustNotSend(t *testing.T, acts map[string]db.Act) {
	t.Helper()
	for name, act := range acts {
		t.Run(name, func(t *testing.T) {
			if _, err := s.Do(t.Context(), s.workshop, uuid.New(), act); !errors.Is(err, inventory.ErrInvalid) {
				t.Errorf("found %v, expected it to be invalid", err)
			}
		})
	}
	if n := collect(t, s.admin, rowToInt, `SELECT count(*) FROM circlip.act`); n[0] != 0 {
		t.Errorf("found %d acts recorded, expected none", n[0])
	}
}

// exec runs a statement as superuser.
func (s *shop) exec(t failer, sql string, args ...any) {
	t.Helper()
	if _, err := s.admin.Exec(context.Background(), sql, args...); err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
}

const standingSQL = `
SELECT b.item, b.lot, b.on_hand, b.reserved FROM circlip.balance AS b WHERE b.workshop = $1 ORDER BY b.item, b.lot`

// standing is one lot's balance.
type standing struct {
	Item, Lot        string
	OnHand, Reserved int64
}

func (s *shop) standing(t failer) []standing {
	t.Helper()
	return collect(t, s.admin, pgx.RowToStructByPos[standing], standingSQL, s.workshop)
}

// collect reads all rows of a query.
func collect[T any](t failer, conn *pgx.Conn, to pgx.RowToFunc[T], sql string, args ...any) []T {
	t.Helper()
	rows, err := conn.Query(context.Background(), sql, args...)
	if err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
	all, err := pgx.CollectRows(rows, to)
	if err != nil {
		t.Fatalf("%s: %v", sql, err)
	}
	return all
}

// mustBeSound fails when Check finds anything.
func (s *shop) mustBeSound(t failer) {
	t.Helper()
	findings, err := s.Check(context.Background(), s.workshop)
	if err != nil {
		t.Fatalf("check: %v", err)
	}
	for _, f := range findings {
		t.Fatalf("check: %s (%d findings in all)", f, len(findings))
	}
}

func day(n int) inventory.Date { return inventory.NewDate(2026, 3, n) }

func receive(item, lot string, qty inventory.Quantity) db.Receive {
	return db.Receive{Item: item, Lot: lot, Qty: qty, Order: "PO-1", On: day(1), Expires: day(30)}
}

func take(job, item string, qty inventory.Quantity) db.Take {
	return db.Take{Job: job, On: day(2), Lines: []db.Line{{Item: item, Qty: qty}}}
}

// refusalOf returns the refusal in err, or nil.
func refusalOf(err error) *db.Refusal {
	var r *db.Refusal
	if errors.As(err, &r) {
		return r
	}
	return nil
}

func kindOf(err error) string {
	for _, kind := range []error{inventory.ErrNotFound, inventory.ErrConflict, inventory.ErrShort, inventory.ErrInvalid,
		inventory.ErrUnavailable} {
		if errors.Is(err, kind) {
			return kind.Error()
		}
	}
	return fmt.Sprint(err)
}

func rowToInt(row pgx.CollectableRow) (n int64, err error) { err = row.Scan(&n); return n, err }
