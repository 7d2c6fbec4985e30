package audit

import (
	"slices"
	"strings"

	"circlip/inventory"
)

// bills finds what the bill of materials allows a done job of the audited
// items. A workshop's past has few kinds of jobs and very many of each.
type bills struct {
	bill    *inventory.Bill
	audited func(item string) bool
	changes []inventory.Date // days on which some line begins or ends to hold
	known   map[jobKind][]inventory.BOMLine
}

// jobKind is all jobs that take the same lines; version counts the changes of
// the bill up to the day.
type jobKind struct {
	services, model string
	version         int
}

func newBills(shop inventory.Shop, audited func(item string) bool) *bills {
	b := &bills{bill: inventory.NewBill(shop), audited: audited, known: map[jobKind][]inventory.BOMLine{}}
	for _, l := range shop.BOM {
		b.changes = append(b.changes, l.From, l.To)
	}
	slices.Sort(b.changes)
	b.changes = slices.Compact(b.changes)
	return b
}

// of is the audited lines of one job on a day, by item.
func (b *bills) of(j inventory.Job, on inventory.Date) []inventory.BOMLine {
	version, _ := slices.BinarySearch(b.changes, on+1)
	kind := jobKind{strings.Join(j.Services, ";"), j.Model, version}
	lines, known := b.known[kind]
	if !known {
		lines = b.bill.Lines(j.Services, j.Model, on)
		lines = slices.DeleteFunc(lines, func(l inventory.BOMLine) bool { return !b.audited(l.Item) })
		b.known[kind] = lines
	}
	return lines
}
