package main

import (
	"errors"
	"fmt"

	"circlip/inventory"
	"circlip/inventory/book"
	"circlip/reports"
	"circlip/reports/plan"
)

// explain prints where the figures of an item, a unit or a service come from.
func (s *session) explain(code string) error {
	var shop inventory.Shop
	err := s.with(func(store opened) (err error) {
		shop, err = s.shop(store)
		return err
	})
	if err != nil {
		return err
	}
	outlook, err := plan.Foresee(shop)
	if err != nil {
		return err
	}
	explained, err := reports.Explain(shop, outlook, code)
	if err != nil {
		return nearest(err)
	}
	if s.opts.JSON {
		return s.print(explained.JSON())
	}
	return reports.Text(s.out, explained.Sheets()...)
}

// nearest adds the code that was most likely meant.
func nearest(err error) error {
	var unknown reports.UnknownCode
	if errors.As(err, &unknown) {
		if code, near := book.Nearest(unknown.Code, unknown.Known); near {
			return fmt.Errorf("%w; is it %q?", err, code)
		}
	}
	return err
}
