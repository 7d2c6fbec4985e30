package plan

import (
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"circlip/inventory"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// friday is the bench date of the jobs below: eleven days after the plan's.
var friday = monday + 11

// chaseShop is a shop that waits for one seal: job J1 on friday takes it, and
// order PO of the supplier far is to bring it. far needs nine days, near three.
func chaseShop() inventory.Shop {
	shop := parkShop()
	shop.Units, shop.Lots = nil, nil
	shop.Items[2].Name = "Seal"
	shop.Offers = append(shop.Offers, inventory.Offer{Item: "seal", Supplier: "near", FromPacks: 1, PackQty: 1, MinPacks: 1, Multiple: 1, Price: 4_00})
	shop.Kits = nil
	shop.BOM = []inventory.BOMLine{{Service: "lower", Model: "*", Item: "seal", Qty: 2, Need: 1}}
	shop.Jobs = []inventory.Job{{Code: "J1", Model: "fell", Services: []string{"lower"}, BookedOn: monday - 3, BenchDate: friday, State: inventory.Booked}}
	shop.Orders = []inventory.OrderLine{{Order: "PO", Item: "seal", Supplier: "far", Packs: 3, PackQty: 2, ReceivedPacks: 1, PlacedOn: monday - 2, DueOn: friday + 3}}
	return shop
}

// chased is what a shop has to chase.
func chased(t testing.TB, shop inventory.Shop) []Chase {
	t.Helper()
	v, err := newView(shop)
	if err != nil {
		t.Fatal(err)
	}
	return v.chases(inventory.Kits(v.Shop))
}

func TestWhatToChaseByWhen(t *testing.T) {
	day := func(d inventory.Date) string { return d.Time().Format("Mon 2 Jan") }
	rows := []struct {
		rule string
		edit func(*inventory.Shop)
		want string // order, jobs, days late, call by: why
	}{
		{"what comes after the bench date: three days before it near can still bring it", nil,
			"PO J1 0 Tue 23 Jun: J1 needs it on " + day(friday) + ", and it is due 3 days later: ask for it sooner; Near can bring it in 3 days."},
		{"a last day that is a Sunday: the Friday before", func(s *inventory.Shop) { s.Jobs[0].BenchDate = friday - 2; s.Suppliers[0].LeadDays = 3 },
			"PO J1 0 Fri 19 Jun: J1 needs it on Wed 24 Jun, and it is due 5 days later: ask for it sooner; Near can bring it in 3 days."},
		{"a holiday of the workshop: the day before", func(s *inventory.Shop) { s.Holidays = []inventory.Holiday{{Date: friday - 3}} },
			"PO J1 0 Mon 22 Jun: J1 needs it on " + day(friday) + ", and it is due 3 days later: ask for it sooner; Near can bring it in 3 days."},
		{"a holiday of a supplier that nobody would call", func(s *inventory.Shop) {
			s.Holidays = []inventory.Holiday{{Date: friday - 3, Supplier: "far"}}
		},
			"PO J1 0 Tue 23 Jun: J1 needs it on " + day(friday) + ", and it is due 3 days later: ask for it sooner; Near can bring it in 3 days."},
		{"a holiday on which nothing is delivered: a day sooner", func(s *inventory.Shop) { s.Holidays = []inventory.Holiday{{Date: friday, Supplier: "near"}} },
			"PO J1 0 Mon 22 Jun: J1 needs it on " + day(friday) + ", and it is due 3 days later: ask for it sooner; Near can bring it in 3 days."},
		{"nobody else sells it: the supplier's own days", func(s *inventory.Shop) { s.Offers = s.Offers[:4] },
			"PO J1 0 Wed 17 Jun: J1 needs it on " + day(friday) + ", and it is due 3 days later: ask for it sooner; Far can bring it in 9 days."},
		{"an offer's own days before its supplier's", func(s *inventory.Shop) { one := 1; s.Offers[4].LeadDays = &one },
			"PO J1 0 Thu 25 Jun: J1 needs it on " + day(friday) + ", and it is due 3 days later: ask for it sooner; Near can bring it in 1 day."},
		{"tomorrow's job: too late for everybody", func(s *inventory.Shop) { s.Jobs[0].BenchDate = monday + 1 },
			"PO J1 0 Mon 15 Jun: J1 needs it on Tue 16 Jun, and it is due 13 days later: no supplier can bring it in time any more; move the job."},
		{"a job that may not take it: look first", func(s *inventory.Shop) { s.Jobs[0].BenchDate = monday + 1; s.BOM[0].Need = 0.5 },
			"PO J1 0 Mon 15 Jun: J1 may need it on Tue 16 Jun, and it is due 13 days later: no supplier can bring it in time any more; look at the unit first, or move the job."},
		{"today is the last day", func(s *inventory.Shop) { s.Jobs[0].BenchDate = monday + 3 },
			"PO J1 0 Mon 15 Jun: J1 needs it on Thu 18 Jun, and it is due 11 days later: ask for it sooner; Near can bring it in 3 days."},
		{"today is the last day, and the cut-off has passed", func(s *inventory.Shop) {
			s.Jobs[0].BenchDate, s.TimeOfDay, s.Suppliers[0].Cutoff = monday+3, "14:01", "14:00"
		},
			"PO J1 0 Mon 15 Jun: J1 needs it on Thu 18 Jun, and it is due 11 days later: no supplier can bring it in time any more; move the job."},
		{"a job that is overdue needs it today", func(s *inventory.Shop) { s.Jobs[0].BenchDate, s.Suppliers[0].LeadDays = monday-4, 0 },
			"PO J1 0 Mon 15 Jun: J1 needs it on Mon 15 Jun, and it is due 14 days later: ask for it sooner; Near can bring it the same day."},
		{"late, and nobody waits", func(s *inventory.Shop) { s.Jobs, s.Orders[0].DueOn = nil, monday-1 },
			"PO  1 Mon 15 Jun: It is 1 day late: ask when it comes, or take it off the order."},
		{"late, and a job counts on it", func(s *inventory.Shop) { s.Orders[0].DueOn = monday - 4 },
			"PO J1 4 Mon 15 Jun: It is 4 days late, and J1 counts on it for " + day(friday) + ": ask when it comes."},
		{"no day was told: late by the days quoted", func(s *inventory.Shop) { s.Orders[0].DueOn, s.Orders[0].PlacedOn = 0, monday-11 },
			"PO J1 2 Mon 15 Jun: It is 2 days late, and J1 counts on it for " + day(friday) + ": ask when it comes."},
		{"no day and no quote is never late", func(s *inventory.Shop) { s.Orders[0].DueOn, s.Orders[0].PlacedOn = 0, 0 }, ""},
		{"in time", func(s *inventory.Shop) { s.Orders[0].DueOn = friday }, ""},
		{"due today is not late", func(s *inventory.Shop) { s.Jobs, s.Orders[0].DueOn = nil, monday }, ""},
		{"closed: nothing more comes", func(s *inventory.Shop) { s.Orders[0].ClosedOn = monday - 1 }, ""},
		{"all has come", func(s *inventory.Shop) { s.Orders[0].ReceivedPacks = 3 }, ""},
		{"no job waits for what is not critical", func(s *inventory.Shop) { s.Items[2].Critical = false }, ""},
		{"what lies on the shelf is enough", func(s *inventory.Shop) {
			s.Lots = []inventory.Lot{{Item: "seal", Code: "L", OnHand: 2}}
		}, ""},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			shop := chaseShop()
			if r.edit != nil {
				r.edit(&shop)
			}
			var got []string
			for _, c := range chased(t, shop) {
				if c.Packs != 2 || c.Qty != 4 || c.Supplier.Name != "Far" || c.Item.Name != "Seal" {
					t.Errorf("found %d packs, %d of %q from %q, expected what has not come of the line", c.Packs, c.Qty, c.Item.Name, c.Supplier.Name)
				}
				got = append(got, strings.Join([]string{c.Order, strings.Join(c.Jobs, "+"), strconv.Itoa(c.DaysLate), day(c.CallBy) + ": " + c.Why}, " "))
			}
			if diff := cmp.Diff(r.want, strings.Join(got, "\n")); diff != "" {
				t.Errorf("-expected +found:\n%s", diff)
			}
		})
	}
}

