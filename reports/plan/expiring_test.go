package plan

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"circlip/inventory"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// ageingShop takes ten seals a week, for a job booked for the Wednesday of each
// of its eight weeks, and nothing else: what it will use is certain. The forecast
// spreads a week's use over its working days. Its seals are
// of a material that keeps seven years and three more after an inspection.
func ageingShop() inventory.Shop {
	shop := parkShop()
	shop.Settings.ShowRate = 1
	shop.Units, shop.Lots, shop.Kits, shop.Jobs = nil, nil, nil, nil
	shop.Items[2].Material = "NBR"
	shop.BOM = []inventory.BOMLine{{Service: "lower", Model: "*", Item: "seal", Qty: 10, Need: 1}}
	for week := range 8 {
		shop.Jobs = append(shop.Jobs, inventory.Job{
			Code: fmt.Sprintf("J%d", week+1), Model: "fell", Services: []string{"lower"},
			BookedOn: monday - 3, BenchDate: monday + 2 + inventory.Date(7*week), State: inventory.Booked,
		})
	}
	shop.Lots = []inventory.Lot{{Item: "seal", Code: "L1", OnHand: 30, UnitCost: inventory.CostOf(2_50, 1, inventory.Each)}}
	return shop
}

// ageing is what ages out in a shop.
func ageing(t rapid.TB, shop inventory.Shop) []Expiring {
	t.Helper()
	out, err := Foresee(shop)
	if err != nil {
		t.Fatal(err)
	}
	return out.view.expiring(out.shelf)
}

func TestWhatAgesOut(t *testing.T) {
	// The Monday after so many weeks: a lot that expires on it is good for them.
	after := func(weeks int) inventory.Date { return monday + inventory.Date(7*weeks) }
	rows := []struct {
		rule string
		edit func(*inventory.Shop)
		want string // lot: expected + over of on hand, value, jobs, extension
	}{
		{"ten a week, thirty on hand, good for two weeks: ten too many",
			func(s *inventory.Shop) { s.Lots[0].Expires = after(2) }, "L1: 20+10 of 30, 75.00, J1 J2, 2029-06-29"},
		{"good for three weeks: used up, nothing to tell",
			func(s *inventory.Shop) { s.Lots[0].Expires = after(3) }, ""},
		{"it does not age", func(s *inventory.Shop) {}, ""},
		{"on the day of its expiry it is not good any more: J1's day does not count",
			func(s *inventory.Shop) { s.Lots[0].Expires = monday }, "L1: 0+30 of 30, 75.00, , 2029-06-15"},
		{"good for three working days of five: three fifths of the week's ten",
			func(s *inventory.Shop) { s.Lots[0].Expires = monday + 3 }, "L1: 6+24 of 30, 75.00, J1, 2029-06-18"},
		{"expired: nothing is expected of it and no job may use it",
			func(s *inventory.Shop) { s.Lots[0].Expires = monday - 10 }, "L1: 0+30 of 30, 75.00, , 2029-06-05"},
		{"an overdue job could still use it",
			func(s *inventory.Shop) { s.Jobs[0].BenchDate, s.Lots[0].Expires = monday-5, monday+1 }, "L1: 2+28 of 30, 75.00, J1, 2029-06-16"},
		{"the first expired is used first",
			func(s *inventory.Shop) {
				s.Lots[0].Expires = after(2)
				s.Lots = append(s.Lots, inventory.Lot{Item: "seal", Code: "L2", OnHand: 15, Expires: after(4), UnitCost: s.Lots[0].UnitCost})
			}, "L1: 20+10 of 30, 75.00, J1 J2, 2029-06-29"},
		{"and what it leaves to the next counts once",
			func(s *inventory.Shop) {
				s.Lots[0].Expires = after(2)
				s.Lots = append(s.Lots, inventory.Lot{Item: "seal", Code: "L2", OnHand: 21, Expires: after(4), UnitCost: s.Lots[0].UnitCost})
			}, "L1: 20+10 of 30, 75.00, J1 J2, 2029-06-29|L2: 20+1 of 21, 52.50, J1 J2 J3 J4, 2029-07-13"},
		{"beyond the horizon the use goes on: eighty in eight weeks, a hundred in ten",
			func(s *inventory.Shop) { s.Lots[0].OnHand, s.Lots[0].Expires = 101, after(10) }, "L1: 100+1 of 101, 252.50, J1 J2 J3 J4 J5 J6 J7 J8, 2029-08-24"},
		{"but not for more than a year",
			func(s *inventory.Shop) { s.Lots[0].OnHand, s.Lots[0].Expires = 10_000, monday.AddMonths(12)+1 }, ""},
		{"an empty lot", func(s *inventory.Shop) { s.Lots[0].OnHand, s.Lots[0].Expires = 0, monday-1 }, ""},
		{"shelf months of the supplier's are not the standard's to extend",
			func(s *inventory.Shop) { s.Items[2].ShelfMonths, s.Lots[0].Expires = 24, after(2) }, "L1: 20+10 of 30, 75.00, J1 J2, "},
		{"nor is a material that it does not know",
			func(s *inventory.Shop) { s.Items[2].Material, s.Lots[0].Expires = "PTFE", after(2) }, "L1: 20+10 of 30, 75.00, J1 J2, "},
		{"what was inspected once is not extended again",
			func(s *inventory.Shop) { s.Lots[0].Code, s.Lots[0].Expires = "L1 inspected", after(2) }, "L1 inspected: 20+10 of 30, 75.00, J1 J2, "},
		{"nor what was opened of it afterwards",
			func(s *inventory.Shop) {
				s.Lots[0].Code, s.Lots[0].Expires = "L1 inspected opened 2026-06-01", after(2)
			}, "L1 inspected opened 2026-06-01: 20+10 of 30, 75.00, J1 J2, "},
		{"nor what would be too old even then",
			func(s *inventory.Shop) { s.Lots[0].Expires = monday.AddMonths(-36) }, "L1: 0+30 of 30, 75.00, , "},
		{"a kit is as short-lived as its shortest-lived part",
			func(s *inventory.Shop) {
				s.Items[2].Material, s.Items[3].Material = "", "AU"
				s.Items[4].Material = "FKM"
				s.Kits = []inventory.KitPart{{Kit: "seal", Item: "wiper", Qty: 1}, {Kit: "seal", Item: "wipes", Qty: 1}}
				s.Lots[0].Expires = after(2)
			}, "L1: 20+10 of 30, 75.00, J1 J2, 2028-06-29"},
		{"a lot of unknown cost is worth what its supplier asks",
			func(s *inventory.Shop) {
				s.Offers = append(s.Offers, inventory.Offer{Item: "seal", Supplier: "near", FromPacks: 1, PackQty: 2, MinPacks: 1, Multiple: 1, Price: 3_00})
				s.Lots[0].UnitCost, s.Lots[0].Expires = 0, after(2)
			}, "L1: 20+10 of 30, 45.00, J1 J2, 2029-06-29"},
		{"a lot that nobody uses",
			func(s *inventory.Shop) {
				s.Lots[0].Item, s.Lots[0].Expires = "wipes", after(2)
			}, "L1: 0+30 of 30, 75.00, , "},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			shop := ageingShop()
			r.edit(&shop)
			var got []string
			for _, e := range ageing(t, shop) {
				got = append(got, fmt.Sprintf("%s: %d+%d of %d, %s, %s, %s", e.Lot.Code, e.Expected, e.Over, e.Lot.OnHand, shop.Settings.Currency.Format(e.Value), strings.Join(e.Jobs, " "), e.Extend))
			}
			if diff := cmp.Diff(r.want, strings.Join(got, "|")); diff != "" {
				t.Errorf("-expected +found:\n%s", diff)
			}
		})
	}
}

