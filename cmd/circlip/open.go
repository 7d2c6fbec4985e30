package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"circlip/db"
	"circlip/db/local"
	"circlip/inventory"
	"circlip/reports/plan"
)

var (
	errNoWorkshop    = errors.New("the database holds no workshop yet")
	errWhichWorkshop = errors.New("the database holds several workshops")
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
		return opened{Store: store}, err
	}
	home, err := s.home()
	if err != nil {
		return opened{}, err
	}
	server, err := local.Open(s.ctx, home)
	if err != nil {
		return opened{}, fmt.Errorf("private database: %w", err)
	}
	store, err := db.Open(s.ctx, server.DSN())
	if err != nil {
		return opened{}, errors.Join(err, server.Close())
	}
	return opened{store, server}, nil
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

// workshop is the one named, or the only one.
func (s *session) workshop(store opened) (string, error) {
	names, err := store.Workshops(s.ctx)
	if err != nil {
		return "", err
	}
	if s.opts.Workshop != "" {
		for _, n := range names {
			if n == s.opts.Workshop {
				return n, nil
			}
		}
		return "", fmt.Errorf("workshop %q: %w, expected one of: %s", s.opts.Workshop, inventory.ErrNotFound, strings.Join(names, "; "))
	}
	switch len(names) {
	case 0:
		return "", errNoWorkshop
	case 1:
		return names[0], nil
	}
	return "", fmt.Errorf("%w: %s", errWhichWorkshop, strings.Join(names, "; "))
}

// shop reads the workshop as it stood on the day asked for.
func (s *session) shop(store opened) (inventory.Shop, error) {
	name, err := s.workshop(store)
	if err != nil {
		return inventory.Shop{}, err
	}
	asOf, err := s.asOf(store, name)
	if err != nil {
		return inventory.Shop{}, err
	}
	return store.Shop(s.ctx, name, asOf)
}

// asOf is the day asked for, or today where the workshop is.
func (s *session) asOf(store opened, workshop string) (inventory.Date, error) {
	if s.opts.AsOf != "" {
		day, err := inventory.ParseDate(s.opts.AsOf)
		if err != nil {
			return 0, fmt.Errorf("--as-of: %w", err)
		}
		return day, nil
	}
	zone, err := store.TimeZone(s.ctx, workshop)
	if err != nil {
		return 0, err
	}
	where, err := time.LoadLocation(zone)
	if err != nil {
		return 0, fmt.Errorf("time zone of %s: %w", workshop, err)
	}
	return inventory.DateOf(time.Now().In(where)), nil
}

// plan reads the shop and plans it.
func (s *session) plan(o plan.Options) (plan.Plan, error) {
	var made plan.Plan
	err := s.with(func(store opened) error {
		shop, err := s.shop(store)
		if err != nil {
			return err
		}
		made, err = plan.Make(shop, o)
		return err
	})
	return made, err
}