// late is receipts of a supplier, each so many days after the day told.
func late(supplier string, days ...int) []inventory.OrderLine {
	var lines []inventory.OrderLine
	for n, late := range days {
		placed := monday - inventory.Date(400-10*n)
		lines = append(lines, inventory.OrderLine{
			Order: "old " + strconv.Itoa(n), Item: "seal", Supplier: supplier, Packs: 1, PackQty: 1, ReceivedPacks: 1,
			PlacedOn: placed, DueOn: placed + 9, ReceivedOn: placed + 9 + inventory.Date(late),
		})
	}
	return lines
}

func TestWhatIsDueInTimeIsChasedWhereTheSupplierIsRatherLate(t *testing.T) {
	always, never := make([]int, 20), make([]int, 20)
	for i := range always {
		always[i] = 6
	}
	rows := []struct {
		rule  string
		past  []int
		bench inventory.Date
		learn bool
		want  string
	}{
		// 20 receipts six days late and one as quoted: 20 of 21 come on the 5th
		// to 7th day after, 15 of 21 on the sixth or seventh.
		{"always a week late", always, friday, true, "J1 counts on it for Fri 26 Jun; going by the past, Far brings it later with a probability of 95 %: ask for it sooner; Near can bring it in 3 days."},
		{"late, but not later than the bench date", always, friday + 5, true, ""},
		{"late, and rather after the bench date", always, friday + 4, true, "J1 counts on it for Tue 30 Jun; going by the past, Far brings it later with a probability of 71 %: ask for it sooner; Near can bring it in 3 days."},
		{"rather late, and nobody else is quick enough", always, monday + 2, true, "J1 counts on it for Wed 17 Jun; going by the past, Far brings it later with a probability of 95 %: no supplier can replace it in time any more; ask for a firm day, or move the job."},
		{"always on the day", never, friday, true, ""},
		{"nothing is learnt where the book forbids it", always, friday, false, ""},
		{"no receipts, no doubt", nil, friday, true, ""},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			shop := chaseShop()
			shop.Settings.Learn = r.learn
			shop.Suppliers[1].LeadDays = 9
			shop.Offers = append(shop.Offers, inventory.Offer{Item: "seal", Supplier: "far", FromPacks: 1, PackQty: 2, MinPacks: 1, Multiple: 1, Price: 9_00})
			shop.Orders[0].DueOn, shop.Jobs[0].BenchDate = min(friday, r.bench)-1, r.bench
			shop.Orders = append(shop.Orders, late("far", r.past...)...)
			got := ""
			for _, c := range chased(t, shop) {
				got += c.Why
			}
			if diff := cmp.Diff(r.want, got); diff != "" {
				t.Errorf("-expected +found:\n%s", diff)
			}
		})
	}
}

