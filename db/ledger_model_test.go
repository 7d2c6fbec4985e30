package db_test

import (
	"cmp"
	"maps"
	"slices"

	"circlip/db"
	"circlip/inventory"
)

// model is the ledger of one workshop as plain Go says it: no SQL, no locks,
// everything recomputed from slices. It is written from the rules and not from
// the functions that it checks.
type model struct {
	items []string
	kits  map[string]map[string]inventory.Quantity // of each kit its parts
	lots  []*modelLot

	suppliers   []string
	orders      []*modelOrder
	inspections []modelInspection

	acts      int
	counts    map[dayOf]modelCount
	bill      []modelBillLine
	disposals []db.Dispose
}

type modelLot struct {
	item, code        string
	received, expires inventory.Date
	cost              inventory.UnitCost
	onHand            inventory.Quantity
	kept              map[string]inventory.Quantity // by job
	lastKept          map[string]int                // when each job last set some aside
	keptEvents        int
	moved             []modelMovement
	origin, became    string // the lot that it goes on from, and how: "inspected", "opened"
}

type modelMovement struct {
	db.Moved
	reverses int64
	order    string // whose packs it brought
	packs    int
	act      int // that counted
}

// refused is what the model says instead of an answer.
type refused struct {
	kind            string
	item, lot, job  string
	seq             int64
	found, expected inventory.Quantity
	order           string
}

func (m *model) clone() *model {
	c := &model{items: m.items, kits: m.kits, suppliers: m.suppliers, inspections: slices.Clone(m.inspections),
		acts: m.acts, counts: maps.Clone(m.counts), bill: m.bill, disposals: m.disposals}
	for _, o := range m.orders {
		copied := *o
		copied.lines = slices.Clone(o.lines)
		c.orders = append(c.orders, &copied)
	}
	for _, l := range m.lots {
		copied := *l
		copied.kept, copied.lastKept = maps.Clone(l.kept), maps.Clone(l.lastKept)
		copied.moved = slices.Clone(l.moved)
		c.lots = append(c.lots, &copied)
	}
	return c
}

// do carries out an act and returns the model after it, or the same model and
// the refusal.
func (m *model) do(act db.Act) (*model, db.Done, *refused) {
	after := m.clone()
	var done db.Done
	var no *refused
	switch a := act.(type) {
	case db.Receive:
		no = after.receive(a, &done)
	case db.Take:
		no = after.take(a, &done)
	case db.SetAside:
		no = after.setAside(a, &done)
	case db.Release:
		no = after.release(a, &done)
	case db.Waste:
		no = after.lose(a.Item, a.Lot, a.Qty, inventory.Wasted, a.Ref, a.On, &done)
	case db.Count:
		no = after.countWhole(a, &done)
	case db.Reverse:
		no = after.reverse(a, &done)
	case db.Place:
		no = after.place(a, &done)
	case db.Deliver:
		no = after.deliver(a, &done)
	case db.OpenKit:
		no = after.openKit(a, &done)
	case db.Extend:
		no = after.extend(a, &done)
	case db.OpenContainer:
		no = after.openContainer(a, &done)
	case db.ReviseBill:
		no = after.revise(a)
	case db.Dispose:
		after.dispose(a, &done)
	}
	if no != nil {
		return m, db.Done{}, no
	}
	return after, done, nil
}

func (m *model) find(item, code string) *modelLot {
	for _, l := range m.lots {
		if l.item == item && l.code == code {
			return l
		}
	}
	return nil
}

// shelf is the item's lots, or the named one, first expired first.
func (m *model) shelf(item, code string) []*modelLot {
	var lots []*modelLot
	for _, l := range m.lots {
		if l.item == item && (code == "" || l.code == code) {
			lots = append(lots, l)
		}
	}
	slices.SortFunc(lots, func(a, b *modelLot) int {
		return inventory.FirstExpiredFirst(
			inventory.Lot{Code: a.code, Received: a.received, Expires: a.expires},
			inventory.Lot{Code: b.code, Received: b.received, Expires: b.expires})
	})
	return lots
}

func (m *model) unknown(item, lot string) *refused {
	if !slices.Contains(m.items, item) {
		return &refused{kind: "not found", item: item}
	}
	if lot != "" && m.find(item, lot) == nil {
		return &refused{kind: "not found", item: item, lot: lot}
	}
	return nil
}

