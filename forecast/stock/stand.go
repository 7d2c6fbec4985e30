package stock

import (
	"cmp"
	"slices"
)

// shelf is what all points of one walk share.
type shelf struct {
	joint   *Joint
	from    []int
	most    []int      // by item: packs that may be bought; unlimited: any
	ladders []*ladder  // by item; none where no job waits for it
	waiters [][]waiter // by item: who waits for it, by pattern
	aside   []int      // packs of the items that no job waits for
	jobs    float64
	top     []int // the rungs a walk begins on
}

// waiter is one part of one row.
type waiter struct{ row, part, pattern int }

// sideAvailability is what an item is held to that no job waits for.
const sideAvailability = 0.90

// newShelf prepares the walks from some positions: ladders, which is most of
// the work, and who stands on which.
func newShelf(j *Joint, from, most []int) *shelf {
	n := len(from)
	s := &shelf{joint: j, from: from, most: most, ladders: make([]*ladder, n), waiters: make([][]waiter, n), aside: make([]int, n)}
	s.jobs = sum(j.alwaysN)
	for r, row := range j.rows {
		s.jobs += sum(row.weight)
		for p, part := range row.parts {
			s.waiters[part.item] = append(s.waiters[part.item], waiter{r, p, part.pattern})
		}
	}
	each(n, s.climb)
	s.top = s.begin()
	each(n, func(i int) {
		if l := s.ladders[i]; l != nil {
			l.at(0, s.top[i]) // the first chances, while all processors are at it
		}
	})
	return s
}

// climb finds an item's ladder, or what is bought of it in any case.
func (s *shelf) climb(i int) {
	it := s.joint.problem.Items[i]
	if len(s.waiters[i]) == 0 {
		s.aside[i] = it.purchase(min(it.last(s.most[i]), it.first(0, func(packs int) bool {
			return s.joint.Availability(i, s.from[i]+packs*it.Pack) >= sideAvailability
		})))
		return
	}
	slices.SortStableFunc(s.waiters[i], func(a, b waiter) int { return a.pattern - b.pattern })
	s.ladders[i] = newLadder(s.joint.demands[i], it, s.from[i], s.most[i])
}

// nearlyAll is the readiness, less than whole, that a walk may begin at.
const nearlyAll = 0.0002

// begin finds the rungs a walk begins on. As long as all are ready but a few,
// the items' losses just add up, so that those few can be given away without
// trying what each loses beside the others.
func (s *shelf) begin() []int {
	type way struct {
		item, to    int
		loss, price float64
	}
	var ways []way
	top := make([]int, len(s.ladders))
	for i, l := range s.ladders {
		if l == nil {
			continue
		}
		top[i] = len(l.packs) - 1
		for k := top[i]; k > 0; k = l.next[k] {
			loss := max(0, l.served[k]-l.served[l.next[k]])
			ways = append(ways, way{i, l.next[k], loss, loss / float64(max(1, s.cost(i, l.next[k], k)))})
		}
	}
	// An item's ways stay in order: they lose ever more for their money.
	slices.SortStableFunc(ways, func(a, b way) int { return cmp.Compare(a.price, b.price) })
	spare := nearlyAll * s.jobs
	for _, w := range ways {
		if spare -= w.loss; spare < 0 {
			break
		}
		top[w.item] = w.to
	}
	return top
}

// cost is the money of the packs from one rung up to another.
func (s *shelf) cost(item, from, to int) int64 {
	packs := s.ladders[item].packs
	return times(packs[to]-packs[from], s.joint.problem.Items[item].Cost)
}

// stand is one choice of levels: a rung for each item, and what comes of it.
// Moving an item multiplies the jobs that wait for it, in each scenario, by
// the chance it gives them now over the one before; nothing else is touched.
type stand struct {
	*shelf
	rung  []int
	ready [][]float64 // by row, for each of its scenarios: weight × chance to be ready
	mass  []float64   // by row: the sum of that
	added int64       // money of the packs that jobs wait for
	ratio []float64   // scratch
}

