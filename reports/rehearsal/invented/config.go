package invented

import (
	"time"

	"circlip/inventory"
)

// Config is what sort of workshop to invent. A field left zero takes the
// default named beside it, or is drawn from the seed where Vary is set; a
// negative number means none.
type Config struct {
	Seed            uint64
	Vary            bool    // draw what is left zero, Units, Customers and Weeks apart
	Units           int     // of the fleet at any time: 60
	Customers       int     // units of known customers at any time: 80
	Weeks           int     // from Start to AsOf, at most 2000: 156
	Models          int     // 5 to 7: 6
	WalkInShare     float64 // of the jobs that turn up, at most 0.9; without Units and Customers nobody walks in: 0.25
	SeasonAmplitude float64 // below 1: 0.6
	Meters          Meters  // MetersGood
	Lateness        float64 // mean days that suppliers are late: 1
	NoShow          float64 // share of jobs booked ahead that do not turn up: 0.06
	Recorded        float64 // share of done jobs with a job card: 0.85
}

// Meters is how well hour meters are read.
type Meters string

// The qualities of meters. A fleet's are read on Sundays, a customer's when the
// unit is on the bench.
const (
	MetersGood Meters = "good" // 95 of 100 readings are taken
	MetersFair Meters = "fair" // 70
	MetersPoor Meters = "poor" // 30
	MetersNone Meters = "none" // there are none: jobs are all that is known
)

// taken is the share of readings that are taken; a quality unknown counts as
// good.
func (m Meters) taken() float64 {
	switch m {
	case MetersNone:
		return 0
	case MetersPoor:
		return 0.30
	case MetersFair:
		return 0.70
	}
	return 0.95
}

// asOf is the Monday on which every invented workshop is seen.
var asOf = inventory.NewDate(2027, time.March, 1)

// warmUp is the days from dawn to Start, farthest those after AsOf to which a
// limit by months may lie ahead.
const (
	warmUp   = 52 * 7
	farthest = 2 * 366
)

// filled settles what was left open.
func (c Config) filled(d dice) Config {
	number := func(n *int, usual int) {
		switch {
		case *n == 0:
			*n = usual
		case *n < 0:
			*n = 0
		}
	}
	// The draw is made in any case, so that settling one field leaves the
	// others as they were.
	share := func(x *float64, usual, low, high float64) {
		drawn := d.between(low, high)
		switch {
		case *x < 0:
			*x = 0
		case *x == 0 && c.Vary:
			*x = drawn
		case *x == 0:
			*x = usual
		}
	}
	number(&c.Units, 60)
	number(&c.Customers, 80)
	number(&c.Weeks, 156)
	c.Weeks = min(c.Weeks, 2000) // days of the book begin in 1970
	drawn := 5 + d.IntN(3)
	if c.Models == 0 && c.Vary {
		c.Models = drawn
	}
	number(&c.Models, 6)
	c.Models = min(max(c.Models, 5), len(models))
	share(&c.WalkInShare, 0.25, 0.10, 0.45)
	share(&c.SeasonAmplitude, 0.6, 0.3, 0.85)
	share(&c.Lateness, 1, 0.3, 2.5)
	share(&c.NoShow, 0.06, 0.02, 0.12)
	share(&c.Recorded, 0.85, 0.6, 1)
	c.WalkInShare, c.SeasonAmplitude = min(c.WalkInShare, 0.9), min(c.SeasonAmplitude, 0.99)
	c.NoShow, c.Recorded = min(c.NoShow, 1), min(c.Recorded, 1)
	quality := []Meters{MetersGood, MetersGood, MetersFair, MetersPoor}[d.IntN(4)]
	switch {
	case c.Meters == "" && c.Vary:
		c.Meters = quality
	case c.Meters == "":
		c.Meters = MetersGood
	}
	return c
}
