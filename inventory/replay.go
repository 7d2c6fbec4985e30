package inventory

import (
	"cmp"
	"maps"
	"math"
	"slices"
)

// FoundLot is the lot of what a count brings to light of an item that has no
// lot at all.
const FoundLot = "found"

// Replay turns rows into movements, day by day. A lot of the opening shelf is
// put there on its day. Deliveries up to the opening day (the last on which a
// lot of the opening shelf was counted) are on that shelf already; so are
// counts and uses, a use of a named lot of the opening shelf up to that lot's
// own day. A use without a lot takes what expires first and is still good, then
// what has expired. What a use takes beyond the shelf is found by difference,
// with a Shortfall. A count makes the shelf what was counted: more goes to the
// newest lot, less is taken from what expires first.
//
// Rows that are told after a later count was recorded change nothing behind
// it: the day of that count undoes them.
//
// Moves are of a ledger: they are recorded as they are, in the order of their
// numbers, and stand like those that the ledger has when rows are replayed
// around them. As the ledger took them on other days than they happened, a lot
// may be below zero on the way from day to day, and it is not for the rows to
// make up for that.
func Replay(h History) Replayed {
	r := newReplay(h)
	var last Date
	if n := len(r.standing); n > 0 {
		last = r.standing[n-1].HappenedOn
	}
	backDated := len(r.events) > 0 && (r.events[0].On < last || len(h.Moves) > 0)
	r.run()
	return r.result(backDated, h.Moves)
}

// replay is the shelf of one item on the day it has come to.
type replay struct {
	shelf      []*Lot // first expired first, OnHand running
	byCode     map[string]*Lot
	events     []Event // by day and kind
	standing   []Movement
	alone      map[*Lot]Quantity // what would be there by what stands alone
	counted    []Date            // days of the counts that stand
	pending    map[*Lot]Quantity // changes by new rows since the last of them
	cause      Event             // the last new row
	found      Lot               // what a found lot is like
	life       Life
	posted     []Posted
	shortfalls []Shortfall
}

func newReplay(h History) *replay {
	r := &replay{
		byCode:   map[string]*Lot{},
		pending:  map[*Lot]Quantity{},
		alone:    map[*Lot]Quantity{},
		standing: slices.Clone(h.Standing),
		life:     h.Life,
		found:    Lot{Item: h.Item, UnitCost: h.UnitCost},
	}
	for _, m := range h.Moves {
		r.standing = append(r.standing, m.Movement)
	}
	var openingDay Date
	opened := map[string]Date{}
	for _, lot := range h.Lots {
		lot.Item, lot.OnHand, lot.SetAside = h.Item, 0, nil
		r.shelf, r.byCode[lot.Code] = append(r.shelf, &lot.Lot), &lot.Lot
		opened[lot.Code] = lot.Opened
		openingDay = max(openingDay, lot.Opened)
	}
	for _, e := range h.Events {
		if e.Kind == Opening || e.On > onShelfUntil(e, opened, openingDay) {
			r.events = append(r.events, e)
		}
	}
	for _, c := range h.Counted {
		if c.Date > openingDay {
			r.counted = append(r.counted, c.Date)
		}
	}
	slices.SortFunc(r.shelf, func(a, b *Lot) int { return FirstExpiredFirst(*a, *b) })
	slices.SortFunc(r.events, func(a, b Event) int {
		return cmp.Or(cmp.Compare(a.On, b.On), cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Act, b.Act))
	})
	slices.SortStableFunc(r.standing, func(a, b Movement) int { return cmp.Compare(a.HappenedOn, b.HappenedOn) })
	slices.Sort(r.counted)
	return r
}

// onShelfUntil is the day up to which an event is part of the opening shelf.
func onShelfUntil(e Event, opened map[string]Date, openingDay Date) Date {
	if day := opened[e.Lot]; e.Kind == Using && e.Lot != "" && day != 0 {
		return day
	}
	return openingDay
}