// Of all lots together no more is expected to be used by a day than the shop
// uses by then, and each lot is told whole.
func TestNoUseIsExpectedOfTwoLots(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shop := ageingShop()
		shop.Lots = nil
		for n := range rapid.IntRange(1, 8).Draw(t, "lots") {
			shop.Lots = append(shop.Lots, inventory.Lot{
				Item: "seal", Code: fmt.Sprintf("L%d", n), OnHand: inventory.Quantity(rapid.IntRange(1, 60).Draw(t, "on hand")),
				Expires: monday + inventory.Date(rapid.IntRange(-20, 90).Draw(t, "days")),
			})
		}
		expected := inventory.Quantity(0)
		var last inventory.Date
		for _, e := range ageing(t, shop) {
			if e.Over <= 0 || e.Expected < 0 || e.Expected+e.Over != e.Lot.OnHand || e.Lot.Expires < last {
				t.Fatalf("found %+v after one that expires on %s, expected what is used and what is over to make up the lot, the first expired first", e, last)
			}
			last = e.Lot.Expires
			expected += e.Expected
			working := 0
			for d := monday; d < e.Lot.Expires; d++ {
				if d.Weekday() != time.Saturday && d.Weekday() != time.Sunday {
					working++
				}
			}
			// Beyond the horizon every day counts alike: a seventh of ten, not a fifth.
			if expected > inventory.Quantity(2*working+3) {
				t.Fatalf("found %d expected of the lots up to %s, expected no more than ten a week, two on each of %d working days", expected, e.Lot.Expires, working)
			}
		}
	})
}
