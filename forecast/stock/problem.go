package stock

import (
	"errors"
	"fmt"
	"math"
)

// ErrProblem is what every refusal of a Problem wraps.
var ErrProblem = errors.New("stock problem not usable")

// Problem is a workshop's shelf and its coming jobs as numbers.
type Problem struct {
	Windows int // how many protection times, at least 1
	Items   []Item
	Types   []JobType
	Events  []Event
	Streams []Stream
}

// Item is what the levels must know of one thing on the shelf.
type Item struct {
	Window   int   // its protection time
	Pack     int   // steps in a pack; 0: it cannot be bought
	Cost     int64 // minor units of money a pack, not below zero
	Least    int   // fewest packs of one order; 0: 1
	Multiple int   // orders go in multiples of so many packs; 0: 1
}

// JobType is all jobs that take the same lines: a service on a unit model, or
// several services on one, whose lines then simply stand together.
type JobType struct {
	Lines []Line
}

// Line is what one job of the type takes of an item. Two lines of one type
// may name the same item: their quantities add up.
type Line struct {
	Item     int
	Sizes    []Size  // what a job takes that takes the line at all
	Need     float64 // share of jobs that take the line, 0 to 1
	Critical bool    // the job waits for it
}

// Size is one quantity a line may take. The probabilities of a line's sizes
// add up to 1.
type Size struct {
	Qty  int // steps, not below zero
	Prob float64
}

// Fixed is the size law of a line that always takes the same quantity.
func Fixed(qty int) []Size { return []Size{{Qty: qty, Prob: 1}} }

// Spread is the size law of a mean quantity that falls between two steps: the
// whole steps below and above it, so often that the mean is kept. One piece
// with a waste of 0.02 is 1 in 98 jobs of 100, and 2 in the other two.
func Spread(mean float64) []Size {
	below := math.Floor(mean)
	above := mean - below
	if above < 1e-9 { // 3 × 1.1 must not become a law of two sizes
		return Fixed(int(below))
	}
	if above > 1-1e-9 {
		return Fixed(int(below) + 1)
	}
	return []Size{{Qty: int(below), Prob: 1 - above}, {Qty: int(below) + 1, Prob: above}}
}

// Event is one unit or booking: its outcomes exclude each other, and what is
// missing to 1 is that no job comes.
type Event []Outcome

// Outcome is that the event brings a job of a type, which arrives after the
// end of the window before and not after the end of this one; and, where more
// than one comes, the others with it.
type Outcome struct {
	Type, Window int
	Prob         float64
	Then         []Job // the other jobs, in any order
}

// Job is one job of a type and the window it arrives in.
type Job struct{ Type, Window int }

// jobs is all the jobs an outcome brings.
func (o Outcome) jobs(visit func(Job)) {
	visit(Job{o.Type, o.Window})
	for _, j := range o.Then {
		visit(j)
	}
}

// most is the largest number of jobs an event may bring.
func (e Event) most() int {
	most := 0
	for _, o := range e {
		most = max(most, 1+len(o.Then))
	}
	return most
}

// check finds the first thing a Problem must not hold.
func (p Problem) check() error {
	if p.Windows < 1 {
		return fmt.Errorf("%w: %d windows, expected at least 1", ErrProblem, p.Windows)
	}
	for i, it := range p.Items {
		if err := it.check(p.Windows); err != nil {
			return fmt.Errorf("%w: item %d: %w", ErrProblem, i, err)
		}
	}
	for j, t := range p.Types {
		for l, line := range t.Lines {
			if err := line.check(len(p.Items)); err != nil {
				return fmt.Errorf("%w: job type %d, line %d: %w", ErrProblem, j, l, err)
			}
		}
	}
	if len(p.Events) > maxJobs {
		return fmt.Errorf("%w: %d events, expected at most %d", ErrProblem, len(p.Events), maxJobs)
	}
	all := 0
	for e, event := range p.Events {
		all += event.most()
		if err := event.check(len(p.Types), p.Windows); err != nil {
			return fmt.Errorf("%w: event %d: %w", ErrProblem, e, err)
		}
	}
	for s, stream := range p.Streams {
		if err := stream.check(len(p.Types), p.Windows); err != nil {
			return fmt.Errorf("%w: stream %d: %w", ErrProblem, s, err)
		}
	}
	if most, ok := reach(p.Streams); !ok || most+all > maxJobs {
		return fmt.Errorf("%w: streams and events may bring %d jobs or more, expected at most %d; raise a shape or lower a mean",
			ErrProblem, most+all, maxJobs)
	}
	return nil
}

// check names what of an item cannot be.
func (it Item) check(windows int) error {
	switch {
	case it.Window < 0 || it.Window >= windows:
		return fmt.Errorf("window %d, expected 0 to %d", it.Window, windows-1)
	case it.Pack < 0 || it.Pack > maxSize:
		return fmt.Errorf("pack of %d steps, expected 0 to %d", it.Pack, maxSize)
	case it.Cost < 0 || it.Cost > maxCost:
		return fmt.Errorf("pack cost %d, expected 0 to %d minor units", it.Cost, int64(maxCost))
	case it.Least < 0 || it.Least > maxPacks || it.Multiple < 0 || it.Multiple > maxPacks:
		return fmt.Errorf("least %d and multiple %d packs, expected 0 to %d", it.Least, it.Multiple, maxPacks)
	}
	return nil
}

// check names what of a line cannot be.
func (l Line) check(items int) error {
	if l.Item < 0 || l.Item >= items {
		return fmt.Errorf("item %d, expected 0 to %d", l.Item, items-1)
	}
	if !isProb(l.Need) {
		return fmt.Errorf("need %v, expected 0 to 1", l.Need)
	}
	total := 0.0
	for _, s := range l.Sizes {
		if s.Qty < 0 || s.Qty > maxSize || !isProb(s.Prob) {
			return fmt.Errorf("size of %d steps with probability %v, expected 0 to %d and 0 to 1", s.Qty, s.Prob, maxSize)
		}
		total += s.Prob
	}
	if math.Abs(total-1) > probSlack {
		return fmt.Errorf("size probabilities add up to %v, expected 1", total)
	}
	return nil
}

// check names what of an event cannot be.
func (e Event) check(types, windows int) error {
	total := 0.0
	for _, o := range e {
		var wrong error
		o.jobs(func(j Job) {
			if j.Type < 0 || j.Type >= types || j.Window < 0 || j.Window >= windows {
				wrong = fmt.Errorf("outcome of type %d in window %d, expected types 0 to %d and windows 0 to %d",
					j.Type, j.Window, types-1, windows-1)
			}
		})
		if wrong != nil {
			return wrong
		}
		if !isProb(o.Prob) {
			return fmt.Errorf("outcome probability %v, expected 0 to 1", o.Prob)
		}
		total += o.Prob
	}
	if total > 1+probSlack {
		return fmt.Errorf("outcome probabilities add up to %v, expected at most 1", total)
	}
	return nil
}

// Limits that no shelf comes near and that keep sums of them inside 64 bits.
const (
	maxCost   = 1_000_000_000_000 // minor units a pack
	maxSize   = 1_000_000_000     // steps a job, or a pack
	maxPacks  = 1_000_000         // least or multiple
	probSlack = 1e-9              // what sums of probabilities may be off by
)

// isProb is false for NaN too.
func isProb(p float64) bool { return p >= 0 && p <= 1 }
