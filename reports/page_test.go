package reports

import (
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/reports/plan"
	"circlip/testdata/golden/plans"
)

// words is a text as one line, however it was broken.
func words(text string) string { return strings.Join(strings.Fields(text), " ") }

func TestAnOrderThatLimitsCutToNothingIsNoGoodNews(t *testing.T) {
	p := plan.Plan{AsOf: plans.AsOf, Currency: euro, Limits: []plan.Limit{{Kind: plan.BudgetLimit, Wanted: "EUR 48.70", Allowed: "EUR 0.00"}}}
	for name, said := range map[string]string{"page": orderSentence(p), "summary": Summary(p).Empty} {
		if !strings.HasPrefix(said, "Nothing is ordered: what is needed goes beyond the limits, see ") {
			t.Errorf("found %q on the %s", said, name)
		}
	}
}

func TestThePageSaysByWhenToOrder(t *testing.T) {
	order := func(by inventory.Date) plan.Order {
		return plan.Order{PlaceBy: by, Total: 10_00, Lines: []plan.Line{{ExpectedOn: by}}}
	}
	day := plans.AsOf
	rows := []struct {
		rule   string
		orders []plan.Order
		want   string
	}{
		{"nothing to order is good news", nil, "Nothing to order today: what is on the shelf and on order lasts until the next delivery."},
		{"one today", []plan.Order{order(day)}, "EUR 10.00 in all: from 1 supplier today."},
		{"several today", []plan.Order{order(day), order(day)}, "EUR 20.00 in all: from 2 suppliers today."},
		{"a day that has passed is today", []plan.Order{order(day - 1)}, "EUR 10.00 in all: from 1 supplier today."},
		{"later days in their order", []plan.Order{order(day + 4), order(day), order(day + 1)}, "EUR 30.00 in all: from 1 supplier today, from 1 supplier by Tue 2 Mar, from 1 supplier by Fri 5 Mar."},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			p := plan.Plan{AsOf: day, Currency: euro, Orders: r.orders}
			if got := orderSentence(p); got != r.want {
				t.Errorf("found %q, expected %q", got, r.want)
			}
		})
	}
}

func TestThePageSaysWhatTheOrderBuys(t *testing.T) {
	rows := []struct {
		rule      string
		readiness plan.Readiness
		want      string
	}{
		{"computed exactly: no word on errors", plan.Readiness{Target: 0.97, WithoutOrder: 0.8, WithOrder: 0.98, Exact: true},
			"Of the jobs that come between these deliveries and the next ones, 98.0 % find on their day what they wait for; without this order, 80.0 %. The target is 97.0 %."},
		{"simulated: two standard errors", plan.Readiness{Target: 0.9, WithoutOrder: 0.8, WithOrder: 0.98, StandardError: 0.001},
			"Of the jobs that come between these deliveries and the next ones, 98.0 % find on their day what they wait for; without this order, 80.0 %. The target is 90.0 %. Both shares come from a simulation and are right to about 0.20 points."},
		{"a target that is missed is said", plan.Readiness{Target: 0.97, WithoutOrder: 0.8, WithOrder: 0.969999, Exact: true},
			"Of the jobs that come between these deliveries and the next ones, 96.9 % find on their day what they wait for; without this order, 80.0 %. The target is 97.0 %, which this order does not reach: see under Take note what holds it back."},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			if got := strings.Join(readinessSentences(plan.Plan{Readiness: r.readiness}), " "); got != r.want {
				t.Errorf("found %q, expected %q", got, r.want)
			}
		})
	}
}

func TestThePageSaysHowManyJobsWaitForWhatComesTooLate(t *testing.T) {
	late := inventory.KitLine{Short: 2, ArrivesOn: plans.AsOf + 9}
	twice := short(late)
	twice.Kits = append(twice.Kits, twice.Kits[0])
	maybe := late
	maybe.Probability = 0.3
	rows := []struct {
		rule string
		p    plan.Plan
		want string
	}{
		{"one whose part comes too late", short(late), "1 booked job needs parts before they come: see below."},
		{"two", twice, "2 booked jobs need parts before they come: see below."},
		{"this order comes in time", ordering(short(inventory.KitLine{Short: 2}), 10, 4), ""},
		{"this order comes too late", ordering(short(inventory.KitLine{Short: 2}), 10, 5), "1 booked job needs parts before they come: see below."},
		{"what never comes is not late", short(inventory.KitLine{Short: 2}), ""},
		{"a part that the job may not need", short(maybe), ""},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			got := ""
			if sentences := readinessSentences(r.p); len(sentences) > 1 {
				got = sentences[1]
			}
			if got != r.want {
				t.Errorf("found %q, expected %q", got, r.want)
			}
		})
	}
}

