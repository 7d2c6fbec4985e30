package stock

import "math"

// marginal is the exact law of one item's demand, from the events and streams
// themselves, where scenarios are only a sample. It knows how often each item is short by
// itself, which is most of what readiness depends on and just what a choice of
// levels would exploit the luck of a sample in; the scenarios are left to tell
// how shortages come together.
type marginal struct {
	grid   int // steps in a cell
	apart  int // steps between levels that a sample may be taken for each other
	takers []taker
	chance []chance // by rising event
	flows  []flow
	flown  pmf // the law of what the streams take, in cells
	law    cdf // of the demand, in cells
}

// taker is how jobs of one type take the item.
type taker struct {
	use          use // in cells
	slack        float64
	within, late int     // patterns of jobs inside the protection time and after it; -1: none wait
	counted      int     // the last window in which the type's jobs count
	early, later meeting // what those jobs meet of others
}

// chance is that an event brings a job that takes the item: in its protection
// time, or counted after it.
type chance struct {
	event, taker int32
	within, late float64
}

// flow is a stream that takes the item: jobs expected in its protection time,
// and counted after it.
type flow struct {
	taker        int
	mixing       mixing
	within, late float64
}

// newMarginal is the marginal of an item before any event.
func newMarginal(takers []typeUse) *marginal {
	m := &marginal{takers: make([]taker, len(takers))}
	for k, t := range takers {
		m.takers[k] = taker{use: t.use, slack: t.use.slack(), within: -1, late: -1}
	}
	return m
}

// note adds an outcome of an event; within: the item's protection time. Events
// must come in order. The windows of one event and type are added up, as only
// before and after the end of the protection time differ here.
func (m *marginal) note(event, taker int, o Outcome, within bool) {
	if o.Prob == 0 || !within && o.Window > m.takers[taker].counted {
		return
	}
	n := len(m.chance) - 1
	for n >= 0 && m.chance[n].event == int32(event) && m.chance[n].taker != int32(taker) {
		n--
	}
	if n < 0 || m.chance[n].event != int32(event) {
		m.chance = append(m.chance, chance{event: int32(event), taker: int32(taker)})
		n = len(m.chance) - 1
	}
	if within {
		m.chance[n].within += o.Prob
	} else {
		m.chance[n].late += o.Prob
	}
}

// noteStream adds a stream; window: the item's.
func (m *marginal) noteStream(taker int, s Stream, window int) {
	f := flow{taker: taker, mixing: s.mixing(), within: s.upTo(window)}
	if counted := m.takers[taker].counted; counted > window {
		f.late = sum(s.Means[window+1 : counted+1])
	}
	if f.within > 0 || f.late > 0 {
		m.flows = append(m.flows, f)
	}
}

// events visits the chances of each event together.
func (m *marginal) events(visit func(list []chance)) {
	for from := 0; from < len(m.chance); {
		to := from + 1
		for to < len(m.chance) && m.chance[to].event == m.chance[from].event {
			to++
		}
		visit(m.chance[from:to])
		from = to
	}
}

// take is the law of what one event takes, in cells; the first portion is that
// it takes nothing.
func (m *marginal) take(list []chance, into use) use {
	u := append(into[:0], portion{prob: 1})
	for _, c := range list {
		for _, p := range m.takers[c.taker].use {
			if c.within > 0 && p.qty > 0 {
				u = u.shifted(p.qty, c.within*p.prob)
			}
		}
	}
	return u
}

// shifted moves so much probability from taking nothing to taking qty.
func (u use) shifted(qty int, prob float64) use {
	u[0].prob = max(0, u[0].prob-prob)
	k := 1
	for k < len(u) && u[k].qty < qty {
		k++
	}
	if k == len(u) || u[k].qty != qty {
		u = append(u, portion{})
		copy(u[k+1:], u[k:])
		u[k] = portion{qty: qty}
	}
	u[k].prob += prob
	return u
}

