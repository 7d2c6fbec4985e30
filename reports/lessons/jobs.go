package lessons

import (
	"cmp"
	"slices"

	"circlip/forecast"
	"circlip/forecast/learn"
	"circlip/inventory"
)

// learnShow counts the bookings made at least a day ahead: done against missed
// or cancelled.
func (l *Lessons) learnShow(p *past) {
	for _, j := range p.jobs {
		if j.BookedOn.IsZero() || j.BookedOn >= j.BenchDate {
			continue
		}
		if j.State == inventory.Done {
			l.Show.Yes++
		} else {
			l.Show.No++
		}
	}
}

// Need is how often a line of the bill of materials is really taken.
type Need struct {
	Service, Model, Item string
	learn.Share
}

// learnNeeds counts, of the jobs that have anything recorded, those that took
// each line. A job of several services says nothing of an item that two of them
// take; what an alternate or a kit stood in for was taken.
func (l *Lessons) learnNeeds(p *past) {
	at := map[[4]string]int{}
	for i, line := range p.shop.BOM {
		l.Needs = append(l.Needs, Need{line.Service, line.Model, line.Item, learn.Share{PriorMean: line.Need, PriorWeight: needWeight}})
		at[lineKey(line)] = i
	}
	standsIn := p.standIns()
	bills := map[billKey][]inventory.BOMLine{}
	for _, j := range p.jobs {
		used := p.used[j.Code]
		if len(used) == 0 || j.State != inventory.Done {
			continue
		}
		lines := p.lines(bills, j)
		for k, line := range lines {
			if twice(lines, k) {
				continue
			}
			share := &l.Needs[at[lineKey(line)]].Share
			if used[line.Item] || slices.ContainsFunc(standsIn[line.Item], func(item string) bool { return used[item] }) {
				share.Yes++
			} else {
				share.No++
			}
		}
	}
}

// billKey is what the lines of a job depend on, but for the day, which
// decides only where the bill changes.
type billKey struct {
	services, model string
	changes         int
}

// lines are what a job should have taken; those of like jobs are looked up once.
func (p *past) lines(known map[billKey][]inventory.BOMLine, j inventory.Job) []inventory.BOMLine {
	changes, _ := slices.BinarySearch(p.changes, j.EndedOn()+1)
	key := billKey{together(j.Services), j.Model, changes}
	lines, seen := known[key]
	if !seen {
		lines = p.bill.Lines(j.Services, j.Model, j.EndedOn())
		known[key] = lines
	}
	return lines
}

// twice reports whether another line of the same job takes the same item.
// Lines are in the order of their items.
func twice(lines []inventory.BOMLine, k int) bool {
	return k > 0 && lines[k-1].Item == lines[k].Item || k+1 < len(lines) && lines[k+1].Item == lines[k].Item
}

func lineKey(l inventory.BOMLine) [4]string {
	return [4]string{l.Service, l.Model, l.Item, l.From.String()}
}

// standIns are, by item, what may have been used in its place.
func (p *past) standIns() map[string][]string {
	in := map[string][]string{}
	for _, a := range p.shop.Alternates {
		in[a.Item] = append(in[a.Item], a.Alternate)
	}
	for _, k := range p.shop.Kits {
		in[k.Item] = append(in[k.Item], k.Kit)
	}
	return in
}

// learnAhead learns how long before its bench date a job is booked, of units
// that are foreseen and of walk-ins. Those who wait for weeks book longer ahead,
// so that the units of each holder have a curve of their own.
func (l *Lessons) learnAhead(p *past) {
	known, walkIn := map[inventory.Holder][]int{}, []int(nil)
	for _, j := range p.jobs {
		switch days := int(j.BenchDate - j.BookedOn); {
		case j.BookedOn.IsZero():
		case p.foreseen(j):
			holder := p.units[j.Unit].Holder
			known[holder] = append(known[holder], days)
		default:
			walkIn = append(walkIn, days)
		}
	}
	l.Ahead = map[inventory.Holder]learn.Ahead{
		inventory.Fleet: learn.AheadOf(known[inventory.Fleet]), inventory.Customer: learn.AheadOf(known[inventory.Customer]),
	}
	l.WalkIn = learn.AheadOf(walkIn)
}

// learnReturns learns when units without a meter come back for a service.
func (l *Lessons) learnReturns(p *past) {
	gaps := make([][]learn.Gap, len(p.shop.Services))
	family := make([]int, len(p.shop.Services))
	families := map[string]int{}
	weeks := l.weeks(p)
	for at, s := range p.shop.Services {
		if _, known := families[s.Family]; !known {
			families[s.Family] = len(families)
		}
		family[at] = families[s.Family]
		for _, u := range p.shop.Units {
			if !p.metered[u.Code] {
				gaps[at] = append(gaps[at], p.gaps(u, s.Code, weeks)...)
			}
		}
	}
	l.Returns = map[string]learn.Renewal{}
	for at, r := range learn.FitRenewals(gaps, family) {
		l.Returns[p.shop.Services[at].Code] = r
	}
}

