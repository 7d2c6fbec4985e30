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
// FromFree, FromOrder, what Alternate or FromKit supply, and Short add up to
// Need.
type KitLine struct {
	Item        string
	Critical    bool
	Need        Quantity
	Probability float64 // that the job takes it
	SetAside    Quantity
	FromFree    Quantity
	FromOrder   Quantity // due by the bench date
	ArrivesOn   Date     // of FromOrder; where Short > 0, of what comes too late
	Alternate   string   // item that stands in for what lacked
	FromKit     string   // kit to be opened for what lacked
	Short       Quantity
}

// Late reports whether what lacks is on order but comes after the bench date.
func (l KitLine) Late(bench Date) bool { return l.Short > 0 && l.ArrivesOn > bench }

// Kits walks the open jobs by bench date and promises each line in turn: what
// is set aside for it, then what is free and still good on the day, first
// expired first out, then what is on order and due by the day, then an
// alternate, then a kit that can be opened. What is promised to one job is not
// there for the next. A line that is only sometimes needed takes nothing for
// certain: it is covered while the jobs up to it find enough with at least the
// shop's readiness as probability, and as much is kept back from later jobs.
// Jobs dated before AsOf count as of AsOf.
func Kits(shop Shop) []JobKit {
	bill := NewBill(shop)
	shelf := newPromises(shop)
	var kits []JobKit
	for _, job := range openJobs(shop) {
		on := max(job.BenchDate, shop.AsOf)
		kit := JobKit{Job: job.Code, BenchDate: job.BenchDate, Services: job.Services, Model: job.Model, Unit: job.Unit, State: Ready}
		for _, l := range bill.Lines(job.Services, job.Model, on) {
			line := shelf.promise(l, job.Code, on)
			kit.Lines = append(kit.Lines, line)
			kit.State = worse(kit.State, line)
		}
		kits = append(kits, kit)
	}
	return kits
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
	readiness float64
	items     map[string]Item
	stock     map[string]*pool
	stand     map[string][]Alternate
	kits      map[string][]KitPart // by item: the kits that hold it
	contents  map[string][]KitPart // by kit
}

// pool is one item's free lots, deliveries to come, and the law of what jobs
// so far may by chance take.
type pool struct {
	lots     []Lot // first expired first, OnHand already without what is set aside
	setAside map[string]Quantity
	coming   []delivery
	chance   map[Quantity]float64
}

