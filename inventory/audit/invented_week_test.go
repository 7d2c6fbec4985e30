package audit

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"circlip/inventory"
)

// story is what happens in an invented workshop; the zero one is quiet.
type story struct {
	weeks   int
	over    overuse
	leak    leak
	trouble trouble
	at      int    // week of the trouble
	item    string // of the trouble
	bill    []billed
}

// overuse has those jobs that fit take factor times what they should of an
// item, from a week on. Empty words fit all.
type overuse struct {
	item, service, model, person string
	factor                       float64
	from                         int
	onCard                       bool // it shows on cards that hold what was measured
}

// leak loses so much of an item every week, from a week on.
type leak struct {
	item    string
	perWeek float64
	from    int
}

// billed is a line that the bill holds from a Saturday on, after so many weeks.
type billed struct {
	weeks int
	line  inventory.BOMLine
}

type trouble string

const (
	countsMissing trouble = "two counts missing"
	packFound     trouble = "a pack found"
	packMissing   trouble = "a pack missing"
	bookedAfter   trouble = "a delivery booked in after the count"
	tareWrong     trouble = "another tare of the same bottle"
	inGrams       trouble = "a count in g of an item in ml"
)

// changedTareG is how far the wrong tare is from the right one: a pump left on
// the bottle.
const changedTareG = 40

// life is a workshop in the course of its weeks.
type life struct {
	invented
	story
	random  *rand.Rand
	past    inventory.Shop
	right   *inventory.Bill // as it was drawn
	now     *inventory.Bill // with what was changed of it
	shelves map[string]*shelf
	tempC   float64
	jobs    int
}

// shelf is what there really is of a fluid, in g, and what was last known.
type shelf struct {
	open   []float64
	sealed []float64
	tareG  []float64
	coming int
}

// live is the shop after the weeks of a story: the same seed and story always
// give the same, and a longer story begins with the shorter.
func (w invented) live(s story) inventory.Shop {
	l := life{invented: w, story: s, random: rand.New(rand.NewPCG(w.seed, 2)), past: w.shop, shelves: map[string]*shelf{}}
	l.past.BOM = slices.Clone(w.shop.BOM)
	for _, b := range s.bill {
		l.rebill(b)
	}
	l.right, l.now = inventory.NewBill(l.shop), inventory.NewBill(l.past)
	l.tempC = 20
	for _, f := range w.fluids {
		l.open(f)
	}
	for week := range s.weeks {
		l.week(week)
	}
	l.past.AsOf = friday(s.weeks-1) + 1
	l.book()
	l.sort()
	return l.past
}

// sort brings the past into the order of its keys.
func (l *life) sort() {
	slices.SortStableFunc(l.past.Counts, func(a, b inventory.Count) int {
		return cmp.Or(cmp.Compare(a.Item, b.Item), cmp.Compare(a.Date, b.Date))
	})
	slices.SortStableFunc(l.past.CountParts, func(a, b inventory.CountPart) int {
		return cmp.Or(cmp.Compare(a.Item, b.Item), cmp.Compare(a.Date, b.Date))
	})
	slices.SortStableFunc(l.past.Receipts, func(a, b inventory.Receipt) int {
		return cmp.Or(cmp.Compare(a.Item, b.Item), cmp.Compare(a.Date, b.Date))
	})
}

func monday(week int) inventory.Date { return firstMonday + inventory.Date(7*week) }
func friday(week int) inventory.Date { return monday(week) + 4 }

// rebill ends a line of the bill and begins its successor.
func (l *life) rebill(b billed) {
	from := monday(b.weeks) - 2
	for i, was := range l.past.BOM {
		if was.Service == b.line.Service && was.Model == b.line.Model && was.Item == b.line.Item && was.To.IsZero() {
			l.past.BOM[i].To = from
		}
	}
	b.line.From, b.line.To = from, 0
	l.past.BOM = append(l.past.BOM, b.line)
}

// open fills the bottles on the Friday before the first week.
func (l *life) open(f fluid) {
	s := &shelf{}
	known := 0.0
	for range f.bottles {
		s.open = append(s.open, l.grams(f, f.pack*between(l.random, .3, 1)))
		s.tareG = append(s.tareG, between(l.random, -.5, .5))
		known += l.amount(f, s.open[len(s.open)-1])
	}
	for range int(math.Ceil(1.5 * f.weekly / f.pack)) {
		s.sealed = append(s.sealed, l.packed(f))
		known += f.pack
	}
	l.shelves[f.Code] = s
	read := inventory.Quantity(10 * 10 * math.Round(known/10))
	l.past.Openings = append(l.past.Openings, inventory.Count{Item: f.Code, Date: monday(0) - 3, Qty: read})
}

