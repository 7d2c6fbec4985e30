package lessons

import (
	"cmp"
	"maps"
	"math"
	"slices"

	"circlip/forecast/learn"
	"circlip/inventory"
)

// tally is what one unit's past says of whether it comes here when it is due:
// due services done here, those that must have been done elsewhere between two
// visits, and those since the last visit.
type tally struct{ here, between, since int }

// Loyal is how surely one unit comes here when it is due, with what that rests
// on.
type Loyal struct {
	Here, Between, Since int     // due services done here; elsewhere between two visits; and since the last
	Stays                float64 // probability that it has not left for good
	Comes                float64 // probability that a unit that has not left comes when due
}

// Mean is the probability that its next due service is done here.
func (l Loyal) Mean() float64 { return l.Stays * l.Comes }

// loyalty is the law of a kind of units: some never come again after they are
// first seen, others leave after each due service with a probability; while they
// stay they come when due with another. It is the law of a customer base that
// is seen only when it buys (beta-geometric/beta-binomial: Fader, Hardie & Shang
// 2010, "Customer-base analysis in a discrete-time noncontractual setting"),
// with the same probabilities for all units of the kind.
type loyalty struct{ once, leaves, comes float64 }

// The grid on which the law is sought: finer than what any workshop's units
// could tell apart.
var (
	onceGrid   = []float64{0, 0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4, 0.45, 0.5, 0.55, 0.6, 0.65, 0.7, 0.8}
	leavesGrid = []float64{0, 0.01, 0.02, 0.03, 0.05, 0.07, 0.1, 0.13, 0.16, 0.2, 0.25, 0.3, 0.4}
	comesGrid  = []float64{0.05, 0.1, 0.15, 0.2, 0.25, 0.3, 0.35, 0.4, 0.45, 0.5, 0.55, 0.6, 0.65, 0.7, 0.75, 0.8, 0.84, 0.88, 0.91, 0.94, 0.96, 0.98, 0.99}
)

// likeliest is the law under which the tallies are most likely: from the best of
// a few coarse ones, one figure after another is moved along its grid until none
// makes it likelier.
func likeliest(units map[tally]int) loyalty {
	tallies := slices.SortedFunc(maps.Keys(units), func(a, b tally) int {
		return cmp.Or(a.here-b.here, a.between-b.between, a.since-b.since)
	})
	best, most := loyalty{}, math.Inf(-1)
	try := func(law loyalty) bool {
		sum := 0.0
		for _, t := range tallies {
			gone, stays := law.weigh(t)
			sum += float64(units[t]) * math.Log(gone+stays)
		}
		better := sum > most+1e-9
		if better {
			best, most = law, sum
		}
		return better
	}
	for _, comes := range []float64{0.3, 0.6, 0.91} {
		for _, leaves := range []float64{0, 0.1} {
			for _, once := range []float64{0, 0.3} {
				try(loyalty{once, leaves, comes})
			}
		}
	}
	for better := true; better; {
		better = false
		for _, comes := range comesGrid {
			better = try(loyalty{best.once, best.leaves, comes}) || better
		}
		for _, leaves := range leavesGrid {
			better = try(loyalty{best.once, leaves, best.comes}) || better
		}
		for _, once := range onceGrid {
			better = try(loyalty{once, best.leaves, best.comes}) || better
		}
	}
	return best
}

// weigh is the chance of a tally together with the unit's having left for good,
// and with its staying.
func (l loyalty) weigh(t tally) (gone, stays float64) {
	chance := (1 - l.once) * math.Pow(l.comes*(1-l.leaves), float64(t.here)) * math.Pow((1-l.comes)*(1-l.leaves), float64(t.between))
	if t.here == 0 {
		gone = l.once
	} else {
		// It may have left just after its latest visit.
		gone = chance / (1 - l.leaves) * l.leaves
	}
	for range t.since {
		chance *= 1 - l.comes
		gone += chance * l.leaves
		chance *= 1 - l.leaves
	}
	return gone, chance
}

// of is what the law and a unit's own tally come to.
func (l loyalty) of(t tally) Loyal {
	loyal := Loyal{Here: t.here, Between: t.between, Since: t.since, Comes: l.comes}
	if gone, stays := l.weigh(t); stays > 0 {
		loyal.Stays = stays / (gone + stays)
	}
	return loyal
}

// tallyOf counts the due services in a unit's cycles. One holds as many as
// times that a service with its usual wait fits into it, and one more that was
// done here where it is closed.
func tallyOf(cycles []learn.Cycle, habit Habit) tally {
	var t tally
	for _, c := range cycles {
		wait := c.Rate * float64(habit.Lag)
		whole := float64(c.Every) + wait
		if c.Closed {
			t.here++
			t.between += max(0, int(math.Round(float64(c.Hours)/whole))-1)
			continue
		}
		// One more usual wait may still be going on.
		t.since += int(max(0, float64(c.Hours)-wait-c.Rate) / whole)
	}
	return t
}

// enoughDue is how many due services a holder or a group needs for a law of its
// own.
const enoughDue = 30

// Habit is how units of a holder come in when they are due.
type Habit struct {
	Capture float64 // of a unit of which nothing is known yet
	learn.Waited
	Learnt          bool // Capture, else it is the book's
	Here, Elsewhere int  // due services done here, and those that must have been done elsewhere
}

type groupKey struct {
	holder inventory.Holder
	group  string
}

// learnLoyalty learns for each unit how surely it comes here when it is due, by
// the law of all units of its holder, or of its group where that is large
// enough, and by its own past (empirical Bayes). What is due but not learnt
// enough of has the book's capture.
func (l *Lessons) learnLoyalty(p *past, cycles map[string][]learn.Cycle) {
	l.Loyalty = map[string]Loyal{}
	kinds := map[groupKey]map[tally]int{}
	for _, u := range p.shop.Units {
		if own := cycles[u.Code]; len(own) > 0 {
			t := tallyOf(own, l.Habits[u.Holder])
			count(kinds, groupKey{u.Holder, ""}, t)
			if u.Group != "" {
				count(kinds, groupKey{u.Holder, u.Group}, t)
			}
		}
	}
	laws := map[groupKey]loyalty{}
	for key, tallies := range kinds {
		if due(tallies) >= enoughDue {
			laws[key] = likeliest(tallies)
		}
		if habit := l.Habits[key.holder]; key.group == "" {
			for t, n := range tallies {
				habit.Here += n * t.here
				habit.Elsewhere += n * (t.between + t.since)
			}
			if law, learnt := laws[key]; learnt {
				habit.Learnt, habit.Capture = true, law.of(tally{}).Mean()
			}
			l.Habits[key.holder] = habit
		}
	}
	for _, u := range p.shop.Units {
		law, learnt := laws[groupKey{u.Holder, u.Group}]
		if !learnt {
			law, learnt = laws[groupKey{u.Holder, ""}]
		}
		if learnt && p.metered[u.Code] {
			l.Loyalty[u.Code] = law.of(tallyOf(cycles[u.Code], l.Habits[u.Holder]))
		}
	}
}

func count(by map[groupKey]map[tally]int, key groupKey, t tally) {
	if by[key] == nil {
		by[key] = map[tally]int{}
	}
	by[key][t]++
}

// due is how many due services the tallies hold.
func due(tallies map[tally]int) int {
	sum := 0
	for t, n := range tallies {
		sum += n * (t.here + t.between + t.since)
	}
	return sum
}