type delivery struct {
	on  Date
	qty Quantity
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
		p.addLot(l)
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

func (p *promises) of(item string) *pool {
	if p.stock[item] == nil {
		p.stock[item] = &pool{setAside: map[string]Quantity{}, chance: map[Quantity]float64{0: 1}}
	}
	return p.stock[item]
}

func (p *promises) addLot(l Lot) {
	pool := p.of(l.Item)
	for _, s := range l.SetAside {
		pool.setAside[s.Job] += s.Qty
	}
	l.OnHand = l.Free()
	l.SetAside = nil
	pool.lots = append(pool.lots, l)
}

func (p *promises) promise(b BOMLine, job string, on Date) KitLine {
	item, pool := p.items[b.Item], p.of(b.Item)
	line := KitLine{Item: b.Item, Critical: item.Critical, Need: b.PerJob(item.Measure), Probability: b.Need}
	line.SetAside = min(pool.setAside[job], line.Need)
	pool.setAside[job] -= line.SetAside
	lacks := line.Need - line.SetAside
	if lacks == 0 {
		return line
	}
	if b.Need < 1 {
		p.promiseByChance(&line, pool, lacks, on)
	} else {
		p.promiseForSure(&line, pool, lacks, on)
	}
	if line.Short > 0 {
		line.ArrivesOn = pool.nextAfter(on, line.ArrivesOn)
	}
	return line
}

func (p *promises) promiseForSure(line *KitLine, pool *pool, lacks Quantity, on Date) {
	line.FromFree = pool.take(min(lacks, max(0, pool.free(on)-pool.keptBack(p.readiness))), on)
	lacks -= line.FromFree
	due := max(0, min(lacks, pool.free(on)+pool.due(on)-pool.keptBack(p.readiness)))
	if lacks > 0 && due == lacks {
		line.FromOrder, line.ArrivesOn = pool.takeComing(due, on)
		lacks -= line.FromOrder
	}
	line.Short = p.standIn(line, lacks, on)
}

// standIn looks for an alternate, then for a kit to open, for all that lacks;
// what is still short is returned.
func (p *promises) standIn(line *KitLine, lacks Quantity, on Date) Quantity {
	if lacks == 0 {
		return 0
	}
	for _, a := range p.stand[line.Item] {
		other := p.of(a.Alternate)
		if other.free(on)-other.keptBack(p.readiness) >= lacks {
			other.take(lacks, on)
			line.Alternate = a.Alternate
			return 0
		}
	}
	for _, k := range p.kits[line.Item] {
		whole := p.of(k.Kit)
		opened := (lacks + k.Qty - 1) / k.Qty
		if whole.free(on)-whole.keptBack(p.readiness) >= opened {
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
	after := convolve(pool.chance, lacks, line.Probability)
	kept := quantile(after, p.readiness)
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
	pool.chance = after
}

// standInByChance looks for a kit to open in the case that the line is needed;
// what is still short is returned.
func (p *promises) standInByChance(line *KitLine, lacks Quantity, on Date) Quantity {
	for _, k := range p.kits[line.Item] {
		whole := p.of(k.Kit)
		after := convolve(whole.chance, (lacks+k.Qty-1)/k.Qty, line.Probability)
		if quantile(after, p.readiness) <= whole.free(on) {
			whole.chance = after
			line.FromKit = k.Kit
			return 0
		}
	}
	return lacks
}

func (s *pool) keptBack(p float64) Quantity { return quantile(s.chance, p) }

// free is what is on the shelf, promised to nobody and good on the day.
func (s *pool) free(on Date) Quantity {
	var sum Quantity
	for _, l := range s.lots {
		if l.UsableOn(on) {
			sum += l.OnHand
		}
	}
	return sum
}

func (s *pool) first(on Date) *Lot {
	for i := range s.lots {
		if s.lots[i].OnHand > 0 && s.lots[i].UsableOn(on) {
			return &s.lots[i]
		}
	}
	return nil
}

// take removes q, which must be free, first expired first.
func (s *pool) take(q Quantity, on Date) Quantity {
	for left := q; left > 0; {
		lot := s.first(on)
		n := min(left, lot.OnHand)
		lot.OnHand -= n
		left -= n
	}
	return q
}

func (s *pool) due(on Date) Quantity {
	var sum Quantity
	for _, d := range s.coming {
		if d.on <= on {
			sum += d.qty
		}
	}
	return sum
}

// takeComing removes q, which must be due, earliest first, and returns the day
// the last of it comes.
func (s *pool) takeComing(q Quantity, on Date) (Quantity, Date) {
	last := s.dueDate(q, on)
	left := q
	for i := range s.coming {
		n := min(left, s.coming[i].qty)
		s.coming[i].qty -= n
		left -= n
	}
	return q, last
}

// dueDate is the day by which q of what is due has come.
func (s *pool) dueDate(q Quantity, on Date) Date {
	var sum Quantity
	for _, d := range s.coming {
		if sum += d.qty; sum >= q && d.qty > 0 {
			return d.on
		}
	}
	return on
}

// nextAfter is the first delivery after the day, or what was known before.
func (s *pool) nextAfter(on, known Date) Date {
	for _, d := range s.coming {
		if d.on > on && d.qty > 0 {
			return d.on
		}
	}
	return known
}

// convolve adds a yes/no event of size q to the law of a sum.
func convolve(law map[Quantity]float64, q Quantity, p float64) map[Quantity]float64 {
	sum := make(map[Quantity]float64, len(law)+1)
	for size, prob := range law {
		sum[size] += prob * (1 - p)
		sum[size+q] += prob * p
	}
	return sum
}

// quantile is the smallest size whose cumulative probability reaches p.
func quantile(law map[Quantity]float64, p float64) Quantity {
	sizes := make([]Quantity, 0, len(law))
	for size := range law {
		sizes = append(sizes, size)
	}
	slices.Sort(sizes)
	sum := 0.0
	for _, size := range sizes {
		if sum += law[size]; sum >= p-1e-12 {
			return size
		}
	}
	return sizes[len(sizes)-1]
}
