package audit

import (
	"slices"
	"strings"

	"circlip/inventory"
)

// bills finds what the bill of materials allows a job of the audited items. A
// workshop's past has few kinds of jobs and very many of each.
type bills struct {
	bill     *inventory.Bill
	accounts map[string]*account
	changes  []inventory.Date // days on which some line begins or ends to hold
	known    map[jobKind][]allowance
}

// jobKind is all jobs that take the same lines; version counts the changes of
// the bill up to the day.
type jobKind struct {
	services, model string
	version         int
}

// allowance is the lines of the bill that allow a job one item, and what the
// card of the job at hand says of it.
type allowance struct {
	*account
	lines        []inventory.BOMLine
	qty, perJob  inventory.Quantity // of the lines: as they say, and with waste
	used, spoilt inventory.Quantity
}

func newBills(shop inventory.Shop, accounts map[string]*account) *bills {
	b := &bills{bill: inventory.NewBill(shop), accounts: accounts, known: map[jobKind][]allowance{}}
	for _, l := range shop.BOM {
		b.changes = append(b.changes, l.From, l.To)
	}
	slices.Sort(b.changes)
	b.changes = slices.Compact(b.changes)
	return b
}

// of is what one job is allowed of the audited items on a day, by item.
func (b *bills) of(j *inventory.Job, on inventory.Date) []allowance {
	version, _ := slices.BinarySearch(b.changes, on+1)
	kind := jobKind{strings.Join(j.Services, ";"), j.Model, version}
	if allowed, known := b.known[kind]; known {
		return allowed
	}
	var allowed []allowance
	for _, l := range b.bill.Lines(j.Services, j.Model, on) { // by item
		a := b.accounts[l.Item]
		if a == nil {
			continue
		}
		if n := len(allowed); n == 0 || allowed[n-1].account != a {
			allowed = append(allowed, allowance{account: a})
		}
		last := &allowed[len(allowed)-1]
		last.lines = append(last.lines, l)
		last.qty += l.Qty
		last.perJob += l.PerJob(a.item.Measure)
	}
	b.known[kind] = allowed
	return allowed
}
