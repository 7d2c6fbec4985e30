package rehearse

import "circlip/forecast"

// Monday is what a policy knows on the morning it proposes. Its slices are
// the replay's own: read, never changed, and not kept beyond the call.
type Monday struct {
	Week     int
	Day      forecast.Day
	Position []int   // steps by item: on hand, less owed, plus on order
	OnHand   []int   // steps by item
	Owed     []int   // steps by item
	Used     [][]int // steps needed by item and past week: the history, then the weeks replayed
	run      *run
}

// Lots are the deliveries on hand of the items that age, by item and expiry,
// and one lot for each other item on hand.
func (m Monday) Lots() []Lot {
	var lots []Lot
	for i := range m.run.places {
		p := &m.run.places[i]
		if m.run.w.Items[i].Expires > 0 {
			lots = append(lots, p.lots...)
		} else if p.hand > 0 {
			lots = append(lots, Lot{Item: i, Qty: p.hand})
		}
	}
	return lots
}

// Orders are all lines placed so far, the received ones too, in their order.
func (m Monday) Orders() []Order {
	return append([]Order(nil), m.run.orders...)
}

// Policy proposes packs by item on a Monday, before the day's jobs; nil for
// nothing.
type Policy func(m Monday) []int

// Week is what one week of a replay came to, the warm-up's weeks too.
type Week struct {
	Jobs, Ready int
	StockValue  float64 // minor units, mean over its days
}

// Result is what a policy came to after the warm-up; money in minor units.
type Result struct {
	Jobs, Ready     int
	Readiness       float64 // 1 where there was no job
	MeanStockValue  float64 // mean over the days, on hand at the end of each
	MeanWithOrders  float64 // the same with what is on order
	Orders, Lines   int
	Refused         int // orders below a supplier's minimum
	Goods, Carriage int64
	Expired         int64 // cost of what was written off, rounded by item
	Left            int64 // cost of what is on hand at the end, rounded by item
	Weeks           []Week
	Flows           []Flow // by item, over the whole replay
}

// run is one replay on its way.
type run struct {
	w         World
	counts    bool // past the warm-up
	places    []place
	monday    Monday
	proposed  []int         // packs not yet ordered
	orders    []Order       // all that were placed
	arrivals  map[int][]int // indexes into orders by day from First
	goods     []int64       // by supplier, of the orders of one day
	handDays  []int64       // step-days on hand by item since the warm-up
	orderDays []int64       // step-days on order
	expired   []int         // steps since the warm-up
	days      int           // since the warm-up
	result    Result
}

// Replay runs a world under a policy. The first warmUp weeks are replayed and
// not counted. Before each week each is asked whether to go on; nil always
// does. A replay that was stopped has fewer Weeks than the world.
func Replay(w World, warmUp int, p Policy, each func(week int) bool) (Result, error) {
	if err := w.Check(); err != nil {
		return Result{}, err
	}
	r := newRun(w)
	job := 0
	for d := range w.days() {
		if d%7 == 0 {
			if each != nil && !each(d/7) {
				break
			}
			r.counts = d/7 >= warmUp
			r.expire(w.First + forecast.Day(d))
			r.propose(d/7, p)
		} else {
			r.expire(w.First + forecast.Day(d))
		}
		r.place(d)
		r.arrive(d)
		for ; job < len(w.Jobs) && w.Jobs[job].Day == w.First+forecast.Day(d); job++ {
			r.do(w.Jobs[job])
		}
		r.value(d)
	}
	return r.sum(), nil
}

func newRun(w World) *run {
	n := len(w.Items)
	r := &run{w: w, places: make([]place, n), proposed: make([]int, n), arrivals: make(map[int][]int),
		goods: make([]int64, len(w.Suppliers)), handDays: make([]int64, n), orderDays: make([]int64, n),
		expired: make([]int, n)}
	r.result.Flows = make([]Flow, n)
	r.monday = Monday{Position: make([]int, n), OnHand: make([]int, n), Owed: make([]int, n),
		Used: make([][]int, n), run: r}
	for i, it := range w.Items {
		r.places[i].put(it, i, it.Start, w.First)
		r.result.Flows[i].Start = it.Start
		var past []int
		if len(w.History) > 0 {
			past = w.History[i]
		}
		r.monday.Used[i] = append(make([]int, 0, len(past)+w.weeks()), past...)
	}
	return r
}

func (r *run) expire(day forecast.Day) {
	for i := range r.places {
		if r.w.Items[i].Expires == 0 {
			continue
		}
		steps := r.places[i].expire(day)
		r.result.Flows[i].Expired += steps
		if r.counts {
			r.expired[i] += steps
		}
	}
}

