package db

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"circlip/inventory"
)

// Finding is one place where the ledger breaks a rule. Item, Lot and Seq are
// empty where the rule is about something else.
type Finding struct {
	Rule            string // what should hold
	Item, Lot       string
	Seq             int64
	Found, Expected string
}

// String reads as a sentence: the rule, the place, what was found.
func (f Finding) String() string {
	where := ""
	if f.Item != "" {
		where = fmt.Sprintf(": item %s lot %s", f.Item, f.Lot)
	}
	if f.Seq != 0 {
		where += fmt.Sprintf(" movement %d", f.Seq)
	}
	return fmt.Sprintf("%s%s: found %s, expected %s", f.Rule, where, f.Found, f.Expected)
}

// The rules that Check proves.
const (
	ruleGuards       = "the ledger's guards are on"
	ruleOnHand       = "a balance is the sum of its movements"
	ruleNotNegative  = "on hand is never below zero"
	ruleReserved     = "what is reserved is the sum of what is set aside"
	ruleJobKept      = "no job has less than nothing set aside"
	ruleKeptNumbers  = "set-asides of a lot are numbered without a gap"
	ruleNumbers      = "movements of a lot are numbered without a gap"
	ruleLink         = "each movement carries the hash of those before it"
	ruleHead         = "a balance knows its lot's last movement"
	ruleHasBalance   = "every movement's lot has a balance"
	ruleHasAct       = "every movement belongs to an act"
	ruleProof        = "an act has the movements that it was recorded with"
	ruleReversal     = "a reversal is the mirror of one movement"
	ruleSeal         = "a seal vouches for the movements of its day and the seal before"
	ruleSealed       = "a sealed movement stays as it was"
	mostFindings     = 1000
	ruleMoreFindings = "there may be more"
)