// grams is what an amount in the item's measure weighs in the room; amount is
// the way back.
func (l *life) grams(f fluid, amount float64) float64 {
	if f.Measure == inventory.Gram {
		return amount
	}
	return amount * f.DensityKgM3 / 1000 * (1 - f.expansion*(l.tempC-15))
}

func (l *life) amount(f fluid, grams float64) float64 { return grams / l.grams(f, 1) }

// packed is the weight of a sealed pack.
func (l *life) packed(f fluid) float64 {
	return l.grams(f, f.pack) * (1 + .003*l.random.NormFloat64())
}

func (l *life) week(n int) {
	l.tempC = 20 + 2*math.Sin(2*math.Pi*float64(n)/52) + l.random.NormFloat64()
	for _, f := range l.fluids {
		if coming := l.shelves[f.Code].coming; coming > 0 {
			l.deliver(f, coming, monday(n))
			l.shelves[f.Code].coming = 0
		}
	}
	busy := max(.4, 1+.15*l.random.NormFloat64())
	for s, rate := range l.perWeek {
		for range poisson(l.random, busy*rate) {
			l.job(n, l.shop.Services[s])
		}
	}
	for _, f := range l.fluids {
		if l.leak.item == f.Code && n >= l.leak.from {
			l.pour(f, l.leak.perWeek, monday(n))
		}
		l.endWeek(f, n)
	}
}

func poisson(r *rand.Rand, mean float64) (n int) {
	for t := r.ExpFloat64(); t < mean; t += r.ExpFloat64() {
		n++
	}
	return n
}

// deliver puts packs on the shelf; the booking may be of another day.
func (l *life) deliver(f fluid, packs int, booked inventory.Date) {
	s := l.shelves[f.Code]
	for range packs {
		s.sealed = append(s.sealed, l.packed(f))
	}
	qty := inventory.Quantity(10*f.pack) * inventory.Quantity(packs)
	l.past.Receipts = append(l.past.Receipts, inventory.Receipt{Item: f.Code, Date: booked, Qty: qty})
}

// pour takes an amount from one of the open bottles, which is filled from a
// sealed pack when it does not hold as much; a pack is fetched where there is
// none.
func (l *life) pour(f fluid, amount float64, on inventory.Date) {
	s := l.shelves[f.Code]
	from := &s.open[l.random.IntN(len(s.open))]
	grams := l.grams(f, amount)
	for *from < grams {
		if len(s.sealed) == 0 {
			l.deliver(f, 1, on)
		}
		*from += s.sealed[0]
		s.sealed = s.sealed[1:]
	}
	*from -= grams
}

// job does one job of a service; half of the dampers have their lowers done at
// the same time.
func (l *life) job(week int, service inventory.Service) {
	models := l.modelsOf(service.Code)
	j := inventory.Job{
		Code: fmt.Sprintf("J%05d", l.jobs), Model: models[l.random.IntN(len(models))], Services: []string{service.Code},
		State: inventory.Done, DoneOn: monday(week) + inventory.Date(l.random.IntN(5)),
		DoneBy: people[[]int{0, 0, 0, 1, 1, 2}[l.random.IntN(6)]],
	}
	if service.Code == "damper" && l.random.IntN(2) == 1 {
		j.Services = append(j.Services, "lowers")
	}
	j.BookedOn, j.BenchDate = j.DoneOn-7, j.DoneOn
	l.jobs++
	l.past.Jobs = append(l.past.Jobs, j)
	l.take(week, j)
}

// take pours what a job really takes and writes its card.
func (l *life) take(week int, j inventory.Job) {
	card := map[string]float64{}
	for _, line := range l.right.Lines(j.Services, j.Model, j.DoneOn) {
		f := l.fluids[slices.IndexFunc(l.fluids, func(f fluid) bool { return f.Code == line.Item })]
		took := max(0, allowed(line)*(1+f.spread*l.random.NormFloat64()))
		seen := took * (1 + .01*l.random.NormFloat64())
		if l.over.fits(week, line, j) {
			took *= l.over.factor
			if l.over.onCard {
				seen *= l.over.factor
			}
		}
		l.pour(f, took, j.DoneOn)
		if l.random.Float64() >= .01 {
			card[f.Code] += seen
		}
	}
	if !l.measured {
		clear(card)
		for _, line := range l.now.Lines(j.Services, j.Model, j.DoneOn) {
			card[line.Item] += float64(line.PerJob(inventory.Millilitre)) / 10
		}
	}
	for _, f := range l.fluids {
		if amount, written := card[f.Code]; written {
			if l.measured {
				amount = math.Round(amount)
			}
			l.past.Uses = append(l.past.Uses, inventory.JobUse{Job: j.Code, Item: f.Code, Lot: "lot", Qty: inventory.Quantity(math.Round(10 * amount))})
		}
	}
}

