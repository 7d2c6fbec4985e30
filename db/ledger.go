package db

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"

	"github.com/google/uuid"
	"github.com/jackc/pgx/v5"

	"circlip/inventory"
)

// Act is one thing that somebody did to stock: Receive, Take, SetAside,
// Release, Waste, Count or Reverse; OpenKit, Extend or OpenContainer; to an
// order: Place or Deliver; to a job: BookJob, MoveJob, CancelJob, SetAsideAll,
// TakeOver, CloseJob or CorrectJob; to the bill of materials: ReviseBill; or
// with spent fluid: Dispose.
type Act interface {
	kind() string
	check() error
	request() map[string]any
}

// Done is what an act moved and what it set aside or gave back.
type Done struct {
	Moved []Moved
	Kept  []Kept
	Order string  // that was placed
	Short []Short // that SetAsideAll found too little of

	Number int // of a disposal, in its day
}

// Short is what a job wanted of an item and what there was for it.
type Short struct {
	Job, Item       string
	Found, Expected inventory.Quantity
}

// Moved is a movement with its number in its lot.
type Moved struct {
	inventory.Movement
	Seq int64
}

// Kept is a quantity of a lot set aside for a job, or given back: below zero.
type Kept struct {
	Item, Lot, Job string
	Qty            inventory.Quantity
}

const performSQL = `SELECT circlip.perform(@workshop, @key, @kind, @request)`

// Do carries out an act under its key, in one round trip: all of it or none.
// Done again under the same key it returns the stored answer, a Refusal
// included, and moves nothing; so it is tried again by itself when the answer
// got lost on the way.
//
// The error is a *Refusal when the shelf does not allow the act, and wraps
// inventory.ErrInvalid for a request that makes no sense, ErrConflict for a
// key that was used for another request, and ErrUnavailable when the database
// did not answer in time; then the act may have been done, and the same key
// finds out.
func (s *Store) Do(ctx context.Context, workshop int64, key uuid.UUID, act Act) (Done, error) {
	if err := act.check(); err != nil {
		return Done{}, fmt.Errorf("%s: %w", act.kind(), err)
	}
	var stored []byte
	err := s.try(ctx, func(ctx context.Context) error {
		return s.pool.QueryRow(ctx, performSQL, pgx.NamedArgs{
			"workshop": workshop, "key": key, "kind": act.kind(), "request": act.request(),
		}).Scan(&stored)
	})
	if err != nil {
		return Done{}, fmt.Errorf("%s: %w", act.kind(), err)
	}
	done, err := readAnswer(stored)
	if err != nil {
		return Done{}, fmt.Errorf("%s: %w", act.kind(), err)
	}
	switch asked := act.(type) { // a key is for one request
	case Place:
		done.Order = asked.Order
	case SetAsideAll:
		done.Short = asked.short(done.Kept)
	}
	return done, nil
}

// answer is an act's answer as the database keeps it.
type answer struct {
	Refused *struct {
		Kind            string
		Item, Lot, Job  string
		Order           string
		Seq             int64
		Found, Expected inventory.Quantity
		Measure         inventory.Measure
		Reason          string
	}
	Moved []struct {
		Item, Lot string
		Seq       int64
		From, To  inventory.Place
		Ref, On   string
		Qty       inventory.Quantity
	}
	Kept   []Kept
	Number int
}

func readAnswer(stored []byte) (Done, error) {
	var a answer
	if err := json.Unmarshal(stored, &a); err != nil {
		return Done{}, fmt.Errorf("stored answer %s: %w", stored, err)
	}
	if r := a.Refused; r != nil {
		return Done{}, &Refusal{kind: refusals[r.Kind], Item: r.Item, Lot: r.Lot, Job: r.Job, Order: r.Order, Seq: r.Seq,
			Found: r.Found, Expected: r.Expected, Measure: r.Measure, Reason: r.Reason}
	}
	done := Done{Kept: a.Kept, Number: a.Number}
	for _, m := range a.Moved {
		on, err := inventory.ParseDate(m.On)
		if err != nil {
			return Done{}, fmt.Errorf("stored answer: %w", err)
		}
		done.Moved = append(done.Moved, Moved{Seq: m.Seq, Movement: inventory.Movement{
			Item: m.Item, Lot: m.Lot, From: m.From, To: m.To, Ref: m.Ref, Qty: m.Qty, HappenedOn: on}})
	}
	return done, nil
}

// Refusal says why the shelf did not allow an act. It is stored under the
// act's key: what has changed since needs a new act.
type Refusal struct {
	Item, Lot, Job  string
	Order           string             // the order spoken of, or empty
	Seq             int64              // of the movement spoken of, or 0
	Found, Expected inventory.Quantity // for ErrShort
	Measure         inventory.Measure  // of Found and Expected
	Reason          string
	kind            error
}

// refusals are the kinds as the database writes them.
var refusals = map[string]error{
	"short":     inventory.ErrShort,
	"not found": inventory.ErrNotFound,
	"conflict":  inventory.ErrConflict,
}

// Unwrap is the refusal's kind: inventory.ErrShort, ErrNotFound or ErrConflict.
func (r *Refusal) Unwrap() error { return r.kind }

func (r *Refusal) Error() string {
	where := r.where()
	switch {
	case r.kind == inventory.ErrShort:
		return fmt.Sprintf("%s: %v: found %s %s, expected %s %s", where, r.kind,
			r.Measure.Format(r.Found), r.Measure, r.Measure.Format(r.Expected), r.Measure)
	case r.Reason != "":
		return fmt.Sprintf("%s: %v: %s", where, r.kind, r.Reason)
	}
	return fmt.Sprintf("%s: %v", where, r.kind)
}

// where names what the refusal speaks of: order O item I lot L for job J
// movement 1; or job J alone.
func (r *Refusal) where() string {
	if r.Item == "" && r.Job != "" {
		return "job " + r.Job
	}
	var words []string
	for _, of := range []struct{ kind, code string }{
		{"order", r.Order}, {"item", r.Item}, {"lot", r.Lot}, {"for job", r.Job},
	} {
		if of.code != "" {
			words = append(words, of.kind+" "+of.code)
		}
	}
	if r.Seq != 0 {
		words = append(words, fmt.Sprintf("movement %d", r.Seq))
	}
	return strings.Join(words, " ")
}

const sealSQL = `SELECT circlip.seal_day(@workshop, @day)`

// Seal chains the newest hash of every lot to the seal before and returns the
// new seal. A day that is sealed already keeps its seal. Print it and keep it
// elsewhere: it shows whether anything before it was touched.
func (s *Store) Seal(ctx context.Context, workshop int64, day inventory.Date) (seal [32]byte, err error) {
	if day.IsZero() {
		return seal, fmt.Errorf("seal: %w: no day", inventory.ErrInvalid)
	}
	var hash []byte
	err = s.try(ctx, func(ctx context.Context) error {
		return s.pool.QueryRow(ctx, sealSQL, pgx.NamedArgs{"workshop": workshop, "day": day.Time()}).Scan(&hash)
	})
	copy(seal[:], hash)
	return seal, err
}