func TestEachJobIsToldOfTheDeliveryThatItWaitsFor(t *testing.T) {
	shop := chaseShop()
	job := shop.Jobs[0]
	shop.Jobs = nil
	for n, bench := range []inventory.Date{monday + 2, monday + 3, monday + 4, monday + 8} {
		job.Code, job.BenchDate = "J"+strconv.Itoa(n+1), bench
		shop.Jobs = append(shop.Jobs, job)
	}
	line := shop.Orders[0]
	line.ReceivedPacks, line.Packs = 0, 2
	shop.Orders = nil
	for n, due := range []inventory.Date{monday - 1, monday + 7} {
		line.Order, line.DueOn = "PO"+strconv.Itoa(n+1), due
		shop.Orders = append(shop.Orders, line)
	}
	var got []string
	for _, c := range chased(t, shop) {
		got = append(got, c.Order+" "+strings.Join(c.Jobs, "+"))
	}
	if want := "PO1 J1+J2|PO2 J3"; strings.Join(got, "|") != want {
		t.Errorf("found %s, expected %s: the late one serves the first two jobs, the next comes too late for the third and in time for the fourth", strings.Join(got, "|"), want)
	}
}

func TestTheMostPressingCallComesFirst(t *testing.T) {
	shop := chaseShop()
	job, line := shop.Jobs[0], shop.Orders[0]
	shop.Jobs, shop.Orders = nil, nil
	add := func(order, item string, due inventory.Date) {
		line.Order, line.Item, line.DueOn = order, item, due
		shop.Orders = append(shop.Orders, line)
	}
	add("B", "wiper", monday-1)
	add("A", "wiper", monday-1)
	add("A", "oil", monday-1)
	add("C", "seal", friday+3)
	job.BenchDate = friday
	shop.Jobs = append(shop.Jobs, job)
	add("D", "kit", monday-1)
	shop.BOM = append(shop.BOM, inventory.BOMLine{Service: "lower", Model: "*", Item: "kit", Qty: 1, Need: 1})
	var got []string
	for _, c := range chased(t, shop) {
		got = append(got, c.Order+" "+c.Item.Code)
	}
	if want := "D kit, A oil, A wiper, B wiper, C seal"; strings.Join(got, ", ") != want {
		t.Errorf("found %s, expected %s: today's first, of those the one that a job counts on", strings.Join(got, ", "), want)
	}
}

