package inventory

import "slices"

// JobPicks is a job's kit and the lots out of which it is put together.
type JobPicks struct {
	JobKit
	Picks [][]Pick // by line of the kit
	Opens []Pick   // kits to be opened for it, as items of their own
}

// Pick is a quantity of one lot for one line of a kit. Of a line that is only
// sometimes needed, what is not set aside stays on the shelf until the job asks
// for it: its picks say where it would be found, and may find less than the line
// needs.
type Pick struct {
	Item, Lot string // the line's item, or its alternate
	Expires   Date   // zero: does not age
	Qty       Quantity
	SetAside  bool   // kept for the job
	OutOf     string // kit that lies on the shelf whole, and must be opened first; empty: none
}

// Picks names the lots of what Kits promised, all of the shop's kits in their
// order: what is set aside for a job by lot, then first expired first among the
// free lots that are good on the day, each less what earlier jobs take. It
// decides nothing: how much comes from where is the promise's. What the promise
// does not hold, on order or short, has no lot.
func Picks(shop Shop, kits []JobKit) []JobPicks {
	shelf := newPickShelf(shop)
	var picked []JobPicks
	for _, kit := range kits {
		job := JobPicks{JobKit: kit}
		on := max(kit.BenchDate, shop.AsOf)
		for _, line := range kit.Lines {
			aside := shelf.aside[asideOf{line.Item, kit.Job}]
			picks := draw(aside, line.SetAside, on)
			for i := range picks {
				picks[i].SetAside = true
			}
			if line.Probability < 1 {
				picks = append(picks, shelf.find(line, on)...)
			} else {
				more, opened := shelf.take(line, on)
				picks = append(picks, more...)
				job.Opens = append(job.Opens, opened...)
			}
			job.Picks = append(job.Picks, picks)
		}
		picked = append(picked, job)
	}
	return picked
}

// pickShelf is what is still there to be picked.
type pickShelf struct {
	free     map[string][]shelfLot // by item, first expired first
	aside    map[asideOf][]shelfLot
	contents map[string][]KitPart // by kit
}

type asideOf struct{ item, job string }

// shelfLot is a lot, its OnHand what is left of it, or the parts of a kit that
// is to be opened.
type shelfLot struct {
	Lot
	outOf string
}

func newPickShelf(shop Shop) *pickShelf {
	s := &pickShelf{free: map[string][]shelfLot{}, aside: map[asideOf][]shelfLot{}, contents: map[string][]KitPart{}}
	lots := slices.Clone(shop.Lots)
	slices.SortStableFunc(lots, FirstExpiredFirst)
	for _, l := range shop.Lots {
		for _, a := range l.SetAside {
			kept, of := l, asideOf{l.Item, a.Job}
			kept.OnHand = a.Qty
			s.aside[of] = append(s.aside[of], shelfLot{Lot: kept})
		}
	}
	for _, kept := range s.aside {
		slices.SortStableFunc(kept, firstOut)
	}
	for _, l := range lots {
		l.OnHand = l.Free()
		s.free[l.Item] = append(s.free[l.Item], shelfLot{Lot: l})
	}
	for _, k := range shop.Kits {
		s.contents[k.Kit] = append(s.contents[k.Kit], k)
	}
	return s
}

func firstOut(a, b shelfLot) int { return FirstExpiredFirst(a.Lot, b.Lot) }

// draw takes q out of lots that are good on the day, in their order, or all
// that there is.
func draw(lots []shelfLot, q Quantity, on Date) []Pick {
	var picks []Pick
	for i := range lots {
		lot := &lots[i]
		n := min(q, lot.OnHand)
		if n <= 0 || !lot.UsableOn(on) {
			continue
		}
		lot.OnHand -= n
		q -= n
		picks = append(picks, Pick{Item: lot.Item, Lot: lot.Code, Expires: lot.Expires, Qty: n, OutOf: lot.outOf})
	}
	return picks
}

// take picks what a line that every such job needs gets from the shelf, and the
// kits that are opened for it.
func (s *pickShelf) take(line KitLine, on Date) (picks, opened []Pick) {
	if line.Alternate != "" {
		return draw(s.free[line.Alternate], line.Need, on), nil
	}
	picks = draw(s.free[line.Item], line.FromFree, on)
	if line.FromKit != "" {
		out := line.Need - line.SetAside - line.FromFree - line.FromOrder - line.Short
		opened = s.open(line.FromKit, line.Item, out, on)
		picks = append(picks, draw(s.free[line.Item], out, on)...)
	}
	return picks, opened
}

// find looks where a line that is only sometimes needed would come from, and
// leaves it there: in its lots, or in kits that would have to be opened.
func (s *pickShelf) find(line KitLine, on Date) []Pick {
	if line.FromKit == "" {
		return draw(slices.Clone(s.free[line.Item]), line.FromFree, on)
	}
	var picks []Pick
	each, left := s.holds(line.FromKit, line.Item), line.Need-line.SetAside
	for _, kit := range draw(slices.Clone(s.free[line.FromKit]), (left+each-1)/each, on) {
		n := min(left, kit.Qty*each)
		left -= n
		picks = append(picks, Pick{Item: line.Item, Lot: kit.Lot, Expires: kit.Expires, Qty: n, OutOf: line.FromKit})
	}
	return picks
}

// open puts the parts of as many kits on the shelf as hold q of the item, each
// with its kit's lot and expiry, and returns those kits.
func (s *pickShelf) open(kit, item string, q Quantity, on Date) []Pick {
	each := s.holds(kit, item)
	opened := draw(s.free[kit], (q+each-1)/each, on)
	for _, o := range opened {
		received := s.received(kit, o.Lot)
		for _, part := range s.contents[kit] {
			lot := Lot{Item: part.Item, Code: o.Lot, Received: received, Expires: o.Expires, OnHand: o.Qty * part.Qty}
			s.free[part.Item] = append(s.free[part.Item], shelfLot{lot, kit})
			slices.SortStableFunc(s.free[part.Item], firstOut)
		}
	}
	return opened
}

// holds is how many of an item lie in one kit, at least one.
func (s *pickShelf) holds(kit, item string) Quantity {
	for _, part := range s.contents[kit] {
		if part.Item == item {
			return max(1, part.Qty)
		}
	}
	return 1
}

func (s *pickShelf) received(item, lot string) Date {
	for _, l := range s.free[item] {
		if l.Code == lot {
			return l.Received
		}
	}
	return 0
}
