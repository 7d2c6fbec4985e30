package rehearse

import (
	"fmt"

	"circlip/forecast"
)

// World is what happens whatever is ordered. First is a Monday, Last the last
// day replayed. Jobs are sorted by day, all from First to Last.
type World struct {
	First, Last forecast.Day
	Suppliers   []Supplier
	Items       []Item
	Jobs        []Job
	History     [][]int // steps used by item and week before First, oldest first
	// Lead is the real number of days from an order to its delivery. Nil means
	// that deliveries come as quoted; a negative number counts as none.
	Lead func(supplier int, placed forecast.Day, quoted int) int
}

// Supplier is whom items are ordered from; amounts are in minor units.
type Supplier struct {
	OrderWeekday int   // 0 is Monday, 6 Sunday
	Carriage     int64 // paid for each order
	FreeFrom     int64 // goods from which carriage is free; 0: never
	Min          int64 // goods below which an order is not taken
}

// Item is one kind of part or fluid on the shelf.
type Item struct {
	Supplier        int   // index into Suppliers
	Pack            int   // steps a pack
	Least, Multiple int   // packs an order; 0 counts as 1
	Cost            int64 // minor units a pack
	LeadDays        int   // as quoted
	Start           int   // steps on the shelf at First
	Expires         int   // days that a delivery keeps; 0: does not age
}

// Job is one job that really happened.
type Job struct {
	Day   forecast.Day
	Takes []Take
}

// Take is a line of a job: so many steps of an item. A job waits for its
// critical lines and for no other.
type Take struct {
	Item, Qty int
	Critical  bool
}

// sold is the least number of packs on sale that is not below the wanted one.
func (it Item) sold(packs int) int {
	if packs <= 0 {
		return 0
	}
	packs, multiple := max(packs, it.Least), max(it.Multiple, 1)
	return (packs + multiple - 1) / multiple * multiple
}

// weekday counts from Monday, 0; day 0 of the count was a Thursday.
func weekday(d forecast.Day) int { return ((int(d)+3)%7 + 7) % 7 }

// days is the length of the replay, weeks that of its weeks, the last of
// which may be short.
func (w World) days() int  { return int(w.Last-w.First) + 1 }
func (w World) weeks() int { return (w.days() + 6) / 7 }

// lead is the real lead time of an order.
func (w World) lead(supplier int, placed forecast.Day, quoted int) int {
	if w.Lead == nil {
		return max(quoted, 0)
	}
	return max(w.Lead(supplier, placed, quoted), 0)
}

// Check says what in a world cannot be replayed.
func (w World) Check() error {
	if weekday(w.First) != 0 {
		return fmt.Errorf("first day: found weekday %d, expected a Monday", weekday(w.First))
	}
	if w.Last < w.First {
		return fmt.Errorf("last day: found %d, expected one from the first day %d on", w.Last, w.First)
	}
	for s, sup := range w.Suppliers {
		if sup.OrderWeekday < 0 || sup.OrderWeekday > 6 {
			return fmt.Errorf("supplier %d: found order weekday %d, expected 0 to 6", s, sup.OrderWeekday)
		}
	}
	if err := w.checkItems(); err != nil {
		return err
	}
	return w.checkJobs()
}

func (w World) checkItems() error {
	if len(w.History) != 0 && len(w.History) != len(w.Items) {
		return fmt.Errorf("history: found %d items, expected %d", len(w.History), len(w.Items))
	}
	for i, it := range w.Items {
		switch {
		case it.Supplier < 0 || it.Supplier >= len(w.Suppliers):
			return fmt.Errorf("item %d: found supplier %d of %d", i, it.Supplier, len(w.Suppliers))
		case it.Pack < 1:
			return fmt.Errorf("item %d: found a pack of %d steps, expected at least 1", i, it.Pack)
		case it.Cost < 0 || it.Start < 0 || it.LeadDays < 0 || it.Expires < 0:
			return fmt.Errorf("item %d: found %+v, expected no number below zero", i, it)
		}
	}
	return nil
}

func (w World) checkJobs() error {
	before := w.First
	for j, job := range w.Jobs {
		if job.Day < before || job.Day > w.Last {
			return fmt.Errorf("job %d: found day %d, expected jobs sorted by day from %d to %d",
				j, job.Day, w.First, w.Last)
		}
		before = job.Day
		for _, t := range job.Takes {
			if t.Item < 0 || t.Item >= len(w.Items) || t.Qty < 0 {
				return fmt.Errorf("job %d: found %d steps of item %d, expected an item below %d and no less than 0 steps",
					j, t.Qty, t.Item, len(w.Items))
			}
		}
	}
	return nil
}
