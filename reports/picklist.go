package reports

import (
	"cmp"
	"fmt"
	"slices"

	"circlip/inventory"
)

// Papers are what lies on the bench: a list to fill the trays by, and a card
// for each job.
type Papers struct {
	Workshop string
	On       inventory.Date // the day they are for
	PickList Sheet
	Cards    []Card
}

// PapersOfDay are those of the jobs of a day, kits being all of the shop's as
// inventory.Kits promised them. Jobs that are overdue are of the shop's own day.
func PapersOfDay(shop inventory.Shop, kits []inventory.JobKit, day inventory.Date) Papers {
	return papers(shop, kits, day, "Pick list", func(k inventory.JobKit) bool { return max(k.BenchDate, shop.AsOf) == day })
}

// PapersOfJob are those of one open job; false: there is none of that code.
func PapersOfJob(shop inventory.Shop, kits []inventory.JobKit, job string) (Papers, bool) {
	at := slices.IndexFunc(kits, func(k inventory.JobKit) bool { return k.Job == job })
	if at < 0 {
		return Papers{}, false
	}
	day := max(kits[at].BenchDate, shop.AsOf)
	return papers(shop, kits, day, "Pick list of job "+job, func(k inventory.JobKit) bool { return k.Job == job }), true
}

// papers are those of the jobs that are wanted. The lots of all jobs are dealt
// out first: what an earlier job takes is not there for these.
func papers(shop inventory.Shop, kits []inventory.JobKit, day inventory.Date, title string, wanted func(inventory.JobKit) bool) Papers {
	b := newBenchBook(shop)
	var jobs []inventory.JobPicks
	for _, job := range inventory.Picks(shop, kits) {
		if wanted(job.JobKit) {
			jobs = append(jobs, job)
		}
	}
	p := Papers{Workshop: shop.Settings.Workshop, On: day, PickList: b.pickList(jobs, day, title)}
	for _, job := range jobs {
		p.Cards = append(p.Cards, b.card(job))
	}
	return p
}

// benchBook looks up what papers say of items, models, services and units.
type benchBook struct {
	shop     inventory.Shop
	bill     *inventory.Bill
	items    map[string]inventory.Item
	services map[string]inventory.Service
}

func newBenchBook(shop inventory.Shop) benchBook {
	b := benchBook{shop: shop, bill: inventory.NewBill(shop), items: map[string]inventory.Item{}, services: map[string]inventory.Service{}}
	for _, i := range shop.Items {
		b.items[i.Code] = i
	}
	for _, s := range shop.Services {
		b.services[s.Code] = s
	}
	return b
}

// item is counted in pieces where the book does not know it.
func (b benchBook) item(code string) inventory.Item {
	if i, known := b.items[code]; known {
		return i
	}
	return inventory.Item{Code: code, Measure: inventory.Each}
}

// minutes is what a job takes on the bench; a service that another covers adds
// nothing.
func (b benchBook) minutes(services []string) int {
	sum := 0
	for _, code := range b.bill.Uncovered(services) {
		sum += b.services[code].BenchMinutes
	}
	return sum
}

// pickList is what lies in which bin for which tray.
func (b benchBook) pickList(jobs []inventory.JobPicks, day inventory.Date, title string) Sheet {
	s := Sheet{
		Key: "picklist", Name: "Pick list", Title: titled(title, b.shop.Settings.Workshop, day),
		Notes: []string{
			"By bin, then item and lot: lots that expire first go first. A tray goes by its job. What is set aside may lie in it already.",
			"Lines marked “if needed” stay on the shelf until the job asks for them.",
		},
		Facts: b.pickFacts(jobs, day),
		Columns: []Column{
			{Name: "Bin"}, {Name: "Item", Wrap: true}, {Name: "Lot", Rank: 1}, {Name: "Qty", Kind: QuantityKind}, {Name: "Unit"}, {Name: "Tray"},
			{Name: "Good until before", Kind: DateKind, Rank: 3}, {Name: "Remark", Wrap: true},
			{Name: "Taken", Edit: true, Hint: "A tick when it lies in the tray."},
		},
		Empty: b.idle(jobs, day),
	}
	for _, p := range b.placed(jobs) {
		s.Rows = append(s.Rows, Row{Strong: p.lacks, Cells: []Cell{
			Words(cmp.Or(p.bin, "no bin")), Words(codeAndName(p.item)), Words(p.lot), Measured(p.qty, p.item.Measure),
			Words(string(p.item.Measure)), Words(p.job), Day(p.expires), Words(p.remark), {},
		}})
	}
	return s
}

// pickFacts count the jobs, by state, and the minutes of the bench.
func (b benchBook) pickFacts(jobs []inventory.JobPicks, day inventory.Date) []Fact {
	states, minutes, late := map[inventory.KitState]int{}, 0, 0
	for _, j := range jobs {
		states[j.State]++
		minutes += b.minutes(j.Services)
		if j.BenchDate < day {
			late++
		}
	}
	facts := []Fact{
		{"Jobs", Counted(len(jobs)), ""}, {"of them ready", Counted(states[inventory.Ready]), ""},
		{"of them coming", Counted(states[inventory.Coming]), ""}, {"of them short", Counted(states[inventory.Short]), ""},
	}
	if late > 0 {
		facts = append(facts, Fact{"of them overdue", Counted(late), ""})
	}
	return append(facts, Fact{"On the bench", Counted(minutes), "minutes"})
}

// idle says why there is nothing to pick.
func (b benchBook) idle(jobs []inventory.JobPicks, day inventory.Date) string {
	if len(jobs) == 0 {
		return fmt.Sprintf("No job is booked for %s. Book one, or ask for the day of the next one.", longDay(day))
	}
	return "These jobs take nothing from the shelf: the bill of materials has no lines for their services."
}
