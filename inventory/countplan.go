package inventory

import (
	"cmp"
	"math"
	"slices"
)

// CountDue is an item, how dear its use is and how steady, and when it is to be
// counted.
type CountDue struct {
	Item       Item
	Class      string   // A, B or C, by yearly use in money
	Movement   string   // X, Y or Z, by how much use varies; empty: too little is known
	Used       Quantity // in the year before AsOf
	Value      Money    // of it, at what the item costs now
	Share      float64  // of all use in money, running from the dearest, with this item
	Variation  float64  // coefficient of variation of four weeks' use
	TimesAYear int
	LastOn     Date // counted last, or first written down; zero: never
	DueOn      Date // zero: its class is not counted by plan
	DaysLate   int  // on AsOf; 0: not late, or never counted
}

// IsDue reports whether the item is to be counted on the day.
func (c CountDue) IsDue(on Date) bool { return !c.DueOn.IsZero() && c.DueOn <= on }

// Usual classes of counts, where a workshop states none: 80 and 95 % of the
// use, counted four times, twice and once a year (a page on inventory accuracy,
// see testdata/published/standards/count_classes.csv).
var usualClasses = CountClasses{AShare: 0.80, BShare: 0.95, ATimes: 4, BTimes: 2, CTimes: 1}

// The year of a count plan is 13 spans of four weeks. Limits of variation are
// in print as 0.1/0.25, 0.2/0.5, 0.3/0.56 and 0.5/1.0; these are the last, from
// memory.
const (
	spanDays       = 28
	spansAYear     = 13
	fewestSpans    = 3
	steadyUpTo     = 0.5
	changingUpTo   = 1.0
	daysOfAYear    = 365
	neverLate      = Date(math.MaxInt32)
	limitTolerance = 1e-9 // a share that is the limit but for rounding is the limit
)

// CountPlan lists every item in the order in which to count: first those that
// never were, then by the day on which they are due.
//
// Class: items are sorted by the money of a year's use, the dearest first; an
// item is A while the share of all use before it, without its own, is below
// AShare, B while it is below BShare, else C; so that the item which crosses a
// limit belongs to the class before it. Use is what the jobs done in the year
// recorded, or of those with nothing recorded what their bill expects, at the
// cost of the newest lot, or where there is none at the cheapest offer. Each
// class is due its times a year, evenly.
//
// Movement: the coefficient of variation of use in spans of four weeks (the
// population's, divided by n) since the first job done, at most a year: X up to
// 0.5, Y up to 1, Z above; none for an item without use, or before three spans
// are known.
func CountPlan(shop Shop) []CountDue {
	classes := shop.Settings.CountClasses
	if classes == (CountClasses{}) {
		classes = usualClasses
	}
	use, costs, counted := yearOf(shop), costsOf(shop), lastCounts(shop)
	plan := make([]CountDue, len(shop.Items))
	for i, item := range shop.Items {
		c := CountDue{Item: item, LastOn: counted[item.Code]}
		c.Used = use.of(item.Code)
		c.Value = Value(c.Used, item.Measure, costs[item.Code])
		c.Variation, c.Movement = use.movement(item.Code)
		plan[i] = c
	}
	classes.sort(plan)
	for i := range plan {
		plan[i].fallDue(shop.AsOf)
	}
	slices.SortStableFunc(plan, func(a, b CountDue) int { return cmp.Compare(a.urgency(), b.urgency()) })
	return plan
}

// sort puts the items in the order of their use in money and gives them their
// classes.
func (k CountClasses) sort(plan []CountDue) {
	slices.SortStableFunc(plan, func(a, b CountDue) int {
		return cmp.Or(cmp.Compare(b.Value, a.Value), cmp.Compare(a.Item.Code, b.Item.Code))
	})
	total := Money(0)
	for _, c := range plan {
		total += c.Value
	}
	before := Money(0)
	for i := range plan {
		c := &plan[i]
		c.Class, c.TimesAYear = k.class(share(before, total))
		before += c.Value
		c.Share = share(before, total)
	}
}

// class is that of an item before which stands so much of all use.
func (k CountClasses) class(before float64) (string, int) {
	switch {
	case before < k.AShare-limitTolerance:
		return "A", k.ATimes
	case before < k.BShare-limitTolerance:
		return "B", k.BTimes
	}
	return "C", k.CTimes
}

// share of nothing is all of it: where nothing is used, nothing is dear.
func share(part, total Money) float64 {
	if total == 0 {
		return 1
	}
	return float64(part) / float64(total)
}

// fallDue sets when the item is to be counted: today if it never was.
func (c *CountDue) fallDue(today Date) {
	switch {
	case c.TimesAYear == 0:
	case c.LastOn.IsZero():
		c.DueOn = today
	default:
		c.DueOn = c.LastOn + Date(daysOfAYear/c.TimesAYear)
		c.DaysLate = int(max(0, today-c.DueOn))
	}
}

// urgency sorts what never was counted first, what is not to be counted last.
func (c CountDue) urgency() Date {
	switch {
	case c.DueOn.IsZero():
		return neverLate
	case c.LastOn.IsZero():
		return 0
	}
	return c.DueOn
}

// lastCounts is the day on which each item was counted last. An opening shelf
// was counted when it was written down.
func lastCounts(shop Shop) map[string]Date {
	last := map[string]Date{}
	for _, counts := range [][]Count{shop.Openings, shop.Counts} {
		for _, c := range counts {
			last[c.Item] = max(last[c.Item], c.Date)
		}
	}
	return last
}

// costsOf is what one piece, ml or g of each item costs now.
func costsOf(shop Shop) map[string]UnitCost {
	newest := map[string]Lot{}
	for _, l := range shop.Lots {
		if was, known := newest[l.Item]; l.UnitCost > 0 && (!known || l.Received >= was.Received) {
			newest[l.Item] = l
		}
	}
	costs := map[string]UnitCost{}
	for _, i := range shop.Items {
		if l, known := newest[i.Code]; known {
			costs[i.Code] = l.UnitCost
		} else {
			costs[i.Code] = OfferedAt(shop.Offers, i.Code, i.Measure)
		}
	}
	return costs
}
