package audit

import (
	"cmp"
	"iter"
	"maps"
	"slices"
	"sort"

	"circlip/inventory"
)

// attribute fills in what explains an item's periods: estimates, blame, what is
// alike, changes of the bill.
func (a *ItemAudit) attribute(from attribution) {
	p := newPanel(a.Periods, a.Item, from.takings)
	if len(p.spans) == 0 {
		return
	}
	services := newFit(p, p.byService(from.services))
	models := newFit(p, p.byModel(from.models))
	people := newFit(p, p.byPerson())
	nameless := func(e Estimate) bool { return e.Code == "" }
	a.Services, a.Models = services.estimates(), slices.DeleteFunc(models.estimates(), nameless)
	if named(people.codes) >= 2 {
		a.People = slices.DeleteFunc(people.estimates(), nameless)
	}
	a.Blame = a.blame(from)
	a.Alike = slices.Concat(from.alike(a, p, services), from.alike(a, p, models), from.alike(a, p, people))
	a.Changes = a.changes(from, p, services)
}

// named is how many of the codes are not empty.
func named(codes []string) (n int) {
	for _, c := range codes {
		if c != "" {
			n++
		}
	}
	return n
}

// panel is an item's periods as the estimates see them, with what was taken in
// each.
type panel struct {
	item    inventory.Item
	spans   []span // by time
	takings []taking
	in      []int // by taking: the index of its span; −1: none
}

// span is a period that says something of jobs, or several that were joined.
// Amounts are in the measure.
type span struct {
	from, to           inventory.Date
	unrecorded, excess float64
	offCards           float64 // unrecorded, less what the bill allows the jobs that no card tells of
	job, card, count   float64 // variances
	parts              int     // periods joined in it
}

func newPanel(periods []Period, item inventory.Item, takings []taking) *panel {
	p := &panel{item: item, spans: spansOf(periods, item.Measure), takings: takings, in: make([]int, len(takings))}
	for i := range p.spans {
		p.spans[i].offCards = p.spans[i].unrecorded
	}
	for i, t := range takings {
		if p.in[i] = p.spanOf(t.on); p.in[i] >= 0 && !t.onCard {
			p.spans[p.in[i]].offCards -= t.standard
		}
	}
	return p
}

func (p *panel) spanOf(day inventory.Date) int {
	i := sort.Search(len(p.spans), func(i int) bool { return p.spans[i].to >= day })
	if i < len(p.spans) && p.spans[i].from < day {
		return i
	}
	return -1
}

// spansOf joins periods whose count between is not to be trusted, and leaves
// out those that say nothing of jobs.
func spansOf(periods []Period, measure inventory.Measure) []span {
	var spans []span
	var s span
	leftOut := false
	for _, p := range periods {
		s = s.with(p, measure)
		leftOut = leftOut || p.LeftOut
		if p.Joined {
			continue
		}
		if !leftOut {
			s.count /= float64(s.parts) // the counts between cancel
			spans = append(spans, s)
		}
		s, leftOut = span{}, false
	}
	slices.SortStableFunc(spans, func(x, y span) int { return cmp.Compare(x.to, y.to) })
	return spans
}

func (s span) with(p Period, measure inventory.Measure) span {
	if s.parts == 0 {
		s.from = p.From
	}
	s.to = p.To
	s.unrecorded += measure.Number(p.Unrecorded())
	s.excess += measure.Number(p.Excess())
	s.job += p.JobSpread * p.JobSpread
	s.card += p.CardSpread * p.CardSpread
	s.count += p.CountSpread * p.CountSpread
	s.parts++
	return s
}

// since leaves the spans that begin on a day or later.
func (p *panel) since(day inventory.Date) *panel {
	later := &panel{item: p.item, takings: p.takings, in: make([]int, len(p.in))}
	first := sort.Search(len(p.spans), func(i int) bool { return p.spans[i].from >= day })
	later.spans = p.spans[first:]
	for i, s := range p.in {
		later.in[i] = max(-1, s-first)
	}
	return later
}

// jobs are the takings of each job within the spans, behind the index of the
// first of them.
func (p *panel) jobs() iter.Seq2[int, []taking] {
	return func(yield func(int, []taking) bool) {
		for first, takings := range byJob(p.takings) {
			if p.in[first] >= 0 && !yield(first, takings) {
				return
			}
		}
	}
}

// jobsOf counts the jobs within the spans that have takings of each group.
func (p *panel) jobsOf(d division) []int {
	jobs, last := make([]int, len(d.codes)), make([]int, len(d.codes))
	for first, takings := range p.jobs() {
		for i := range takings {
			if g := d.of[first+i]; g >= 0 && last[g] != first+1 {
				last[g] = first + 1
				jobs[g]++
			}
		}
	}
	return jobs
}

// finest is the least standard deviation any figure of the item is taken to
// have: a step's rounding on two counts would be less.
func (p *panel) finest() float64 { return 0.5 / float64(p.item.Measure.Steps()) }

// mostModels is how many models are told from each other: a choice. Of more, the
// rarest have too few jobs each to be told anything of.
const mostModels = 40

// division divides takings into groups.
type division struct {
	by    By
	codes []string
	of    []int // by taking: the index of its code; −1: none
}

func (p *panel) byService(order []string) division {
	return p.divide(ByService, order, func(t *taking) string { return t.service })
}

// byModel has the rarer models together as one without a name.
func (p *panel) byModel(order []string) division {
	often := p.oftenest(func(t *taking) string { return t.model })
	return p.divide(ByModel, order, func(t *taking) string {
		if often[t.model] {
			return t.model
		}
		return ""
	})
}

// oftenest is the mostModels codes that the bill allows most in the spans.
func (p *panel) oftenest(code func(*taking) string) map[string]bool {
	standard := map[string]float64{}
	for i := range p.takings {
		if t := &p.takings[i]; p.in[i] >= 0 {
			standard[code(t)] += t.standard
		}
	}
	codes := slices.SortedFunc(maps.Keys(standard), func(a, b string) int {
		return cmp.Or(cmp.Compare(standard[b], standard[a]), cmp.Compare(a, b))
	})
	often := map[string]bool{}
	for _, c := range codes[:min(len(codes), mostModels)] {
		often[c] = true
	}
	return often
}

func (p *panel) byPerson() division {
	return p.divide(ByPerson, nil, func(t *taking) string { return t.person })
}

// divide puts the codes in an order, those it does not name after it by name.
// Groups that the bill allows nothing in the spans are none.
func (p *panel) divide(by By, order []string, code func(*taking) string) division {
	d := division{by: by, of: make([]int, len(p.takings))}
	met := map[string]int{} // codes in the order they are met
	var standard []float64
	for i := range p.takings {
		d.of[i] = -1
		if t := &p.takings[i]; p.in[i] >= 0 {
			n, known := met[code(t)]
			if !known {
				n = len(met)
				met[code(t)] = n
				standard = append(standard, 0)
			}
			d.of[i] = n
			standard[n] += t.standard
		}
	}
	group := make([]int, len(met))
	for i := range group {
		group[i] = -1
	}
	for _, c := range slices.Concat(order, slices.Sorted(maps.Keys(met))) {
		if n, is := met[c]; is && group[n] < 0 && standard[n] > 0 {
			group[n] = len(d.codes)
			d.codes = append(d.codes, c)
		}
	}
	for i, n := range d.of {
		if n >= 0 {
			d.of[i] = group[n]
		}
	}
	return d
}
