package db_test

import (
	"context"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"circlip/inventory"
)

// staged is a movement of the past, as a load stages it. Without a key it gets
// a new one.
type staged struct {
	item, lot, from, to, ref string
	qty                      int64
	on                       inventory.Date
	key                      uuid.UUID
}

// importFault is what import_faults returns.
type importFault struct {
	Ordinal     int64
	Problem     string
	RecordedQty *int64
	OnHand      *int64
}

// importAll does what a load does: stage, look for faults, post, in one
// transaction as the program's role.
func (s *shop) importAll(t testing.TB, rows []staged) (posted int64, faults []importFault) {
	t.Helper()
	ctx := context.Background()
	err := s.Bulk(ctx, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, `SELECT stage()`); err != nil {
			return err
		}
		columns := []string{"ordinal", "item", "lot", "from_place", "to_place", "ref", "qty", "happened_on", "act"}
		_, err := tx.CopyFrom(ctx, pgx.Identifier{"staged_movement"}, columns, pgx.CopyFromSlice(len(rows), func(i int) ([]any, error) {
			r := rows[i]
			if r.key == uuid.Nil {
				r.key = uuid.New()
			}
			return []any{int64(i), r.item, r.lot, r.from, r.to, r.ref, r.qty, r.on.Time(), r.key}, nil
		}))
		if err != nil {
			return err
		}
		// What is wrong stays staged, so that it can be named.
		found, err := tx.Query(ctx, `SELECT ordinal, problem, recorded_qty, on_hand
			FROM import_faults($1) JOIN staged_movement USING (ordinal) ORDER BY ordinal`, s.workshop)
		if err != nil {
			return err
		}
		if faults, err = pgx.CollectRows(found, pgx.RowToStructByPos[importFault]); err != nil || len(faults) > 0 {
			return err
		}
		return tx.QueryRow(ctx, `SELECT import_movements($1)`, s.workshop).Scan(&posted)
	})
	if err != nil {
		t.Fatal(err)
	}
	return posted, faults
}

