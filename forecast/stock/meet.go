package stock

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
			m.drafts[c.draft].meet(m.takers, rest, c.prob)
		}
	})
	for k, f := range m.flows {
		m.takers[f.taker].meetMore(f, m.law, more[k])
	}
	for k := range m.takers {
		m.takers[k].early.settle()
		m.takers[k].later.settle()
	}
	m.chance, m.drafts, m.known, m.flows, m.flown = nil, nil, nil, nil, pmf{}
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