// settle chooses the grid and works out the law, once all events and streams
// are noted: a sum of independent quantities, one each.
func (m *marginal) settle() {
	divisor := 0
	for _, t := range m.takers {
		for _, p := range t.use {
			divisor = gcd(divisor, p.qty)
		}
	}
	variance := m.variance()
	divisor = max(1, divisor)
	m.grid = cellSize(divisor, variance)
	m.apart = max(1, int(math.Sqrt(variance)/4)/divisor) * divisor
	for k, t := range m.takers {
		m.takers[k].use = coarser(t.use, m.grid)
	}
	flown := newSum(nothing)
	for _, f := range m.flows {
		flown.addLaw(f.mixing.compound(f.within, m.takers[f.taker].use))
	}
	m.flown = flown.pmf()
	sum := newSum(m.flown)
	var scratch use
	m.events(func(list []chance) {
		scratch = m.take(list, scratch)
		sum.add(scratch)
	})
	m.law = sum.cdf()
}

// variance is that of the demand, in steps, or a little more: a rare event's is
// its mean square.
func (m *marginal) variance() float64 {
	variance := 0.0
	square := func(taker int) (sum float64) {
		for _, p := range m.takers[taker].use {
			sum += p.prob * float64(p.qty) * float64(p.qty)
		}
		return sum
	}
	for _, c := range m.chance {
		variance += c.within * square(int(c.taker))
	}
	for _, f := range m.flows {
		variance += f.within * square(f.taker)
		if _, taken := m.takers[f.taker].use.idle(); !f.mixing.none() {
			variance += f.within * f.within / float64(f.mixing) * taken * taken
		}
	}
	return variance
}

// availability is P(demand ≤ level).
func (m *marginal) availability(level int) float64 {
	return clamp(m.law.at(floorDiv(level, m.grid)))
}

// most is the largest quantity one job may take, in steps.
func (m *marginal) most() int {
	most := 0
	for _, t := range m.takers {
		most = max(most, t.use.most())
	}
	return most * m.grid
}

// meet works out what the jobs of each taker meet: the mean law of all other
// jobs' demand over the jobs. As chances are linear in the law, the mean law
// says all; the single events and streams are forgotten.
func (m *marginal) meet() {
	base, n := m.law.lo-m.most()/m.grid, len(m.law.p)+m.most()/m.grid
	more := make([]pmf, len(m.flows)) // that a stream's own jobs meet
	longest := 0
	for k, f := range m.flows {
		more[k] = f.mixing.after(f.within, m.takers[f.taker].use)
		longest = max(longest, more[k].lo+len(more[k].p))
	}
	n += longest
	for k := range m.takers {
		t := &m.takers[k]
		t.early, t.later = meeting{law: cdf{base, make([]float64, n)}}, meeting{law: cdf{base, nil}}
		if t.late >= 0 {
			t.later.law.p = make([]float64, n)
		}
	}
	m.leaveOut(func(list []chance, rest cdf) {
		for _, c := range list {
			t := &m.takers[c.taker]
			if t.within >= 0 {
				t.early.add(rest, c.within)
			}
			if t.late >= 0 {
				t.later.add(rest, c.late)
			}
		}
	})
	for k, f := range m.flows {
		m.takers[f.taker].meetMore(f, m.law, more[k])
	}
	for k := range m.takers {
		m.takers[k].early.settle()
		m.takers[k].later.settle()
	}
	m.chance, m.flows, m.flown = nil, nil, pmf{}
}

// meetMore adds what a stream's jobs meet: all demand, and independent of it
// some more (see mixing.after).
func (t *taker) meetMore(f flow, all cdf, more pmf) {
	for k, prob := range more.p {
		shifted := cdf{all.lo + more.lo + k, all.p}
		if t.within >= 0 {
			t.early.add(shifted, f.within*prob)
		}
		if t.late >= 0 {
			t.later.add(shifted, f.late*prob)
		}
	}
}

