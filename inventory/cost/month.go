package cost

import (
	"cmp"
	"fmt"
	"time"

	"circlip/inventory"
)

// Month is a month of the calendar.
type Month struct {
	Year   int
	Number time.Month
}

// MonthOf is the month that holds the day.
func MonthOf(d inventory.Date) Month {
	y, m, _ := d.Time().Date()
	return Month{y, m}
}

// String is 2027-02.
func (m Month) String() string { return fmt.Sprintf("%04d-%02d", m.Year, m.Number) }

// Add is the month so many months later.
func (m Month) Add(months int) Month {
	return MonthOf(inventory.NewDate(m.Year, m.Number+time.Month(months), 1))
}

// compare is negative where m comes before the other.
func (m Month) compare(other Month) int {
	return cmp.Or(cmp.Compare(m.Year, other.Year), cmp.Compare(m.Number, other.Number))
}

// Flow is the value of what came to the shelf and of what left it. All are
// above zero as a rule; what was undone or sent back is taken off where it had
// been added, in the month in which that happened.
type Flow struct {
	Opening inventory.Money // the shelf as first written down
	Bought  inventory.Money // deliveries less returns
	Found   inventory.Money // what counts found too much
	Kits    inventory.Money // parts of opened kits less those kits, and the odd minor unit of what went from lot to lot
	Used    inventory.Money // at the bench
	Wasted  inventory.Money // spilled, torn, expired
	Missing inventory.Money // what counts found missing
}

// Change is what the flow adds to the value of the shelf.
func (f Flow) Change() inventory.Money {
	return f.Opening + f.Bought + f.Found + f.Kits - f.Used - f.Wasted - f.Missing
}

func (f Flow) plus(g Flow) Flow {
	return Flow{
		f.Opening + g.Opening, f.Bought + g.Bought, f.Found + g.Found, f.Kits + g.Kits,
		f.Used + g.Used, f.Wasted + g.Wasted, f.Missing + g.Missing,
	}
}

// add puts a move's value where it belongs. What undoes a count's difference
// belongs to that difference, though it runs the other way.
func (f *Flow) add(m Move, value inventory.Money) {
	switch m.Place {
	case inventory.FromStart:
		f.Opening += value
	case inventory.FromOrder:
		f.Bought += value
	case inventory.AtJob:
		f.Used -= value
	case inventory.Wasted:
		f.Wasted -= value
	case inventory.Difference:
		if (m.Qty > 0) != m.Undoes {
			f.Found += value
		} else {
			f.Missing -= value
		}
	default: // what turns stock into other stock: a kit into its parts, a lot into another
		f.Kits += value
	}
}

// MonthFlow is the flow of one month and the value of the shelf around it.
type MonthFlow struct {
	Month      Month
	Start, End inventory.Money
	Flow
}

// months is the flow of every month, from the first move's to that of the day.
func months(asOf inventory.Date, moves []Move, values []inventory.Money) []MonthFlow {
	if len(moves) == 0 {
		return nil
	}
	flows := map[Month]*Flow{}
	first, last := MonthOf(moves[0].On), MonthOf(asOf)
	for n, m := range moves {
		month := MonthOf(m.On)
		if flows[month] == nil {
			flows[month] = &Flow{}
		}
		flows[month].add(m, values[n])
		if month.compare(first) < 0 {
			first = month
		}
		if month.compare(last) > 0 {
			last = month
		}
	}
	var list []MonthFlow
	worth := inventory.Money(0)
	for month := first; month.compare(last) <= 0; month = month.Add(1) {
		of := MonthFlow{Month: month, Start: worth}
		if f := flows[month]; f != nil {
			of.Flow = *f
		}
		worth += of.Change()
		of.End = worth
		list = append(list, of)
	}
	return list
}
