package db_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"

	"circlip/db"
	"circlip/db/dbtest"
)

// ledgerTables are the tables that only grow, with a column that could be
// changed.
var ledgerTables = map[string]string{
	"lot": "unit_cost = 1", "balance": "on_hand = on_hand + 1", "act": "kind = 'x'", "movement": "qty = qty + 1",
	"set_aside": "qty = qty + 1", "seal": "hash = ''", "seal_head": "seq = 99", "import": "rows = 99",
	"order_sheet": "sheet = 'other'", "delivery": "packs = packs + 1", "inspection": "until = until + 1",
	"job_act": "reason = 'other'",
}

// filled is a shop whose every ledger table has rows.
func filled(t *testing.T) *shop {
	t.Helper()
	s := openShop(t)
	s.stock(t)
	s.must(t, take("J", "seal", 6))
	s.must(t, db.SetAside{Job: "K", On: day(2), Lines: []db.Line{{Item: "seal", Qty: 2}, {Item: "oil", Qty: 9}}})
	s.must(t, db.Extend{Item: "kit", Lot: "K", Until: day(31), By: "Ann", On: day(4)})
	s.must(t, db.CloseJob{Job: "J", On: day(4)})
	if _, err := s.Seal(t.Context(), s.workshop, day(5)); err != nil {
		t.Fatal(err)
	}
	if _, faults := s.importAll(t, []staged{{item: "oil", lot: "drum", from: "supplier", to: "shelf", qty: 5, on: day(6)}}); len(faults) > 0 {
		t.Fatal(faults)
	}
	return s
}

// as is a connection that works as a role, as the pool does.
func (s *shop) as(t *testing.T, role string) *pgx.Conn {
	t.Helper()
	conn := dbtest.Connect(t, s.dsn)
	if _, err := conn.Exec(t.Context(), `SET search_path = circlip; SET ROLE `+role, pgx.QueryExecModeSimpleProtocol); err != nil {
		t.Fatal(err)
	}
	return conn
}

// refusedWith runs a statement that must fail with one of the conditions, and
// puts everything back if it did not.
func refusedWith(t *testing.T, conn *pgx.Conn, sql string, codes ...string) {
	t.Helper()
	tx, err := conn.Begin(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = tx.Rollback(context.Background()) }()
	_, err = tx.Exec(context.Background(), sql, pgx.QueryExecModeSimpleProtocol)
	if err == nil {
		err = tx.Commit(context.Background()) // what is checked at the end only
	}
	var reported *pgconn.PgError
	if !errors.As(err, &reported) || !slices.Contains(codes, reported.Code) {
		t.Errorf("%s\nfound %v, expected it to be refused with %s", sql, err, strings.Join(codes, " or "))
	}
}

const (
	noRight     = "42501" // insufficient_privilege
	isKept      = "CLIMM" // the ledger's own refusal
	stillNeeded = "23503" // foreign_key_violation
	cannotCut   = "0A000" // TRUNCATE of what a foreign key refers to
	breaksARule = "23514" // check_violation
)

// The program's own role may add through the functions and read; every other
// way is closed.
func TestTheProgramsRoleCannotTouchTheLedger(t *testing.T) {
	s := filled(t)
	app := s.as(t, "circlip_app")
	for table, change := range ledgerTables {
		for _, sql := range []string{
			`UPDATE ` + table + ` SET ` + change,
			`DELETE FROM ` + table,
			`INSERT INTO ` + table + ` DEFAULT VALUES`,
			`TRUNCATE ` + table,
			`TRUNCATE ` + table + ` CASCADE`,
			`TRUNCATE item CASCADE`,
			`DROP TABLE ` + table + ` CASCADE`,
			`ALTER TABLE ` + table + ` DISABLE TRIGGER ALL`,
			`ALTER TABLE ` + table + ` DISABLE TRIGGER refuse_change`,
			`ALTER TABLE ` + table + ` DROP COLUMN workshop`,
			`CREATE TRIGGER mine BEFORE INSERT ON ` + table + ` FOR EACH ROW EXECUTE FUNCTION refuse_change()`,
			`CREATE RULE mine AS ON UPDATE TO ` + table + ` DO INSTEAD NOTHING`,
			`COPY ` + table + ` FROM STDIN`,
			`LOCK TABLE ` + table + ` IN ACCESS EXCLUSIVE MODE`,
			`SELECT * FROM ` + table + ` FOR UPDATE`,
			`MERGE INTO ` + table + ` AS t USING (SELECT 1) AS one ON true WHEN MATCHED THEN DELETE`,
		} {
			refusedWith(t, app, sql, noRight)
		}
	}
	for _, sql := range []string{
		`SET session_replication_role = replica`,
		`SET LOCAL ROLE circlip_owner; SET LOCAL session_replication_role = replica`,
		`CREATE TABLE circlip.mine (n integer)`,
		`CREATE FUNCTION circlip.mine() RETURNS void LANGUAGE sql AS 'SELECT'`,
		`CREATE OR REPLACE FUNCTION circlip.post_movement() RETURNS trigger LANGUAGE plpgsql AS 'BEGIN RETURN NEW; END'`,
		`DROP FUNCTION circlip.perform`,
		`ALTER FUNCTION circlip.perform SECURITY INVOKER`,
		`DROP SCHEMA circlip CASCADE`,
		`ALTER ROLE circlip_app SUPERUSER`,
		`GRANT ALL ON movement TO circlip_app; DELETE FROM movement`,
		`INSERT INTO migration (number, name, sha256) VALUES (99, 'x', '')`,
		`SELECT move(1, gen_random_uuid(), 'seal', 'A', 'supplier', 'shelf', '', 5, '2026-03-01')`,
		`SELECT keep(1, gen_random_uuid(), 'seal', 'A', 'J', 5, 'set aside', '2026-03-01')`,
		`SELECT act_waste(1, gen_random_uuid(), '{"item": "seal", "qty": 1, "ref": "", "on": "2026-03-01"}')`,
		`SELECT act_extend(1, gen_random_uuid(), '{"item": "seal", "lot": "B", "until": "2027-03-01", "on": "2026-03-02", "by": "A", "note": ""}')`,
		`SELECT act_deliver((SELECT min(workshop) FROM order_line), gen_random_uuid(), '{"order": "PO-7", "on": "2026-03-02", "closed": false, "lines": [{"item": "seal", "packs": 1, "qty": 1}]}')`,
		`SELECT open_lot(1, '{}', 'seal', 'Z', '2026-03-01', '2026-04-01', 0)`,
	} {
		refusedWith(t, app, sql, noRight)
	}
	s.mustBeSound(t)
}