// meeting is the mean of some laws, by weight.
type meeting struct {
	jobs float64 // the weights together
	law  cdf
}

func (m *meeting) add(g cdf, weight float64) {
	if weight == 0 {
		return
	}
	m.jobs += weight
	shift := g.lo - m.law.lo
	for k, p := range g.p {
		if x := shift + k; x >= 0 && x < len(m.law.p) {
			m.law.p[x] += weight * p
		}
	}
	for x := max(0, shift+len(g.p)); x < len(m.law.p); x++ {
		m.law.p[x] += weight
	}
}

func (m *meeting) settle() {
	for x := range m.law.p {
		if m.jobs > 0 {
			m.law.p[x] /= m.jobs
		}
	}
}

// served is how many jobs need not wait for the item, by pattern and level: of
// pattern p at levels[k] at p·len(levels)+k; and how many jobs there are.
func (m *marginal) served(levels []int, patterns int) (served, jobs []float64) {
	served, jobs = make([]float64, patterns*len(levels)), make([]float64, patterns)
	cells, own := make([]int, len(levels)), make([]float64, len(levels))
	for k, level := range levels {
		cells[k] = floorDiv(level, m.grid)
	}
	count := func(of meeting, at int, waits pattern) {
		if at < 0 || of.jobs == 0 {
			return
		}
		waits.chances(of.law, cells, own)
		jobs[at] += of.jobs
		for k, chance := range own {
			served[at*len(levels)+k] += of.jobs * chance
		}
	}
	for _, t := range m.takers {
		count(t.early, t.within, pattern{slack: t.slack, waited: t.use})
		count(t.later, t.late, pattern{slack: t.slack, waited: use{{waited: 1 - t.slack}}})
	}
	return served, jobs
}

// leaveOut visits every event with the law of all the others: what its job
// meets, since a unit that comes once does not come twice. Most events can be
// taken out of the common law again (cdf.without); those that cannot, a
// booking that takes one or two at even odds, are left out by halves.
func (m *marginal) leaveOut(visit func(list []chance, rest cdf)) {
	var hard [][]chance
	var take use
	room := make([]float64, len(m.law.p))
	m.events(func(list []chance) {
		take = m.take(list, take)
		switch {
		case len(take) == 1: // it takes nothing in time
			visit(list, m.law)
		case take.hard():
			hard = append(hard, list)
		default:
			visit(list, m.law.without(take, room))
		}
	})
	if len(hard) == 0 {
		return
	}
	easy := newSum(m.flown)
	m.events(func(list []chance) {
		if take = m.take(list, take); !take.hard() {
			easy.add(take)
		}
	})
	m.halve(easy, hard, visit)
}

// halve visits each of some events with the law of the others and of what is
// outside of them. Each half is added to the outside of the other, and so on
// down: n events cost n·log n additions, where leaving each out by itself
// would cost n².
func (m *marginal) halve(outside sumLaw, events [][]chance, visit func(list []chance, rest cdf)) {
	if len(events) == 1 {
		visit(events[0], outside.cdf())
		return
	}
	left, right := events[:len(events)/2], events[len(events)/2:]
	m.halve(m.with(outside, right), left, visit)
	m.halve(m.with(outside, left), right, visit)
}

// with is the law of what is outside and of some events.
func (m *marginal) with(outside sumLaw, events [][]chance) sumLaw {
	sum := newSum(outside.pmf())
	var take use
	for _, list := range events {
		take = m.take(list, take)
		sum.add(take)
	}
	return sum
}

// cells is about how finely a law is told apart at most. Only what is measured
// out in small steps comes near.
const cells = 1024

// cellSize is the number of steps in a cell: the largest that divides all
// sizes, or more where even then the law would spread over too many cells.
func cellSize(divisor int, variance float64) int {
	const spread = 16 // standard deviations from one end of a law to the other
	return max(1, divisor, int(math.Ceil(spread*math.Sqrt(variance)/cells)))
}
