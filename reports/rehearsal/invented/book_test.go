package invented

import (
	"fmt"
	"reflect"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"circlip/inventory"
)

// shops of every sort, some with hardly anything in them.
var shops = []struct {
	name   string
	config Config
}{
	{"as usual", Config{Seed: 1}},
	{"drawn", Config{Seed: 2, Vary: true}},
	{"without meters", Config{Seed: 3, Meters: MetersNone, Weeks: 60}},
	{"poor meters, five models", Config{Seed: 4, Meters: MetersPoor, Models: 5, Weeks: 60}},
	{"walk-ins almost alone", Config{Seed: 5, WalkInShare: .8, Weeks: 30}},
	{"nobody walks in", Config{Seed: 6, WalkInShare: -1, Weeks: 30}},
	{"a single unit", Config{Seed: 7, Units: 1, Customers: -1, Weeks: 20}},
	{"nobody at all", Config{Seed: 8, Units: -1, Customers: -1, Weeks: 8}},
	{"more of everything than there can be", Config{Seed: 12, Units: 2, Customers: -1, Weeks: 9000, Models: 99, WalkInShare: 3, SeasonAmplitude: 5, NoShow: 2}},
	{"no past", Config{Seed: 9, Weeks: -1}},
	{"nobody late, no season, everybody turns up", Config{Seed: 10, Lateness: -1, SeasonAmplitude: -1, NoShow: -1, Weeks: 30}},
	{"every second one stays away", Config{Seed: 11, NoShow: .5, Recorded: -1, Weeks: 30}},
}

func TestTheSameSeedGivesTheSameWorkshop(t *testing.T) {
	for _, s := range shops {
		if !reflect.DeepEqual(Make(s.config), Make(s.config)) {
			t.Errorf("%s: found two workshops of one configuration, expected one", s.name)
		}
	}
	if cmp.Equal(Make(Config{Seed: 1}).Shop.Jobs, Make(Config{Seed: 2}).Shop.Jobs) {
		t.Error("seeds 1 and 2: found the same jobs, expected others")
	}
}

// Streams do not touch each other: what one more customer does changes no unit
// of the fleet.
func TestOneMoreCustomerChangesNoUnitOfTheFleet(t *testing.T) {
	fleet := func(customers int) (units []inventory.Unit) {
		for _, u := range Make(Config{Seed: 3, Customers: customers, Weeks: 52}).Shop.Units {
			if u.Holder == inventory.Fleet {
				units = append(units, u)
			}
		}
		return units
	}
	if diff := cmp.Diff(fleet(20), fleet(21)); diff != "" {
		t.Errorf("-20 customers +21\n%s", diff)
	}
}

// judge collects what breaks a rule of the book.
type judge struct {
	*testing.T
	Workshop
	models, families, items, suppliers map[string]string
	units                              map[string]inventory.Unit
}

func (j *judge) must(holds bool, format string, args ...any) {
	j.Helper()
	if !holds {
		j.Errorf(format, args...)
	}
}

func newJudge(t *testing.T, w Workshop) *judge {
	j := &judge{T: t, Workshop: w, models: map[string]string{}, families: map[string]string{}, items: map[string]string{}, suppliers: map[string]string{}, units: map[string]inventory.Unit{}}
	for _, x := range w.Shop.Models {
		j.models[x.Code] = x.Family
	}
	for _, x := range w.Shop.Services {
		j.families[x.Code] = x.Family
	}
	for _, x := range w.Shop.Items {
		j.items[x.Code] = string(x.Measure)
	}
	for _, x := range w.Shop.Suppliers {
		j.suppliers[x.Code] = x.Name
	}
	for _, x := range w.Shop.Units {
		j.units[x.Code] = x
	}
	return j
}

func TestTheBookIsWhole(t *testing.T) {
	for _, s := range shops {
		t.Run(s.name, func(t *testing.T) {
			j := newJudge(t, Make(s.config))
			j.keys()
			j.catalogue()
			j.meters()
			j.jobs()
			j.uses()
			j.orders()
		})
	}
}

