package plan

import (
	"cmp"
	"math"
	"slices"

	"circlip/forecast"
	"circlip/inventory"
)

// demands fills in the laws of what each item will be used: over its
// protection time, and week by week of the items that are told of, or of all;
// the laws from today to each week's end only with all, since they are the
// long ones.
func (v *view) demands(p *Plan, out *Outlook, all bool) {
	s := out.shelf
	t := out.takings()
	for w, span := range s.spans(rhythm.lasts) {
		var inWindow []int
		for i := range p.Items {
			if s.window(i) == w {
				inWindow = append(inWindow, i)
			}
		}
		for k, law := range t.Laws(span, inWindow) {
			at := inWindow[k]
			i := &p.Items[at]
			i.Protection = s.told(at, law)
			i.AvailabilityWithout = law.CDF(s.inSteps(at, i.Position))
			i.Availability = law.CDF(s.inSteps(at, i.OrderUpTo))
		}
	}
	told := everyItem(len(p.Items))
	if !all {
		told = p.AtStake(func(item int) bool { return s.use.total(item) > 0 })
		told = told[:min(Told, len(told))]
	}
	for week := range v.cal.Weeks {
		for k, law := range t.Laws(v.cal.InWeek(week), told) {
			i := &p.Items[told[k]]
			i.Week = append(i.Week, s.told(told[k], law))
		}
		if !all {
			continue
		}
		for k, law := range t.Laws(v.cal.Until(v.cal.Weeks[week].Last), told) {
			i := &p.Items[told[k]]
			i.Through = append(i.Through, s.told(told[k], law))
		}
	}
}

// Told is how many items are told of week by week where not all are asked for:
// those with most at stake.
const Told = 24

// AtStake ranks the items that are used, by their places in Items: first those
// that a job waits for, then the likeliest to run out without this order, then
// the most expensive order.
func (p Plan) AtStake(used func(item int) bool) []int {
	spent := map[string]inventory.Money{}
	for _, o := range p.Orders {
		for _, l := range o.Lines {
			spent[l.Item.Code] += l.Total
		}
	}
	first := map[bool]int{true: 0, false: 1}
	at := slices.DeleteFunc(everyItem(len(p.Items)), func(i int) bool { return !used(i) })
	slices.SortStableFunc(at, func(i, k int) int {
		a, b := p.Items[i], p.Items[k]
		return cmp.Or(
			cmp.Compare(first[a.Waits], first[b.Waits]),
			cmp.Compare(a.AvailabilityWithout, b.AvailabilityWithout),
			cmp.Compare(spent[b.Item.Code], spent[a.Item.Code]),
			cmp.Compare(a.Item.Code, b.Item.Code),
		)
	})
	return at
}

func everyItem(n int) []int {
	all := make([]int, n)
	for i := range all {
		all[i] = i
	}
	return all
}

// lines is what each type of job takes, in the shelf's steps.
func (s *shelf) lines(types *jobTypes) [][]forecast.Line {
	lines := make([][]forecast.Line, len(types.types))
	for at, t := range types.types {
		for _, l := range t.lines {
			i := s.view.itemAt[l.Item]
			steps := meanSteps(l, s.view.Items[i].Measure) / float64(s.step[i])
			lines[at] = append(lines[at], forecast.Line{Item: i, Need: l.Need, Size: forecast.Around(steps, 1)})
		}
	}
	return lines
}

// told is what is told of a law in steps, in the item's measure.
func (s *shelf) told(item int, law forecast.PMF) Demand {
	unit := s.view.Items[item].Measure.Number(s.step[item])
	quantile := func(p float64) float64 { return unit * float64(law.Quantile(p)) }
	return Demand{
		Mean: unit * law.Mean(), SD: unit * math.Sqrt(law.Variance()),
		P10: quantile(.10), P50: quantile(.50), P90: quantile(.90), P98: quantile(.98),
	}
}
