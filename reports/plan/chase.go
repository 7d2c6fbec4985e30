package plan

import (
	"cmp"
	"fmt"
	"slices"

	"circlip/inventory"
)

// Chase is a line on order that is late, or that comes too late for a job.
type Chase struct {
	Order    string
	Supplier inventory.Supplier
	Item     inventory.Item
	Packs    int                // still to come
	Qty      inventory.Quantity // in them
	DueOn    inventory.Date     // where the order has no day, as quoted when it was placed
	DaysLate int                // on the day of the plan; 0: not yet late
	Jobs     []string           // booked jobs that it comes too late for, or that count on it once it is late, by bench date
	Bench    inventory.Date     // of the first of them, today where it has passed; zero: none
	CallBy   inventory.Date     // the last day on which a call still helps
	Why      string             // one sentence: what to do and why by then
}

// chases lists what to call suppliers about, the most pressing first: what is
// late, what comes after the bench date of a job, and what a job counts on
// although the supplier's past deliveries say that it will rather come after
// its bench date.
func (v *view) chases(kits []inventory.JobKit) []Chase {
	var all []Chase
	for _, c := range v.coming(kits) {
		if chase, needed := v.chase(c); needed {
			all = append(all, chase)
		}
	}
	slices.SortStableFunc(all, func(a, b Chase) int {
		return cmp.Or(
			cmp.Compare(a.CallBy, b.CallBy),
			cmp.Compare(unsigned(a.Bench), unsigned(b.Bench)),
			cmp.Compare(a.Order, b.Order), cmp.Compare(a.Item.Code, b.Item.Code),
		)
	})
	return all
}

// unsigned sorts no day behind every day.
func unsigned(d inventory.Date) uint32 { return uint32(d) - 1 }

// onItsWay is a line still to come with the jobs that wait for it.
type onItsWay struct {
	inventory.OrderLine
	due   inventory.Date     // as told, else as quoted
	comes inventory.Date     // as the kits take it: as told, today once it is late
	left  inventory.Quantity // promised to no job yet
	jobs  []waitingJob       // by bench date
}

// waitingJob is a booked job that cannot be done without a delivery.
type waitingJob struct {
	code   string
	bench  inventory.Date
	sure   bool // it takes the item for certain
	missed bool // the delivery is due after the bench date
}

// coming are the lines still to come, the next first, each with the jobs that
// the kits promise it to or that it comes too late for. Kits are promised by
// bench date, from the earliest delivery on, as inventory.Kits does.
func (v *view) coming(kits []inventory.JobKit) []*onItsWay {
	var all []*onItsWay
	of := map[string][]*onItsWay{}
	for _, o := range v.Orders {
		if _, known := v.itemAt[o.Item]; known && o.Outstanding() > 0 {
			all = append(all, &onItsWay{OrderLine: o, due: v.due(o), comes: max(o.DueOn, v.AsOf), left: o.Outstanding()})
		}
	}
	slices.SortStableFunc(all, func(a, b *onItsWay) int { return cmp.Compare(a.comes, b.comes) })
	for _, c := range all {
		of[c.Item] = append(of[c.Item], c)
	}
	for _, k := range kits {
		for _, l := range k.Lines {
			v.await(of[l.Item], k, l)
		}
	}
	return all
}

// due is the day for which a line was told, else quoted; one that has neither
// is due today for ever, and never late.
func (v *view) due(o inventory.OrderLine) inventory.Date {
	switch {
	case !o.DueOn.IsZero():
		return o.DueOn
	case !o.PlacedOn.IsZero():
		return o.PlacedOn + inventory.Date(v.quoted(o.Item, o.Supplier))
	}
	return v.AsOf
}

// await notes which deliveries a line of a kit waits for.
func (v *view) await(deliveries []*onItsWay, k inventory.JobKit, l inventory.KitLine) {
	job := waitingJob{code: k.Job, bench: max(k.BenchDate, v.AsOf), sure: l.Probability >= 1}
	job.missed = l.Late(job.bench)
	lacks := l.FromOrder
	for _, d := range deliveries {
		switch {
		case d.left == 0:
		case !job.sure || job.missed: // it takes nothing away from later jobs
			if d.comes == l.ArrivesOn && (job.missed || lacks > 0) {
				d.wait(job, l.Critical)
				return
			}
		case lacks > 0:
			taken := min(lacks, d.left)
			lacks, d.left = lacks-taken, d.left-taken
			d.wait(job, l.Critical)
		}
	}
}

// wait adds a job once, however many of its lines take the item; no job waits
// for a line that is not critical.
func (d *onItsWay) wait(job waitingJob, critical bool) {
	if critical && !slices.ContainsFunc(d.jobs, func(w waitingJob) bool { return w.code == job.code }) {
		d.jobs = append(d.jobs, job)
	}
}

// chase decides whether to call about a delivery, and by when.
func (v *view) chase(d *onItsWay) (Chase, bool) {
	c := Chase{
		Order: d.Order, Supplier: v.supplierOf(d.Supplier), Item: v.Items[v.itemAt[d.Item]],
		Packs: d.Packs - d.ReceivedPacks, Qty: d.Outstanding(),
		DueOn: d.due, DaysLate: int(max(0, v.AsOf-d.due)), CallBy: v.AsOf,
	}
	var first waitingJob
	for _, job := range d.jobs {
		if c.DaysLate == 0 && !job.missed && v.afterDay(d, job.bench) <= evens {
			continue
		}
		if len(c.Jobs) == 0 {
			first, c.Bench = job, job.bench
		}
		c.Jobs = append(c.Jobs, job.code)
	}
	switch {
	case c.DaysLate > 0:
		c.Why = whyLate(c, first)
	case len(c.Jobs) == 0:
		return Chase{}, false
	default:
		last := v.lastCall(d, first.bench)
		c.CallBy = max(v.AsOf, last.day)
		c.Why = v.whyTooLate(d, first) + last.advice(first)
	}
	return c, true
}

