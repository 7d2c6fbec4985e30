package inventory

import (
	"cmp"
	"fmt"
	"slices"
)

// Stocktake is a count sheet as it came back from the shelf.
type Stocktake struct {
	Workshop  string
	WrittenOn Date // the day of the sheet
	On        Date // the day of the count
	Listed    []Listed
	Counted   []Counted
}

// Listed is an item that was to be counted, and what the ledger held of it when
// the sheet was written.
type Listed struct {
	Item   string
	OnHand Quantity
}

// Counted is a row that was filled: what was found of an item, or of one
// container of it. An item may stand in several: they add up.
type Counted struct {
	Item      string
	Qty       Quantity
	Weighed   *Weighing // what Qty was worked out from; nil: it was counted
	Container string    // a known one; empty: none that is known
	OpenedOn  Date      // zero: it is not opened, or not known
}

// Tallied is what a count comes to before anything of it is posted.
type Tallied struct {
	On         Date
	Lines      []Discrepancy // of each item counted, in the order of the sheet
	NotCounted []string      // items of the sheet whose rows were left blank
	Missing    Money         // of all lines that found less, zero or below
	TooMuch    Money         // of all lines that found more
}

// Discrepancy is what was found of an item against what the ledger holds of it
// now, all its lots, expired and set aside ones included. A count posts it.
type Discrepancy struct {
	Item      string
	Rows      int         // of the sheet, as many as were filled
	Parts     []CountPart // of a fluid or grease: one a row, numbered from 1
	AtWriting Quantity    // in the ledger when the sheet was written
	Expected  Quantity    // in the ledger now
	Found     Quantity
	Diff      Quantity // found less expected: below zero where some is missing
	Value     Money    // of Diff, by the lots that the ledger will book it to
	Unpriced  bool     // some of Diff is of a lot whose cost nobody knows: it counts nothing
	Causes    []Cause  // what would explain it
	Unlike    []UnlikeTare
}

// UnlikeTare is a known container that was weighed with another tare than its
// own, so that one of the two is wrong.
type UnlikeTare struct {
	Container     string
	UsedG, KnownG float64
}

// Cause is one thing that alone would explain a difference exactly. It is no
// more than where to look first: with several, at most one is right.
type Cause struct {
	Why CauseKind
	Ref string // the job or order; empty where there is none
	On  Date   // zero where it has no day
	Qty Quantity
}

// CauseKind is what sort of thing a cause is.
type CauseKind string

// The kinds of causes.
const (
	MovedSince CauseKind = "moved since" // what was found is what was there when the sheet was written
	WasTold    CauseKind = "receipt"     // booked as received, or given back, and not seen on the shelf
	NotTaken   CauseKind = "use"         // booked as used by a job, and still there
	InTray     CauseKind = "set aside"   // set aside for a job, and not among what was counted
	Awaited    CauseKind = "order"       // on order, and perhaps here already
)

// recentDays is how far back a movement may lie to be pointed to.
const recentDays = 7

// Tally works out what a count comes to. Items and containers of the sheet that
// the shop does not have, and rows of items that are not on the sheet, are
// errors; so is a count of a day that has not come.
func Tally(shop Shop, s Stocktake) (Tallied, error) {
	if s.On.IsZero() || s.On > shop.AsOf {
		return Tallied{}, fmt.Errorf("%w: found a count of %q, expected a day until %s", ErrInvalid, s.On, shop.AsOf)
	}
	rows := map[string][]Counted{}
	for _, c := range s.Counted {
		rows[c.Item] = append(rows[c.Item], c)
	}
	t, at, seen, err := Tallied{On: s.On}, newShelfSeen(shop), 0, error(nil)
	for _, listed := range s.Listed {
		item, known := at.items[listed.Item]
		if !known {
			return Tallied{}, fmt.Errorf("%w: found the item %q on a count sheet, expected one of the book; write the sheet again", ErrNotFound, listed.Item)
		}
		counted := rows[listed.Item]
		if seen += len(counted); len(counted) == 0 {
			t.NotCounted = append(t.NotCounted, listed.Item)
			continue
		}
		d := at.difference(item, listed.OnHand, counted)
		if d.Parts, d.Unlike, err = at.parts(item, s.On, counted); err != nil {
			return Tallied{}, err
		}
		d.Causes = at.causes(d, s.On)
		t.Missing += min(d.Value, 0)
		t.TooMuch += max(d.Value, 0)
		t.Lines = append(t.Lines, d)
	}
	if seen < len(s.Counted) {
		return Tallied{}, fmt.Errorf("%w: found counts of items that are not on the sheet, expected those that were listed", ErrInvalid)
	}
	return t, nil
}

// shelfSeen is the shop as a count looks at it.
type shelfSeen struct {
	Shop
	items map[string]Item
	lots  map[string][]Lot // by item, in the order in which stock is used
}

