package cost

import (
	"cmp"
	"maps"
	"math"
	"math/big"
	"slices"

	"circlip/inventory"
)

// JobCost is what parts the jobs done of a service on a model took. A job of
// several services counts once with each, with that service's share.
//
// The median is the middle value, of an even number the mean of the middle two
// rounded half away from zero; P90 is the smallest value that at least nine
// jobs in ten do not exceed (definitions 2 and 1 of Hyndman & Fan 1996, The
// American Statistician 50, 361–365).
type JobCost struct {
	Service           inventory.Service
	Model             string
	Jobs              int
	Total             inventory.Money
	Mean, Median, P90 inventory.Money
}

// Done counts the jobs done by what the ledger knows of them. Only those that
// are recorded have a cost.
type Done struct {
	Recorded   int // something was taken, and no less than the job's card says
	Partly     int // less than the card says: the rest was taken before the shelf was first written down
	Unrecorded int // nothing was taken
}

// jobBook answers which services a job's parts were for.
type jobBook struct {
	shop     inventory.Shop
	bill     *inventory.Bill
	jobs     map[string]inventory.Job
	measures map[string]inventory.Measure
	services map[string][]string            // of a job, those that another does not cover
	lines    map[string][]inventory.BOMLine // of a job of several services
}

func newJobBook(shop inventory.Shop) *jobBook {
	b := &jobBook{
		shop: shop, bill: inventory.NewBill(shop),
		jobs: make(map[string]inventory.Job, len(shop.Jobs)), measures: make(map[string]inventory.Measure, len(shop.Items)),
		services: map[string][]string{}, lines: map[string][]inventory.BOMLine{},
	}
	for _, i := range shop.Items {
		b.measures[i.Code] = i.Measure
	}
	for _, j := range shop.Jobs {
		b.jobs[j.Code] = j
	}
	return b
}

// share is what a job took for one of its services in a month.
type share struct {
	month        Month
	job, service string
	value        inventory.Money
}

// taken splits what went to jobs among their services. What came back from a
// job is split as it went there.
func (b *jobBook) taken(moves []Move, values []inventory.Money) []share {
	var list []share
	for n, m := range moves {
		if m.Place != inventory.AtJob {
			continue
		}
		services := b.servicesOf(m.Ref)
		for i, part := range split(-values[n], b.weights(m.Ref, m.Item, services)) {
			list = append(list, share{MonthOf(m.On), m.Ref, services[i], part})
		}
	}
	return list
}

// servicesOf is what the job is for; one without a name where the book does not
// know the job.
func (b *jobBook) servicesOf(job string) []string {
	services, known := b.services[job]
	if known {
		return services
	}
	if services = b.bill.Uncovered(b.jobs[job].Services); len(services) == 0 {
		services = []string{""}
	}
	b.services[job] = services
	return services
}

// weights is how an item is shared out among the services of a job: by what
// the lines of each ask for on the mean, in thousandths of a step, or equally
// where no line names the item.
func (b *jobBook) weights(job, item string, services []string) []int64 {
	weights := make([]int64, len(services))
	named := int64(0)
	if len(services) > 1 {
		for _, l := range b.linesOf(job) {
			if at := slices.Index(services, l.Service); l.Item == item && at >= 0 {
				asked := int64(math.Round(1000 * l.Need * float64(l.PerJob(b.measures[item]))))
				weights[at] += asked
				named += asked
			}
		}
	}
	if named == 0 {
		for i := range weights {
			weights[i] = 1
		}
	}
	return weights
}

// linesOf is the bill of materials of a job, as it stood when it was done.
func (b *jobBook) linesOf(job string) []inventory.BOMLine {
	lines, known := b.lines[job]
	if !known {
		j := b.jobs[job]
		on := j.DoneOn
		if on.IsZero() {
			on = j.BenchDate
		}
		lines = b.bill.Lines(j.Services, j.Model, on)
		b.lines[job] = lines
	}
	return lines
}