// run goes through the days on which anything happens.
func (r *replay) run() {
	for len(r.events) > 0 || len(r.standing) > 0 || len(r.counted) > 0 {
		day := r.nextCount()
		if len(r.events) > 0 {
			day = min(day, r.events[0].On)
		}
		if len(r.standing) > 0 {
			day = min(day, r.standing[0].HappenedOn)
		}
		r.stand(day)
		for len(r.events) > 0 && r.events[0].On == day {
			r.cause, r.events = r.events[0], r.events[1:]
			r.apply(r.cause)
		}
		r.keepCount(day)
	}
}

// stand applies what the ledger holds of the day. Where new rows have left too
// little for it, the rest is found by difference, unless a count of the day
// will set things right.
func (r *replay) stand(day Date) {
	used := map[*Lot]Quantity{}
	for len(r.standing) > 0 && r.standing[0].HappenedOn == day {
		m := r.standing[0]
		r.standing = r.standing[1:]
		lot := r.lot(m.Lot, day)
		lot.OnHand += m.OnShelf()
		r.alone[lot] += m.OnShelf()
		if m.From == Shelf {
			used[lot] += m.Qty
		}
	}
	if r.nextCount() == day {
		return
	}
	for _, lot := range r.shelf {
		if missing := min(0, r.alone[lot]) - lot.OnHand; missing > 0 {
			r.shortfalls = append(r.shortfalls, Shortfall{Event: r.cause, Day: day, From: lot.Code, Used: used[lot], Had: used[lot] - missing})
			r.move(lot, Difference, Shelf, r.cause.Ref, missing, day)
		}
	}
}

// nextCount is the day of the next count that stands; none is the far end.
func (r *replay) nextCount() Date {
	if len(r.counted) == 0 {
		return math.MaxInt32
	}
	return r.counted[0]
}

// keepCount undoes, at the end of the day of a count that stands, what new rows
// have changed since the one before.
func (r *replay) keepCount(day Date) {
	if r.nextCount() != day {
		return
	}
	r.counted = r.counted[1:]
	for _, lot := range r.shelf {
		r.settle(lot, -r.pending[lot], day)
	}
	clear(r.pending)
}

// settle books a difference that a count of the day found.
func (r *replay) settle(lot *Lot, change Quantity, day Date) {
	if change > 0 {
		r.move(lot, Difference, Shelf, day.String(), change, day)
	} else {
		r.move(lot, Shelf, Difference, day.String(), -change, day)
	}
}

func (r *replay) apply(e Event) {
	switch e.Kind {
	case Opening:
		r.move(r.lot(e.Lot, e.On), FromStart, Shelf, e.Ref, e.Qty, e.On)
	case Receiving:
		r.move(r.lot(e.Lot, e.On), FromOrder, Shelf, e.Ref, e.Qty, e.On)
	case Using:
		r.use(e)
	case Counting:
		r.count(e)
	}
}

// use takes from the lot that is named, or from those that expire first: at
// first only what nothing later has taken, then what was there on the day.
func (r *replay) use(e Event) {
	from := r.issueOrder(e)
	taken := map[*Lot]Quantity{}
	missing := e.Qty
	for _, had := range []func(*Lot) Quantity{r.spare, func(lot *Lot) Quantity { return lot.OnHand }} {
		for _, lot := range from {
			if missing == 0 {
				break
			}
			take := min(missing, max(0, had(lot)-taken[lot]))
			taken[lot] += take
			missing -= take
		}
	}
	if missing > 0 {
		last := r.newest(e.On)
		if e.Lot != "" {
			last = from[0]
		}
		r.shortfalls = append(r.shortfalls, Shortfall{Event: e, Day: e.On, From: e.Lot, Used: e.Qty, Had: e.Qty - missing})
		r.move(last, Difference, Shelf, e.Ref, missing, e.On)
		taken[last] += missing
	}
	for _, lot := range r.shelf {
		r.move(lot, Shelf, AtJob, e.Ref, taken[lot], e.On)
	}
}

