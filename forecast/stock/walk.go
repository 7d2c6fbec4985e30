package stock

import (
	"container/heap"
	"slices"
)

// A walk comes down from ample levels and always takes away what loses the
// least readiness for its money; read upwards it is marginal analysis
// (Sherbrooke 1968). Going up from an empty shelf would not do: no job is
// ready before the last of its parts is there, so every first pack gains
// nothing. Going down passes through the best levels: readiness is a sum of
// products of rising functions of one level each, hence supermodular, so that
// the levels which are best for a price of readiness fall, all of them, as
// that price falls (Topkis 1998).

// step is where a walk stands after it took one item down.
type step struct {
	item, rung int
	added      int64
	readiness  float64
}

// walk is all steps from the top down; the first is the top itself, with item
// -1, and the last buys nothing.
func (s *shelf) walk() []step {
	st := s.stand(s.top)
	steps := []step{{-1, 0, st.added, st.readiness()}}
	d := newDescent(st)
	for m, ok := d.take(); ok; m, ok = d.take() {
		steps = append(steps, step{m.item, m.to, st.added, st.readiness()})
	}
	return steps
}

// descent is the moves a stand may make downwards, the cheapest loss first. A
// loss is worked out when its item moves, and again once the jobs it was
// worked out for have become rarer by some part: taking away one item of a job
// makes the others matter less.
type descent struct {
	st      *stand
	heap    []move
	version []int     // by item: of its move in force
	mass    []float64 // by item: jobs still ready that wait for it
	seen    []float64 // by item: mass when its loss was worked out
}

// move is one item's way down, by the readiness it loses for its money. Its
// version tells whether it still is that item's way.
type move struct {
	item, to, version int
	price             float64
}

// newDescent works out every item's first move.
func newDescent(st *stand) *descent {
	n := len(st.ladders)
	d := &descent{st: st, version: make([]int, n), mass: make([]float64, n), seen: make([]float64, n)}
	for i := range n {
		for _, w := range st.waiters[i] {
			d.mass[i] += st.mass[w.row]
		}
		if m, ok := d.price(i); ok {
			d.heap = append(d.heap, m)
		}
	}
	heap.Init(d)
	return d
}

// price is an item's next move down; false: it stands at the bottom.
func (d *descent) price(item int) (move, bool) {
	st := d.st
	d.version[item]++
	d.seen[item] = d.mass[item]
	if len(st.waiters[item]) == 0 || st.rung[item] == 0 {
		return move{}, false
	}
	to := st.ladders[item].next[st.rung[item]]
	cost := max(1, st.cost(item, to, st.rung[item])) // what is free goes last
	return move{item, to, d.version[item], st.loss(item, to) / float64(cost)}, true
}

// take makes the best move and says which item went to which rung; false: none
// is left.
func (d *descent) take() (move, bool) {
	for d.Len() > 0 {
		if m := heap.Pop(d).(move); m.version == d.version[m.item] {
			d.apply(m)
			return m, true
		}
	}
	return move{}, false
}

// apply makes a move, and works out again the losses of the items whose jobs
// it made rarer by more than a part.
func (d *descent) apply(m move) {
	st := d.st
	before := make([]float64, len(st.waiters[m.item]))
	for i, w := range st.waiters[m.item] {
		before[i] = st.mass[w.row]
	}
	st.down(m.item, m.to)
	for i, w := range st.waiters[m.item] {
		lost := before[i] - st.mass[w.row]
		for _, part := range st.joint.rows[w.row].parts {
			d.mass[part.item] -= lost
		}
	}
	d.push(m.item)
	stale := d.patience()
	for _, w := range st.waiters[m.item] {
		for _, part := range st.joint.rows[w.row].parts {
			if i := part.item; d.mass[i] < d.seen[i]*(1-stale) {
				d.push(i)
			}
		}
	}
}

// patience is how much rarer an item's jobs may become before its loss is
// worked out again: little where targets lie, more far below. Against working
// out every loss after every move, in a workshop of 300 items, it makes the
// levels of 0.9 to 0.99 dearer by some 0.1 per cent, for a sixth of the work.
func (d *descent) patience() float64 {
	return max(0.05, (1-d.st.readiness())/2)
}

// push works out an item's next move and puts it on the heap; an older one is
// left behind there, and passed over when it comes up.
func (d *descent) push(item int) {
	if m, ok := d.price(item); ok {
		heap.Push(d, m)
	}
	// What is left behind of older versions must not pile up.
	if len(d.heap) > 4*len(d.version) {
		d.heap = slices.DeleteFunc(d.heap, func(m move) bool { return m.version != d.version[m.item] })
		heap.Init(d)
	}
}

// Len is the number of moves on the heap, old ones included.
func (d *descent) Len() int { return len(d.heap) }

// Less puts the move that loses least for its money on top; of equal ones the
// first item, so that every run is the same.
func (d *descent) Less(a, b int) bool {
	x, y := d.heap[a], d.heap[b]
	if x.price != y.price {
		return x.price < y.price
	}
	return x.item < y.item
}

// Swap, Push and Pop are the heap's.
func (d *descent) Swap(a, b int) { d.heap[a], d.heap[b] = d.heap[b], d.heap[a] }
func (d *descent) Push(m any)    { d.heap = append(d.heap, m.(move)) }
func (d *descent) Pop() any {
	last := d.heap[len(d.heap)-1]
	d.heap = d.heap[:len(d.heap)-1]
	return last
}
