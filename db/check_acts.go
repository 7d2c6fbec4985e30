package db

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"hash"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"circlip/inventory"
)

// guard is a trigger that the ledger relies on.
type guard struct{ Table, Trigger string }

// guards are all of them. They must fire ALWAYS: an ordinary trigger sleeps in
// a session that plays a replica.
var guards = []guard{
	{"act", "refuse_change"}, {"act", "refuse_truncate"},
	{"balance", "refuse_change"}, {"balance", "refuse_truncate"},
	{"delivery", "refuse_change"}, {"delivery", "refuse_truncate"},
	{"import", "post_import"}, {"import", "refuse_change"}, {"import", "refuse_truncate"},
	{"inspection", "refuse_change"}, {"inspection", "refuse_truncate"},
	{"job_act", "refuse_change"}, {"job_act", "refuse_truncate"},
	{"lot", "open_balance"}, {"lot", "refuse_change"}, {"lot", "refuse_truncate"},
	{"movement", "movement_act_known"}, {"movement", "post_movement"},
	{"movement", "refuse_change"}, {"movement", "refuse_truncate"},
	{"order_sheet", "refuse_change"}, {"order_sheet", "refuse_truncate"},
	{"seal", "refuse_change"}, {"seal", "refuse_truncate"},
	{"seal_head", "refuse_change"}, {"seal_head", "refuse_truncate"},
	{"set_aside", "post_set_aside"}, {"set_aside", "refuse_change"}, {"set_aside", "refuse_truncate"},
	{"set_aside", "set_aside_act_known"},
}

// limits are the CHECKs that the ledger relies on.
var limits = []string{
	"balance_head", "balance_on_hand", "balance_reserved", "delivery_packs", "inspection_signed", "inspection_until",
	"job_act_from", "job_act_reason", "job_act_what", "lot_unit_cost", "movement_happened_on", "movement_places", "movement_qty", "set_aside_job_named", "set_aside_why",
}

const guardsSQL = `
SELECT c.relname AS "table", t.tgname AS trigger FROM pg_trigger AS t JOIN pg_class AS c ON c.oid = t.tgrelid
WHERE c.relnamespace = 'circlip'::regnamespace AND t.tgenabled = 'A'`

const limitsSQL = `
SELECT conname FROM pg_constraint
WHERE connamespace = 'circlip'::regnamespace AND contype = 'c' AND convalidated AND conrelid <> 0`

// guards looks at the catalog: what a superuser switched off for an hour must
// not stay off unseen.
func (c *checker) guards(ctx context.Context, tx pgx.Tx) error {
	rows, err := tx.Query(ctx, guardsSQL)
	if err != nil {
		return err
	}
	on, err := pgx.CollectRows(rows, pgx.RowToStructByName[guard])
	if err != nil {
		return err
	}
	if rows, err = tx.Query(ctx, limitsSQL); err != nil {
		return err
	}
	kept, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		return err
	}
	there := map[any]bool{}
	for _, g := range on {
		there[g] = true
	}
	for _, name := range kept {
		there[name] = true
	}
	for _, g := range guards {
		if !there[g] {
			c.find(Finding{Rule: ruleGuards, Found: fmt.Sprintf("no trigger %s that always fires on %s", g.Trigger, g.Table), Expected: "one"})
		}
	}
	for _, name := range limits {
		if !there[name] {
			c.find(Finding{Rule: ruleGuards, Found: "no constraint " + name, Expected: "one"})
		}
	}
	return nil
}

// The hash does not cover what a movement reverses; the movement it names does,
// being its mirror.
const reversalsSQL = `
SELECT m.item, m.lot, m.seq, m.reverses
FROM circlip.movement AS m
LEFT JOIN circlip.movement AS wrong
	ON wrong.workshop = m.workshop AND wrong.item = m.item AND wrong.lot = m.lot AND wrong.seq = m.reverses
	AND wrong.seq < m.seq AND wrong.reverses IS NULL AND wrong.qty = m.qty
	AND wrong.from_place = m.to_place AND wrong.to_place = m.from_place
WHERE m.workshop = @workshop AND m.reverses IS NOT NULL AND wrong.seq IS NULL
ORDER BY m.item, m.lot, m.seq`

func (c *checker) reversals(ctx context.Context, tx pgx.Tx) error {
	rows, err := tx.Query(ctx, reversalsSQL, c.args())
	if err != nil {
		return err
	}
	var key lotKey
	var seq, reverses int64
	_, err = pgx.ForEachRow(rows, []any{&key.item, &key.lot, &seq, &reverses}, func() error {
		c.find(Finding{ruleReversal, key.item, key.lot, seq, fmt.Sprintf("that it reverses %d", reverses), "its mirror there"})
		return nil
	})
	return err
}

// A movement is in its act's proof by its hash, so that moving it to another
// act shows in both.
const actsSQL = `
WITH proven AS (
	SELECT act, min(item) AS item, min(lot) AS lot, min(seq) AS seq, sha256(string_agg(hash, '')) AS proof
	FROM (SELECT act, item, lot, seq, hash FROM circlip.movement WHERE workshop = @workshop ORDER BY act, item, lot, seq) AS m
	GROUP BY act)
SELECT act, a.act IS NOT NULL, coalesce(p.item, ''), coalesce(p.lot, ''), coalesce(p.seq, 0)
FROM (SELECT act, proof FROM circlip.act WHERE workshop = @workshop) AS a FULL JOIN proven AS p USING (act)
WHERE a.proof IS DISTINCT FROM coalesce(p.proof, sha256(''))
ORDER BY p.item, p.lot, p.seq, act`

