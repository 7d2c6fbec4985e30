package db

import (
	"context"
	"errors"

	"github.com/jackc/pgx/v5"

	"circlip/inventory"
)

const sheetPlacedSQL = `
SELECT order_code, placed_on - DATE '1970-01-01' FROM circlip.order_sheet WHERE workshop = @workshop AND sheet = @sheet`

// SheetPlaced is the order that a sheet was placed as, and on which day; empty
// where it was not.
func (s *Store) SheetPlaced(ctx context.Context, workshop int64, sheet string) (order string, on inventory.Date, err error) {
	err = s.try(ctx, func(ctx context.Context) error {
		return s.pool.QueryRow(ctx, sheetPlacedSQL, pgx.NamedArgs{"workshop": workshop, "sheet": sheet}).Scan(&order, (*int32)(&on))
	})
	if errors.Is(err, pgx.ErrNoRows) {
		return "", 0, nil
	}
	return order, on, err
}
