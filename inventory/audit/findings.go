package audit

import (
	"cmp"
	"math"
	"slices"

	"circlip/inventory"
)

// How far, in standard deviations, a difference is from what is expected:
// choices, so that a quiet shelf hears of next to nothing.
const (
	odd      = 3.0 // a period is looked at
	veryOdd  = 6.0 // and by itself asks for whole containers
	hopeless = 8.0 // and is not of jobs, whatever it is
	// What is said to explain a difference leaves no more than this of it, or
	// than so small a part of what it was.
	fitting, fittingShare = 3.0, 0.05
	// Two periods are the less unlikely by at least so much in the sum of
	// their squares.
	gain = 16.0
)

// evidence is the periods of an item while they are being explained.
type evidence struct {
	*account
	periods []Period
}

// explain adds what may explain the periods of an item, and what must be known
// to read them. A period that fits nothing else may be explained by itself, or
// with a later one that shows the opposite.
func (a *account) explain(periods []Period) {
	e := evidence{a, periods}
	explained := make([]bool, len(periods))
	if unit, lasts := e.lastingMisread(); lasts {
		e.tellUnit(unit, explained)
	}
	for _, s := range e.suspects() {
		if explained[s.first] || explained[s.last()] {
			continue
		}
		explained[s.first], explained[s.last()] = true, true
		e.tell(s)
	}
	days := medianDays(periods)
	for i := range periods {
		e.read(i, days)
		e.leaveOut(i, explained[i])
		e.order(i)
	}
}

// suspect is something that may have made the excess of the period first larger
// by Qty, and that of a later one, if there is one, smaller by as much.
type suspect struct {
	Finding
	first  int
	second int // 0: none
}

func (s suspect) last() int { return max(s.first, s.second) }

// tell writes a suspect down where it shows. Two neighbours read together hold
// no error of the count between them; others are no evidence of what jobs take.
func (e evidence) tell(s suspect) {
	e.periods[s.first].Findings = append(e.periods[s.first].Findings, s.Finding)
	if s.second == 0 {
		e.periods[s.first].LeftOut = true
		return
	}
	s.Finding.Qty = -s.Finding.Qty
	e.periods[s.second].Findings = append(e.periods[s.second].Findings, s.Finding)
	if s.second == s.first+1 {
		e.periods[s.first].Joined = true
		return
	}
	e.periods[s.first].LeftOut, e.periods[s.second].LeftOut = true, true
}

// sigma is what the excess of a period strays by, in steps; one step at least.
func (e evidence) sigma(i int) float64 {
	p := e.periods[i]
	return expected(p, e.item.Measure) * float64(e.item.Measure.Steps())
}

// z is the excess of a period in standard deviations, less an amount.
func (e evidence) z(i int, less inventory.Quantity) float64 {
	return float64(e.periods[i].Excess()-less) / e.sigma(i)
}

// alone reports whether neither neighbour is off in the same direction by half
// as much or more: what lasts is of the jobs, or at least not a single event.
func (e evidence) alone(i int) bool {
	for _, j := range []int{i - 1, i + 1} {
		if j >= 0 && j < len(e.periods) && e.z(j, 0)/e.z(i, 0) >= 0.5 {
			return false
		}
	}
	return true
}

// fits reports whether the suspect leaves nothing odd where something was.
func (e evidence) fits(s suspect) bool {
	was, left := e.z(s.first, 0), e.z(s.first, s.Qty)
	if s.second == 0 {
		return settles(was, left) && was*was-left*left > gain && e.alone(s.first)
	}
	was2, left2 := e.z(s.second, 0), e.z(s.second, -s.Qty)
	return settles(max(math.Abs(was), math.Abs(was2)), max(math.Abs(left), math.Abs(left2))) &&
		was*was+was2*was2-left*left-left2*left2 > gain
}

// settles reports whether something was odd of which nothing much is left.
func settles(was, left float64) bool {
	return math.Abs(was) > odd && math.Abs(left) <= max(fitting, fittingShare*math.Abs(was))
}

// leaves is how much of the squares a suspect leaves: the less, the likelier.
func (e evidence) leaves(s suspect) float64 {
	left := e.z(s.first, s.Qty)
	if s.second == 0 {
		return left * left
	}
	return left*left + math.Pow(e.z(s.second, -s.Qty), 2)
}

// suspects are all that fit, those that explain two periods before those that
// explain one, of either the likelier kind first.
func (e evidence) suspects() []suspect {
	var fit []suspect
	for i := range e.periods {
		next := i+1 < len(e.periods)
		if math.Abs(e.z(i, 0)) <= odd && !(next && math.Abs(e.z(i+1, 0)) > odd) && i > 0 {
			continue
		}
		for _, s := range slices.Concat(e.bookedLate(i), e.misread(i), e.containers(i), e.miscounted(i)) {
			if e.fits(s) {
				fit = append(fit, s)
			}
		}
	}
	slices.SortStableFunc(fit, func(x, y suspect) int {
		return cmp.Or(cmp.Compare(min(y.second, 1), min(x.second, 1)), cmp.Compare(rank(x.Kind), rank(y.Kind)), cmp.Compare(e.leaves(x), e.leaves(y)))
	})
	return fit
}

// kinds are the findings as they are told: what may explain a difference first.
var kinds = []FindingKind{BookedLate, GramsAsML, MLAsGrams, Whole, Miscounted, TareChanged, Unexplained, Negative, TareUnlike, CountsMissed, TwoWays, NoTemp, NoCards, Opened}

func rank(k FindingKind) int { return slices.Index(kinds, k) }

// leaveOut keeps from the estimates what is not of jobs: a period that is far
// beyond all that jobs do while those beside it are not. Where nothing explains
// it that is said.
func (e evidence) leaveOut(i int, explained bool) {
	p := &e.periods[i]
	if explained || !e.alone(i) {
		return
	}
	told := slices.ContainsFunc(p.Findings, func(f Finding) bool {
		return (f.Kind == TareChanged || f.Kind == NoCards) && f.Qty != 0 && e.explains(i, f.Qty)
	})
	p.LeftOut = told || math.Abs(e.z(i, 0)) > hopeless
	if p.LeftOut && !told && p.Drawn() >= 0 {
		p.Findings = append(p.Findings, Finding{Kind: Unexplained, Qty: p.Excess()})
	}
}

// explains reports whether an amount leaves nothing odd where something was.
func (e evidence) explains(i int, amount inventory.Quantity) bool {
	return settles(e.z(i, 0), e.z(i, amount))
}

// order puts the likeliest finding of a period first.
func (e evidence) order(i int) {
	left := func(f Finding) float64 {
		if f.Qty != 0 && (rank(f.Kind) <= rank(TareChanged) || f.Kind == NoCards) && e.explains(i, f.Qty) {
			return math.Abs(e.z(i, f.Qty))
		}
		return math.Inf(1)
	}
	slices.SortStableFunc(e.periods[i].Findings, func(x, y Finding) int {
		return cmp.Or(cmp.Compare(left(x), left(y)), cmp.Compare(rank(x.Kind), rank(y.Kind)))
	})
}
