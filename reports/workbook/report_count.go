package workbook

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"fmt"
	"io"
	"strconv"

	"circlip/inventory"
	"circlip/reports"
)

// countMemory is the hidden sheet of a count.
const countMemory = "circlip count"

// WriteCount writes a blind count sheet to a file, which takes its place when
// it is whole.
func WriteCount(path string, d reports.CountDue) error {
	return writeWhole(path, "count", func(w io.Writer) error { return EncodeCount(w, d) })
}

// EncodeCount writes that workbook, with where the ledger stood hidden in it for
// ReadCount. The same count gives the same bytes.
func EncodeCount(w io.Writer, d reports.CountDue) error {
	return encodeSheets(w, "Count sheet", d.Workshop, d.WrittenOn, []reports.Sheet{d.Sheet()}, toCount(d))
}

// WriteTally writes what a count comes to, to be looked over before it is
// posted.
func WriteTally(path string, shop inventory.Shop, t inventory.Tallied) error {
	return writeWhole(path, "tally", func(w io.Writer) error {
		return encodeSheets(w, "Count", shop.Settings.Workshop, t.On, []reports.Sheet{reports.Tally(shop, t)}, nil)
	})
}

// toCount remembers what is to be counted, and the containers behind it.
func toCount(d reports.CountDue) *memory {
	m := &memory{tab: countMemory, head: namesOf(toCountColumns)}
	check := checkOfCount(d)
	for _, l := range d.Lines {
		m.rows = append(m.rows, []any{
			check, d.Workshop, d.WrittenOn.String(), l.Item.Code, string(l.Item.Measure), l.Item.DensityKgM3, mask(d, l.Item.Code, l.OnHand), nil, nil,
		})
	}
	for _, c := range d.Containers {
		m.rows = append(m.rows, []any{check, d.Workshop, d.WrittenOn.String(), orBlank(c.Item), nil, nil, nil, c.Code, c.TareG})
	}
	return m
}

// orBlank is a text, or no cell at all.
func orBlank(text string) any {
	if text == "" {
		return nil
	}
	return text
}

// checkOfCount tells a count's memory that was changed, like checkOf.
func checkOfCount(d reports.CountDue) string {
	h := sha256.New()
	fmt.Fprintf(h, "v2\x1f%s\x1f%s", d.Workshop, d.WrittenOn)
	for _, l := range d.Lines {
		fmt.Fprintf(h, "\x1e%s\x1f%s\x1f%.12g\x1f%d", l.Item.Code, l.Item.Measure, l.Item.DensityKgM3, l.OnHand)
	}
	for _, c := range d.Containers {
		fmt.Fprintf(h, "\x1d%s\x1f%s\x1f%.12g", c.Code, c.Item, c.TareG)
	}
	return hex.EncodeToString(h.Sum(nil)[:16])
}

// mask is what the ledger holds of an item, written so that nobody who looks at
// the hidden sheet reads by chance what they are to find out. It is no secret:
// who knows this program can work it out.
func mask(d reports.CountDue, item string, q inventory.Quantity) string {
	return fmt.Sprintf("x%016x", uint64(q)^maskOf(d, item)) // x: a spreadsheet takes it for no number
}

// unmask is the quantity again; false: it is no mask.
func unmask(d reports.CountDue, item, text string) (inventory.Quantity, bool) {
	if len(text) != 17 || text[0] != 'x' {
		return 0, false
	}
	n, err := strconv.ParseUint(text[1:], 16, 64)
	return inventory.Quantity(n ^ maskOf(d, item)), err == nil
}

func maskOf(d reports.CountDue, item string) uint64 {
	sum := sha256.Sum256([]byte(d.Workshop + "\x1f" + d.WrittenOn.String() + "\x1f" + item))
	return binary.BigEndian.Uint64(sum[:8])
}