// importLots stages lots and returns the codes of those recorded otherwise.
func (s *shop) importLots(t testing.TB, lots ...inventory.Lot) (otherwise []string) {
	t.Helper()
	ctx := context.Background()
	err := s.Bulk(ctx, func(tx pgx.Tx) error {
		if _, err := tx.Exec(ctx, `SELECT stage()`); err != nil {
			return err
		}
		for _, l := range lots {
			_, err := tx.Exec(ctx, `INSERT INTO staged_lot VALUES ($1, $2, $3, $4, $5)`, l.Item, l.Code, l.Received.Time(),
				l.Expires.Time(), int64(l.UnitCost))
			if err != nil {
				return err
			}
		}
		rows, err := tx.Query(ctx, `SELECT lot FROM import_lots($1) ORDER BY lot`, s.workshop)
		if err != nil {
			return err
		}
		otherwise, err = pgx.CollectRows(rows, pgx.RowTo[string])
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return otherwise
}

func past(qty int64, from, to string, on int) staged {
	return staged{item: "seal", lot: "A", from: from, to: to, ref: "r", qty: qty, on: day(on), key: uuid.New()}
}

func withSealLots(t testing.TB) *shop {
	t.Helper()
	s := openShop(t)
	if no := s.importLots(t, inventory.Lot{Item: "seal", Code: "A", Received: day(1), Expires: day(20), UnitCost: 5},
		inventory.Lot{Item: "seal", Code: "B", Received: day(2), Expires: day(25)}); len(no) > 0 {
		t.Fatal(no)
	}
	return s
}

// In bulk and one by one, the same movements give the same rows and hashes.
func TestAnImportIsTheSameAsOneByOne(t *testing.T) {
	s := withSealLots(t)
	rows := []staged{past(9, "supplier", "shelf", 1), past(2, "shelf", "job", 2), past(1, "shelf", "waste", 3), past(5, "supplier", "shelf", 4)}
	rows[3].lot = "B"
	if posted, faults := s.importAll(t, rows); posted != 4 || len(faults) > 0 {
		t.Fatalf("found %d posted, %v, expected 4", posted, faults)
	}
	bulk := s.ledger(t)
	heads := collect(t, s.admin, pgx.RowTo[[]byte], `SELECT head FROM circlip.balance WHERE workshop = $1 ORDER BY lot`, s.workshop)
	s.mustBeSound(t)

	// The same rows by plain INSERT in another database, where the workshop has
	// the same number.
	one := withSealLots(t)
	if one.workshop != s.workshop {
		t.Fatalf("found workshop %d, expected %d", one.workshop, s.workshop)
	}
	for _, r := range rows {
		one.exec(t, `INSERT INTO circlip.act (workshop, act, kind, request_sha256, result, proof) VALUES ($1, $2, 'import', '', '{}', '')`,
			one.workshop, r.key)
		one.exec(t, `INSERT INTO circlip.movement (workshop, item, lot, from_place, to_place, ref, qty, happened_on, act)
			VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`, one.workshop, r.item, r.lot, r.from, r.to, r.ref, r.qty, r.on.Time(), r.key)
	}
	if diff := cmp.Diff(one.ledger(t), bulk); diff != "" {
		t.Errorf("ledger (-one by one +bulk):\n%s", diff)
	}
	want := collect(t, one.admin, pgx.RowTo[[]byte], `SELECT head FROM circlip.balance WHERE workshop = $1 ORDER BY lot`, one.workshop)
	if diff := cmp.Diff(want, heads); diff != "" {
		t.Errorf("hashes (-one by one +bulk):\n%s", diff)
	}
}

func TestAnImportTwiceChangesNothing(t *testing.T) {
	s := withSealLots(t)
	rows := []staged{past(9, "supplier", "shelf", 1), past(2, "shelf", "job", 2)}
	s.importAll(t, rows)
	before := s.ledger(t)
	rows = append(rows, past(1, "shelf", "job", 3))
	if posted, faults := s.importAll(t, rows); posted != 1 || len(faults) > 0 {
		t.Errorf("found %d posted, %v, expected the new one alone", posted, faults)
	}
	if posted, faults := s.importAll(t, rows[:2]); posted != 0 || len(faults) > 0 {
		t.Errorf("found %d posted, %v, expected none", posted, faults)
	}
	if after := s.ledger(t); len(after) != len(before)+1 {
		t.Errorf("found %d rows, expected %d", len(after), len(before)+1)
	}
	s.mustBeSound(t)
}

func TestImportFaults(t *testing.T) {
	nine, three := int64(9), int64(3)
	minus := func(n int64) *int64 { n = -n; return &n }
	for name, c := range map[string]struct {
		recorded, rows []staged
		want           []importFault
	}{
		"a key with another quantity is named with what is recorded": {
			[]staged{{item: "seal", lot: "A", from: "supplier", to: "shelf", qty: 9, on: day(1), key: uuid.UUID{1}}},
			[]staged{past(1, "supplier", "shelf", 1), {item: "seal", lot: "A", from: "supplier", to: "shelf", qty: 8, on: day(1), key: uuid.UUID{1}}},
			[]importFault{{1, "recorded otherwise", &nine, nil}}},
		"a key with a row more is recorded otherwise": {
			[]staged{{item: "seal", lot: "A", from: "supplier", to: "shelf", qty: 3, on: day(1), key: uuid.UUID{1}}},
			[]staged{{item: "seal", lot: "A", from: "supplier", to: "shelf", qty: 3, on: day(1), key: uuid.UUID{1}},
				{item: "seal", lot: "B", from: "supplier", to: "shelf", qty: 3, on: day(1), key: uuid.UUID{1}}},
			[]importFault{{0, "recorded otherwise", &three, nil}}},
		"every movement below zero is named with what the shelf would hold": {nil,
			[]staged{past(2, "supplier", "shelf", 1), past(3, "shelf", "job", 2), past(1, "shelf", "job", 2), past(5, "supplier", "shelf", 3)},
			[]importFault{{1, "below zero", nil, minus(1)}, {2, "below zero", nil, minus(2)}}},
		"a lot that nobody received": {nil,
			[]staged{{item: "seal", lot: "Z", from: "supplier", to: "shelf", qty: 3, on: day(1)}},
			[]importFault{{0, "no such lot", nil, nil}}},
	} {
		t.Run(name, func(t *testing.T) {
			s := withSealLots(t)
			s.importAll(t, c.recorded)
			before := s.ledger(t)
			_, faults := s.importAll(t, c.rows)
			if diff := cmp.Diff(c.want, faults); diff != "" {
				t.Errorf("faults (-expected +found):\n%s", diff)
			}
			if diff := cmp.Diff(before, s.ledger(t)); diff != "" {
				t.Errorf("something was posted:\n%s", diff)
			}
		})
	}
}

// Without a look for faults first, the tables refuse by themselves.
func TestAnImportThatDipsBelowZeroIsRefusedByTheTable(t *testing.T) {
	s := withSealLots(t)
	for name, rows := range map[string][]staged{
		"a dip between two rows that end well": {past(3, "shelf", "job", 2), past(5, "supplier", "shelf", 3)},
		"a lot that nobody received":           {{item: "seal", lot: "Z", from: "supplier", to: "shelf", qty: 3, on: day(1), key: uuid.New()}},
	} {
		err := s.Bulk(t.Context(), func(tx pgx.Tx) error {
			if _, err := tx.Exec(t.Context(), `SELECT stage()`); err != nil {
				return err
			}
			for i, r := range rows {
				if _, err := tx.Exec(t.Context(), `INSERT INTO staged_movement VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9)`,
					i, r.item, r.lot, r.from, r.to, r.ref, r.qty, r.on.Time(), r.key); err != nil {
					return err
				}
			}
			_, err := tx.Exec(t.Context(), `SELECT import_movements($1)`, s.workshop)
			return err
		})
		if err == nil {
			t.Errorf("%s: found no error, expected one", name)
		}
	}
	s.mustBeSound(t)
}

func TestALotRecordedOtherwiseIsNamed(t *testing.T) {
	s := withSealLots(t)
	a := inventory.Lot{Item: "seal", Code: "A", Received: day(1), Expires: day(20), UnitCost: 5}
	for name, c := range map[string]struct {
		change func(*inventory.Lot)
		want   []string
	}{
		"the same":        {func(*inventory.Lot) {}, []string{}},
		"another expiry":  {func(l *inventory.Lot) { l.Expires++ }, []string{"A"}},
		"another receipt": {func(l *inventory.Lot) { l.Received++ }, []string{"A"}},
		"another cost":    {func(l *inventory.Lot) { l.UnitCost++ }, []string{"A"}},
		"another lot":     {func(l *inventory.Lot) { l.Code = "C" }, []string{}},
	} {
		lot := a
		c.change(&lot)
		if got := s.importLots(t, lot); !cmp.Equal(got, c.want) {
			t.Errorf("%s: found %v recorded otherwise, expected %v", name, got, c.want)
		}
	}
}