// rising tells whether keys rise, each once.
func rising[T any](all []T, key func(T) string) bool {
	for i := 1; i < len(all); i++ {
		if key(all[i-1]) >= key(all[i]) {
			return false
		}
	}
	return true
}

func (j *judge) keys() {
	s := j.Shop
	j.must(rising(s.Items, func(x inventory.Item) string { return x.Code }), "items: out of order or twice")
	j.must(rising(s.Models, func(x inventory.Model) string { return x.Code }), "models: out of order or twice")
	j.must(rising(s.Services, func(x inventory.Service) string { return x.Code }), "services: out of order or twice")
	j.must(rising(s.Suppliers, func(x inventory.Supplier) string { return x.Code }), "suppliers: out of order or twice")
	j.must(rising(s.Units, func(x inventory.Unit) string { return x.Code }), "units: out of order or twice")
	j.must(rising(s.Jobs, func(x inventory.Job) string { return x.Code }), "jobs: out of order or twice")
	j.must(rising(s.Lots, func(x inventory.Lot) string { return x.Item }), "lots: out of order or twice")
	j.must(rising(s.Uses, func(x inventory.JobUse) string { return x.Job + " " + x.Item }), "uses: out of order or twice")
	j.must(rising(j.Taken, func(x Taken) string { return x.Job + " " + x.Item }), "takings: out of order or twice")
	j.must(rising(s.Orders, func(x inventory.OrderLine) string { return x.Order + " " + x.Item }), "orders: out of order or twice")
	j.must(rising(s.Offers, func(x inventory.Offer) string { return fmt.Sprintf("%s %s %03d", x.Item, x.Supplier, x.FromPacks) }), "offers: out of order or twice")
	j.must(rising(s.BOM, func(x inventory.BOMLine) string { return x.Service + " " + x.Model + " " + x.Item }), "bill: out of order or twice")
}

func (j *judge) catalogue() {
	j.must(j.Truth.ShowRate >= 0 && j.Truth.ShowRate <= 1, "found a show rate of %v", j.Truth.ShowRate)
	for _, b := range j.Shop.BOM {
		need := j.Truth.Need[Line{b.Service, b.Model, b.Item}]
		j.must(j.items[b.Item] != "" && b.Qty > 0 && b.Need >= .1 && b.Need <= 1 && need >= 0 && need <= 1, "line %+v, true need %v", b, need)
		j.must(b.Model == inventory.AnyModel || j.models[b.Model] == j.families[b.Service], "line %+v: a model of another family", b)
	}
	for _, o := range j.Shop.Offers {
		j.must(j.items[o.Item] != "" && j.suppliers[o.Supplier] != "" && o.PackQty > 0 && o.Price > 0 && o.Price <= 60_00, "offer %+v", o)
	}
	for _, k := range j.Shop.Kits {
		j.must(j.items[k.Kit] == "ea" && j.items[k.Item] != "" && k.Qty > 0, "kit %+v", k)
	}
	for _, s := range j.Shop.Services {
		for _, c := range s.Covers {
			j.must(j.families[c] == s.Family, "service %+v", s)
		}
	}
}

func (j *judge) meters() {
	for _, u := range j.Shop.Units {
		j.must(j.models[u.Model] != "" && u.InService < j.Shop.AsOf && (u.Retired.IsZero() || u.Retired >= u.InService && u.Retired < j.Shop.AsOf), "unit %+v", u)
		j.must(len(u.Readings) == 0 || j.Truth.Config.Meters != MetersNone, "unit %s: found readings, expected no meter", u.Code)
		for i, r := range u.Readings {
			j.must(r.Date >= u.InService && r.Date < j.Shop.AsOf && r.Hours >= 0, "unit %s: reading %+v", u.Code, r)
			j.must(i == 0 || u.Readings[i-1].Date < r.Date && u.Readings[i-1].Hours <= r.Hours, "unit %s: reading %+v falls", u.Code, r)
		}
	}
}

