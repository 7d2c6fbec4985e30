package audit

import (
	"math"
	"slices"

	"circlip/inventory"
)

// Choices of what is worth changing, without a source.
const (
	fewestJobs  = 10
	worthSaying = 0.02 // of the line's quantity
	// The standard must lie outside an interval so much wider: an audit looks
	// at many lines, and every week again, and one interval in twenty misses.
	// What an open episode is blamed on was singled out already.
	wider = 1.5
)

// changes suggests what lines of the bill should say where the use of their
// service is known and is not what they say. Only periods since the line has
// been in force count, and since an episode that is still open began, and none
// of an episode that is over: what was so then tells nothing of what is so now.
// While an episode is likelier than not a leak, or one person's, no bill is to
// blame.
func (a *ItemAudit) changes(from attribution, p *panel, services *fit) []Change {
	if periods, any := a.withoutPast(); any {
		p = newPanel(periods, a.Item, from.takings)
		services = newFit(p, p.byService(from.services))
	}
	var all []Change
	b := bench{from: from, whole: p, fits: map[int]*recent{0: {p, services}}}
	if e, any := a.LastRun(); any && e.Open {
		b.began = a.Periods[e.Start].From
		if a.Blame != nil && a.Blame.Prob > 0.5 {
			b.blame = *a.Blame
		}
	}
	if b.blame.By == ByNone || b.blame.By == ByPerson {
		return nil
	}
	for _, line := range from.bill {
		if !line.InForce(from.asOf) || !line.To.IsZero() {
			continue // it is to end: somebody has changed it
		}
		if line.Need < 1 {
			continue // it may as well be taken more often as by more
		}
		if c, is := b.change(line); is {
			all = append(all, c)
		}
	}
	return all
}

// withoutPast has the periods of episodes that are over left out, if there are
// any.
func (a *ItemAudit) withoutPast() (periods []Period, any bool) {
	periods = slices.Clone(a.Periods)
	for _, e := range a.Episodes {
		for i := e.Start; i <= e.End && !e.Open && !e.Once; i++ {
			periods[i].LeftOut, any = true, true
		}
	}
	return periods, any
}

// bench holds the use by services over the later periods, by how many of the
// earlier ones are left out.
type bench struct {
	from  attribution
	whole *panel
	fits  map[int]*recent

	began inventory.Date // the count after which the open episode began; zero: none is
	blame Blame          // of the open episode, where it is likelier than not; else zero
}

// blamed reports whether the open episode is likelier than not of a service.
func (b *bench) blamed(service string) bool {
	return b.blame.By == ByAll || b.blame.By == ByService && b.blame.Code == service
}

// recent is the use by services over some later periods.
type recent struct {
	p        *panel
	services *fit
}

// since is the use over the periods after a count.
func (b *bench) since(count inventory.Date) *recent {
	later := b.whole.since(count)
	out := len(b.whole.spans) - len(later.spans)
	if b.fits[out] == nil {
		b.fits[out] = &recent{later, newFit(later, later.byService(b.from.services))}
	}
	return b.fits[out]
}

// change is what a line should say, if its use is known and is not what it says.
func (b *bench) change(line inventory.BOMLine) (c Change, is bool) {
	r := b.since(max(b.began, line.From-1))
	use, g := r.services, slices.Index(r.services.codes, line.Service)
	by := wider
	if b.blamed(line.Service) {
		by = 1
	}
	if g < 0 || !use.differs(g, by) {
		return c, false
	}
	if own, at := b.ofLine(r, line); at >= 0 && own.known(at) {
		use, g = own, at // the line's own jobs tell more than the service's
	}
	ratio := use.ratio[g]
	c = Change{Line: line, Jobs: use.jobs[g], Periods: use.spans, Qty: inventory.Quantity(math.Round(float64(line.Qty) * ratio))}
	perJob := use.standard[g] / float64(use.jobs[g])
	c.PerJob, c.Low, c.High = ratio*perJob, use.low[g]*perJob, use.high[g]*perJob
	return c, use.differs(g, by) && c.Qty != line.Qty && math.Abs(ratio-1) >= worthSaying
}

// differs reports whether a group's use is known, and its standard lies outside
// an interval so many times as wide.
func (f *fit) differs(g int, wider float64) bool {
	over, under := f.ratio[g]-f.low[g], f.high[g]-f.ratio[g]
	return f.known(g) && f.jobs[g] >= fewestJobs && (f.ratio[g]-wider*over > 1 || f.ratio[g]+wider*under < 1)
}

// ofLine is the use by services, that of the line's service parted by its
// lines, and the group of this one; below zero where the service has no other
// line, or this one took nothing.
func (b *bench) ofLine(r *recent, line inventory.BOMLine) (own *fit, g int) {
	exact := map[string]bool{}
	lines := 0
	for _, l := range b.from.bill {
		if l.Service == line.Service && l.InForce(b.from.asOf) {
			exact[l.Model] = true
			lines++
		}
	}
	if lines < 2 {
		return nil, -1
	}
	const part = "\x00" // stands in no code
	d := r.p.divide(ByService, nil, func(t *taking) string {
		switch {
		case t.service != line.Service:
			return t.service
		case exact[t.model]:
			return t.service + part + t.model
		}
		return t.service + part + inventory.AnyModel
	})
	own = newFit(r.p, d)
	return own, slices.Index(own.codes, line.Service+part+line.Model)
}