func (o overuse) fits(week int, line inventory.BOMLine, j inventory.Job) bool {
	return o.item == line.Item && week >= o.from && cmp.Or(o.service, line.Service) == line.Service &&
		cmp.Or(o.model, j.Model) == j.Model && cmp.Or(o.person, j.DoneBy) == j.DoneBy
}

// endWeek is the Friday evening: what goes wrong, the count, the order.
func (l *life) endWeek(f fluid, week int) {
	s := l.shelves[f.Code]
	here := l.item == f.Code && l.at == week
	if here {
		l.goWrong(f, s, week)
	}
	if l.trouble != countsMissing || l.item != f.Code || (week != l.at && week != l.at+1) {
		l.count(f, s, week)
	}
	left := f.pack * float64(len(s.sealed))
	for _, g := range s.open {
		left += l.amount(f, g)
	}
	if left < 1.5*f.weekly {
		s.coming += 1 + l.random.IntN(2)
	}
}

func (l *life) goWrong(f fluid, s *shelf, week int) {
	switch l.trouble {
	case packFound:
		s.sealed = append(s.sealed, l.packed(f))
	case packMissing:
		if len(s.sealed) == 0 {
			l.deliver(f, 1, friday(week))
		}
		s.sealed = s.sealed[1:]
	case bookedAfter:
		l.deliver(f, 1, monday(week+1))
	}
}

// count weighs every open bottle and counts the sealed packs by their label.
func (l *life) count(f fluid, s *shelf, week int) {
	c := inventory.Count{Item: f.Code, Date: friday(week)}
	for b, content := range s.open {
		part := l.weigh(f, b, content+s.tareG[b], week)
		part.Date, part.Number = c.Date, b+1
		l.past.CountParts = append(l.past.CountParts, part)
		c.Qty += part.Qty
	}
	if n := len(s.sealed); n > 0 {
		part := inventory.CountPart{Item: f.Code, Date: c.Date, Number: len(s.open) + 1, Qty: inventory.Quantity(10*f.pack) * inventory.Quantity(n)}
		l.past.CountParts = append(l.past.CountParts, part)
		c.Qty += part.Qty
	}
	l.past.Counts = append(l.past.Counts, c)
}

// weigh puts a bottle on the scale: beyond what it holds, its true tare lies
// within half a gram of the known one.
func (l *life) weigh(f fluid, number int, beyondTareG float64, week int) inventory.CountPart {
	known := l.shop.Containers[slices.IndexFunc(l.shop.Containers, func(c inventory.Container) bool { return c.Code == bottle(f.Code, number) })]
	temp := math.Round(2*(l.tempC+.5*l.random.NormFloat64())) / 2
	seen := inventory.Weighing{GrossG: max(known.TareG, math.Round(known.TareG+beyondTareG)), TareG: known.TareG, TempC: &temp}
	if l.trouble == tareWrong && l.item == f.Code && week >= l.at && number == 0 {
		seen.TareG += changedTareG
		seen.GrossG = max(seen.GrossG, seen.TareG)
	}
	part := inventory.CountPart{Item: f.Code, Container: known.Code, Weighed: &seen}
	if l.trouble == inGrams && l.item == f.Code && week == l.at {
		part.Container, part.Weighed, part.Qty = "", nil, inventory.Quantity(math.Round(10*(seen.GrossG-seen.TareG)))
		return part
	}
	qty, err := seen.Quantity(f.Measure, f.DensityKgM3)
	if err != nil {
		panic(err) // an invented weighing that cannot be: the maker is wrong
	}
	part.Qty = qty
	return part
}

// book has the next two weeks' jobs, as many of each service as are usual.
func (l *life) book() {
	for s, rate := range l.perWeek {
		for range int(math.Round(2 * rate)) {
			service := l.shop.Services[s]
			models := l.modelsOf(service.Code)
			day := monday(l.weeks+l.random.IntN(2)) + inventory.Date(l.random.IntN(5))
			l.past.Jobs = append(l.past.Jobs, inventory.Job{Code: fmt.Sprintf("J%05d", l.jobs), Model: models[0], Services: []string{service.Code}, State: inventory.Booked, BookedOn: l.past.AsOf - 1, BenchDate: day})
			l.jobs++
		}
	}
}