func TestJobsThatFindNoRoomAreCountedInGoodGrammar(t *testing.T) {
	for jobs, want := range map[int]string{
		pageJobs:     "",
		pageJobs + 1: "1 more is short: circlip kits, or the sheet Kits, lists it.",
		pageJobs + 2: "2 more are short: circlip kits, or the sheet Kits, lists them.",
	} {
		p := short(inventory.KitLine{Short: 2})
		for len(p.Kits) < jobs {
			p.Kits = append(p.Kits, p.Kits[0])
		}
		page := words(Page(p))
		if want == "" && strings.Contains(page, "more") || !strings.Contains(page, want) {
			t.Errorf("%d jobs that are short: expected %q on the page, found %s", jobs, want, page)
		}
	}
}

func TestThePageGivesTheHourBesideTheDay(t *testing.T) {
	rows := []struct {
		rule   string
		by     inventory.Date
		cutoff string
		want   string
	}{
		{"today, no hour known", plans.AsOf, "", "today"},
		{"today, with an hour", plans.AsOf, "14:00", "today 14:00"},
		{"a day that has passed is today", plans.AsOf - 1, "14:00", "today 14:00"},
		{"a later day", plans.AsOf + 4, "09:30", "5 Mar 09:30"},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			o := plan.Order{PlaceBy: r.by, Supplier: inventory.Supplier{Code: "S", Cutoff: r.cutoff}}
			p := plan.Plan{AsOf: plans.AsOf, Currency: euro, Orders: []plan.Order{o}}
			if got := placeBy(p, o); got != r.want {
				t.Errorf("found %q, expected %q", got, r.want)
			}
			if page := Page(p); !strings.Contains(page, r.want) {
				t.Errorf("expected %q in the table, found:\n%s", r.want, page)
			}
		})
	}
}

func TestThePageCountsBookedJobs(t *testing.T) {
	kit := func(state inventory.KitState, on inventory.Date) inventory.JobKit {
		return inventory.JobKit{Job: "J", State: state, BenchDate: on}
	}
	rows := []struct {
		rule string
		kits []inventory.JobKit
		want string
	}{
		{"none", nil, "None is booked. Enter the bench dates you know: they make the plan surer than any forecast."},
		{"one that is ready", []inventory.JobKit{kit(inventory.Ready, plans.AsOf)}, "Of 1 booked job 1 is ready, 0 will be when what is on order comes, 0 are short."},
		{"one in each state, one of them late", []inventory.JobKit{kit(inventory.Ready, plans.AsOf-1), kit(inventory.Coming, plans.AsOf), kit(inventory.Short, plans.AsOf)},
			"Of 3 booked jobs 1 is ready, 1 will be when what is on order comes, 1 is short. 1 is past the bench date, to be closed or moved: J."},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			if got := strings.Join(jobSentences(plan.Plan{AsOf: plans.AsOf, Kits: r.kits}), " "); got != r.want {
				t.Errorf("found %q, expected %q", got, r.want)
			}
		})
	}
}

func TestListsAreCutAndCounted(t *testing.T) {
	names := []string{"a", "b", "c"}
	for most, want := range map[int]string{1: "a and 2 more", 2: "a, b and 1 more", 3: "a, b, c", 9: "a, b, c"} {
		if got := listed(names, most); got != want {
			t.Errorf("listed(%d) = %q, expected %q", most, got, want)
		}
	}
	if got := clipped(names, 2); len(got) != 3 || got[2] != "… and 1 more in the workbook." || len(names) != 3 {
		t.Errorf("found %q of %q", got, names)
	}
	if got := clipped(names, 3); len(got) != 3 {
		t.Errorf("found %q, expected all three", got)
	}
}

// Cautions stand on the page and on the sheet of jobs; the program gives no
// permission.
func TestCautionsStandWhereJobsDo(t *testing.T) {
	p := plans.Plan()
	for where, text := range map[string]string{"page": Page(p), "kits": textOf(t, KitTable(p)), "empty page": Page(plan.Plan{AsOf: plans.AsOf})} {
		for _, word := range []string{"hold pressure", "nitrogen", "Solvents", "used oil", "maker's instructions", "local codes", "licensed practice", "gives no permission"} {
			if !strings.Contains(words(text), word) {
				t.Errorf("%s: expected a caution that names %q", where, word)
			}
		}
	}
}

