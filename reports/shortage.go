package reports

import (
	"fmt"
	"math"

	"circlip/inventory"
	"circlip/reports/plan"
)

// jobShortage is a booked job with those of its lines that lack.
type jobShortage struct {
	inventory.JobKit
	lacking []lackingLine
	covered []lackingLine // on the shelf, of parts that not every such job takes
}

// lackingLine is a line that the shelf does not cover, and what helps.
type lackingLine struct {
	inventory.KitLine
	item   inventory.Item
	comes  inventory.Date // what covers it; zero: nothing does, or it is here
	action string
}

// missing is what the shelf lacks of the item itself.
func (l lackingLine) missing() inventory.Quantity { return l.Need - l.SetAside - l.FromFree }

// shortages goes through the kits in the order in which they were promised,
// and lets what the plan orders fill what is short, first come first served.
func shortages(p plan.Plan) []jobShortage {
	items := make(map[string]inventory.Item, len(p.Items))
	for _, i := range p.Items {
		items[i.Item.Code] = i.Item
	}
	named := func(code string) inventory.Item {
		if i, known := items[code]; known {
			return i
		}
		return inventory.Item{Code: code, Measure: inventory.Each}
	}
	ordered := orderedLines(p)
	jobs := make([]jobShortage, 0, len(p.Kits))
	for _, k := range p.Kits {
		job := jobShortage{JobKit: k}
		for _, l := range k.Lines {
			lacks := lackingLine{KitLine: l, item: named(l.Item)}
			switch {
			case lacks.missing() <= 0:
				if l.Probability < 1 {
					job.covered = append(job.covered, lacks)
				}
				continue
			case l.Short > 0:
				lacks.comes, lacks.action = remedy(p, k, l, ordered[l.Item])
			case l.Alternate != "":
				lacks.action = ifNeeded(l) + "use " + itemName(named(l.Alternate)) + " instead"
			case l.FromKit != "":
				lacks.action = ifNeeded(l) + "open one " + itemName(named(l.FromKit))
			default:
				lacks.comes, lacks.action = l.ArrivesOn, "on order: "+shortDay(l.ArrivesOn)+", in time"
			}
			job.lacking = append(job.lacking, lacks)
		}
		jobs = append(jobs, job)
	}
	return jobs
}

// ifNeeded begins what to do about a part that not every such job takes.
func ifNeeded(l inventory.KitLine) string {
	if l.Probability < 1 {
		return "if it is needed, "
	}
	return ""
}

// orderedLine is what an order of the plan still has for jobs that are short.
type orderedLine struct {
	left inventory.Quantity
	on   inventory.Date
}

// orderedLines are the plan's own lines by item; an item stands on one order.
func orderedLines(p plan.Plan) map[string]*orderedLine {
	lines := map[string]*orderedLine{}
	for _, o := range p.Orders {
		for _, l := range o.Lines {
			lines[l.Item.Code] = &orderedLine{l.Qty, l.ExpectedOn}
		}
	}
	return lines
}

// remedy is the soonest that a short line is filled, by what is on order
// already or by this plan's order.
func remedy(p plan.Plan, k inventory.JobKit, l inventory.KitLine, ordered *orderedLine) (inventory.Date, string) {
	bench := max(k.BenchDate, p.AsOf)
	switch {
	case l.Late(bench) && (ordered == nil || l.ArrivesOn <= ordered.on):
		return l.ArrivesOn, "on order: " + lateness(l.ArrivesOn, bench)
	case ordered != nil && ordered.left >= l.Short:
		if l.Probability == 1 {
			ordered.left -= l.Short
		}
		return ordered.on, "this order: " + lateness(ordered.on, bench)
	case l.Probability < 1:
		return 0, "not on order: look at the unit first"
	}
	return 0, "not on order: buy it or move the job"
}

// lateness sets a day against the one on which the job is due.
func lateness(comes, bench inventory.Date) string {
	switch days := comes - bench; {
	case days <= 0:
		return shortDay(comes) + ", in time"
	case days == 1:
		return shortDay(comes) + ", 1 day late"
	default:
		return fmt.Sprintf("%s, %d days late", shortDay(comes), days)
	}
}

// advice says in a few words what the whole job needs. Parts that every such
// job takes come first; one that may not be needed is a reason to look.
func (j jobShortage) advice(p plan.Plan) string {
	bench := max(j.BenchDate, p.AsOf)
	sure, maybe := j.worst(true), j.worst(false)
	switch {
	case len(j.lacking) == 0 && j.BenchDate < p.AsOf:
		return "overdue: close or move it"
	case len(j.lacking) == 0:
		return "all there"
	case sure == never:
		return "buy what lacks, or move it"
	case sure > bench:
		return "move it to " + shortDay(sure) + " or fetch the part sooner"
	case maybe > bench:
		return "look at the unit first: it may not need the part"
	}
	return "stays as booked: once ordered, all of it comes in time"
}

// never stands for the day of what nothing brings.
const never = inventory.Date(math.MaxInt32)

// worst is the last day on which a short line comes, of those that the job is
// sure to take or of the others.
func (j jobShortage) worst(sure bool) inventory.Date {
	last := inventory.Date(0)
	for _, l := range j.lacking {
		switch {
		case l.Short == 0 || !l.Critical || (l.Probability == 1) != sure:
		case l.comes.IsZero():
			return never
		default:
			last = max(last, l.comes)
		}
	}
	return last
}