// Whatever the day, the leads and the holidays: a call by the last day reaches
// the bench in time, one a day later does not, and no call is asked for on a
// day on which nobody answers.
func TestACallByTheLastDayIsInTimeAndALaterOneIsNot(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shop := chaseShop()
		shop.AsOf += inventory.Date(rapid.IntRange(0, 6).Draw(t, "as of"))
		shop.Suppliers[0].LeadDays = rapid.IntRange(0, 12).Draw(t, "near's days")
		shop.Suppliers[1].LeadDays = rapid.IntRange(0, 12).Draw(t, "far's days")
		for _, off := range rapid.SliceOfN(rapid.IntRange(0, 20), 0, 5).Draw(t, "holidays") {
			supplier := rapid.SampledFrom([]string{"", "near", "far"}).Draw(t, "of")
			shop.Holidays = append(shop.Holidays, inventory.Holiday{Date: shop.AsOf + inventory.Date(off), Supplier: supplier})
		}
		shop.Jobs[0].BenchDate = shop.AsOf + inventory.Date(rapid.IntRange(-2, 20).Draw(t, "bench"))
		shop.Orders[0].DueOn = max(shop.AsOf, shop.Jobs[0].BenchDate) + 1
		v, err := newView(shop)
		if err != nil {
			t.Fatal(err)
		}
		all := v.chases(inventory.Kits(v.Shop))
		if len(all) != 1 {
			t.Fatalf("found %d chases, expected the one line that comes too late", len(all))
		}
		inTime := func(call inventory.Date) bool {
			for _, s := range shop.Suppliers {
				closed := func(day inventory.Date) bool {
					return slices.ContainsFunc(shop.Holidays, func(h inventory.Holiday) bool {
						return h.Date == day && (h.Supplier == "" || h.Supplier == s.Code)
					})
				}
				comes := call + inventory.Date(s.LeadDays)
				for closed(comes) {
					comes++
				}
				if call.Weekday() != time.Saturday && call.Weekday() != time.Sunday && !closed(call) && comes <= all[0].Bench {
					return true
				}
			}
			return false
		}
		var last inventory.Date
		for d := shop.AsOf; d <= all[0].Bench; d++ {
			if inTime(d) {
				last = d
			}
		}
		if hopeless := strings.Contains(all[0].Why, "no supplier can"); hopeless != last.IsZero() || all[0].CallBy != max(last, shop.AsOf) {
			t.Fatalf("found %s (%s), expected %s", all[0].CallBy, all[0].Why, last)
		}
	})
}
