package reports

import (
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/reports/plan"
	"circlip/testdata/golden/plans"
)

// short is a booked job four days from now that lacks two wipers, as its line
// says.
func short(line inventory.KitLine) plan.Plan {
	line.Item, line.Critical, line.Need = "W", true, 2
	if line.Probability == 0 {
		line.Probability = 1
	}
	state := inventory.Ready
	if line.Short > 0 {
		state = inventory.Short
	}
	return plan.Plan{
		AsOf: plans.AsOf,
		Items: []plan.Item{
			{Item: inventory.Item{Code: "W", Name: "Dust wiper", Measure: inventory.Each}},
			{Item: inventory.Item{Code: "A", Name: "Grey wiper", Measure: inventory.Each}},
		},
		Kits: []inventory.JobKit{{Job: "J", BenchDate: plans.AsOf + 4, State: state, Lines: []inventory.KitLine{line}}},
	}
}

// ordering adds an order of so many wipers that come after some days.
func ordering(p plan.Plan, qty inventory.Quantity, days inventory.Date) plan.Plan {
	p.Orders = []plan.Order{{Lines: []plan.Line{{Item: inventory.Item{Code: "W"}, Qty: qty, ExpectedOn: p.AsOf + days}}}}
	return p
}

func TestWhatToDoAboutALineThatLacks(t *testing.T) {
	rows := []struct {
		rule   string
		p      plan.Plan
		action string
		advice string
	}{
		{"nothing is on order", short(inventory.KitLine{Short: 2}), "not on order: buy it or move the job", "buy what lacks, or move it"},
		{"this order brings it in time", ordering(short(inventory.KitLine{Short: 2}), 10, 4), "this order: Fri 5 Mar, in time", "stays as booked: once ordered, all of it comes in time"},
		{"this order brings it late", ordering(short(inventory.KitLine{Short: 2}), 10, 5), "this order: Sat 6 Mar, 1 day late", "move it to Sat 6 Mar or fetch the part sooner"},
		{"this order brings less than lacks", ordering(short(inventory.KitLine{Short: 2}), 1, 4), "not on order: buy it or move the job", "buy what lacks, or move it"},
		{"it is on order already but late", short(inventory.KitLine{Short: 2, ArrivesOn: plans.AsOf + 9}), "on order: Wed 10 Mar, 5 days late", "move it to Wed 10 Mar or fetch the part sooner"},
		{"the sooner of the two counts", ordering(short(inventory.KitLine{Short: 2, ArrivesOn: plans.AsOf + 9}), 10, 5), "this order: Sat 6 Mar, 1 day late", "move it to Sat 6 Mar or fetch the part sooner"},
		{"it is on order and due in time", short(inventory.KitLine{FromOrder: 2, ArrivesOn: plans.AsOf + 2}), "on order: Wed 3 Mar, in time", "stays as booked: once ordered, all of it comes in time"},
		{"another item stands in", short(inventory.KitLine{Alternate: "A"}), "use Grey wiper instead", "stays as booked: once ordered, all of it comes in time"},
		{"a kit can be opened", short(inventory.KitLine{FromKit: "K"}), "open one K", "stays as booked: once ordered, all of it comes in time"},
		{"another item stands in where it is needed at all", short(inventory.KitLine{Alternate: "A", Probability: 0.3}), "if it is needed, use Grey wiper instead", "stays as booked: once ordered, all of it comes in time"},
		{"a kit is opened only where it is needed", short(inventory.KitLine{FromKit: "K", Probability: 0.04}), "if it is needed, open one K", "stays as booked: once ordered, all of it comes in time"},
		{"the job may not need it", ordering(short(inventory.KitLine{Short: 2, Probability: 0.3}), 10, 5), "this order: Sat 6 Mar, 1 day late", "look at the unit first: it may not need the part"},
		{"nor is it on order", short(inventory.KitLine{Short: 2, Probability: 0.3}), "not on order: look at the unit first", "look at the unit first: it may not need the part"},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			job := shortages(r.p)[0]
			if len(job.lacking) != 1 || job.lacking[0].action != r.action {
				t.Errorf("found %+v, expected the action %q", job.lacking, r.action)
			}
			if got := job.advice(r.p); got != r.advice {
				t.Errorf("found the advice %q, expected %q", got, r.advice)
			}
		})
	}
}

func TestWhatAnOrderBringsIsGivenOnlyOnce(t *testing.T) {
	p := ordering(short(inventory.KitLine{Short: 2}), 3, 4)
	p.Kits = append(p.Kits, p.Kits[0])
	jobs := shortages(p)
	if first, second := jobs[0].lacking[0].action, jobs[1].lacking[0].action; !strings.HasPrefix(first, "this order") || !strings.HasPrefix(second, "not on order") {
		t.Errorf("found %q and %q, expected the order's 3 pieces to fill the first job's 2 only", first, second)
	}
}

func TestAJobThatHasAllIsNotToldToWait(t *testing.T) {
	rows := []struct {
		rule   string
		bench  inventory.Date
		advice string
	}{
		{"to come", plans.AsOf, "all there"},
		{"past its day", plans.AsOf - 1, "overdue: close or move it"},
	}
	for _, r := range rows {
		p := short(inventory.KitLine{FromFree: 2})
		p.Kits[0].BenchDate = r.bench
		job := shortages(p)[0]
		if got := job.advice(p); len(job.lacking) != 0 || got != r.advice {
			t.Errorf("%s: found %q and %d lacking lines, expected %q and none", r.rule, got, len(job.lacking), r.advice)
		}
	}
}
