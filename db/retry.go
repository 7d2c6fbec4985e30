package db

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"time"

	"circlip/inventory"
)

const (
	firstPause   = 4 * time.Millisecond
	longestPause = 500 * time.Millisecond
	attemptLimit = 6 * time.Second // longer than the server's own statement limit
)

// try runs work until it succeeds, fails for good, or the store's patience is
// at an end. Work must be safe to repeat: acts carry their key, so that an
// attempt whose answer got lost is answered from what was stored.
func (s *Store) try(ctx context.Context, work func(context.Context) error) error {
	return persist(ctx, s.patience, func(attempt context.Context) error {
		err := work(attempt)
		if lostConnection(err) {
			s.pool.Reset() // the other idle connections are as dead as this one
		}
		return err
	})
}

// persist is the one retry loop of the program: after a lost serialization
// race, a deadlock, a lock that was not to be had or a lost connection it
// waits a random time, up to a bound that doubles (full jitter: waiters that
// met once spread out), and tries again.
func persist(ctx context.Context, patience time.Duration, work func(context.Context) error) error {
	started := time.Now()
	deadline := started.Add(patience)
	for try := 1; ; try++ {
		err := attempt(ctx, deadline, work)
		if err == nil || ctx.Err() != nil || !(passing(err) || lostConnection(err)) {
			return explain(err)
		}
		pause := rand.N(min(longestPause, firstPause<<min(try, 16)))
		if time.Now().Add(pause).After(deadline) {
			return fmt.Errorf("%w: gave up after %.1f s and %d tries: %w",
				inventory.ErrUnavailable, time.Since(started).Seconds(), try, err)
		}
		select {
		case <-ctx.Done():
			return fmt.Errorf("%w: %w", ctx.Err(), err)
		case <-time.After(pause):
		}
	}
}

// attempt bounds one try on the client's side too: a frozen server never
// reports its own time limits.
func attempt(ctx context.Context, deadline time.Time, work func(context.Context) error) error {
	limit := time.Now().Add(attemptLimit)
	if deadline.Before(limit) {
		limit = deadline
	}
	bounded, cancel := context.WithDeadline(ctx, limit)
	defer cancel()
	err := work(bounded)
	if errors.Is(err, context.DeadlineExceeded) && ctx.Err() == nil {
		return errNoAnswer{err}
	}
	return err
}

// errNoAnswer is a connection that was given up because nothing came back in
// time; it counts as lost.
type errNoAnswer struct{ cause error }

func (e errNoAnswer) Error() string   { return "no answer in time: " + e.cause.Error() }
func (e errNoAnswer) Unwrap() error   { return e.cause }
func (e errNoAnswer) Timeout() bool   { return true }
func (e errNoAnswer) Temporary() bool { return true }