// split shares a value out by weights, whose sum is above zero. The shares add
// up to it exactly: each is the rounded value of the first weights together
// less what those before it got.
func split(value inventory.Money, weights []int64) []inventory.Money {
	all := int64(0)
	for _, w := range weights {
		all += w
	}
	parts := make([]inventory.Money, len(weights))
	sum, given := int64(0), inventory.Money(0)
	for i, w := range weights {
		sum += w
		upTo := inventory.Money(over(new(big.Int).Mul(big.NewInt(int64(value)), big.NewInt(sum)), all))
		parts[i], given = upTo-given, upTo
	}
	return parts
}

// byService adds up what jobs took.
func byService(shop inventory.Shop, taken []share) []ServiceSpend {
	spend := map[spendKey]inventory.Money{}
	for _, t := range taken {
		spend[spendKey{t.month, t.service}] += t.value
	}
	services := servicesByCode(shop)
	var list []ServiceSpend
	for _, k := range inTime(spend) {
		list = append(list, ServiceSpend{k.month, services(k.code), spend[k]})
	}
	return list
}

// servicesByCode finds services; one that the book has not is its code alone.
func servicesByCode(shop inventory.Shop) func(code string) inventory.Service {
	services := map[string]inventory.Service{}
	for _, s := range shop.Services {
		services[s.Code] = s
	}
	return func(code string) inventory.Service {
		if s, known := services[code]; known {
			return s
		}
		return inventory.Service{Code: code}
	}
}

// What costs and quantities of jobs are gathered by.
type (
	onModel    struct{ service, model string }
	jobService struct{ job, service string }
	jobItem    struct{ job, item string }
)

// costs is what the recorded jobs took, by service and model.
func (b *jobBook) costs(taken []share, moves []Move) ([]JobCost, Done) {
	recorded, done := b.recorded(moves)
	each := map[jobService]inventory.Money{}
	for _, t := range taken {
		if recorded[t.job] {
			each[jobService{t.job, t.service}] += t.value
		}
	}
	costs := map[onModel][]inventory.Money{}
	for k, value := range each {
		key := onModel{k.service, b.jobs[k.job].Model}
		costs[key] = append(costs[key], value)
	}
	services := servicesByCode(b.shop)
	var list []JobCost
	for _, k := range slices.SortedFunc(maps.Keys(costs), func(x, y onModel) int {
		return cmp.Or(cmp.Compare(x.service, y.service), cmp.Compare(x.model, y.model))
	}) {
		list = append(list, summary(services(k.service), k.model, costs[k]))
	}
	return list, done
}

// recorded tells which jobs done are on record, and counts all that are done.
func (b *jobBook) recorded(moves []Move) (map[string]bool, Done) {
	took := map[jobItem]inventory.Quantity{}
	for _, m := range moves {
		if m.Place == inventory.AtJob {
			took[jobItem{m.Ref, m.Item}] -= m.Qty
		}
	}
	some := map[string]bool{}
	for k, qty := range took {
		some[k.job] = some[k.job] || qty > 0
	}
	for _, u := range b.shop.Uses {
		took[jobItem{u.Job, u.Item}] -= u.Qty
	}
	lacks := map[string]bool{}
	for k, more := range took {
		lacks[k.job] = lacks[k.job] || more < 0
	}
	recorded, done := map[string]bool{}, Done{}
	for _, j := range b.shop.Jobs {
		switch {
		case j.State != inventory.Done:
		case !some[j.Code]:
			done.Unrecorded++
		case lacks[j.Code]:
			done.Partly++
		default:
			done.Recorded++
			recorded[j.Code] = true
		}
	}
	return recorded, done
}

// summary is the figures of some jobs' costs, of which there is at least one.
func summary(s inventory.Service, model string, costs []inventory.Money) JobCost {
	slices.Sort(costs)
	n := len(costs)
	c := JobCost{Service: s, Model: model, Jobs: n}
	for _, v := range costs {
		c.Total += v
	}
	c.Mean = inventory.Money(over(big.NewInt(int64(c.Total)), int64(n)))
	c.Median = inventory.Money(over(big.NewInt(int64(costs[(n-1)/2]+costs[n/2])), 2))
	c.P90 = costs[(9*n+9)/10-1]
	return c
}