// Check proves what the ledger promises of a workshop, from one snapshot while
// others may go on working, and returns where it does not hold: nothing when
// all is well, at most a thousand places otherwise. Hashes are computed anew
// by inventory.Movement.Link, not by the database. Movements are streamed;
// memory grows with the number of lots only.
func (s *Store) Check(ctx context.Context, workshop int64) ([]Finding, error) {
	c := checker{workshop: workshop}
	err := s.InSnapshot(ctx, func(tx pgx.Tx) error {
		for _, step := range []func(context.Context, pgx.Tx) error{
			c.guards, c.balances, c.chains, c.reversals, c.acts, c.seals, c.strays, c.orders, c.jobs, c.counts,
		} {
			if err := step(ctx, tx); err != nil {
				return err
			}
		}
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("check workshop %d: %w", workshop, err)
	}
	return c.findings, nil
}

// checker collects what Check finds.
type checker struct {
	workshop int64
	lots     map[lotKey]*lotState
	findings []Finding
}

type lotKey struct{ item, lot string }

// lotState is what the balance says, and what its movements added up to.
type lotState struct {
	onHand, reserved, seq, keptSeq int64
	head                           [32]byte
	sum, last                      int64
	lastHash                       [32]byte
}

func (c *checker) find(f Finding) {
	switch {
	case len(c.findings) < mostFindings:
		c.findings = append(c.findings, f)
	case len(c.findings) == mostFindings:
		c.findings = append(c.findings, Finding{Rule: ruleMoreFindings, Found: fmt.Sprintf("%d findings", mostFindings), Expected: "none"})
	}
}

// findAll finds what a statement returns: rule, item, lot, movement, found and
// expected of each.
func (c *checker) findAll(ctx context.Context, tx pgx.Tx, sql string, args pgx.NamedArgs) error {
	rows, err := tx.Query(ctx, sql, args)
	if err != nil {
		return err
	}
	var f Finding
	_, err = pgx.ForEachRow(rows, []any{&f.Rule, &f.Item, &f.Lot, &f.Seq, &f.Found, &f.Expected}, func() error {
		c.find(f)
		return nil
	})
	return err
}

func (c *checker) args() pgx.NamedArgs { return pgx.NamedArgs{"workshop": c.workshop} }

const balancesSQL = `
SELECT b.item, b.lot, b.on_hand, b.reserved, b.seq, b.kept_seq, b.head,
	coalesce(s.qty, 0)::bigint, coalesce(s.times, 0), coalesce(s.last, 0), coalesce(s.least, 0)::bigint
FROM circlip.balance AS b
LEFT JOIN (
	SELECT item, lot, sum(qty) AS qty, sum(times)::bigint AS times, max(last) AS last, min(qty) AS least
	FROM (SELECT item, lot, job, sum(qty) AS qty, count(*) AS times, max(number) AS last
		FROM circlip.set_aside WHERE workshop = @workshop GROUP BY item, lot, job) AS by_job
	GROUP BY item, lot) AS s USING (item, lot)
WHERE b.workshop = @workshop
ORDER BY b.item, b.lot`

// balances reads every balance and holds it against the set-asides.
func (c *checker) balances(ctx context.Context, tx pgx.Tx) error {
	rows, err := tx.Query(ctx, balancesSQL, c.args())
	if err != nil {
		return err
	}
	c.lots = map[lotKey]*lotState{}
	var key lotKey
	var b lotState
	var head []byte
	var kept, times, last, least int64
	_, err = pgx.ForEachRow(rows, []any{&key.item, &key.lot, &b.onHand, &b.reserved, &b.seq, &b.keptSeq, &head,
		&kept, &times, &last, &least}, func() error {
		state := b
		copy(state.head[:], head)
		c.lots[key] = &state
		if kept != b.reserved {
			c.findLot(key, 0, ruleReserved, b.reserved, kept)
		}
		if b.reserved < 0 || b.reserved > b.onHand {
			c.find(Finding{ruleReserved, key.item, key.lot, 0, fmt.Sprint(b.reserved), fmt.Sprintf("0 to %d on hand", b.onHand)})
		}
		if least < 0 {
			c.findLot(key, 0, ruleJobKept, least, 0)
		}
		if times != last || last != b.keptSeq {
			c.find(Finding{ruleKeptNumbers, key.item, key.lot, 0,
				fmt.Sprintf("%d set-asides numbered to %d", times, last), fmt.Sprint(b.keptSeq)})
		}
		return nil
	})
	return err
}

func (c *checker) findLot(key lotKey, seq int64, rule string, found, expected int64) {
	c.find(Finding{rule, key.item, key.lot, seq, fmt.Sprint(found), fmt.Sprint(expected)})
}

const chainsSQL = `
SELECT item, lot, seq, from_place, to_place, ref, qty, happened_on - DATE '1970-01-01', hash
FROM circlip.movement WHERE workshop = @workshop
ORDER BY item, lot, seq`

// chains walks every lot's movements in order: numbers, hashes, running sum;
// and then holds what they add up to against the balances.
func (c *checker) chains(ctx context.Context, tx pgx.Tx) error {
	rows, err := tx.Query(ctx, chainsSQL, c.args())
	if err != nil {
		return err
	}
	workshop := fmt.Sprint(c.workshop)
	var state *lotState
	var m, before inventory.Movement
	var seq int64
	var hash []byte
	_, err = pgx.ForEachRow(rows, []any{&m.Item, &m.Lot, &seq, &m.From, &m.To, &m.Ref, (*int64)(&m.Qty),
		(*int32)(&m.HappenedOn), &hash}, func() error {
		if state == nil || m.Item != before.Item || m.Lot != before.Lot {
			state = c.lot(m)
		}
		c.link(state, m, seq, workshop, hash)
		before = m
		return nil
	})
	if err != nil {
		return err
	}
	for key, state := range c.lots {
		c.settle(key, state)
	}
	return nil
}

// lot finds the balance of m's lot, or makes one up so that the walk goes on.
func (c *checker) lot(m inventory.Movement) *lotState {
	key := lotKey{m.Item, m.Lot}
	if state, ok := c.lots[key]; ok {
		return state
	}
	c.find(Finding{ruleHasBalance, m.Item, m.Lot, 0, "no balance", "one"})
	return &lotState{}
}

// link takes one movement further along its lot's chain. After a break it goes
// on from what the row says, so that one edit is found once.
func (c *checker) link(state *lotState, m inventory.Movement, seq int64, workshop string, hash []byte) {
	if seq != state.last+1 {
		c.findLot(lotKey{m.Item, m.Lot}, seq, ruleNumbers, seq, state.last+1)
	}
	if want := m.Link(state.lastHash, workshop, seq); string(want[:]) != string(hash) {
		c.find(Finding{ruleLink, m.Item, m.Lot, seq, fmt.Sprintf("%x", hash), fmt.Sprintf("%x", want)})
	}
	state.last = seq
	state.sum += int64(m.OnShelf())
	copy(state.lastHash[:], hash)
	if state.sum < 0 {
		c.findLot(lotKey{m.Item, m.Lot}, seq, ruleNotNegative, state.sum, 0)
	}
}

// settle compares a balance with what its movements came to.
func (c *checker) settle(key lotKey, b *lotState) {
	if b.onHand < 0 {
		c.findLot(key, 0, ruleNotNegative, b.onHand, 0)
	}
	if b.onHand != b.sum {
		c.findLot(key, 0, ruleOnHand, b.onHand, b.sum)
	}
	if b.seq != b.last || b.head != b.lastHash {
		c.find(Finding{ruleHead, key.item, key.lot, b.last,
			fmt.Sprintf("movements up to %d with hash %x", b.last, b.lastHash[:8]),
			fmt.Sprintf("%d with hash %x", b.seq, b.head[:8])})
	}
}
