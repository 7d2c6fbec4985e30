package db

import (
	"context"
	"fmt"
	"strings"

	"github.com/jackc/pgx/v5"

	"circlip/inventory"
	"circlip/inventory/book"
)

// Workshop is one shop of the database.
type Workshop struct {
	ID   int64
	Name string
}

const workshopsSQL = `SELECT workshop AS id, name FROM workshop ORDER BY name`

// Workshops lists the database's workshops by name.
func (s *Store) Workshops(ctx context.Context) ([]Workshop, error) {
	var all []Workshop
	err := s.try(ctx, func(ctx context.Context) (err error) {
		all, err = workshops(ctx, s.pool)
		return err
	})
	return all, err
}

func workshops(ctx context.Context, q querier) ([]Workshop, error) {
	rows, err := q.Query(ctx, workshopsSQL)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowToStructByName[Workshop])
}

// Workshop finds a workshop by name; an empty name means the only one there
// is. It wraps inventory.ErrNotFound where there is none such, and
// inventory.ErrInvalid where there are several to choose from.
func (s *Store) Workshop(ctx context.Context, name string) (Workshop, error) {
	all, err := s.Workshops(ctx)
	if err != nil {
		return Workshop{}, err
	}
	return choose(all, name)
}

// choose finds the one that is meant, or says which there are.
func choose(all []Workshop, name string) (Workshop, error) {
	var names []string
	for _, w := range all {
		if w.Name == name || (name == "" && len(all) == 1) {
			return w, nil
		}
		names = append(names, w.Name)
	}
	switch {
	case len(all) == 0:
		return Workshop{}, fmt.Errorf("workshop: %w: there is none yet; load a book first", inventory.ErrNotFound)
	case name == "":
		return Workshop{}, fmt.Errorf("workshop: %w: found %d of them, expected one to be named: %s", inventory.ErrInvalid, len(all), strings.Join(names, ", "))
	}
	if near, ok := book.Nearest(name, names); ok {
		return Workshop{}, fmt.Errorf("workshop %q: %w; is it %q?", name, inventory.ErrNotFound, near)
	}
	return Workshop{}, fmt.Errorf("workshop %q: %w, expected one of: %s", name, inventory.ErrNotFound, strings.Join(names, ", "))
}