func newShelfSeen(shop Shop) shelfSeen {
	s := shelfSeen{shop, map[string]Item{}, map[string][]Lot{}}
	for _, i := range shop.Items {
		s.items[i.Code] = i
	}
	for _, l := range shop.Lots {
		s.lots[l.Item] = append(s.lots[l.Item], l)
	}
	for _, lots := range s.lots {
		slices.SortStableFunc(lots, func(a, b Lot) int {
			return cmp.Or(cmp.Compare(lastDay(a), lastDay(b)), cmp.Compare(a.Received, b.Received), cmp.Compare(a.Code, b.Code))
		})
	}
	return s
}

// lastDay is a lot's expiry, after all days for one that does not age.
func lastDay(l Lot) int64 {
	if l.Expires.IsZero() {
		return 1 << 40
	}
	return int64(l.Expires)
}

// difference is what the rows of an item come to.
func (s shelfSeen) difference(item Item, atWriting Quantity, counted []Counted) Discrepancy {
	d := Discrepancy{Item: item.Code, Rows: len(counted), AtWriting: atWriting}
	for _, c := range counted {
		d.Found += c.Qty
	}
	for _, l := range s.lots[item.Code] {
		d.Expected += l.OnHand
	}
	d.Diff = d.Found - d.Expected
	d.Value, d.Unpriced = s.worth(item, d.Diff)
	return d
}

// worth is the value of a difference and whether some of it has none. It goes
// to the lots as the ledger books it: what is too much to the one that came
// last, what is missing first from what is free, then from what is set aside,
// in the order of expiry. Each lot is valued before and after, so that the sum
// is what the shelf's value changes by.
func (s shelfSeen) worth(item Item, diff Quantity) (value Money, unpriced bool) {
	lots := s.lots[item.Code]
	change := make([]Quantity, len(lots))
	switch {
	case diff > 0 && len(lots) == 0:
		lots, change = []Lot{{}}, []Quantity{diff} // as the lot it will be received as
	case diff > 0:
		change[lastReceived(lots)] = diff
	default:
		lose(lots, change, -diff)
	}
	for i, l := range lots {
		cost := l.UnitCost
		if cost == 0 {
			cost = UsualCost(s.Shop, item)
		}
		unpriced = unpriced || (cost == 0 && change[i] != 0)
		value += Value(l.OnHand+change[i], item.Measure, cost) - Value(l.OnHand, item.Measure, cost)
	}
	return value, unpriced
}

// lose spreads what is missing over the lots.
func lose(lots []Lot, change []Quantity, missing Quantity) {
	for _, keeps := range []bool{true, false} {
		for i, l := range lots {
			there := l.OnHand + change[i]
			if keeps {
				there -= setAsideOf(l)
			}
			part := min(missing, max(there, 0))
			change[i] -= part
			missing -= part
		}
	}
}

func setAsideOf(l Lot) (sum Quantity) {
	for _, s := range l.SetAside {
		sum += s.Qty
	}
	return sum
}

// lastReceived is the lot that came last.
func lastReceived(lots []Lot) (newest int) {
	for i, l := range lots {
		if n := lots[newest]; l.Received > n.Received || (l.Received == n.Received && l.Code > n.Code) {
			newest = i
		}
	}
	return newest
}

// causes lists what alone explains a difference: what moved since the sheet was
// written, what is set aside or on order, and what was booked in the days
// before the count or after it.
func (s shelfSeen) causes(d Discrepancy, on Date) (causes []Cause) {
	if d.Diff == 0 {
		return nil
	}
	point := func(why CauseKind, ref string, on Date, explains Quantity) {
		if explains == d.Diff {
			causes = append(causes, Cause{why, ref, on, max(explains, -explains)})
		}
	}
	point(MovedSince, "", 0, d.AtWriting-d.Expected)
	for _, r := range s.Receipts {
		if r.Item == d.Item && r.Date >= on-recentDays {
			point(WasTold, "", r.Date, -r.Qty)
		}
	}
	for _, u := range s.recentUses(d.Item, on-recentDays) {
		point(NotTaken, u.Ref, u.On, u.Qty)
	}
	for _, k := range s.kept(d.Item) {
		point(InTray, k.Job, 0, -k.Qty)
	}
	for _, o := range s.Orders {
		if o.Item == d.Item {
			point(Awaited, o.Order, o.DueOn, o.Outstanding())
		}
	}
	return causes
}

// recentUses is what each job done from a day on took of an item, by the order
// of the jobs.
func (s shelfSeen) recentUses(item string, from Date) (uses []Cause) {
	took := map[string]Quantity{}
	for _, u := range s.Uses {
		if u.Item == item {
			took[u.Job] += u.Qty
		}
	}
	for _, j := range s.Jobs {
		if qty := took[j.Code]; qty > 0 && j.State == Done && j.EndedOn() >= from {
			uses = append(uses, Cause{NotTaken, j.Code, j.EndedOn(), qty})
		}
	}
	return uses
}

// kept is what is set aside of an item, all its lots, by job.
func (s shelfSeen) kept(item string) (kept []SetAside) {
	for _, l := range s.lots[item] {
		for _, k := range l.SetAside {
			at := slices.IndexFunc(kept, func(was SetAside) bool { return was.Job == k.Job })
			if at < 0 {
				kept, at = append(kept, SetAside{Job: k.Job}), len(kept)
			}
			kept[at].Qty += k.Qty
		}
	}
	return kept
}