func TestTheSummarySaysHowSureItIs(t *testing.T) {
	rows := []struct {
		rule      string
		readiness plan.Readiness
		label     string
		value     string
	}{
		{"exact", plan.Readiness{Exact: true, StandardError: 0.1}, "Error of the two shares", "none: computed exactly"},
		{"an error of nothing is exact", plan.Readiness{}, "Error of the two shares", "none: computed exactly"},
		{"simulated", plan.Readiness{StandardError: 0.00123}, "Standard error of the two shares", "0.12"},
	}
	for _, r := range rows {
		facts := readinessFacts(r.readiness)
		if last := facts[len(facts)-1]; last.Label != r.label || last.Value.String() != r.value {
			t.Errorf("%s: found %q %q, expected %q %q", r.rule, last.Label, last.Value, r.label, r.value)
		}
	}
}

func TestThePageSpeaksOnlyOfWhatThereIsToSay(t *testing.T) {
	full := plans.Plan()
	rows := map[string]func(*plan.Plan){
		"WHAT LIMITS CUT":        func(p *plan.Plan) { p.Limits = nil },
		"WORTH BRINGING FORWARD": func(p *plan.Plan) { p.Forward = nil },
		"TO CHASE":               func(p *plan.Plan) { p.Chase = nil },
		"AGEING OUT":             func(p *plan.Plan) { p.Expiring = nil },
		"WHAT READINESS COSTS":   func(p *plan.Plan) { p.Curve = nil },
	}
	for title, without := range rows {
		p := full
		without(&p)
		if !strings.Contains(Page(full), "\n"+title+"\n") || strings.Contains(Page(p), title) {
			t.Errorf("%s: expected it where there is something to say, and only there", title)
		}
	}
}

func TestThePageTellsEachLimitOnce(t *testing.T) {
	p := plans.Plan()
	warning := p.Limits[0].Warning
	if strings.Contains(words(Page(p)), warning) || !strings.Contains(words(textOf(t, Summary(p))), warning) {
		t.Errorf("expected %q in the summary, and not on the page, which tells the limit by itself", warning)
	}
	p.Limits = nil
	if !strings.Contains(words(Page(p)), warning) {
		t.Errorf("expected %q among what to note where nothing else tells it", warning)
	}
}

func TestATargetThatIsMissedSaysWhereToLook(t *testing.T) {
	p := plans.Plan()
	p.Readiness = plan.Readiness{Target: 0.97, WithOrder: 0.93, Aim: 0.98, Exact: true}
	if got := strings.Join(readinessSentences(p), " "); !strings.Contains(got, "does not reach: see below what limits cut.") || strings.Contains(got, "aims at") {
		t.Errorf("found %q, expected it to point to the limits, and no word of an aim that was not reached", got)
	}
}

func TestAnOrderThatGoesOnAnotherDayThanUsualSaysWhy(t *testing.T) {
	p := plans.Plan()
	if strings.Contains(words(Page(p)), "Tarn Works: order on") {
		t.Error("found a reason for a day that is the usual one")
	}
	p.Orders[2].Moved = "a day early: holiday on Fri 5 Mar"
	want := "Tarn Works: order on Thu 4 Mar, a day early: holiday on Fri 5 Mar."
	for where, text := range map[string]string{"page": Page(p), "summary": textOf(t, Summary(p))} {
		if !strings.Contains(words(text), want) {
			t.Errorf("%s: expected %q, found:\n%s", where, want, text)
		}
	}
	if order := words(textOf(t, SupplierOrder(p, p.Orders[2]))); !strings.Contains(order, "Why that day a day early: holiday on Fri 5 Mar") {
		t.Errorf("order: expected the reason above it, found:\n%s", order)
	}
}

func TestTheSummaryPointsToTheSheetsThatHaveSomethingToSay(t *testing.T) {
	none := plans.Plan()
	none.Limits, none.Forward, none.Chase, none.Expiring = nil, nil, nil, nil
	if got := elsewhere(none); len(got) != 0 {
		t.Errorf("found %q, expected nothing", got)
	}
	one := plans.Plan()
	one.Limits, one.Chase, one.Expiring = one.Limits[:1], one.Chase[:1], one.Expiring[:1]
	want := "1 limit cuts the order: see the sheet Limits.|1 order could be made bigger and cost less in all: see the sheet Bring forward.|1 line on order is to be chased: see the sheet Chase.|1 lot ages out: see the sheet Ageing."
	if got := strings.Join(elsewhere(one), "|"); got != want {
		t.Errorf("found %q, expected %q", got, want)
	}
	names := map[string]bool{}
	for _, s := range allSheets(one) {
		names[s.Name] = true
	}
	for _, remark := range elsewhere(one) {
		if name := strings.TrimSuffix(remark[strings.Index(remark, "sheet ")+6:], "."); !names[name] {
			t.Errorf("%q names a sheet that there is not", remark)
		}
	}
}