// issueOrder lists the lots that a use may take from, in the order to do so:
// what is still good comes before what has expired.
func (r *replay) issueOrder(e Event) []*Lot {
	if e.Lot != "" {
		return []*Lot{r.lot(e.Lot, e.On)}
	}
	var good, expired []*Lot
	for _, lot := range r.shelf {
		switch {
		case lot.OnHand <= 0:
		case lot.UsableOn(e.On):
			good = append(good, lot)
		default:
			expired = append(expired, lot)
		}
	}
	return append(good, expired...)
}

// spare is what of a lot neither this day nor a later one has a use for, as far
// as the next count that stands: there the shelf is known again.
func (r *replay) spare(lot *Lot) Quantity {
	least, running, day := lot.OnHand, lot.OnHand, Date(0)
	for _, m := range r.standing {
		if m.HappenedOn >= r.nextCount() {
			break
		}
		if m.Lot != lot.Code {
			continue
		}
		if m.HappenedOn != day {
			least, day = min(least, running), m.HappenedOn
		}
		running += m.OnShelf()
	}
	return min(least, running)
}

// count makes the shelf what was found of it at the end of the day.
func (r *replay) count(e Event) {
	missing := -e.Qty
	for _, lot := range r.shelf {
		missing += lot.OnHand
	}
	if missing < 0 {
		r.settle(r.newest(e.On), -missing, e.On)
		return
	}
	for _, lot := range r.shelf {
		gone := min(missing, max(0, lot.OnHand))
		r.settle(lot, -gone, e.On)
		missing -= gone
	}
}

// newest is the lot that came last; where none has come yet, one that is found.
func (r *replay) newest(day Date) *Lot {
	var newest *Lot
	for _, lot := range r.shelf {
		if lot.Received <= day && (newest == nil || cmp.Or(cmp.Compare(lot.Received, newest.Received), cmp.Compare(lot.Code, newest.Code)) > 0) {
			newest = lot
		}
	}
	if newest == nil {
		return r.lot(FoundLot, day)
	}
	return newest
}

// lot finds a lot by code; one that no row told of is made.
func (r *replay) lot(code string, day Date) *Lot {
	if lot, known := r.byCode[code]; known {
		return lot
	}
	lot := r.found
	lot.Code, lot.Received, lot.Expires = code, day, r.life.Expires(0, Cure{}, day)
	i, _ := slices.BinarySearchFunc(r.shelf, &lot, func(a, b *Lot) int { return FirstExpiredFirst(*a, *b) })
	r.shelf = slices.Insert(r.shelf, i, &lot)
	r.byCode[code] = &lot
	return &lot
}

// move books a movement of the last new row's act.
func (r *replay) move(lot *Lot, from, to Place, ref string, qty Quantity, day Date) {
	if qty == 0 {
		return
	}
	m := Movement{Item: lot.Item, Lot: lot.Code, From: from, To: to, Ref: ref, Qty: qty, HappenedOn: day}
	lot.OnHand += m.OnShelf()
	r.pending[lot] += m.OnShelf()
	r.posted = append(r.posted, Posted{Movement: m, Act: r.cause.Act})
}

// turn is when a movement is recorded among those of other days: what rows put
// on the shelf comes first, what they take from it last.
func (p Posted) turn() int {
	switch {
	case p.Number > 0:
		return 1
	case p.From == Shelf:
		return 2
	}
	return 0
}

// result lists the movements so that the ledger can take them one by one: where
// it holds later ones already, what comes in goes first.
func (r *replay) result(backDated bool, moves []Posted) Replayed {
	r.posted = append(slices.Clone(moves), r.posted...)
	if backDated {
		slices.SortStableFunc(r.posted, func(a, b Posted) int { return cmp.Compare(a.turn(), b.turn()) })
	}
	moved := map[string]bool{}
	for _, p := range r.posted {
		moved[p.Lot] = true
	}
	done := Replayed{Movements: r.posted, Shortfalls: r.shortfalls}
	for _, code := range slices.Sorted(maps.Keys(moved)) {
		done.Lots = append(done.Lots, *r.byCode[code])
	}
	return done
}
