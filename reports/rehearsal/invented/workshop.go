package invented

import (
	"cmp"
	"fmt"
	"hash/fnv"
	"math"
	"slices"

	"circlip/inventory"
)

// Workshop is an invented shop on its AsOf and the truth behind its past. The
// shop's jobs have their last state: their service is the one done, which may be
// wider than the one booked; a unit in service only after a day was not known on
// that day, and a job booked after it was not there.
type Workshop struct {
	Shop  inventory.Shop
	Start inventory.Date
	Truth Truth
	Taken []Taken // by job and item, of every job done
	seed  uint64
}

// Taken is what a job took of an item, written on its card or not.
type Taken struct {
	Job, Item string
	Qty       inventory.Quantity
}

// Truth is the parameters that were drawn or given.
type Truth struct {
	Config          Config // with nothing left open
	Fleet, Customer Coming
	ShowRate        float64 // of jobs booked a day or more ahead
	AheadDays       float64 // mean of the geometric law of days from booking to bench
	Season          [54]float64
	Groups          []Group
	HoursPerWeek    map[string]float64 // by unit
	Loyal           float64            // share of units first seen as walk-ins that come back as customers' do
	WalkIns         []Rate
	WalkInShape     float64 // of the gamma law, mean 1, by which each pair's rate varies from week to week
	Need            map[Line]float64
	Dues            []Due // by unit and day
}

// Coming is how units that are due come in: a share is captured, after a
// geometric number of whole weeks.
type Coming struct {
	Capture, LagWeeks float64
}

// Group is units that are ridden alike: hours a week are gamma-distributed over
// units with this mean and shape, and so are the hours of a span of each, with
// the spread as their scale.
type Group struct {
	Name        string
	Holder      inventory.Holder
	Mean, Shape float64
	SpreadH     float64
}

// Rate is walk-in jobs a week at a season factor of 1, wanted on the bench;
// those booked ahead turn up by the show rate.
type Rate struct {
	Service, Model string
	PerWeek        float64
}

// Line is a line of the bill of materials.
type Line struct {
	Service, Model, Item string
}

// Due is a unit that came due at the end of a day, and when it would come. One
// that was not captured had the service done elsewhere on the bench day.
type Due struct {
	Unit, Service string // the service as foreseen; the bench may widen it
	On, Bench     inventory.Date
	Captured      bool
}

// Make invents a workshop.
func Make(c Config) Workshop {
	c = c.filled(newDice(c.Seed, streamConfig))
	m := &maker{Config: c, measure: map[string]inventory.Measure{}, ladders: map[string][]inventory.Service{}}
	m.seed = c.Seed
	m.Shop.AsOf = asOf
	m.Start = asOf - inventory.Date(7*c.Weeks)
	m.dawn = m.Start - warmUp
	m.catalogue()
	m.truth()
	m.known()
	m.walkIns()
	m.record()
	m.takings()
	m.orders()
	return m.Workshop
}

// maker is a workshop on its way.
type maker struct {
	Workshop
	Config
	dawn    inventory.Date
	measure map[string]inventory.Measure   // by item
	ladders map[string][]inventory.Service // by family
	factors []float64                      // of each day from dawn until farthest after AsOf
	jobs    []inventory.Job                // in no order, without codes
}

// passing is the group of units first seen as walk-ins.
const passing = "passing"

// truth draws the parameters.
func (m *maker) truth() {
	d := newDice(m.Seed, streamTruth)
	t := &m.Truth
	t.Config = m.Config
	t.Fleet = Coming{Capture: d.between(0.88, 1), LagWeeks: d.between(0.4, 1.6)}
	t.Customer = Coming{Capture: d.between(0.45, 0.75), LagWeeks: d.between(2, 4.5)}
	t.ShowRate, t.AheadDays = 1-m.NoShow, d.between(5, 10)
	t.Loyal, t.WalkInShape = d.between(0.3, 0.6), d.between(2, 8)
	t.Groups = []Group{
		{"hire", inventory.Fleet, d.between(6, 9), d.between(8, 20), d.between(2, 6)},
		{"race", inventory.Fleet, d.between(4, 7), d.between(5, 12), d.between(2, 6)},
		{"club", inventory.Customer, d.between(2.5, 4), d.between(3, 6), d.between(2, 6)},
		{"local", inventory.Customer, d.between(1.5, 3), d.between(2, 5), d.between(2, 6)},
		{passing, inventory.Customer, d.between(1.5, 3), d.between(2, 5), d.between(2, 6)},
	}
	t.HoursPerWeek = map[string]float64{}
	for week := 1; week <= 53; week++ {
		// Lifts run from April to October: common practice, no source.
		t.Season[week] = 1 + m.SeasonAmplitude*math.Sin(2*math.Pi*float64(week-16)/52)
	}
	for day := m.dawn; day < asOf+farthest; day++ {
		m.factors = append(m.factors, t.Season[day.Week().Number])
	}
	t.Need = map[Line]float64{}
	for _, b := range m.Shop.BOM {
		t.Need[Line{b.Service, b.Model, b.Item}] = b.Need
		if b.Need < 1 {
			t.Need[Line{b.Service, b.Model, b.Item}] = d.beta(b.Need, 15)
		}
	}
	m.rungs()
}

// record puts the jobs on the book as they stand on AsOf, and sorts what was
// filled unit by unit.
func (m *maker) record() {
	slices.SortStableFunc(m.jobs, func(a, b inventory.Job) int {
		return cmp.Or(cmp.Compare(a.BookedOn, b.BookedOn), cmp.Compare(a.BenchDate, b.BenchDate), cmp.Compare(a.Unit, b.Unit))
	})
	for n := range m.jobs {
		m.jobs[n].Code = fmt.Sprintf("J%06d", n+1)
	}
	m.Shop.Jobs = m.jobs
	slices.SortFunc(m.Shop.Units, func(a, b inventory.Unit) int { return cmp.Compare(a.Code, b.Code) })
	slices.SortFunc(m.Shop.Lots, func(a, b inventory.Lot) int { return cmp.Compare(a.Item, b.Item) })
	slices.SortFunc(m.Shop.Openings, func(a, b inventory.Count) int { return cmp.Compare(a.Item, b.Item) })
	slices.SortStableFunc(m.Truth.Dues, func(a, b Due) int { return cmp.Or(cmp.Compare(a.Unit, b.Unit), cmp.Compare(a.On, b.On)) })
}

// Lead is the days that an order of a day takes to come from a supplier: those
// quoted and a geometric number more with the mean Lateness. It depends on
// seed, supplier and day alone, so that every way of ordering meets the same
// deliveries. A supplier unknown is quoted no days.
func (w Workshop) Lead(supplier string, placed inventory.Date) int {
	quoted := 0
	for _, s := range w.Shop.Suppliers {
		if s.Code == supplier {
			quoted = s.LeadDays
		}
	}
	name := fnv.New64a()
	name.Write([]byte(supplier))
	return quoted + newDice(w.seed^name.Sum64(), uint64(placed)).geometric(w.Truth.Config.Lateness)
}