// A row that the ledger relies on is not deleted through its parent either,
// and a parent does not take its children along.
func TestAParentTakesNothingAlong(t *testing.T) {
	s := filled(t)
	for role, codes := range map[string][]string{
		"circlip_app":   {stillNeeded, noRight},
		"circlip_owner": {stillNeeded, isKept, cannotCut},
		"circlip":       {stillNeeded, isKept, cannotCut}, // a superuser, with the triggers on
	} {
		conn := s.as(t, role)
		for _, sql := range []string{
			`DELETE FROM item WHERE item = 'seal'`,
			`UPDATE item SET item = 'other' WHERE item = 'seal'`,
			`DELETE FROM workshop`,
			`TRUNCATE item CASCADE`,
			`TRUNCATE workshop CASCADE`,
			`TRUNCATE item`,
		} {
			refusedWith(t, conn, sql, codes...)
		}
	}
	s.mustBeSound(t)
}

// The owner of the tables, who needs no rights, and a session that plays a
// replica, in which ordinary triggers sleep: the triggers refuse all the same.
func TestTheTriggersRefuseTheOwnerToo(t *testing.T) {
	s := filled(t)
	for name, how := range map[string]struct{ role, before string }{
		"the owner":                    {"circlip_owner", ""},
		"a superuser":                  {"circlip", ""},
		"a superuser playing replica":  {"circlip", `SET LOCAL session_replication_role = replica;`},
		"a superuser playing the host": {"circlip", `SET LOCAL session_replication_role = local;`},
	} {
		t.Run(name, func(t *testing.T) {
			conn := s.as(t, how.role)
			for table, change := range ledgerTables {
				refusedWith(t, conn, how.before+`UPDATE `+table+` SET `+change, isKept)
				refusedWith(t, conn, how.before+`DELETE FROM `+table, isKept)
				refusedWith(t, conn, how.before+`TRUNCATE `+table+` CASCADE`, isKept)
				refusedWith(t, conn, how.before+`MERGE INTO `+table+` AS t USING (SELECT 1) AS one ON true WHEN MATCHED THEN DELETE`, isKept)
			}
			refusedWith(t, conn, how.before+`INSERT INTO balance (workshop, item, lot, received_on, expires_on, on_hand)
				SELECT workshop, item, 'X', received_on, expires_on, 5 FROM balance LIMIT 1`, isKept)
			refusedWith(t, conn, how.before+`INSERT INTO movement (workshop, item, lot, from_place, to_place, qty, happened_on, act)
				VALUES (`+fmt.Sprint(s.workshop)+`, 'seal', 'A', 'supplier', 'shelf', 1, '2026-03-01', gen_random_uuid())`, stillNeeded)
		})
	}
	s.mustBeSound(t)
}

const ownInsertSQL = `
INSERT INTO movement (workshop, item, lot, seq, from_place, to_place, ref, qty, happened_on, act, reverses, hash)
SELECT workshop, item, lot, @seq, @from, @to, '', @qty, '2026-03-09', act, @reverses, @hash
FROM movement WHERE workshop = @workshop AND item = 'seal' AND lot = 'A' AND seq = 1
ON CONFLICT DO NOTHING`