func working(d inventory.Date) bool {
	return d.Weekday() != time.Saturday && d.Weekday() != time.Sunday
}

func (j *judge) jobs() {
	open := map[string]bool{}
	for _, job := range j.Shop.Jobs {
		j.must(len(job.Services) == 1 && j.models[job.Model] == j.families[job.Services[0]] && j.models[job.Model] != "", "job %+v", job)
		j.must(job.BookedOn <= job.BenchDate && job.BookedOn < j.Shop.AsOf && working(job.BookedOn) && working(job.BenchDate), "job %+v: days", job)
		j.must((job.State == inventory.Booked) == (job.BenchDate >= j.Shop.AsOf), "job %+v: state on %s", job, j.Shop.AsOf)
		j.must((job.State == inventory.Done) == (job.DoneOn == job.BenchDate), "job %+v: done on", job)
		if job.Unit == "" {
			continue
		}
		u, known := j.units[job.Unit]
		j.must(known && u.Model == job.Model && u.InService <= job.BenchDate && (u.Retired.IsZero() || job.BenchDate < u.Retired), "job %+v of unit %+v", job, u)
		j.must(u.Group == passing || u.InService <= job.BookedOn, "job %+v: booked before unit %+v", job, u)
		if job.State == inventory.Booked {
			j.must(!open[job.Unit], "unit %s: two open jobs", job.Unit)
			open[job.Unit] = true
		}
	}
}

func (j *judge) uses() {
	jobs := map[string]inventory.Job{}
	for _, job := range j.Shop.Jobs {
		jobs[job.Code] = job
	}
	taken := map[[2]string]inventory.Quantity{}
	for _, x := range j.Taken {
		j.must(x.Qty > 0 && j.items[x.Item] != "" && jobs[x.Job].State == inventory.Done, "taken %+v by %+v", x, jobs[x.Job])
		taken[[2]string{x.Job, x.Item}] = x.Qty
	}
	for _, u := range j.Shop.Uses {
		j.must(taken[[2]string{u.Job, u.Item}] == u.Qty && jobs[u.Job].DoneOn >= j.Start, "use %+v of %+v", u, jobs[u.Job])
	}
}

func (j *judge) orders() {
	offered := map[[2]string]inventory.Quantity{}
	for _, o := range j.Shop.Offers {
		offered[[2]string{o.Item, o.Supplier}] = o.PackQty
	}
	for _, o := range j.Shop.Orders {
		comes := o.PlacedOn + inventory.Date(j.Lead(o.Supplier, o.PlacedOn))
		j.must(o.Packs > 0 && o.PackQty == offered[[2]string{o.Item, o.Supplier}] && o.PlacedOn >= j.Start && o.DueOn > o.PlacedOn, "order %+v", o)
		if comes < j.Shop.AsOf {
			j.must(o.ReceivedOn == comes && o.ReceivedPacks == o.Packs, "order %+v: expected on %s", o, comes)
		} else {
			j.must(o.ReceivedOn.IsZero() && o.ReceivedPacks == 0, "order %+v: not here before %s", o, comes)
		}
	}
}

// Every supplier sends enough for its lead time to be learnt.
func TestAPastOfAYearHasThirtyReceiptsOfEverySupplier(t *testing.T) {
	for seed := range uint64(10) {
		n := map[string]int{}
		for _, o := range Make(Config{Seed: seed, Weeks: 52}).Shop.Orders {
			if !o.ReceivedOn.IsZero() {
				n[o.Supplier]++
			}
		}
		for _, s := range suppliers() {
			if n[s.Code] < 30 {
				t.Errorf("seed %d: found %d receipts of %s, expected 30 or more", seed, n[s.Code], s.Code)
			}
		}
	}
}
