package db

import (
	"context"
	"fmt"

	"github.com/jackc/pgx/v5"

	"circlip/inventory"
	"circlip/inventory/book"
)

// Settings reads a workshop's own choices, defaults filled in. It wraps
// inventory.ErrNotFound where there is no such workshop.
func (s *Store) Settings(ctx context.Context, workshop int64) (inventory.Settings, error) {
	var kept map[string]string
	err := s.try(ctx, func(ctx context.Context) (err error) {
		kept, err = pairs(ctx, s.pool, keptSettingsSQL, pgx.NamedArgs{"workshop": workshop})
		return err
	})
	if err != nil {
		return inventory.Settings{}, err
	}
	if len(kept) == 0 {
		return inventory.Settings{}, fmt.Errorf("workshop %d: %w", workshop, inventory.ErrNotFound)
	}
	settings, faults := book.SettingsOf(kept)
	if len(faults) > 0 {
		return settings, faults[0]
	}
	return settings, nil
}
