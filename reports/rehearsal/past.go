package rehearsal

import (
	"cmp"
	"slices"

	"circlip/forecast"
	"circlip/forecast/rehearse"
	"circlip/inventory"
	"circlip/reports/rehearsal/invented"
)

// Past is a workshop's whole past: the shop as it stands, what its jobs really
// took, and how long its suppliers really needed.
type Past struct {
	Shop inventory.Shop
	// Taken is what each job took, by its code and then by item.
	Taken map[string]map[string]inventory.Quantity
	// Lead is the days that an order of a day takes where so many are quoted.
	Lead func(supplier string, placed inventory.Date, quoted int) int
	// Assumed is how many jobs have nothing recorded and are taken to have used
	// what their bill of materials always takes.
	Assumed int
}

// Of is the past of a real workshop, as far as it was kept. A job without a
// record is taken to have used what its bill always takes; deliveries take what
// those of the supplier took in turn.
func Of(shop inventory.Shop) Past {
	p := Past{Shop: shop, Taken: map[string]map[string]inventory.Quantity{}}
	for _, u := range shop.Uses {
		p.take(u.Job, u.Item, u.Qty)
	}
	bill := inventory.NewBill(shop)
	measure := map[string]inventory.Measure{}
	for _, i := range shop.Items {
		measure[i.Code] = i.Measure
	}
	for _, j := range shop.Jobs {
		if j.State != inventory.Done || p.Taken[j.Code] != nil {
			continue
		}
		p.Assumed++
		for _, l := range bill.Lines(j.Services, j.Model, j.EndedOn()) {
			if l.Need >= 0.5 {
				p.take(j.Code, l.Item, l.PerJob(measure[l.Item]))
			}
		}
	}
	p.Lead = pastLeads(shop)
	return p
}

// Invented is the past of an invented workshop, of which all is known.
func Invented(w invented.Workshop) Past {
	p := Past{Shop: w.Shop, Taken: map[string]map[string]inventory.Quantity{}}
	for _, t := range w.Taken {
		p.take(t.Job, t.Item, t.Qty)
	}
	p.Lead = func(supplier string, placed inventory.Date, _ int) int { return w.Lead(supplier, placed) }
	return p
}

func (p Past) take(job, item string, qty inventory.Quantity) {
	if p.Taken[job] == nil {
		p.Taken[job] = map[string]inventory.Quantity{}
	}
	p.Taken[job][item] += qty
}

// pastLeads goes round the deliveries of each supplier: an order takes as many
// days beyond the quoted ones as the next of them did.
func pastLeads(shop inventory.Shop) func(string, inventory.Date, int) int {
	late := map[string][]int{}
	for _, o := range shop.Orders {
		if o.ReceivedPacks > 0 && o.ReceivedOn >= o.PlacedOn && !o.PlacedOn.IsZero() && !o.DueOn.IsZero() {
			late[o.Supplier] = append(late[o.Supplier], int(o.ReceivedOn-o.DueOn))
		}
	}
	return func(supplier string, placed inventory.Date, quoted int) int {
		if all := late[supplier]; len(all) > 0 {
			return max(0, quoted+all[int(placed/7)%len(all)])
		}
		return quoted
	}
}

// world is the past as a shelf lives through it, and what was used before.
type world struct {
	rehearse.World
	items    map[string]int // place in the shop
	leftOut  []string       // items used that nobody offers
	services [][]int        // by service and week: jobs done
	used     [][]int        // by item and week, those before the world too
	before   int            // weeks before the world
	monday   inventory.Date
}

