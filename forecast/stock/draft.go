package stock

import (
	"encoding/binary"
	"slices"
)

// call is one job on an item: by which taker, and whether in the item's
// protection time or counted after it.
type call struct {
	taker  int
	within bool
}

// draft is the calls that one outcome of an event makes on an item together.
// The first drafts of a marginal are those of one call: of taker k within at
// 2k, and late at 2k+1.
type draft struct {
	calls []call
	use   use   // what they take together, in cells
	rest  []use // by call: what the others take
}

// call is a job's on the item, whose protection time ends with a window; false:
// it neither takes of it in time nor counts.
func (m *marginal) call(taker, window, end int) (call, bool) {
	within := window <= end
	return call{taker, within}, within || window <= m.takers[taker].counted
}

// note adds an outcome of an event. Events must come in order. Outcomes of one
// event that make the same calls are added up: windows differ here only by
// being before or after the end of the protection time.
func (m *marginal) note(event int, calls []call, prob float64) {
	if prob == 0 {
		return
	}
	d := m.draft(calls)
	for n := len(m.chance) - 1; n >= 0 && m.chance[n].event == int32(event); n-- {
		if m.chance[n].draft == d {
			m.chance[n].prob += prob
			return
		}
	}
	m.chance = append(m.chance, chance{int32(event), d, prob})
}

// draft finds the draft of some calls, or opens it.
func (m *marginal) draft(calls []call) int32 {
	if len(calls) == 1 {
		return int32(calls[0].at())
	}
	slices.SortFunc(calls, func(a, b call) int { return a.at() - b.at() })
	var key []byte
	for _, c := range calls {
		key = binary.AppendUvarint(key, uint64(c.at()))
	}
	d, known := m.known[string(key)]
	if !known {
		if m.known == nil {
			m.known = map[string]int32{}
		}
		d = int32(len(m.drafts))
		m.drafts = append(m.drafts, draft{calls: calls})
		m.known[string(key)] = d
	}
	return d
}

// at is the place of the call's own draft.
func (c call) at() int {
	if c.within {
		return 2 * c.taker
	}
	return 2*c.taker + 1
}

// fill works out what the calls of all drafts take, from what takers take now.
func (m *marginal) fill() {
	none := use{{prob: 1}}
	alone := []use{none}
	for k, t := range m.takers {
		m.drafts[2*k].use, m.drafts[2*k].rest = t.use, alone
		m.drafts[2*k+1].use, m.drafts[2*k+1].rest = none, alone
	}
	together := func(calls []call, but int) use {
		all := none
		for k, c := range calls {
			if k != but && c.within {
				all = all.plus(m.takers[c.taker].use)
			}
		}
		return all
	}
	for k := 2 * len(m.takers); k < len(m.drafts); k++ {
		d := &m.drafts[k]
		d.use, d.rest = together(d.calls, -1), d.rest[:0]
		for call := range d.calls {
			d.rest = append(d.rest, together(d.calls, call))
		}
	}
}

// plus is the law of what two independent jobs take.
func (u use) plus(v use) use {
	var both use
	for _, a := range u {
		for _, b := range v {
			both = both.more(a.qty+b.qty, a.prob*b.prob)
		}
	}
	return both
}

// more adds probability to a quantity.
func (u use) more(qty int, prob float64) use {
	k, known := slices.BinarySearchFunc(u, qty, func(p portion, qty int) int { return p.qty - qty })
	if !known {
		u = slices.Insert(u, k, portion{qty: qty})
	}
	u[k].prob += prob
	return u
}

// square is the mean square of the quantity.
func (u use) square() float64 {
	sum := 0.0
	for _, p := range u {
		sum += p.prob * float64(p.qty) * float64(p.qty)
	}
	return sum
}

// meet adds what the calls meet: the demand of all other events and streams,
// and what the other calls of the same outcome take, which come with this one
// for certain.
func (d draft) meet(takers []taker, rest cdf, prob float64) {
	for k, c := range d.calls {
		t := &takers[c.taker]
		into, waits := &t.early, t.within >= 0
		if !c.within {
			into, waits = &t.later, t.late >= 0
		}
		if !waits {
			continue
		}
		for _, p := range d.rest[k] {
			into.add(cdf{rest.lo + p.qty, rest.p}, prob*p.prob)
		}
	}
}