// acts compares proofs inside the database, where both sides lie: a difference
// names the act's first movement, or none where all of them are gone.
func (c *checker) acts(ctx context.Context, tx pgx.Tx) error {
	rows, err := tx.Query(ctx, actsSQL, c.args())
	if err != nil {
		return err
	}
	var act uuid.UUID
	var recorded bool
	var key lotKey
	var seq int64
	_, err = pgx.ForEachRow(rows, []any{&act, &recorded, &key.item, &key.lot, &seq}, func() error {
		if recorded {
			c.find(Finding{ruleProof, key.item, key.lot, seq, "other movements under act " + act.String(), "those of its proof"})
		} else {
			c.find(Finding{ruleHasAct, key.item, key.lot, seq, "no act " + act.String(), "one"})
		}
		return nil
	})
	return err
}

const sealsSQL = `
SELECT s.day - DATE '1970-01-01', s.hash, coalesce(h.item, ''), coalesce(h.lot, ''), coalesce(h.seq, 0), h.head, m.hash
FROM circlip.seal AS s
LEFT JOIN circlip.seal_head AS h ON h.workshop = s.workshop AND h.day = s.day
LEFT JOIN circlip.movement AS m ON m.workshop = h.workshop AND m.item = h.item AND m.lot = h.lot AND m.seq = h.seq
WHERE s.workshop = @workshop
ORDER BY s.day, h.item, h.lot`

// seals computes every seal anew from what it listed, and holds what it listed
// against the movements.
func (c *checker) seals(ctx context.Context, tx pgx.Tx) error {
	rows, err := tx.Query(ctx, sealsSQL, c.args())
	if err != nil {
		return err
	}
	var open sealing
	var day int32
	var key lotKey
	var seq int64
	var hash, head, now []byte
	_, err = pgx.ForEachRow(rows, []any{&day, &hash, &key.item, &key.lot, &seq, &head, &now}, func() error {
		if inventory.Date(day) != open.day {
			c.closeSeal(open)
			open = newSealing(open.stored, c.workshop, inventory.Date(day), hash)
		}
		if seq == 0 {
			return nil // nothing had moved
		}
		open.add(key, seq, head)
		if !bytes.Equal(head, now) {
			c.find(Finding{ruleSealed, key.item, key.lot, seq, fmt.Sprintf("hash %x", now), fmt.Sprintf("%x of %s", head, open.day)})
		}
		return nil
	})
	c.closeSeal(open)
	return err
}

// closeSeal goes on from the stored seal whatever it found, so that one wrong
// seal is one finding and not one for every day since.
func (c *checker) closeSeal(s sealing) {
	if s.digest == nil {
		return
	}
	if got := s.digest.Sum(nil); !bytes.Equal(got, s.stored) {
		c.find(Finding{Rule: ruleSeal, Found: fmt.Sprintf("%x on %s", s.stored, s.day), Expected: fmt.Sprintf("%x", got)})
	}
}

// sealing is a seal that is being computed: the seal before, the workshop, the
// day, and each lot that moved with its number and hash.
type sealing struct {
	day    inventory.Date
	stored []byte
	digest hash.Hash
}

func newSealing(previous []byte, workshop int64, day inventory.Date, stored []byte) sealing {
	s := sealing{day: day, stored: bytes.Clone(stored), digest: sha256.New()}
	s.digest.Write(previous)
	s.text("seal v1")
	s.text(fmt.Sprint(workshop))
	s.number(int64(day))
	return s
}

func (s sealing) add(key lotKey, seq int64, head []byte) {
	s.text(key.item)
	s.text(key.lot)
	s.number(seq)
	s.digest.Write(head)
}

func (s sealing) text(text string) {
	s.digest.Write(binary.BigEndian.AppendUint32(nil, uint32(len(text))))
	s.digest.Write([]byte(text))
}

func (s sealing) number(n int64) {
	s.digest.Write(binary.BigEndian.AppendUint64(nil, uint64(n)))
}

// strays are rows whose other half is gone, which the walks above do not meet.
const straysSQL = `
SELECT @seal::text, h.item, h.lot, h.seq, 'a sealed hash of ' || h.day, 'the seal of that day'
FROM circlip.seal_head AS h
WHERE h.workshop = @workshop
	AND NOT EXISTS (SELECT FROM circlip.seal AS s WHERE s.workshop = h.workshop AND s.day = h.day)
UNION ALL
SELECT @act, s.item, s.lot, 0, 'set-aside ' || s.number || ' without its act', 'one'
FROM circlip.set_aside AS s
WHERE s.workshop = @workshop
	AND NOT EXISTS (SELECT FROM circlip.act AS a WHERE a.workshop = s.workshop AND a.act = s.act)
UNION ALL
SELECT @balance, l.item, l.lot, 0, 'a lot without balance', 'one'
FROM circlip.lot AS l
WHERE l.workshop = @workshop
	AND NOT EXISTS (SELECT FROM circlip.balance AS b
		WHERE b.workshop = l.workshop AND b.item = l.item AND b.lot = l.lot
			AND b.received_on = l.received_on AND b.expires_on = l.expires_on)
ORDER BY 1, 2, 3, 4`

func (c *checker) strays(ctx context.Context, tx pgx.Tx) error {
	return c.findAll(ctx, tx, straysSQL, pgx.NamedArgs{"workshop": c.workshop,
		"seal": ruleSeal, "act": ruleHasAct, "balance": ruleHasBalance})
}
