package rehearsal

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"sync"

	"circlip/forecast/rehearse"
	"circlip/inventory"
	"circlip/reports/plan"
)

// Options say how much is played.
type Options struct {
	Weeks   int       // so many weeks up to the shop's day, at least 1
	WarmUp  int       // weeks at the beginning that do not count: the shelf fills up; 0: 8
	Targets []float64 // readiness the plans aim at; none: Targets, with the setting's own
	Scores  bool      // also score the forecasts
	// Progress is told of every week played; it may be called from several
	// goroutines, one at a time.
	Progress func(weeks int)
}

// Targets are the readiness that plans are played for, beside the setting's.
var Targets = []float64{0.80, 0.90, 0.95, 0.985, 0.995}

// usualWarmUp is longer than any supplier takes for two orders.
const usualWarmUp = 8

// horizonWeeks is how far the plans of a rehearsal look: as far as any
// protection time, and as far as forecasts are scored.
const horizonWeeks = 8

// ErrTooShort is wrapped where a past does not hold the weeks asked for.
var ErrTooShort = errors.New("the past is too short")

// Run plays a past. It stops where the context is done, and has changed nothing
// anywhere. The same past gives the same report, on however many processors.
func Run(ctx context.Context, past Past, o Options) (Report, error) {
	if o.WarmUp == 0 {
		o.WarmUp = usualWarmUp
	}
	set := past.Shop.Settings
	targets := o.Targets
	if len(targets) == 0 {
		targets = append(slices.Clone(Targets), set.Readiness)
		slices.Sort(targets)
		targets = slices.Compact(targets)
	}
	if err := past.holds(o.Weeks + o.WarmUp); err != nil {
		return Report{}, err
	}
	today, err := plan.Foresee(past.known(past.Shop.AsOf))
	if err != nil {
		return Report{}, err
	}
	w := past.newWorld(o.Weeks+o.WarmUp, today.Usual)
	r := Report{
		Workshop: set.Workshop, Currency: set.Currency, AsOf: past.Shop.AsOf, From: w.monday + inventory.Date(7*o.WarmUp), To: past.Shop.AsOf.Week().Monday() - 1,
		Weeks: o.Weeks, Target: set.Readiness, LeftOut: w.leftOut, Assumed: past.Assumed,
	}
	m := newMondays(ctx, past, w, len(targets), o)
	if r.Plans, err = m.play(w, targets, o); err != nil {
		return Report{}, err
	}
	r.Scores = m.scores
	r.Textbook, err = textbook(ctx, w.World, o.WarmUp, r.reached())
	return r, err
}

// holds refuses a past with fewer weeks than are to be played, and one month of
// them before to know anything by.
func (p Past) holds(weeks int) error {
	first := p.Shop.AsOf
	for _, j := range p.Shop.Jobs {
		if j.State == inventory.Done {
			first = min(first, j.EndedOn())
		}
	}
	have := int(p.Shop.AsOf.Week().Monday()-first.Week().Monday()) / 7
	if weeks < 1 || have < weeks {
		return fmt.Errorf("%w: found %d weeks since the first job done, on %s, expected at least the %d to be played with their warm-up; play fewer with --weeks", ErrTooShort, have, first, weeks)
	}
	return nil
}

// known is the shop on the morning of a day, as a plan sees it.
func (p Past) known(day inventory.Date) inventory.Shop {
	shop := p.Shop.Before(day)
	shop.Settings.HorizonWeeks = horizonWeeks
	return shop
}

// mondays hands out what was to come on each Monday, worked out once for all
// plans. Plans that run ahead wait for the others, so that no more than two
// outlooks are held at a time.
type mondays struct {
	ctx     context.Context
	past    Past
	world   *world
	options Options
	scores  *Scores

	mu    sync.Mutex
	moved sync.Cond
	at    []int                 // by plan: the week it is in
	made  map[int]*plan.Outlook // by week
	err   error
}

func newMondays(ctx context.Context, past Past, w *world, plans int, o Options) *mondays {
	m := &mondays{ctx: ctx, past: past, world: w, options: o, at: make([]int, plans), made: map[int]*plan.Outlook{}}
	m.moved.L = &m.mu
	if o.Scores {
		m.scores = newScores(past.Shop, w)
	}
	return m
}

// play lets the plans of all targets go through the weeks side by side.
func (m *mondays) play(w *world, targets []float64, o Options) ([]Point, error) {
	points := make([]Point, len(targets))
	var all sync.WaitGroup
	for k, target := range targets {
		all.Go(func() {
			result, err := rehearse.Replay(w.World, o.WarmUp, m.policy(k, target), func(int) bool { return !m.stopped() })
			m.finish(k, err)
			points[k] = Point{target, result}
		})
	}
	all.Wait()
	if m.err == nil {
		m.err = m.ctx.Err()
	}
	return points, m.err
}

// policy orders what the plan of each Monday proposes for a target.
func (m *mondays) policy(k int, target float64) rehearse.Policy {
	return func(monday rehearse.Monday) []int {
		out := m.week(k, monday.Week)
		if out == nil {
			return nil
		}
		position := make([]inventory.Quantity, len(monday.Position))
		for i, q := range monday.Position {
			position[i] = inventory.Quantity(q)
		}
		packs, err := out.Packs(position, target)
		if err != nil {
			m.fail(err)
		}
		return packs
	}
}

// week is what was to come on the Monday of a week; nil once all is off.
func (m *mondays) week(k, week int) *plan.Outlook {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.at[k] = week
	for done := range m.made {
		if done < slices.Min(m.at) {
			delete(m.made, done)
		}
	}
	m.moved.Broadcast()
	for week > slices.Min(m.at)+1 && m.err == nil {
		m.moved.Wait()
	}
	if m.made[week] == nil && m.err == nil && m.ctx.Err() == nil {
		m.make(week)
	}
	return m.made[week]
}

func (m *mondays) make(week int) {
	out, err := plan.Foresee(m.past.known(m.world.monday + inventory.Date(7*week)))
	if err != nil {
		m.err = err
		return
	}
	m.made[week] = out
	if m.scores != nil && week >= m.options.WarmUp {
		m.scores.add(out, week)
	}
	if m.options.Progress != nil {
		m.options.Progress(1)
	}
}

func (m *mondays) fail(err error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.err == nil {
		m.err = err
	}
}

func (m *mondays) stopped() bool {
	m.mu.Lock()
	defer m.mu.Unlock()
	return m.err != nil || m.ctx.Err() != nil
}

// over is the week of a plan that has played all of them.
const over = 1 << 30

func (m *mondays) finish(k int, err error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.err == nil {
		m.err = err
	}
	m.at[k] = over
	m.moved.Broadcast()
}

// textbook plays the textbook's ways, tuned to a readiness, as many at a time as
// there are processors.
func textbook(ctx context.Context, w rehearse.World, warmUp int, readiness float64) ([]Curve, error) {
	methods := rehearse.Methods()
	curves := make([]Curve, len(methods))
	errs := make([]error, len(methods))
	var all sync.WaitGroup
	for k, method := range methods {
		all.Go(func() {
			curves[k].Method = method
			curves[k].Points, errs[k] = rehearse.Tune(w, warmUp, method, readiness, func(int) bool { return ctx.Err() == nil })
		})
	}
	all.Wait()
	return curves, errors.Join(append(errs, ctx.Err())...)
}
