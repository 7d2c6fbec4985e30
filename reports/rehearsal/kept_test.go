package rehearsal

import (
	"cmp"
	"math"
	"slices"
	"testing"

	"circlip/inventory"
	"circlip/reports/rehearsal/invented"
)

// lived is a workshop whose shelf is played day by day, by its own rules for
// ordering, so that kits are sometimes there and sometimes not.
type lived struct {
	past   Past
	items  map[string]inventory.Item
	offers map[string]inventory.Offer
	leads  map[string]int
	weekly map[string]float64 // mean use in steps before the play
	known  inventory.Shop     // on the morning of the day, with the shelf of the evening before
	shelf  shelfOf
	coming []inventory.OrderLine
	comes  []inventory.Date // by line of coming
}

// shelfOf is lots by item, first expired first.
type shelfOf map[string][]inventory.Lot

// cover is so many weeks of mean use that are on the shelf or on order after
// each Monday: lean, so that many jobs are short. Lots keep for two months.
const (
	cover = 2.5
	keeps = 60
)

func settle(w invented.Workshop, from inventory.Date) *lived {
	l := &lived{
		past: Invented(w), items: map[string]inventory.Item{}, offers: map[string]inventory.Offer{}, leads: map[string]int{},
		weekly: map[string]float64{}, shelf: shelfOf{},
	}
	for _, i := range w.Shop.Items {
		l.items[i.Code] = i
	}
	for _, o := range w.Shop.Offers {
		if o.FromPacks == 1 {
			l.offers[o.Item] = o
		}
	}
	for _, s := range w.Shop.Suppliers {
		l.leads[s.Code] = s.LeadDays
	}
	for _, j := range w.Shop.Jobs {
		if j.State == inventory.Done && j.DoneOn >= w.Start && j.DoneOn < from {
			for item, q := range l.past.Taken[j.Code] {
				l.weekly[item] += float64(q) * 7 / float64(from-w.Start)
			}
		}
	}
	for item := range l.items {
		l.shelf.put(item, from, inventory.Quantity(math.Ceil(cover*l.weekly[item])))
	}
	return l
}

func (s shelfOf) put(item string, on inventory.Date, q inventory.Quantity) {
	if q > 0 {
		s[item] = append(s[item], inventory.Lot{Item: item, Code: on.String(), Received: on, Expires: on + keeps, OnHand: q})
		slices.SortStableFunc(s[item], inventory.FirstExpiredFirst)
	}
}

func (s shelfOf) has(item string, on inventory.Date) (sum inventory.Quantity) {
	for _, l := range s[item] {
		if l.UsableOn(on) {
			sum += l.OnHand
		}
	}
	return sum
}

// take removes up to q, and says what was there.
func (s shelfOf) take(item string, q inventory.Quantity, on inventory.Date) (taken inventory.Quantity) {
	for k := range s[item] {
		if l := &s[item][k]; l.UsableOn(on) {
			n := min(q-taken, l.OnHand)
			l.OnHand -= n
			taken += n
		}
	}
	return taken
}

func (s shelfOf) clone() shelfOf {
	c := shelfOf{}
	for item, lots := range s {
		c[item] = slices.Clone(lots)
	}
	return c
}

// open takes kits apart until so much of an item is there, or no kit is left.
func (l *lived) open(s shelfOf, kit, item string, q inventory.Quantity, on inventory.Date) {
	for kit != "" && s.has(item, on) < q && s.take(kit, 1, on) == 1 {
		for _, part := range l.past.Shop.Kits {
			if part.Kit == kit {
				s.put(part.Item, on, part.Qty)
			}
		}
	}
}

// dawn is the morning of a day: the evening's shelf goes into what is known, then
// deliveries come, and on Mondays orders go.
func (l *lived) dawn(day inventory.Date) {
	l.known = l.past.known(day)
	l.known.Orders = slices.Clone(l.coming)
	for _, i := range l.past.Shop.Items {
		l.known.Lots = append(l.known.Lots, l.shelf[i.Code]...)
	}
	for k := range l.coming {
		if o := &l.coming[k]; l.comes[k] == day {
			o.ReceivedOn, o.ReceivedPacks = day, o.Packs
			l.shelf.put(o.Item, day, inventory.Quantity(o.Packs)*o.PackQty)
		}
	}
	if day.Weekday() == 1 {
		for _, i := range l.past.Shop.Items {
			l.order(i.Code, day)
		}
	}
}

func (l *lived) order(item string, day inventory.Date) {
	o, offered := l.offers[item]
	position := l.shelf.has(item, day)
	for _, c := range l.coming {
		if c.Item == item {
			position += c.Outstanding()
		}
	}
	lacks := inventory.Quantity(math.Ceil(cover*l.weekly[item])) - position
	if !offered || lacks <= 0 {
		return
	}
	packs := int((lacks + o.PackQty - 1) / o.PackQty)
	l.coming = append(l.coming, inventory.OrderLine{
		Order: day.String(), Item: item, Supplier: o.Supplier, Packs: packs, PackQty: o.PackQty,
		PlacedOn: day, DueOn: day + inventory.Date(l.leads[o.Supplier]),
	})
	l.comes = append(l.comes, day+inventory.Date(l.past.Lead(o.Supplier, day, l.leads[o.Supplier])))
}