// newWorld lays out so many weeks up to the shop's day, the last whole week
// before it; offers are those that a plan would follow.
func (p Past) newWorld(weeks int, usual func(item int) (inventory.Offer, bool)) *world {
	end := p.Shop.AsOf.Week().Monday()
	w := &world{items: map[string]int{}, monday: end - inventory.Date(7*weeks)}
	w.First, w.Last = forecast.Day(w.monday), forecast.Day(end-1)
	supplierAt := map[string]int{}
	for at, s := range p.Shop.Suppliers {
		supplierAt[s.Code] = at
		sup := rehearse.Supplier{OrderWeekday: (int(s.OrderWeekday) + 6) % 7, Carriage: int64(s.Carriage)}
		if s.HasFreeCarriage {
			sup.FreeFrom = max(1, int64(s.CarriageFreeFrom))
		}
		w.Suppliers = append(w.Suppliers, sup)
	}
	for at, i := range p.Shop.Items {
		w.items[i.Code] = at
		item := rehearse.Item{Pack: 1}
		if o, offered := usual(at); offered {
			supplier := p.Shop.Suppliers[supplierAt[o.Supplier]]
			lead := supplier.LeadDays
			if o.LeadDays != nil {
				lead = *o.LeadDays
			}
			item = rehearse.Item{
				Supplier: supplierAt[o.Supplier], Pack: int(o.PackQty), Least: o.MinPacks, Multiple: o.Multiple,
				Cost: int64(o.Price), LeadDays: lead,
			}
		}
		w.Items = append(w.Items, item)
	}
	w.Lead = func(supplier int, placed forecast.Day, quoted int) int {
		return p.Lead(p.Shop.Suppliers[supplier].Code, inventory.Date(placed), quoted)
	}
	p.fill(w, weeks, usual)
	return w
}

// fill puts the jobs done on their days, and what was used before into the
// history.
func (p Past) fill(w *world, weeks int, usual func(item int) (inventory.Offer, bool)) {
	jobs := slices.DeleteFunc(slices.Clone(p.Shop.Jobs), func(j inventory.Job) bool { return j.State != inventory.Done })
	slices.SortStableFunc(jobs, func(a, b inventory.Job) int {
		return cmp.Or(cmp.Compare(a.EndedOn(), b.EndedOn()), cmp.Compare(a.Code, b.Code))
	})
	before := 0
	if len(jobs) > 0 {
		before = max(0, int(w.monday-jobs[0].EndedOn().Week().Monday())/7)
	}
	w.before = before
	w.History, w.used = make([][]int, len(w.Items)), make([][]int, len(w.Items))
	for i := range w.History {
		w.used[i] = make([]int, before+weeks)
		w.History[i] = w.used[i][:before]
	}
	w.services = make([][]int, len(p.Shop.Services))
	for s := range w.services {
		w.services[s] = make([]int, before+weeks)
	}
	bill := inventory.NewBill(p.Shop)
	for _, j := range jobs {
		week := int(j.EndedOn()-w.monday+7*inventory.Date(before)) / 7
		if week < 0 || week >= before+weeks {
			continue
		}
		for _, code := range bill.Uncovered(j.Services) {
			if at := slices.IndexFunc(p.Shop.Services, func(s inventory.Service) bool { return s.Code == code }); at >= 0 {
				w.services[at][week]++
			}
		}
		job := rehearse.Job{Day: forecast.Day(j.EndedOn())}
		for _, item := range sortedItems(p.Taken[j.Code]) {
			at, known := w.items[item]
			if !known {
				continue
			}
			if _, offered := usual(at); !offered {
				if !slices.Contains(w.leftOut, item) {
					w.leftOut = append(w.leftOut, item)
				}
				continue
			}
			qty := int(p.Taken[j.Code][item])
			w.used[at][week] += qty
			if week < before {
				continue
			}
			job.Takes = append(job.Takes, rehearse.Take{Item: at, Qty: qty, Critical: p.Shop.Items[at].Critical})
		}
		if week >= before {
			w.Jobs = append(w.Jobs, job)
		}
	}
}

// weeks is how many the world has.
func (w *world) weeks() int { return int(w.Last-w.First+1) / 7 }

func sortedItems(taken map[string]inventory.Quantity) []string {
	var items []string
	for item := range taken {
		items = append(items, item)
	}
	slices.Sort(items)
	return items
}
