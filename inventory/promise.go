package inventory

import (
	"cmp"
	"slices"
)

// JobKit is one open job and whether its kit will be there on its bench date.
type JobKit struct {
	Job         string
	BenchDate   Date
	Services    []string
	Model, Unit string
	State       KitState
	Lines       []KitLine
}

// KitState says whether a kit is there.
type KitState string

// Ready: every critical line is set aside or free on the shelf. Coming: what
// lacks is on order and due by the bench date. Short: something is not.
const (
	Ready  KitState = "ready"
	Coming KitState = "coming"
	Short  KitState = "short"
)

// KitLine is one line of a kit and where its quantity comes from. SetAside,
// FromFree, FromOrder, what FromKit supplies, and Short add up to Need; an
// Alternate supplies all of it.
type KitLine struct {
	Item        string
	Critical    bool
	Need        Quantity
	Probability float64 // that the job takes it
	SetAside    Quantity
	FromFree    Quantity
	FromOrder   Quantity // due by the bench date
	ArrivesOn   Date     // of FromOrder; where Short > 0, of what comes too late
	Alternate   string   // item that stands in for all of it
	FromKit     string   // kit to be opened for what lacked
	Short       Quantity
}

// Late reports whether what lacks is on order but comes after the bench date.
func (l KitLine) Late(bench Date) bool { return l.Short > 0 && l.ArrivesOn > bench }

// Kits walks the open jobs by bench date and promises each line in turn: what
// is set aside for it, then what is free, first expired first out, then what is
// on order and due by the day where that is enough; where it is not, an
// alternate for the whole line, else a kit that can be opened for what lacks.
// Nothing is promised past its expiry on the bench day, set aside or not. What
// is promised to one job is not there for the next, but what is left of an
// opened kit is. A line that is only sometimes needed takes nothing for
// certain: it is covered while the jobs up to it find enough with at least the
// shop's readiness as probability, and as much is kept back from later jobs.
// Jobs dated before AsOf count as of AsOf.
func Kits(shop Shop) []JobKit {
	return newPromises(shop).kitsOf(shop, NewBill(shop))
}

// kitsOf promises the open jobs their kits in turn.
func (p *promises) kitsOf(shop Shop, bill *Bill) []JobKit {
	var kits []JobKit
	for _, job := range openJobs(shop) {
		kits = append(kits, p.kit(bill, job, max(job.BenchDate, shop.AsOf)))
	}
	return kits
}

// kit promises one job its lines on a day.
func (p *promises) kit(bill *Bill, job Job, on Date) JobKit {
	kit := JobKit{Job: job.Code, BenchDate: job.BenchDate, Services: job.Services, Model: job.Model, Unit: job.Unit, State: Ready}
	for _, l := range bill.Lines(job.Services, job.Model, on) {
		line := p.promise(l, job.Code, on)
		kit.Lines = append(kit.Lines, line)
		kit.State = worse(kit.State, line)
	}
	return kit
}

func worse(state KitState, l KitLine) KitState {
	switch {
	case !l.Critical || state == Short:
		return state
	case l.Short > 0:
		return Short
	case l.FromOrder > 0:
		return Coming
	}
	return state
}

func openJobs(shop Shop) []Job {
	var open []Job
	for _, j := range shop.Jobs {
		if j.State == Booked {
			open = append(open, j)
		}
	}
	slices.SortStableFunc(open, func(a, b Job) int {
		return cmp.Or(cmp.Compare(max(a.BenchDate, shop.AsOf), max(b.BenchDate, shop.AsOf)), cmp.Compare(a.BenchDate, b.BenchDate), cmp.Compare(a.Code, b.Code))
	})
	return open
}

// promises is what is still free to be promised, by item.
type promises struct {
	before    *promises // of which this is a fork
	readiness float64
	items     map[string]Item
	stock     map[string]*pool
	stand     map[string][]Alternate
	kits      map[string][]KitPart // by item: the kits that hold it
	contents  map[string][]KitPart // by kit
}

func newPromises(shop Shop) *promises {
	p := &promises{
		readiness: shop.Settings.Readiness,
		items:     map[string]Item{}, stock: map[string]*pool{}, stand: map[string][]Alternate{},
		kits: map[string][]KitPart{}, contents: map[string][]KitPart{},
	}
	for _, i := range shop.Items {
		p.items[i.Code] = i
	}
	for _, l := range shop.Lots {
		p.of(l.Item).add(l)
	}
	for _, o := range shop.Orders {
		if q := o.Outstanding(); q > 0 {
			pool := p.of(o.Item)
			pool.coming = append(pool.coming, delivery{max(o.DueOn, shop.AsOf), q})
		}
	}
	for _, pool := range p.stock {
		slices.SortFunc(pool.lots, FirstExpiredFirst)
		slices.SortStableFunc(pool.coming, func(a, b delivery) int { return cmp.Compare(a.on, b.on) })
	}
	for _, a := range shop.Alternates {
		p.stand[a.Item] = append(p.stand[a.Item], a)
	}
	for _, as := range p.stand {
		slices.SortStableFunc(as, func(a, b Alternate) int { return cmp.Compare(a.Rank, b.Rank) })
	}
	for _, k := range shop.Kits {
		p.kits[k.Item] = append(p.kits[k.Item], k)
		p.contents[k.Kit] = append(p.contents[k.Kit], k)
	}
	return p
}