// stand at a rung of each item, from the start: the one place where all chances
// of a job are multiplied, and free of what rounding adds up to on the way.
func (s *shelf) stand(rung []int) *stand {
	st := &stand{shelf: s, rung: slices.Clone(rung), ready: make([][]float64, len(s.joint.rows)), mass: make([]float64, len(s.joint.rows))}
	for r, row := range s.joint.rows {
		ready := slices.Clone(row.weight)
		for _, part := range row.parts {
			column := s.ladders[part.item].at(part.pattern, rung[part.item])
			for k, v := range part.vector {
				ready[k] *= column.chance(int(v))
			}
		}
		st.ready[r], st.mass[r] = ready, sum(ready)
	}
	for i := range s.ladders {
		if len(s.waiters[i]) > 0 {
			st.added = plus(st.added, s.cost(i, 0, rung[i]))
		}
	}
	return st
}

// readiness is the share of jobs ready.
func (st *stand) readiness() float64 {
	if st.jobs == 0 {
		return 1
	}
	return clamp((sum(st.mass) + sum(st.joint.alwaysN)) / st.jobs)
}

// loss is the share of jobs no longer ready if an item goes down to a rung.
func (st *stand) loss(item, to int) float64 {
	lost := 0.0
	ratio := []float64(nil)
	for i, w := range st.waiters[item] {
		if i == 0 || w.pattern != st.waiters[item][i-1].pattern {
			ratio = st.ratios(item, w.pattern, to)
		}
		ready := st.ready[w.row]
		left := 0.0
		for k, v := range st.joint.rows[w.row].parts[w.part].vector {
			left += ready[k] * ratio[v]
		}
		lost += st.mass[w.row] - left
	}
	return max(0, lost) / st.jobs
}

// ratios are an item's chances at a rung over those where it stands. Nothing
// over nothing is nothing: such jobs are not ready now, and not lower down.
func (st *stand) ratios(item, pattern, to int) []float64 {
	l := st.ladders[item]
	now, then := l.at(pattern, st.rung[item]), l.at(pattern, to)
	n := len(l.demand.vectors)
	st.ratio = slices.Grow(st.ratio[:0], n)[:n]
	for v := range st.ratio {
		st.ratio[v] = 0
		if chance := now.chance(v); chance > 0 {
			st.ratio[v] = then.chance(v) / chance
		}
	}
	return st.ratio
}

// down takes an item to a lower rung, as loss says.
func (st *stand) down(item, to int) {
	ratio := []float64(nil)
	for i, w := range st.waiters[item] {
		if i == 0 || w.pattern != st.waiters[item][i-1].pattern {
			ratio = st.ratios(item, w.pattern, to)
		}
		ready := st.ready[w.row]
		left := 0.0
		for k, v := range st.joint.rows[w.row].parts[w.part].vector {
			ready[k] *= ratio[v]
			left += ready[k]
		}
		st.mass[w.row] = left
	}
	st.added -= st.cost(item, to, st.rung[item])
	st.rung[item] = to
}

// gain is the share of jobs that become ready if an item goes up to a rung.
// Where the item gave a job no chance at all, what the job's other items give
// is not in ready and has to be looked up.
func (st *stand) gain(item, to int) float64 {
	gained := 0.0
	for _, w := range st.waiters[item] {
		l := st.ladders[item]
		now, then := l.at(w.pattern, st.rung[item]), l.at(w.pattern, to)
		ready := st.ready[w.row]
		for k, v := range st.joint.rows[w.row].parts[w.part].vector {
			before, after := now.chance(int(v)), then.chance(int(v))
			switch {
			case before > 0:
				gained += ready[k] * (after/before - 1)
			case after > 0:
				gained += after * st.rest(w, k)
			}
		}
	}
	return max(0, gained) / st.jobs
}

// rest is the weight of a row's scenario times the chance that its jobs wait
// for no item but one.
func (st *stand) rest(but waiter, k int) float64 {
	row := st.joint.rows[but.row]
	chance := row.weight[k]
	for p, part := range row.parts {
		if p != but.part {
			chance *= st.ladders[part.item].at(part.pattern, st.rung[part.item]).chance(int(part.vector[k]))
		}
	}
	return chance
}

// up takes an item to a higher rung, as gain says.
func (st *stand) up(item, to int) {
	l := st.ladders[item]
	for _, w := range st.waiters[item] {
		then := l.at(w.pattern, to)
		for k, v := range st.joint.rows[w.row].parts[w.part].vector {
			st.ready[w.row][k] = then.chance(int(v)) * st.rest(w, k)
		}
		st.mass[w.row] = sum(st.ready[w.row])
	}
	st.added = plus(st.added, st.cost(item, st.rung[item], to))
	st.rung[item] = to
}