// propose asks the policy, then opens the week's column of use.
func (r *run) propose(week int, p Policy) {
	m := &r.monday
	m.Week, m.Day = week, r.w.First+forecast.Day(7*week)
	for i := range r.places {
		s := &r.places[i]
		m.OnHand[i], m.Owed[i], m.Position[i] = s.hand, s.owed, s.hand-s.owed+s.onOrder
	}
	packs := p(*m)
	for i := range r.proposed {
		r.proposed[i] = 0
		if i < len(packs) {
			r.proposed[i] = r.w.Items[i].sold(packs[i])
		}
		m.Used[i] = append(m.Used[i], 0)
	}
	r.result.Weeks = append(r.result.Weeks, Week{})
}

// place orders what was proposed of the suppliers whose weekday it is.
func (r *run) place(d int) {
	clear(r.goods)
	for i, packs := range r.proposed {
		if it := r.w.Items[i]; packs > 0 && r.w.Suppliers[it.Supplier].OrderWeekday == d%7 {
			r.goods[it.Supplier] += int64(packs) * it.Cost
		}
	}
	ordered := make([]bool, len(r.goods))
	for i, packs := range r.proposed {
		s := r.w.Items[i].Supplier
		if packs == 0 || r.w.Suppliers[s].OrderWeekday != d%7 {
			continue
		}
		first := !ordered[s]
		ordered[s] = true
		r.proposed[i] = 0
		if r.goods[s] < r.w.Suppliers[s].Min {
			r.refuse(first)
			continue
		}
		r.bill(s, first)
		r.order(d, i, packs)
	}
}

func (r *run) refuse(first bool) {
	if first && r.counts {
		r.result.Refused++
	}
}

// bill counts a line, and with the first line the order it stands in.
func (r *run) bill(supplier int, first bool) {
	if !r.counts {
		return
	}
	r.result.Lines++
	if !first {
		return
	}
	s := r.w.Suppliers[supplier]
	r.result.Orders++
	r.result.Goods += r.goods[supplier]
	if s.FreeFrom == 0 || r.goods[supplier] < s.FreeFrom {
		r.result.Carriage += s.Carriage
	}
}

func (r *run) order(d, i, packs int) {
	it, day := r.w.Items[i], r.w.First+forecast.Day(d)
	r.places[i].onOrder += packs * it.Pack
	comes := d + r.w.lead(it.Supplier, day, it.LeadDays)
	r.arrivals[comes] = append(r.arrivals[comes], len(r.orders))
	r.orders = append(r.orders, Order{Item: i, Packs: packs, Placed: day, Due: day + forecast.Day(it.LeadDays)})
}

func (r *run) arrive(d int) {
	for _, k := range r.arrivals[d] {
		o := &r.orders[k]
		it := r.w.Items[o.Item]
		o.Arrived, o.Received = true, r.w.First+forecast.Day(d)
		qty := o.Packs * it.Pack
		r.places[o.Item].onOrder -= qty
		r.places[o.Item].receive(it, o.Item, qty, o.Received)
		r.result.Flows[o.Item].Received += qty
	}
	delete(r.arrivals, d)
}

func (r *run) do(job Job) {
	ready := true
	for _, t := range job.Takes {
		used := r.monday.Used[t.Item]
		used[len(used)-1] += t.Qty
		r.result.Flows[t.Item].Used += t.Qty
		if !r.places[t.Item].take(t.Qty) && t.Critical {
			ready = false
			if r.counts {
				r.result.Flows[t.Item].Short++
			}
		}
	}
	week := &r.result.Weeks[len(r.result.Weeks)-1]
	week.Jobs++
	if ready {
		week.Ready++
	}
	if !r.counts {
		return
	}
	r.result.Jobs++
	if ready {
		r.result.Ready++
	}
}

// value adds the day's end to the means.
func (r *run) value(d int) {
	week := &r.result.Weeks[len(r.result.Weeks)-1]
	day := float64(d%7 + 1)
	value := 0.0
	for i := range r.places {
		p, it := &r.places[i], r.w.Items[i]
		value += float64(p.hand) * float64(it.Cost) / float64(it.Pack)
		if r.counts {
			r.handDays[i] += int64(p.hand)
			r.orderDays[i] += int64(p.onOrder)
		}
	}
	week.StockValue += (value - week.StockValue) / day
	if r.counts {
		r.days++
	}
}

func (r *run) sum() Result {
	res := &r.result
	res.Readiness = 1
	if res.Jobs > 0 {
		res.Readiness = float64(res.Ready) / float64(res.Jobs)
	}
	for i, it := range r.w.Items {
		p, f := &r.places[i], &res.Flows[i]
		f.Left, f.Owed, f.OnOrder = p.hand, p.owed, p.onOrder
		res.Left += it.cost(p.hand)
		res.Expired += it.cost(r.expired[i])
		if r.days > 0 {
			perDay := float64(it.Cost) / float64(it.Pack) / float64(r.days)
			res.MeanStockValue += float64(r.handDays[i]) * perDay
			res.MeanWithOrders += float64(r.handDays[i]+r.orderDays[i]) * perDay
		}
	}
	return *res
}

// cost of so many steps, to the nearest minor unit.
func (it Item) cost(steps int) int64 {
	return (2*int64(steps)*it.Cost + int64(it.Pack)) / (2 * int64(it.Pack))
}