func (l *modelLot) reserved() (sum inventory.Quantity) {
	for _, q := range l.kept {
		sum += q
	}
	return sum
}

func (l *modelLot) free() inventory.Quantity { return l.onHand - l.reserved() }

func (l *modelLot) move(from, to inventory.Place, ref string, qty inventory.Quantity, on inventory.Date, reverses int64, done *db.Done) {
	m := db.Moved{Seq: int64(len(l.moved) + 1), Movement: inventory.Movement{Item: l.item, Lot: l.code, From: from, To: to,
		Ref: ref, Qty: qty, HappenedOn: on}}
	l.onHand += m.OnShelf()
	l.moved = append(l.moved, modelMovement{Moved: m, reverses: reverses})
	done.Moved = append(done.Moved, m)
}

func (l *modelLot) keep(job string, qty inventory.Quantity, done *db.Done) {
	if qty == 0 {
		return
	}
	l.keptEvents++
	l.kept[job] += qty
	if qty > 0 {
		l.lastKept[job] = l.keptEvents
	}
	done.Kept = append(done.Kept, db.Kept{Item: l.item, Lot: l.code, Job: job, Qty: qty})
}

func (m *model) receive(a db.Receive, done *db.Done) *refused {
	if no := m.unknown(a.Item, ""); no != nil {
		return no
	}
	l := m.find(a.Item, a.Lot)
	if l == nil {
		l = m.newLot(a.Item, a.Lot, a.On, a.Expires, a.UnitCost)
	}
	if l.expires != a.Expires || l.cost != a.UnitCost {
		return &refused{kind: "conflict", item: a.Item, lot: a.Lot}
	}
	l.move(inventory.FromOrder, inventory.Shelf, a.Order, a.Qty, a.On, 0, done)
	return nil
}

func (m *model) newLot(item, code string, received, expires inventory.Date, cost inventory.UnitCost) *modelLot {
	l := &modelLot{item: item, code: code, received: received, expires: expires, cost: cost,
		kept: map[string]inventory.Quantity{}, lastKept: map[string]int{}}
	m.lots = append(m.lots, l)
	return l
}

func (m *model) take(a db.Take, done *db.Done) *refused { return m.draw(a, inventory.AtJob, done) }

// draw is a take that may also go to waste.
func (m *model) draw(a db.Take, to inventory.Place, done *db.Done) *refused {
	for _, line := range a.Lines {
		var usable []*modelLot
		var kept inventory.Quantity
		for _, l := range m.shelf(line.Item, line.Lot) {
			if line.Lot != "" || l.expires == 0 || l.expires > a.On {
				usable = append(usable, l)
				kept += l.kept[a.Job]
			}
		}
		fromKept := min(kept, line.Qty)
		fromFree := line.Qty - fromKept
		for _, l := range usable {
			k, f := min(l.kept[a.Job], fromKept), min(l.free(), fromFree)
			if k+f == 0 {
				continue
			}
			l.keep(a.Job, -k, done)
			l.move(inventory.Shelf, to, a.Job, k+f, a.On, 0, done)
			fromKept, fromFree = fromKept-k, fromFree-f
		}
		if fromFree > 0 {
			return m.short(line, "", line.Qty-fromFree)
		}
	}
	return nil
}

func (m *model) short(line db.Line, job string, found inventory.Quantity) *refused {
	if no := m.unknown(line.Item, line.Lot); no != nil {
		return no
	}
	return &refused{kind: "short", item: line.Item, lot: line.Lot, job: job, found: found, expected: line.Qty}
}

func (m *model) setAside(a db.SetAside, done *db.Done) *refused {
	for _, line := range a.Lines {
		if l := m.find(line.Item, line.Lot); l != nil && l.expires != 0 && l.expires <= a.On {
			return &refused{kind: "conflict", item: line.Item, lot: line.Lot}
		}
	}
	for _, line := range a.Lines {
		lacking := line.Qty
		for _, l := range m.shelf(line.Item, line.Lot) {
			if line.Lot == "" && l.expires != 0 && l.expires <= a.On {
				continue
			}
			part := min(l.free(), lacking)
			l.keep(a.Job, part, done)
			lacking -= part
		}
		if lacking > 0 {
			return m.short(line, "", line.Qty-lacking)
		}
	}
	return nil
}