// evens is the probability above which a delivery is rather late than not.
const evens = 0.5

// afterDay is the probability, by what was learnt of the supplier, that a
// delivery which has not come yet comes after a day; 0 where nothing was
// learnt. The days beyond the quoted ones are taken for those of this order.
func (v *view) afterDay(d *onItsWay, day inventory.Date) float64 {
	lead, learnt := v.lessons.LeadOf(d.Supplier, v.quoted(d.Item, d.Supplier))
	if !learnt {
		return 0
	}
	after, still := 0.0, 0.0
	for i, days := range lead.Days {
		comes := d.due + inventory.Date(days-lead.Quoted)
		if comes >= v.AsOf {
			still += lead.Prob[i]
		}
		if comes > max(day, v.AsOf-1) {
			after += lead.Prob[i]
		}
	}
	if still == 0 {
		return 0
	}
	return after / still
}

// supplierOf is a supplier by its code, also one that the book has lost.
func (v *view) supplierOf(code string) inventory.Supplier {
	s := v.supplier[code]
	s.Code = code
	return s
}

// quoted is the days in which a supplier says that it delivers an item.
func (v *view) quoted(item, supplier string) int {
	for _, o := range v.offers[item] {
		if o.Supplier == supplier {
			return v.leadDays(o)
		}
	}
	return v.supplier[supplier].LeadDays
}

// lastCall is a day on which a call can still bring an item in time, and who
// can do so in how many days; the zero lastCall means that nobody can.
type lastCall struct {
	day      inventory.Date
	supplier inventory.Supplier
	days     int
}

// lastCall is the last open day, today or later, on which any supplier of the
// item, or the one whose order this is, could be asked to bring it by a day.
func (v *view) lastCall(d *onItsWay, by inventory.Date) lastCall {
	var last lastCall
	try := func(supplier string, days int) {
		if day := v.lastOpen(supplier, inventory.Date(days), by); day > last.day {
			last = lastCall{day, v.supplierOf(supplier), days}
		}
	}
	try(d.Supplier, v.quoted(d.Item, d.Supplier))
	for _, o := range v.offers[d.Item] {
		try(o.Supplier, v.leadDays(o))
	}
	return last
}

// lastOpen is the last day, today or later, on which somebody can be asked at a
// supplier, and what it then sends is there by a day; zero: there is none.
func (v *view) lastOpen(supplier string, lead, by inventory.Date) inventory.Date {
	s := v.supplierOf(supplier)
	for day := by - lead; day >= v.AsOf; day-- {
		closed := weekend(day) || v.days.Closed(supplier, day) || v.days.Missed(s, day)
		if !closed && v.days.Delivery(supplier, day+lead) <= by {
			return day
		}
	}
	return 0
}

// whyLate says what to do about a line that is past its day.
func whyLate(c Chase, first waitingJob) string {
	since := fmt.Sprintf("It is %s late", days(c.DaysLate))
	if len(c.Jobs) == 0 {
		return since + ": ask when it comes, or take it off the order."
	}
	return fmt.Sprintf("%s, and %s: ask when it comes.", since, first.counts())
}

// whyTooLate says how a line that is not late misses a job.
func (v *view) whyTooLate(d *onItsWay, first waitingJob) string {
	if first.missed {
		return fmt.Sprintf("%s, and it is due %s later: ", first.needs(), days(int(d.comes-first.bench)))
	}
	return fmt.Sprintf("%s; going by the past, %s brings it later with a probability of %.0f %%: ",
		first.counts(), nameOf(v.supplierOf(d.Supplier)), 100*v.afterDay(d, first.bench))
}

// advice ends the sentence on a line that misses a job.
func (l lastCall) advice(first waitingJob) string {
	switch {
	case l.day.IsZero() && !first.missed:
		return "no supplier can replace it in time any more; ask for a firm day, or move the job."
	case l.day.IsZero() && !first.sure:
		return "no supplier can bring it in time any more; look at the unit first, or move the job."
	case l.day.IsZero():
		return "no supplier can bring it in time any more; move the job."
	case l.days == 0:
		return fmt.Sprintf("ask for it sooner; %s can bring it the same day.", nameOf(l.supplier))
	}
	return fmt.Sprintf("ask for it sooner; %s can bring it in %s.", nameOf(l.supplier), days(l.days))
}

// needs says that the job takes the item, or may, on its day.
func (w waitingJob) needs() string {
	verb := "needs"
	if !w.sure {
		verb = "may need"
	}
	return fmt.Sprintf("%s %s it on %s", w.code, verb, w.bench.Time().Format("Mon 2 Jan"))
}

// counts says that the job was promised the item for its day.
func (w waitingJob) counts() string {
	return fmt.Sprintf("%s counts on it for %s", w.code, w.bench.Time().Format("Mon 2 Jan"))
}

func days(n int) string {
	if n == 1 {
		return "1 day"
	}
	return fmt.Sprintf("%d days", n)
}

// nameOf is the supplier's code where the book has no name.
func nameOf(s inventory.Supplier) string { return cmp.Or(s.Name, s.Code) }
