package order

import (
	"cmp"
	"container/heap"
	"fmt"
	"math/bits"
	"slices"
)

// Cheapest finds the choice of least cost that meets the minimum order of
// every supplier it uses. It is exact where Exact says so, which it is for 12
// suppliers and a thousand items unless many limits bind at once; else Bound
// tells how much cheaper another choice could be at the very most.
//
// Choices of equal cost: no item of the choice could come earlier by another
// option, or at the same day from a supplier or by an option of lower number,
// without the whole costing more.
//
// It is an error that wraps ErrProblem if the problem makes no sense, and
// ErrMinimum if no choice meets the minimums or none was found; the choice is
// then the cheapest that ignores them, so that what is missing can be told; see
// Eased for one that keeps what minimums can be kept.
func Cheapest(p Problem, e Effort) (Choice, error) {
	size, err := p.check()
	if err != nil {
		return Choice{}, err
	}
	s := run(p, e, size)
	if s.taken != nil {
		return s.choice(), nil
	}
	err = fmt.Errorf("%w: no choice of options comes to those of all suppliers it uses; order more, or later", ErrMinimum)
	if s.left <= 0 {
		err = fmt.Errorf("%w: no choice looked at comes to those of all suppliers it uses; look at more nodes", ErrMinimum)
	}
	return run(p.without(func(int) bool { return true }), e, size).choice(), err
}

// Eased is the problem without the minimums that no order comes to of suppliers
// without whom some item cannot be had. False: there are none, or the problem
// makes no sense.
func (p Problem) Eased() (Problem, bool) {
	if _, err := p.check(); err != nil {
		return p, false
	}
	t, must := newTable(p), make([]bool, len(p.Suppliers))
	for _, it := range p.Items {
		if slices.ContainsFunc(it.Options, func(o Option) bool { return len(t.ways[o.Supplier]) > 1 }) {
			continue // from one with whom there is a way of dealing
		}
		for _, o := range it.Options {
			must[o.Supplier] = true
		}
	}
	return p.without(func(supplier int) bool { return must[supplier] }), slices.Contains(must, true)
}

// without leaves out the minimums of some suppliers.
func (p Problem) without(minimum func(supplier int) bool) Problem {
	p.Suppliers = slices.Clone(p.Suppliers)
	for i := range p.Suppliers {
		if minimum(i) {
			p.Suppliers[i].MinOrder = 0
		}
	}
	return p
}

// search is branch and bound over the ways of dealing with suppliers, the
// least bound first.
type search struct {
	*table
	fine      int   // how many bits values are finer than minor units
	limit     int64 // cost to beat
	taken     []int // the best choice; nil: none yet
	bound     int64 // least bound of what was given up
	left      int   // nodes
	queue     queue
	seq       int
	elsewhere []int64 // see compare
}

// run searches a checked problem.
func run(p Problem, e Effort, size int64) *search {
	s := &search{table: newTable(p), left: e.Nodes, limit: size + 1, bound: size + 1}
	s.fine = min(16, 60-steepest-bits.Len64(uint64(size))) // the dearest price of it all is below 2^60
	if s.left <= 0 {
		s.left = usualNodes
	}
	none := len(p.Suppliers)
	s.push(&node{ways: slices.Repeat([]int{open}, none), price: make([]int64, none), bound: -size})
	for len(s.queue) > 0 && s.queue[0].bound < s.limit {
		n := heap.Pop(&s.queue).(*node)
		if s.left <= 0 {
			s.bound = n.bound
			break
		}
		s.branch(n)
	}
	return s
}

// branch settles how the node deals with the supplier that stands most in the
// way of its own cheapest choice being a true one; if none does, that choice
// is the node's best.
func (s *search) branch(n *node) {
	picks := make([]int, s.items())
	base, _ := s.relax(n, picks)
	supplier := s.doubtful(n, picks)
	if supplier < 0 {
		best, sure := s.settle(n, base, picks)
		if !sure {
			s.bound = min(s.bound, n.bound)
			return
		}
		if best == nil {
			return
		}
		if supplier = s.doubtful(n, best); supplier < 0 {
			return
		}
	}
	for w := range s.ways[supplier] {
		child := &node{ways: slices.Clone(n.ways), price: slices.Clone(n.price), bound: n.bound}
		child.ways[supplier] = w
		s.push(child)
	}
}

// push bounds a node, tries its picks for a choice, and queues it if it can
// hold a better one.
func (s *search) push(n *node) {
	s.left -= s.items()
	s.tune(n)
	picks := make([]int, s.items())
	base, ok := s.relax(n, picks)
	if !ok {
		return
	}
	n.bound = max(n.bound, ceil(base, s.fine))
	if n.bound >= s.limit {
		return
	}
	d := s.draft(picks)
	d.improve()
	s.offer(d)
	n.seq = s.seq
	s.seq++
	heap.Push(&s.queue, n)
}

// ceil is the least whole number of minor units not below a fine value.
func ceil(value int64, fine int) int64 { return -(-value >> fine) }

// doubtful is the open supplier to whom a choice would really pay, or lack,
// most; -1: none.
func (s *search) doubtful(n *node, taken []int) int {
	d := s.draft(taken)
	worst, at := int64(0), -1
	for supplier, w := range n.ways {
		if carriage, lack := d.bill(supplier); w == open && carriage+lack > worst {
			worst, at = carriage+lack, supplier
		}
	}
	return at
}

// offer keeps a choice if it is allowed and the cheapest so far.
func (s *search) offer(d *draft) {
	if cost, lack := d.total(); lack == 0 && cost < s.limit {
		s.limit, s.taken = cost, slices.Clone(d.taken)
	}
}

func (s *search) choice() Choice {
	d := s.draft(s.taken)
	d.improve()
	c := Choice{Goods: d.goods, Carriage: make([]int64, len(s.suppliers))}
	c.Cost, _ = d.total()
	for supplier := range s.suppliers {
		c.Carriage[supplier], _ = d.bill(supplier)
	}
	for _, o := range d.taken {
		c.Taken = append(c.Taken, s.offers[o].at)
	}
	c.Bound = min(c.Cost, s.bound)
	c.Exact = c.Bound == c.Cost
	return c
}

// queue is nodes by bound, then as they came.
type queue []*node

func (q queue) Len() int      { return len(q) }
func (q queue) Swap(a, b int) { q[a], q[b] = q[b], q[a] }
func (q queue) Less(a, b int) bool {
	return cmp.Or(cmp.Compare(q[a].bound, q[b].bound), cmp.Compare(q[a].seq, q[b].seq)) < 0
}

func (q *queue) Push(n any) { *q = append(*q, n.(*node)) }

func (q *queue) Pop() any {
	last := len(*q) - 1
	n := (*q)[last]
	*q = (*q)[:last]
	return n
}