// fork is the promises as they stand: what is promised from it leaves them as
// they are. Pools are copied when they are first asked for.
func (p *promises) fork() *promises {
	f := *p
	f.before, f.stock = p, map[string]*pool{}
	return &f
}

func (p *promises) of(item string) *pool {
	switch {
	case p.stock[item] != nil:
	case p.before != nil:
		p.stock[item] = p.before.of(item).clone()
	default:
		p.stock[item] = &pool{aside: map[string][]Lot{}, chance: nothing}
	}
	return p.stock[item]
}

func (p *promises) promise(b BOMLine, job string, on Date) KitLine {
	item, pool := p.items[b.Item], p.of(b.Item)
	line := KitLine{Item: b.Item, Critical: item.Critical, Need: b.PerJob(item.Measure), Probability: b.Need}
	line.SetAside = min(line.Need, pool.keptFor(job, on))
	switch lacks := line.Need - line.SetAside; {
	case lacks == 0:
	case b.Need < 1:
		p.promiseByChance(&line, pool, lacks, on)
	default:
		p.promiseForSure(&line, pool, lacks, on)
	}
	pool.takeAside(job, line.SetAside, on)
	if line.Short > 0 {
		line.ArrivesOn = pool.nextAfter(on, line.ArrivesOn)
	}
	return line
}

func (p *promises) promiseForSure(line *KitLine, pool *pool, lacks Quantity, on Date) {
	free := min(lacks, max(0, pool.free(on)-pool.kept))
	lacks -= free
	due := max(0, pool.free(on)-free+pool.due(on)-pool.kept)
	if lacks > due && p.alternate(line, on) {
		line.SetAside = 0
		return
	}
	line.FromFree = pool.take(free, on)
	switch {
	case lacks == 0:
	case lacks <= due:
		line.FromOrder, line.ArrivesOn = pool.takeComing(lacks, on)
	default:
		line.Short = p.openFor(line, lacks, on)
	}
}

// alternate looks for one that can stand in for all that the line needs, the
// best rank first. What a job takes of an item and what it takes of another in
// its stead are not mixed: two oils in one damper, one old and one new wiper.
func (p *promises) alternate(line *KitLine, on Date) bool {
	for _, a := range p.stand[line.Item] {
		other := p.of(a.Alternate)
		if other.free(on)-other.kept >= line.Need {
			other.take(line.Need, on)
			line.Alternate = a.Alternate
			return true
		}
	}
	return false
}

// openFor looks for a kit to open for all that lacks; what is still short is
// returned.
func (p *promises) openFor(line *KitLine, lacks Quantity, on Date) Quantity {
	for _, k := range p.kits[line.Item] {
		whole := p.of(k.Kit)
		opened := (lacks + k.Qty - 1) / k.Qty
		if whole.free(on)-whole.kept >= opened {
			p.open(k.Kit, opened, on)
			p.of(line.Item).take(lacks, on)
			line.FromKit = k.Kit
			return 0
		}
	}
	return lacks
}

// open puts the parts of opened kits on the shelf, with the kits' expiry.
func (p *promises) open(kit string, opened Quantity, on Date) {
	for opened > 0 {
		lot := p.of(kit).first(on)
		n := min(opened, lot.OnHand)
		lot.OnHand -= n
		opened -= n
		for _, part := range p.contents[kit] {
			pool := p.of(part.Item)
			pool.lots = append(pool.lots, Lot{Item: part.Item, Code: lot.Code, Received: lot.Received, Expires: lot.Expires, OnHand: n * part.Qty})
			slices.SortFunc(pool.lots, FirstExpiredFirst)
		}
	}
}

func (p *promises) promiseByChance(line *KitLine, pool *pool, lacks Quantity, on Date) {
	after := pool.chance.with(lacks, line.Probability)
	kept := after.quantile(p.readiness)
	switch free := pool.free(on); {
	case kept <= free:
		line.FromFree = lacks
	case kept <= free+pool.due(on):
		line.FromOrder = lacks
		line.ArrivesOn = pool.dueDate(kept-free, on)
	default:
		line.Short = p.standInByChance(line, lacks, on)
		return
	}
	pool.chance, pool.kept = after, kept
}

// standInByChance looks for a kit to open in the case that the line is needed;
// what is still short is returned.
func (p *promises) standInByChance(line *KitLine, lacks Quantity, on Date) Quantity {
	for _, k := range p.kits[line.Item] {
		whole := p.of(k.Kit)
		after := whole.chance.with((lacks+k.Qty-1)/k.Qty, line.Probability)
		if kept := after.quantile(p.readiness); kept <= whole.free(on) {
			whole.chance, whole.kept = after, kept
			line.FromKit = k.Kit
			return 0
		}
	}
	return lacks
}
