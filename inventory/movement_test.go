package inventory

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func goodMovement() Movement {
	return Movement{Item: "seal", Lot: "L1", From: FromOrder, To: Shelf, Ref: "O-1", Qty: 5, HappenedOn: NewDate(2026, time.March, 2)}
}

func TestMovementCheck(t *testing.T) {
	for _, tc := range []struct {
		rule  string
		spoil func(*Movement)
	}{
		{"an item is named", func(m *Movement) { m.Item = "" }},
		{"a lot is named", func(m *Movement) { m.Lot = "" }},
		{"something moves", func(m *Movement) { m.Qty = 0 }},
		{"nothing moves backwards", func(m *Movement) { m.Qty = -1 }},
		{"no more than the books hold", func(m *Movement) { m.Qty = MaxQuantity + 1 }},
		{"not from shelf to shelf", func(m *Movement) { m.From = Shelf }},
		{"not from world to world", func(m *Movement) { m.To = Wasted }},
		{"on a day", func(m *Movement) { m.HappenedOn = 0 }},
	} {
		m := goodMovement()
		tc.spoil(&m)
		if err := m.Check(); !errors.Is(err, ErrInvalid) {
			t.Errorf("%s: %v", tc.rule, err)
		}
	}
	in := goodMovement()
	out := in
	out.From, out.To = Shelf, AtJob
	if in.Check() != nil || out.Check() != nil || in.OnShelf() != 5 || out.OnShelf() != -5 {
		t.Errorf("in %v %d, out %v %d", in.Check(), in.OnShelf(), out.Check(), out.OnShelf())
	}
}

// The bytes are written out by hand here, so that a change of the chained form
// cannot pass unnoticed.
func TestLinkChainsTheseBytes(t *testing.T) {
	var previous [32]byte
	previous[31] = 7
	raw := "\x00\x00\x00\x02v1" + "\x00\x00\x00\x0242" + "\x00\x00\x00\x04seal" + "\x00\x00\x00\x02L1" +
		"\x00\x00\x00\x08supplier" + "\x00\x00\x00\x05shelf" + "\x00\x00\x00\x03O-1" +
		"\x00\x00\x00\x00\x00\x00\x00\x03" + "\x00\x00\x00\x00\x00\x00\x00\x05" + "\x00\x00\x00\x00\x00\x00\x50\x22"
	want := sha256.Sum256(append(previous[:], raw...))
	m := goodMovement()
	if m.HappenedOn != 0x5022 {
		t.Fatalf("2026-03-02 is day %#x", int(m.HappenedOn))
	}
	if got := m.Link(previous, "42", 3); got != want {
		t.Errorf("link %s, want %s", hex.EncodeToString(got[:]), hex.EncodeToString(want[:]))
	}
}

func TestLinkChangesWithEveryField(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		m := goodMovement()
		var previous [32]byte
		before := m.Link(previous, "1", 1)
		workshop, seq := "1", int64(1)
		switch rapid.IntRange(0, 9).Draw(t, "field") {
		case 0:
			m.Item += "x"
		case 1:
			m.Lot += "x"
		case 2:
			m.From = Difference
		case 3:
			m.To = Wasted
		case 4:
			m.Ref = ""
		case 5:
			m.Qty++
		case 6:
			m.HappenedOn--
		case 7:
			workshop = "11"
		case 8:
			seq++
		case 9: // the border between two texts moves
			m.Item, m.Lot = m.Item+m.Lot[:1], m.Lot[1:]
		}
		if m.Link(previous, workshop, seq) == before {
			t.Fatalf("%+v has the hash of the movement it was made from", m)
		}
	})
}
