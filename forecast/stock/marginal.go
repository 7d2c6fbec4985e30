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
	drafts []draft
	known  map[string]int32 // drafts of several calls, by those
	chance []chance         // by rising event
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

// chance is that an event makes the calls of a draft.
type chance struct {
	event, draft int32
	prob         float64
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
		m.drafts = append(m.drafts, draft{calls: []call{{k, true}}}, draft{calls: []call{{k, false}}})
	}
	return m
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
		for _, p := range m.drafts[c.draft].use {
			if p.qty > 0 {
				u = u.shifted(p.qty, c.prob*p.prob)
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
	m.fill()
	variance := m.variance()
	divisor = max(1, divisor)
	m.grid = cellSize(divisor, variance)
	m.apart = max(1, int(math.Sqrt(variance)/4)/divisor) * divisor
	for k, t := range m.takers {
		m.takers[k].use = coarser(t.use, m.grid)
	}
	m.fill()
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
	for _, c := range m.chance {
		variance += c.prob * m.drafts[c.draft].use.square()
	}
	for _, f := range m.flows {
		variance += f.within * m.takers[f.taker].use.square()
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

// most is the largest quantity one event may take, in steps.
func (m *marginal) most() int {
	most := 0
	for _, d := range m.drafts {
		most = max(most, d.use.most())
	}
	return most * m.grid
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

// cells is about how finely a law is told apart at most. Only what is measured
// out in small steps comes near.
const cells = 1024

// cellSize is the number of steps in a cell: the largest that divides all
// sizes, or more where even then the law would spread over too many cells.
func cellSize(divisor int, variance float64) int {
	const spread = 16 // standard deviations from one end of a law to the other
	return max(1, divisor, int(math.Ceil(spread*math.Sqrt(variance)/cells)))
}
