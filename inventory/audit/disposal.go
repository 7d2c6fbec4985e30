package audit

import "circlip/inventory"

// Spent is one stream of a month: what was drawn of the fluids that end in it,
// what was gathered, and what went to a carrier. Volumes are in ml at the
// temperature they were measured at, weights in g; what was given one way only
// counts in that way alone. What was drawn is converted by its density at
// 15 °C; what was thrown away on record was not drawn.
type Spent struct {
	Stream              inventory.Stream
	From, To            inventory.Date // first and last day; of the latest month the day of the shop
	DrawnML, DrawnG     float64        // by the periods between counts, spread over their days
	GatheredML          float64
	GatheredG           float64
	HandedOverML        float64
	HandedOverG         float64
	HeldML, HeldG       float64        // in the workshop at the end of To; below zero: more was handed over than gathered on record
	WithoutML, WithoutG int            // records that have no volume, no weight
	CountedTo           inventory.Date // last day of the month that counts of all its fluids tell of; zero: none
}

// streamOf is where fluids of a kind end. Others end in none that is gathered.
var streamOf = map[inventory.Kind]inventory.Stream{
	inventory.Oil:     inventory.UsedOil,
	inventory.Grease:  inventory.UsedGrease,
	inventory.Solvent: inventory.UsedSolvent,
}

// Disposed sums up what was drawn, gathered and handed over, by stream and then
// by month, the oldest first, from the month in which anything was gathered or
// handed over first. What was drawn between two counts is spread evenly over
// the days after the one up to and with the other: the counts tell no more.
// Streams of which nothing is known are left out.
func Disposed(shop inventory.Shop) []Spent {
	first := shop.AsOf + 1
	for _, d := range shop.Disposals {
		first = min(first, d.Date)
	}
	if first > shop.AsOf {
		return nil
	}
	shelf := openLedger(shop, Fluids)
	shelf.counted()
	shelf.moved()
	var spent []Spent
	for _, stream := range inventory.Streams {
		months := months(stream, first, shop.AsOf)
		known := gathered(months, shop.Disposals)
		begun := shop.AsOf // with the first count of any of its fluids
		for _, item := range shop.Items {
			if a := shelf.accounts[item.Code]; a != nil && streamOf[item.Kind] == stream && len(a.counts) > 0 {
				known = true
				begun = min(begun, a.counts[0].Date)
				a.drawn(months)
			}
		}
		for i := range months {
			if months[i].To <= begun {
				months[i].CountedTo = 0
			}
		}
		if known {
			spent = append(spent, months...)
		}
	}
	return spent
}

// months are those from the day first up to the day last.
func months(stream inventory.Stream, first, last inventory.Date) (months []Spent) {
	for from := first - inventory.Date(first.Time().Day()-1); from <= last; from = from.AddMonths(1) {
		to := min(last, from.AddMonths(1)-1)
		months = append(months, Spent{Stream: stream, From: from, To: to, CountedTo: to})
	}
	return months
}

// gathered adds the records of a stream to its months, and reports whether
// there were any.
func gathered(months []Spent, disposals []inventory.Disposal) (known bool) {
	var heldML, heldG float64
	for i := range months {
		m := &months[i]
		for _, d := range disposals {
			if d.Stream != m.Stream || d.Date < m.From || d.Date > m.To {
				continue
			}
			known = true
			ml, g := &m.GatheredML, &m.GatheredG
			if d.HandedOver {
				ml, g = &m.HandedOverML, &m.HandedOverG
			}
			m.WithoutML += addKnown(ml, d.VolumeML)
			m.WithoutG += addKnown(g, d.WeightG)
		}
		heldML += m.GatheredML - m.HandedOverML
		heldG += m.GatheredG - m.HandedOverG
		m.HeldML, m.HeldG = heldML, heldG
	}
	return known
}

// addKnown adds an amount that may not be known, and says how many were not.
func addKnown(sum, amount *float64) (without int) {
	if amount == nil {
		return 1
	}
	*sum += *amount
	return 0
}

// drawn spreads what counts say was drawn of an item over the months.
func (a *account) drawn(months []Spent) {
	density := a.item.DensityKgM3 / 1000 // g a ml
	for c := 1; c < len(a.counts); c++ {
		p := a.period(a.counts[c-1], a.counts[c])
		aDay := a.item.Measure.Number(p.Drawn()) / float64(p.Days())
		for i := range months {
			days := min(p.To, months[i].To) - max(p.From, months[i].From-1)
			if days <= 0 {
				continue
			}
			amount := aDay * float64(days)
			switch a.item.Measure {
			case inventory.Millilitre:
				months[i].DrawnML += amount
				months[i].DrawnG += amount * density
			case inventory.Gram:
				months[i].DrawnG += amount
				if density > 0 {
					months[i].DrawnML += amount / density
				}
			}
		}
	}
	for i := range months {
		if last := a.counts[len(a.counts)-1].Date; last < months[i].From {
			months[i].CountedTo = 0
		} else {
			months[i].CountedTo = min(months[i].CountedTo, last)
		}
	}
}