func (m *model) release(a db.Release, done *db.Done) *refused {
	lines := a.Lines
	if len(lines) == 0 {
		for _, l := range m.lots {
			lines = append(lines, db.Line{Item: l.item, Lot: l.code})
		}
	}
	for _, line := range lines {
		lacking := line.Qty
		if lacking == 0 {
			lacking = 1 << 60
		}
		lots := m.shelf(line.Item, line.Lot)
		for _, l := range slices.Backward(lots) {
			part := min(l.kept[a.Job], lacking)
			l.keep(a.Job, -part, done)
			lacking -= part
		}
		if line.Qty > 0 && lacking > 0 {
			return m.short(line, a.Job, line.Qty-lacking)
		}
	}
	return nil
}

func (m *model) lose(item, code string, qty inventory.Quantity, to inventory.Place, ref string, on inventory.Date, done *db.Done) *refused {
	lots := m.shelf(item, code)
	var there, free inventory.Quantity
	for _, l := range lots {
		there, free = there+l.onHand, free+l.free()
	}
	if there < qty {
		return m.short(db.Line{Item: item, Lot: code, Qty: qty}, "", there)
	}
	fromFree := min(free, qty)
	fromKept := qty - fromFree
	for _, l := range lots {
		f, k := min(l.free(), fromFree), min(l.reserved(), fromKept)
		if f+k == 0 {
			continue
		}
		l.letGo(k, done)
		l.move(inventory.Shelf, to, ref, f+k, on, 0, done)
		fromFree, fromKept = fromFree-f, fromKept-k
	}
	return nil
}

// letGo takes from the job that set some aside last.
func (l *modelLot) letGo(qty inventory.Quantity, done *db.Done) {
	jobs := slices.SortedFunc(maps.Keys(l.kept), func(a, b string) int { return cmp.Compare(l.lastKept[b], l.lastKept[a]) })
	for _, job := range jobs {
		part := min(l.kept[job], qty)
		l.keep(job, -part, done)
		qty -= part
	}
}

func (m *model) count(a db.Count, done *db.Done) *refused {
	lots := m.shelf(a.Item, a.Lot)
	if len(lots) == 0 {
		if no := m.unknown(a.Item, a.Lot); no != nil {
			return no
		}
		if a.Found > 0 {
			return &refused{kind: "not found", item: a.Item}
		}
		return nil
	}
	var there inventory.Quantity
	for _, l := range lots {
		there += l.onHand
	}
	if a.Found < there {
		return m.lose(a.Item, a.Lot, there-a.Found, inventory.Difference, a.Ref, a.On, done)
	}
	if a.Found > there {
		newest := slices.MaxFunc(lots, func(a, b *modelLot) int {
			return cmp.Or(cmp.Compare(a.received, b.received), cmp.Compare(a.code, b.code))
		})
		newest.move(inventory.Difference, inventory.Shelf, a.Ref, a.Found-there, a.On, 0, done)
	}
	return nil
}

func (m *model) reverse(a db.Reverse, done *db.Done) *refused {
	l := m.find(a.Item, a.Lot)
	if l == nil || int(a.Seq) > len(l.moved) {
		if no := m.unknown(a.Item, a.Lot); no != nil {
			return no
		}
		return &refused{kind: "not found", item: a.Item, lot: a.Lot, seq: a.Seq}
	}
	wrong := l.moved[a.Seq-1]
	twoEnded := func(p inventory.Place) bool { return p == inventory.OpenedKit || p == inventory.Relotted }
	reversed := slices.ContainsFunc(l.moved, func(m modelMovement) bool { return m.reverses == a.Seq })
	switch {
	case twoEnded(wrong.From), twoEnded(wrong.To), wrong.reverses != 0, reversed:
		return &refused{kind: "conflict", item: a.Item, lot: a.Lot, seq: a.Seq}
	case wrong.To == inventory.Shelf && l.free() < wrong.Qty:
		return &refused{kind: "short", item: a.Item, lot: a.Lot, found: l.free(), expected: wrong.Qty}
	}
	l.move(wrong.To, wrong.From, wrong.Ref, wrong.Qty, a.On, a.Seq, done)
	m.forget(wrong)
	if wrong.order != "" {
		m.takeBack(wrong)
	}
	return nil
}