// An INSERT by the owner, whatever it claims, is a movement like any other or
// is refused: the balance goes along, number and hash are the trigger's.
func TestAnInsertByTheOwnerCannotDrift(t *testing.T) {
	for name, c := range map[string]struct {
		from, to string
		qty      int64
		seq      any
		reverses any
		hash     any
		codes    []string // none: it is taken, and the ledger is sound
	}{
		"a delivery":                        {"supplier", "shelf", 3, nil, nil, nil, nil},
		"a number and a hash of its own":    {"supplier", "shelf", 3, 77, nil, []byte("made up"), nil},
		"a number that is taken":            {"supplier", "shelf", 3, 1, nil, nil, nil},
		"more than is free":                 {"shelf", "job", 12, nil, nil, nil, []string{breaksARule}},
		"more than there is":                {"shelf", "waste", 99, nil, nil, nil, []string{breaksARule}},
		"nothing":                           {"supplier", "shelf", 0, nil, nil, nil, []string{breaksARule}},
		"less than nothing":                 {"supplier", "shelf", -3, nil, nil, nil, []string{breaksARule}},
		"from the shelf to the shelf":       {"shelf", "shelf", 1, nil, nil, nil, []string{breaksARule}},
		"past the shelf":                    {"supplier", "job", 1, nil, nil, nil, []string{breaksARule}},
		"to a place nobody knows":           {"shelf", "moon", 1, nil, nil, nil, []string{breaksARule}},
		"a reversal that is not a mirror":   {"shelf", "supplier", 1, nil, 1, nil, []string{breaksARule}},
		"a reversal of nothing":             {"shelf", "supplier", 1, nil, 40, nil, []string{breaksARule}},
		"a second reversal, in silence":     {"shelf", "supplier", 2, nil, 2, nil, []string{breaksARule}},
		"a place left out":                  {"", "shelf", 1, nil, nil, nil, []string{breaksARule}},
		"a reversal passed over on purpose": {"shelf", "supplier", 2, 2, 2, []byte("x"), []string{breaksARule}},
	} {
		t.Run(name, func(t *testing.T) {
			s := openShop(t)
			s.stock(t)                                                        // 5 of lot A, 4 of them set aside
			s.must(t, receive("seal", "A", 2))                                // movement 2
			s.must(t, db.Reverse{Item: "seal", Lot: "A", Seq: 2, On: day(3)}) // movement 3
			s.must(t, receive("seal", "A", 10))                               // 11 free, so that nothing is short by itself
			// The act's proof speaks of its own movements; a row more under it
			// is found there, and nowhere else.
			sql := ownInsertSQL
			owner := s.as(t, "circlip_owner")
			_, err := owner.Exec(t.Context(), sql, pgx.NamedArgs{"workshop": s.workshop, "from": c.from, "to": c.to, "qty": c.qty,
				"seq": c.seq, "reverses": c.reverses, "hash": c.hash})
			if c.codes != nil {
				var reported *pgconn.PgError
				if !errors.As(err, &reported) || !slices.Contains(c.codes, reported.Code) {
					t.Errorf("found %v, expected %v", err, c.codes)
				}
				s.mustBeSound(t)
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			findings, err := s.Check(t.Context(), s.workshop)
			if err != nil || len(findings) != 1 || findings[0].Rule != "an act has the movements that it was recorded with" {
				t.Errorf("found %v, %v, expected the act's proof alone to miss a movement", findings, err)
			}
		})
	}
}

// A row that names no lot of the workshop has no balance to go along.
func TestAMovementNeedsItsLot(t *testing.T) {
	s := filled(t)
	owner := s.as(t, "circlip_owner")
	refusedWith(t, owner, `INSERT INTO movement (workshop, item, lot, from_place, to_place, qty, happened_on, act)
		SELECT workshop, item, 'nowhere', 'supplier', 'shelf', 1, '2026-03-01', act FROM movement LIMIT 1`, stillNeeded)
	refusedWith(t, owner, `INSERT INTO set_aside (workshop, item, lot, job, qty, why, happened_on, act)
		SELECT workshop, item, 'nowhere', 'J', 1, 'set aside', '2026-03-01', act FROM movement LIMIT 1`, stillNeeded)
	refusedWith(t, owner, `INSERT INTO set_aside (workshop, item, lot, job, qty, why, happened_on, act)
		SELECT workshop, item, lot, 'no such job', -1, 'released', '2026-03-01', act FROM set_aside WHERE job = 'K' LIMIT 1`, breaksARule)
	refusedWith(t, owner, `INSERT INTO lot (workshop, item, lot, received_on) SELECT workshop, 'sael', 'A', '2026-03-01' FROM workshop`, stillNeeded)
}

// The pool works as the program's role, with bounded waits.
func TestThePoolWorksAsTheProgramsRole(t *testing.T) {
	s := openShop(t)
	want := map[string]string{"current_user": "circlip_app", "search_path": "circlip", "lock_timeout": "2s",
		"TimeZone": "UTC", "client_connection_check_interval": "2s"}
	err := s.InSnapshot(t.Context(), func(tx pgx.Tx) error {
		for name, value := range want {
			sql := `SELECT current_setting('` + name + `')`
			if name == "current_user" {
				sql = `SELECT current_user`
			}
			var got string
			if err := tx.QueryRow(t.Context(), sql).Scan(&got); err != nil || got != value {
				t.Errorf("%s: found %q, %v, expected %q", name, got, err, value)
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}