// gaps are the times between a unit's jobs of a service, the last one open.
func (p *past) gaps(u inventory.Unit, service string, weeks func(from, to inventory.Date) float64) []learn.Gap {
	var gaps []learn.Gap
	var last inventory.Date
	for _, j := range p.doneOf[u.Code] {
		if !slices.Contains(j.Services, service) {
			continue
		}
		if !last.IsZero() {
			gaps = append(gaps, learn.Gap{Weeks: weeks(last, j.EndedOn()), Returned: true})
		}
		last = j.EndedOn()
	}
	end := p.shop.AsOf
	if !u.Retired.IsZero() {
		end = min(end, u.Retired)
	}
	if !last.IsZero() && last < end {
		gaps = append(gaps, learn.Gap{Weeks: weeks(last, end)})
	}
	return gaps
}

// weeks measures season-weighted time.
func (l *Lessons) weeks(p *past) func(from, to inventory.Date) float64 {
	cal, err := forecast.NewCalendar(forecast.Day(p.shop.AsOf), 1, l.Season)
	if err != nil { // a season that no week can have: the plan refuses it, in the same words
		return func(from, to inventory.Date) float64 { return float64(to-from) / 7 }
	}
	return func(from, to inventory.Date) float64 { return float64(cal.Tau(forecast.Day(from), forecast.Day(to))) }
}

// Lead is how long a supplier takes where so many days are quoted.
type Lead struct {
	Supplier string
	learn.Lead
}

// learnLeads learns from orders that came, line by line of one day together.
func (l *Lessons) learnLeads(p *past) {
	type delivery struct {
		supplier, order string
		placed, came    inventory.Date
	}
	quoted := p.quotes()
	came := map[delivery]int{}
	for _, o := range p.shop.Orders {
		if o.ReceivedPacks > 0 && !o.PlacedOn.IsZero() && !o.ReceivedOn.IsZero() {
			days := quoted.of(o.Item, o.Supplier)
			if !o.DueOn.IsZero() {
				days = int(o.DueOn - o.PlacedOn)
			}
			came[delivery{o.Supplier, o.Order, o.PlacedOn, o.ReceivedOn}] = days
		}
	}
	receipts := map[string][]learn.Receipt{}
	for d, days := range came {
		receipts[d.supplier] = append(receipts[d.supplier], learn.Receipt{Quoted: days, Took: int(d.came - d.placed)})
	}
	for _, took := range receipts { // sums must not depend on the order of a map
		slices.SortFunc(took, func(a, b learn.Receipt) int { return cmp.Or(a.Quoted-b.Quoted, a.Took-b.Took) })
	}
	for key := range quoted.keys {
		l.Leads = append(l.Leads, Lead{key.supplier, learn.LeadOf(key.days, receipts[key.supplier])})
	}
	slices.SortFunc(l.Leads, func(a, b Lead) int {
		return cmp.Or(cmp.Compare(a.Supplier, b.Supplier), cmp.Compare(a.Quoted, b.Quoted))
	})
}

// LeadOf is the law of a supplier's days where so many are quoted; false if
// nothing was learnt of it.
func (l *Lessons) LeadOf(supplier string, quoted int) (learn.Lead, bool) {
	for _, lead := range l.Leads {
		if lead.Supplier == supplier && lead.Quoted == quoted {
			return lead.Lead, true
		}
	}
	return learn.Lead{}, false
}

// quotes are the days that offers promise.
type quotes struct {
	supplier map[string]int
	offer    map[[2]string]int
	keys     map[quote]bool
}

type quote struct {
	supplier string
	days     int
}

func (p *past) quotes() quotes {
	q := quotes{map[string]int{}, map[[2]string]int{}, map[quote]bool{}}
	for _, s := range p.shop.Suppliers {
		q.supplier[s.Code] = s.LeadDays
	}
	for _, o := range p.shop.Offers {
		if o.LeadDays != nil {
			q.offer[[2]string{o.Item, o.Supplier}] = *o.LeadDays
		}
		q.keys[quote{o.Supplier, q.of(o.Item, o.Supplier)}] = true
	}
	return q
}

func (q quotes) of(item, supplier string) int {
	if days, own := q.offer[[2]string{item, supplier}]; own {
		return days
	}
	return q.supplier[supplier]
}