// kept counts the jobs of some days that were told ready the evening before and
// came to the bench, and those of them whose kit was there.
type kept struct {
	jobs   int // that came, told ready or not
	told   int
	packed int // with all trays packed in the evening, in their order
	turn   int // with each tray packed at the job's turn, jobs taking what they really take
	among  int // the same, walk-ins having taken theirs first
}

// day plays one day and counts its jobs.
func (l *lived) day(day inventory.Date, count *kept) {
	evening := l.shelf.clone()
	l.dawn(day)
	var kits []inventory.JobKit
	came := map[string]bool{}
	for _, k := range inventory.Kits(l.known) {
		if k.BenchDate == day {
			kits = append(kits, k)
		}
	}
	for _, j := range l.past.Shop.Jobs {
		if j.State == inventory.Done && j.DoneOn == day {
			came[j.Code] = true
		}
	}
	turn := evening.clone()
	packed := l.work(evening, kits, nil, day)
	atTurn := l.work(turn, kits, came, day)
	for _, code := range sortedJobs(came) {
		if !slices.ContainsFunc(kits, func(k inventory.JobKit) bool { return k.Job == code }) {
			for _, item := range sortedItems(l.past.Taken[code]) {
				l.shelf.take(item, l.past.Taken[code][item], day)
			}
		}
	}
	among := l.work(l.shelf, kits, came, day)
	for _, k := range kits {
		if !came[k.Job] {
			continue
		}
		count.jobs++
		if k.State == inventory.Ready {
			count.told++
			count.packed += one(packed[k.Job])
			count.turn += one(atTurn[k.Job])
			count.among += one(among[k.Job])
		}
	}
}

// work packs the trays of kits in turn and says which had all that every such
// job needs. Where came is given, only those jobs come, and they take what they
// really took; else all come, and take what they were promised for certain.
func (l *lived) work(s shelfOf, kits []inventory.JobKit, came map[string]bool, day inventory.Date) map[string]bool {
	there := map[string]bool{}
	for _, k := range kits {
		if came != nil && !came[k.Job] {
			continue
		}
		there[k.Job] = true
		for _, line := range k.Lines {
			sure := surely(line)
			takes := sure
			if came != nil {
				takes = l.past.Taken[k.Job][line.Item]
			}
			item := cmp.Or(line.Alternate, line.Item)
			l.open(s, line.FromKit, item, max(sure, takes), day)
			if line.Critical && s.has(item, day) < sure {
				there[k.Job] = false
			}
			s.take(item, takes, day)
		}
	}
	return there
}

// surely is what a line was promised for certain from the shelf.
func surely(line inventory.KitLine) inventory.Quantity {
	if line.Probability < 1 {
		return 0
	}
	return line.Need - line.Short - line.FromOrder
}

func one(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

func sortedJobs(came map[string]bool) []string {
	var codes []string
	for code := range came {
		codes = append(codes, code)
	}
	slices.Sort(codes)
	return codes
}

// A promise is kept: over half a year of six workshops, the parts that every
// such job needs are there for each job that was told ready the evening before,
// whoever packs the trays then. Where trays are packed at each job's turn
// instead, jobs before it may have taken more than their bill says, and walk-ins
// what nobody foresaw.
func TestAPromiseIsKept(t *testing.T) {
	var all kept
	for seed := range uint64(6) {
		w := invented.Make(invented.Config{Seed: seed, Units: 240, Customers: 300, Weeks: 52, Vary: seed > 2})
		from := w.Shop.AsOf - 26*7
		l := settle(w, from)
		var count kept
		for day := from; day < w.Shop.AsOf; day++ {
			l.day(day, &count)
		}
		t.Logf("seed %d: %+v", seed, count)
		if count.told < 100 || count.told > count.jobs*95/100 {
			t.Errorf("seed %d: %d of %d jobs were told ready, expected enough of them and of the others to tell", seed, count.told, count.jobs)
		}
		if count.packed != count.told {
			t.Errorf("seed %d: %d of %d kits told ready could be packed in the evening, expected all", seed, count.packed, count.told)
		}
		all.told, all.turn, all.among = all.told+count.told, all.turn+count.turn, all.among+count.among
	}
	for what, n := range map[string]int{"packed at their turn": all.turn, "with walk-ins first": all.among} {
		if share := float64(n) / float64(all.told); share < 0.99 {
			t.Errorf("%s: %d of %d kits told ready were there, %.4f, expected at least 0.99", what, n, all.told, share)
		}
	}
}
