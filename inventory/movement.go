package inventory

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
)

// Place is where stock comes from or goes to. The empty place is the lot's own
// shelf; the others are worlds outside it.
type Place string

// The places of the ledger. A movement has the shelf at exactly one end.
const (
	Shelf      Place = "shelf"
	FromStart  Place = "opening"    // the shelf as first written down
	FromOrder  Place = "supplier"   // deliveries, returns
	AtJob      Place = "job"        // used at the bench
	Wasted     Place = "waste"      // spilled, torn, expired
	Difference Place = "difference" // what a count found missing or too much
	OpenedKit  Place = "kit"        // a kit taken apart, its parts put on the shelf
	Relotted   Place = "lot"        // the same stock under another lot: an opened container, an inspected lot
)

// Places lists every place.
var Places = []Place{Shelf, FromStart, FromOrder, AtJob, Wasted, Difference, OpenedKit, Relotted}

// Movement is one row of the ledger: a quantity above zero of one lot from one
// place to another. It is never changed and never removed.
type Movement struct {
	Item, Lot  string
	From, To   Place
	Ref        string // the job, order or count it belongs to
	Qty        Quantity
	HappenedOn Date
}

// Check returns the first rule that m breaks, or nil.
func (m Movement) Check() error {
	switch {
	case m.Item == "" || m.Lot == "":
		return fmt.Errorf("movement: %w: no item or no lot named", ErrInvalid)
	case m.Qty <= 0 || m.Qty > MaxQuantity:
		return fmt.Errorf("movement of %s lot %s: %w: found quantity %d, expected 1 to %d steps", m.Item, m.Lot, ErrInvalid, m.Qty, MaxQuantity)
	case (m.From == Shelf) == (m.To == Shelf):
		return fmt.Errorf("movement of %s lot %s: %w: from %q to %q, expected the shelf at exactly one end", m.Item, m.Lot, ErrInvalid, m.From, m.To)
	case m.HappenedOn.IsZero():
		return fmt.Errorf("movement of %s lot %s: %w: no date", m.Item, m.Lot, ErrInvalid)
	}
	return nil
}

// OnShelf is what m adds to its lot's balance: negative when stock leaves.
func (m Movement) OnShelf() Quantity {
	if m.To == Shelf {
		return m.Qty
	}
	return -m.Qty
}

// Link is the SHA-256 hash that chains m, the seq-th movement of its lot, to
// the lot's previous one: previous hash, then the length-prefixed texts and
// eight-byte numbers of the row. The database computes the same bytes.
func (m Movement) Link(previous [32]byte, workshop string, seq int64) [32]byte {
	b := append([]byte(nil), previous[:]...)
	for _, text := range []string{"v1", workshop, m.Item, m.Lot, string(m.From), string(m.To), m.Ref} {
		b = binary.BigEndian.AppendUint32(b, uint32(len(text)))
		b = append(b, text...)
	}
	for _, n := range []int64{seq, int64(m.Qty), int64(m.HappenedOn)} {
		b = binary.BigEndian.AppendUint64(b, uint64(n))
	}
	return sha256.Sum256(b)
}
