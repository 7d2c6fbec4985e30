package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"time"
	_ "time/tzdata" // time zones where the system has none

	"circlip/db"
	"circlip/db/local"
	"circlip/inventory"
	"circlip/reports/plan"
)

// opened is a database in use: the one of the URL, or the private one.
type opened struct {
	*db.Store
	server *local.Server
}

// close lets go of the database; the last one out stops the private server.
func (o opened) close() error {
	o.Store.Close()
	if o.server == nil {
		return nil
	}
	return o.server.Close()
}

// open reaches the database that the options name.
func (s *session) open() (opened, error) {
	if s.opts.Database != "" {
		store, err := db.Open(s.ctx, s.opts.Database)
		return opened{Store: store}, notReached(err)
	}
	home, err := s.home()
	if err != nil {
		return opened{}, err
	}
	server, err := local.Open(s.ctx, home)
	if err != nil {
		return opened{}, notReached(fmt.Errorf("private database: %w", err))
	}
	store, err := db.Open(s.ctx, server.DSN())
	if err != nil {
		return opened{}, errors.Join(notReached(err), server.Close())
	}
	return opened{store, server}, nil
}

// unreachable is a database that could not be opened, whatever the reason: no
// answer, a wrong password, an address that is none.
type unreachable struct{ error }

func (u unreachable) Unwrap() error { return u.error }

// notReached leaves out the one case where the database answers and is another
// program's, or a newer one's.
func notReached(err error) error {
	if err == nil || errors.Is(err, db.ErrMigration) {
		return err
	}
	return unreachable{err}
}

// with opens the database, does the work and closes it again.
func (s *session) with(work func(opened) error) error {
	store, err := s.open()
	if err != nil {
		return err
	}
	return errors.Join(work(store), store.close())
}

func (s *session) home() (string, error) {
	if s.opts.Home != "" {
		return filepath.Abs(s.opts.Home)
	}
	return local.DefaultHome()
}

// shop reads the workshop as it stood on the day asked for.
func (s *session) shop(store opened) (inventory.Shop, error) {
	workshop, err := store.Workshop(s.ctx, s.opts.Workshop)
	if err != nil {
		return inventory.Shop{}, err
	}
	asOf, clock, err := s.asOf(store, workshop)
	if err != nil {
		return inventory.Shop{}, err
	}
	shop, err := store.Shop(s.ctx, workshop.ID, asOf)
	shop.TimeOfDay = clock
	return shop, err
}

// asOf is the day asked for with its time, where one was given, or this moment
// where the workshop is: cut-offs are in its time zone, whatever this machine's.
func (s *session) asOf(store opened, workshop db.Workshop) (day inventory.Date, clock string, err error) {
	if s.opts.AsOf != "" {
		return parseAsOf(s.opts.AsOf)
	}
	settings, err := store.Settings(s.ctx, workshop.ID)
	if err != nil {
		return 0, "", err
	}
	where, err := time.LoadLocation(settings.TimeZone)
	if err != nil {
		return 0, "", fmt.Errorf("time zone of %s: %w", workshop.Name, err)
	}
	now := time.Now().In(where)
	return inventory.DateOf(now), now.Format(clockTime), nil
}

// clockTime is a time of day as cut-offs have it.
const clockTime = "15:04"

// parseAsOf reads YYYY-MM-DD, or YYYY-MM-DDTHH:MM; without a time it is the
// morning, before every cut-off.
func parseAsOf(text string) (day inventory.Date, clock string, err error) {
	date, clock, timed := strings.Cut(text, "T")
	if day, err = inventory.ParseDate(date); err != nil {
		return 0, "", err
	}
	if !timed {
		return day, "", nil
	}
	if at, err := time.Parse(clockTime, clock); err != nil || at.Format(clockTime) != clock {
		return 0, "", fmt.Errorf("found the time %q, expected HH:MM behind the T", clock)
	}
	return day, clock, nil
}

// settleDay makes the workshop's own day the one that documents name.
func (s *session) settleDay(store opened, workshop db.Workshop) error {
	day, _, err := s.asOf(store, workshop)
	s.opts.AsOf = day.String()
	return err
}

// plan reads the shop and plans it, with options that may depend on it.
func (s *session) plan(options func(inventory.Shop) (plan.Options, error)) (plan.Plan, error) {
	var made plan.Plan
	err := s.with(func(store opened) error {
		shop, err := s.shop(store)
		if err != nil {
			return err
		}
		o, err := options(shop)
		if err != nil {
			return err
		}
		made, err = plan.Make(shop, o)
		return err
	})
	return made, err
}

// always are options that no shop changes.
func always(o plan.Options) func(inventory.Shop) (plan.Options, error) {
	return func(inventory.Shop) (plan.Options, error) { return o, nil }
}

// readShop reads the workshop as it stood on the day asked for.
func (s *session) readShop() (shop inventory.Shop, err error) {
	err = s.with(func(store opened) (err error) {
		shop, err = s.shop(store)
		return err
	})
	return shop, err
}
