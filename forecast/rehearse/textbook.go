package rehearse

import (
	"fmt"
	"math"
)

// Method is a textbook way of ordering: each Monday, whole packs up to a
// level that is to last until the next order's delivery. Its one knob is the
// same for all items.
type Method struct {
	Kind  Kind
	Alpha float64 // smoothing constant of Croston, SBA and TSB
}

// Kind is the rule by which a method sets levels. Protection is the weeks
// from this Monday until the delivery of the order after the next one placed.
type Kind int

// The kinds, with what their knob is.
const (
	Cover       Kind = iota // mean of the last 8 weeks × knob weeks
	CoverBeyond             // mean of the last 8 weeks × (protection + knob weeks)
	Croston                 // mean·protection + knob·sigma·√protection
	SBA                     // the same, of Syntetos and Boylan's mean
	TSB                     // the same, of Teunter, Syntetos and Babai's mean
	BaseStock               // least S with P(Poisson demands ≤ S) ≥ 1-10^-knob, by the mean of 52 weeks
)

// String is the method's name.
func (m Method) String() string {
	switch m.Kind {
	case Cover:
		return "8 weeks × cover"
	case CoverBeyond:
		return "8 weeks × (lead + cover)"
	case Croston:
		return fmt.Sprintf("Croston %g", m.Alpha)
	case SBA:
		return fmt.Sprintf("SBA %g", m.Alpha)
	case TSB:
		return fmt.Sprintf("TSB %g", m.Alpha)
	}
	return "Poisson base stock"
}

// Methods are all textbook methods, each smoothing with 0.05, 0.1 and 0.2.
func Methods() []Method {
	list := []Method{{Kind: Cover}, {Kind: CoverBeyond}, {Kind: BaseStock}}
	for _, k := range []Kind{Croston, SBA, TSB} {
		for _, a := range []float64{0.05, 0.1, 0.2} {
			list = append(list, Method{k, a})
		}
	}
	return list
}

// Knobs is a grid that reaches from low to nearly full readiness.
func (m Method) Knobs() []float64 {
	var from, to float64
	switch m.Kind {
	case Cover:
		from, to = 0.5, 40
	case CoverBeyond:
		from, to = -2, 40
	case BaseStock:
		from, to = 0.1, 12
	default:
		from, to = -2, 10
	}
	const steps = 32
	grid := make([]float64, steps+1)
	for i := range grid {
		x := float64(i) / steps
		grid[i] = from + (to-from)*x*x // finer where readiness is low
	}
	return grid
}

func (m Method) rate() rate {
	switch m.Kind {
	case Croston:
		return &croston{alpha: m.Alpha, factor: 1}
	case SBA:
		return &croston{alpha: m.Alpha, factor: 1 - m.Alpha/2}
	case TSB:
		return &tsb{alpha: m.Alpha}
	case BaseStock:
		return &recent{weeks: yearWeeks}
	}
	return &recent{weeks: 8}
}

// level is the order-up-to level in steps for a protection in weeks.
func (m Method) level(o outlook, protection, knob float64) float64 {
	switch m.Kind {
	case Cover:
		return o.mean * knob
	case CoverBeyond:
		return o.mean * (protection + knob)
	case BaseStock:
		if o.size == 0 {
			return 0
		}
		return o.size * float64(poissonLevel(o.mean*protection/o.size, math.Pow(10, -knob)))
	}
	return o.mean*protection + knob*o.sigma*math.Sqrt(protection)
}

// poissonLevel is the least S whose probability of being exceeded by a
// Poisson number is at most miss.
func poissonLevel(mean, miss float64) int {
	if mean <= 0 {
		return 0
	}
	miss = max(miss, 1e-14)
	at := int(mean)
	logged, _ := math.Lgamma(float64(at) + 1)
	term := math.Exp(float64(at)*math.Log(mean) - mean - logged)
	tail, t := 0.0, term // P(N > at), summed from the largest term on
	for k := at + 1; t > 1e-18; k++ {
		t *= mean / float64(k)
		tail += t
	}
	for tail > miss {
		at++
		term *= mean / float64(at)
		tail -= term
	}
	for at > 0 && tail+term <= miss {
		tail += term
		term *= float64(at) / mean
		at--
	}
	return at
}

// book is a method made ready for a world: what it holds of each item on
// each Monday does not depend on its knob.
type book struct {
	w        World
	method   Method
	outlooks [][]outlook // by item and week
}

func newBook(w World, m Method) book {
	b := book{w: w, method: m, outlooks: make([][]outlook, len(w.Items))}
	for i, uses := range w.uses() {
		b.outlooks[i] = outlooks(m.rate(), uses, len(uses)-w.weeks())
	}
	return b
}

// uses are the steps needed by item and week, the history first.
func (w World) uses() [][]int {
	uses := make([][]int, len(w.Items))
	for i := range uses {
		if len(w.History) > 0 {
			uses[i] = append(uses[i], w.History[i]...)
		}
		uses[i] = append(uses[i], make([]int, w.weeks())...)
	}
	for _, job := range w.Jobs {
		for _, t := range job.Takes {
			u := uses[t.Item]
			u[len(u)-w.weeks()+int(job.Day-w.First)/7] += t.Qty
		}
	}
	return uses
}

// policy orders by the method with one setting of the knob.
func (b book) policy(knob float64) Policy {
	packs := make([]int, len(b.w.Items))
	return func(m Monday) []int {
		for i, it := range b.w.Items {
			protection := float64(b.w.Suppliers[it.Supplier].OrderWeekday+7+it.LeadDays) / 7
			level := b.method.level(b.outlooks[i][m.Week], protection, knob)
			missing := math.Ceil(level - 1e-9 - float64(m.Position[i]))
			packs[i] = 0
			if missing > 0 {
				packs[i] = it.sold((int(missing) + it.Pack - 1) / it.Pack)
			}
		}
		b.bringUp(m, packs)
		return packs
	}
}

// bringUp fills orders below a supplier's minimum with the packs that would
// be used up first.
func (b book) bringUp(m Monday, packs []int) {
	for s, sup := range b.w.Suppliers {
		goods := int64(0)
		for i, it := range b.w.Items {
			if it.Supplier == s {
				goods += int64(packs[i]) * it.Cost
			}
		}
		for goods > 0 && goods < sup.Min {
			i := b.first(m, packs, s)
			more := b.w.Items[i].sold(packs[i]+1) - packs[i]
			packs[i] += more
			goods += int64(more) * b.w.Items[i].Cost
		}
	}
}

// first is the item of a supplier that runs out first, with what is to be
// ordered; of items never used one that is ordered. It costs something.
func (b book) first(m Monday, packs []int, supplier int) int {
	best, soonest := -1, math.Inf(1)
	for i, it := range b.w.Items {
		if it.Supplier != supplier || it.Cost == 0 {
			continue
		}
		weeks := math.MaxFloat64
		if mean := b.outlooks[i][m.Week].mean; mean > 0 {
			weeks = float64(m.Position[i]+packs[i]*it.Pack) / mean
		} else if packs[i] == 0 {
			continue
		}
		if weeks < soonest {
			best, soonest = i, weeks
		}
	}
	return best
}
