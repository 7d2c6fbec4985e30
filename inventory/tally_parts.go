package inventory

import (
	"fmt"
	"slices"
)

// parts are the rows of an item that is kept in containers, and those weighed
// with another tare than the container's own; pieces have neither.
func (s shelfSeen) parts(item Item, on Date, counted []Counted) (parts []CountPart, unlike []UnlikeTare, err error) {
	if item.Measure == Each {
		return nil, nil, nil
	}
	for n, c := range counted {
		parts = append(parts, CountPart{Item: item.Code, Date: on, Number: n + 1, Container: c.Container, Qty: c.Qty, Weighed: c.Weighed, OpenedOn: c.OpenedOn})
		if c.Container == "" {
			continue
		}
		at := slices.IndexFunc(s.Containers, func(known Container) bool { return known.Code == c.Container })
		switch {
		case at < 0:
			return nil, nil, fmt.Errorf("%w: found the container %q of %s on a count sheet, expected one of the book; write the sheet again", ErrNotFound, c.Container, item.Code)
		case !s.Containers[at].Holds(item.Code):
			return nil, nil, fmt.Errorf("%w: found the container %q of %s in a count, expected one of that item: it is for %s", ErrInvalid, c.Container, item.Code, s.Containers[at].Item)
		case c.Weighed != nil && c.Weighed.TareG != s.Containers[at].TareG:
			unlike = append(unlike, UnlikeTare{c.Container, c.Weighed.TareG, s.Containers[at].TareG})
		}
	}
	return parts, unlike, nil
}

// Holds reports whether an item may be in the container.
func (c Container) Holds(item string) bool { return c.Item == "" || c.Item == item }
