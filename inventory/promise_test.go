package inventory

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

const today = Date(20_000)

// kitText is a kit as a line of a specification: each line's item with where
// its quantity comes from.
func kitText(k JobKit) string {
	parts := []string{k.Job, string(k.State)}
	for _, l := range k.Lines {
		text := l.Item
		for _, from := range []struct {
			word string
			qty  Quantity
		}{{"aside", l.SetAside}, {"free", l.FromFree}, {"order", l.FromOrder}, {"short", l.Short}} {
			if from.qty > 0 {
				text += fmt.Sprintf(" %s=%d", from.word, from.qty)
			}
		}
		if !l.ArrivesOn.IsZero() {
			text += fmt.Sprintf(" on=+%d", l.ArrivesOn-today)
		}
		if l.Alternate != "" {
			text += " alternate=" + l.Alternate
		}
		if l.FromKit != "" {
			text += " open=" + l.FromKit
		}
		parts = append(parts, text)
	}
	return strings.Join(parts, "; ")
}

func TestKits(t *testing.T) {
	wiper := func(need float64) []BOMLine {
		return []BOMLine{{Service: "lower", Model: AnyModel, Item: "wiper", Qty: 2, Need: need}}
	}
	job := func(code string, in Date) Job {
		return Job{Code: code, Model: "fell", Services: []string{"lower"}, BenchDate: today + in, State: Booked}
	}
	lot := func(qty Quantity, expires Date) Lot {
		return Lot{Item: "wiper", Code: fmt.Sprintf("L%d", expires), Expires: expires, OnHand: qty}
	}
	order := func(packs int, in Date) OrderLine {
		return OrderLine{Item: "wiper", Packs: packs, PackQty: 2, DueOn: today + in}
	}
	tests := []struct {
		rule   string
		change func(*Shop)
		want   string
	}{
		{"what is free makes a kit ready", func(s *Shop) {
			s.Jobs, s.Lots = []Job{job("J1", 3)}, []Lot{lot(2, 0)}
		}, "J1; ready; wiper free=2"},
		{"an earlier bench date is served first, whatever the order of the book", func(s *Shop) {
			s.Jobs, s.Lots = []Job{job("J1", 3), job("J2", 1)}, []Lot{lot(2, 0)}
		}, "J2; ready; wiper free=2\nJ1; short; wiper short=2"},
		{"what is there counts though it is not enough", func(s *Shop) {
			s.Jobs, s.Lots = []Job{job("J1", 3)}, []Lot{lot(1, 0)}
		}, "J1; short; wiper free=1 short=1"},
		{"what is due by the bench date is coming", func(s *Shop) {
			s.Jobs, s.Orders = []Job{job("J1", 3)}, []OrderLine{order(1, 3)}
		}, "J1; coming; wiper order=2 on=+3"},
		{"what is due a day after the bench date is too late", func(s *Shop) {
			s.Jobs, s.Orders = []Job{job("J1", 3)}, []OrderLine{order(1, 4)}
		}, "J1; short; wiper short=2 on=+4"},
		{"an order that is late already can come today at the earliest", func(s *Shop) {
			s.Jobs, s.Orders = []Job{job("J1", 0)}, []OrderLine{order(1, -9)}
		}, "J1; coming; wiper order=2 on=+0"},
		{"a lot is of no use once it has expired", func(s *Shop) {
			s.Jobs, s.Lots = []Job{job("J1", 3)}, []Lot{lot(2, today+3)}
		}, "J1; short; wiper short=2"},
		{"the lot that expires first goes to the job that can still use it", func(s *Shop) {
			s.Jobs, s.Lots = []Job{job("J1", 1), job("J2", 5)}, []Lot{lot(2, 0), lot(2, today+3)}
		}, "J1; ready; wiper free=2\nJ2; ready; wiper free=2"},
		{"what is set aside for a job is its own and nobody else's", func(s *Shop) {
			kept := lot(2, 0)
			kept.SetAside = []SetAside{{"J2", 2}}
			s.Jobs, s.Lots = []Job{job("J1", 1), job("J2", 5)}, []Lot{kept}
		}, "J1; short; wiper short=2\nJ2; ready; wiper aside=2"},
		{"though not once it has expired, whoever it is kept for", func(s *Shop) {
			kept := lot(2, today+3)
			kept.SetAside = []SetAside{{"J1", 2}}
			s.Jobs, s.Lots = []Job{job("J1", 3)}, []Lot{kept}
		}, "J1; short; wiper short=2"},
		{"what was kept is replaced from what is free then", func(s *Shop) {
			kept := lot(2, today+3)
			kept.SetAside = []SetAside{{"J1", 2}}
			s.Jobs, s.Lots = []Job{job("J1", 3)}, []Lot{kept, lot(3, 0)}
		}, "J1; ready; wiper free=2"},
		{"a job dated before today counts today, before today's", func(s *Shop) {
			s.Jobs, s.Lots = []Job{job("J1", 0), job("J2", -5)}, []Lot{lot(2, 0)}
		}, "J2; ready; wiper free=2\nJ1; short; wiper short=2"},
		{"done and cancelled jobs take nothing", func(s *Shop) {
			done, cancelled := job("J1", 1), job("J2", 1)
			done.State, cancelled.State = Done, Cancelled
			s.Jobs, s.Lots = []Job{done, cancelled, job("J3", 2)}, []Lot{lot(2, 0)}
		}, "J3; ready; wiper free=2"},
		{"what no job waits for does not hold a kit up", func(s *Shop) {
			s.Jobs, s.Items = []Job{job("J1", 1)}, []Item{{Code: "wiper", Measure: Each}}
		}, "J1; ready; wiper short=2"},
		{"an alternate stands in, the best rank first", func(s *Shop) {
			s.Jobs, s.Lots = []Job{job("J1", 1)}, []Lot{{Item: "b", OnHand: 2}, {Item: "c", OnHand: 2}}
			s.Alternates = []Alternate{{Item: "wiper", Alternate: "c", Rank: 2}, {Item: "wiper", Alternate: "b", Rank: 1}}
		}, "J1; ready; wiper alternate=b"},
		{"it stands in for the whole line, and what is left of the item is for the next", func(s *Shop) {
			s.BOM = append(s.BOM, BOMLine{Service: "clean", Model: AnyModel, Item: "wiper", Qty: 1, Need: 1})
			s.Jobs, s.Lots = []Job{job("J1", 1), job("J2", 2)}, []Lot{lot(1, 0), {Item: "b", OnHand: 2}}
			s.Jobs[1].Services = []string{"clean"}
			s.Alternates = []Alternate{{Item: "wiper", Alternate: "b", Rank: 1}}
		}, "J1; ready; wiper alternate=b\nJ2; ready; wiper free=1"},
		{"or not at all, where it is not enough for the whole", func(s *Shop) {
			s.Jobs, s.Lots = []Job{job("J1", 1)}, []Lot{lot(1, 0), {Item: "b", OnHand: 1}}
			s.Alternates = []Alternate{{Item: "wiper", Alternate: "b", Rank: 1}}
		}, "J1; short; wiper free=1 short=1"},
		{"an alternate that has expired by then does not", func(s *Shop) {
			s.Jobs, s.Lots = []Job{job("J1", 1)}, []Lot{{Item: "b", OnHand: 2, Expires: today + 1}}
			s.Alternates = []Alternate{{Item: "wiper", Alternate: "b", Rank: 1}}
		}, "J1; short; wiper short=2"},
		{"alternates go one way", func(s *Shop) {
			s.Jobs, s.Lots = []Job{job("J1", 1)}, []Lot{{Item: "b", OnHand: 2}}
			s.Alternates = []Alternate{{Item: "b", Alternate: "wiper", Rank: 1}}
		}, "J1; short; wiper short=2"},
		{"a kit is opened where nothing else is there, and its other parts stay", func(s *Shop) {
			s.Jobs, s.Lots = []Job{job("J1", 1), job("J2", 2)}, []Lot{{Item: "kit", OnHand: 1}}
			s.Kits = []KitPart{{Kit: "kit", Item: "wiper", Qty: 4}}
		}, "J1; ready; wiper open=kit\nJ2; ready; wiper free=2"},
		{"no kit is opened for what an alternate can do", func(s *Shop) {
			s.Jobs, s.Lots = []Job{job("J1", 1)}, []Lot{{Item: "kit", OnHand: 1}, {Item: "b", OnHand: 2}}
			s.Kits = []KitPart{{Kit: "kit", Item: "wiper", Qty: 2}}
			s.Alternates = []Alternate{{Item: "wiper", Alternate: "b", Rank: 1}}
		}, "J1; ready; wiper alternate=b"},
		{"nor for what comes in time", func(s *Shop) {
			s.Jobs, s.Lots, s.Orders = []Job{job("J1", 1)}, []Lot{{Item: "kit", OnHand: 1}}, []OrderLine{order(1, 1)}
			s.Kits = []KitPart{{Kit: "kit", Item: "wiper", Qty: 2}}
		}, "J1; coming; wiper order=2 on=+1"},
		{"nor unless enough of them are there", func(s *Shop) {
			s.Jobs, s.Lots = []Job{job("J1", 1)}, []Lot{{Item: "kit", OnHand: 1}}
			s.Kits = []KitPart{{Kit: "kit", Item: "wiper", Qty: 1}}
		}, "J1; short; wiper short=2"},
		{"the parts of an opened kit expire when it would have", func(s *Shop) {
			s.Jobs, s.Lots = []Job{job("J1", 1), job("J2", 4)}, []Lot{{Item: "kit", OnHand: 1, Expires: today + 4}}
			s.Kits = []KitPart{{Kit: "kit", Item: "wiper", Qty: 4}}
		}, "J1; ready; wiper open=kit\nJ2; short; wiper short=2"},
		{"a line that is sometimes needed takes nothing for certain", func(s *Shop) {
			s.BOM, s.Jobs, s.Lots = wiper(0.01), []Job{job("J1", 1), job("J2", 2)}, []Lot{lot(2, 0)}
		}, "J1; ready; wiper free=2\nJ2; ready; wiper free=2"},
		{"but it is short when jobs before it may well have taken the last", func(s *Shop) {
			s.BOM, s.Jobs, s.Lots = wiper(0.5), []Job{job("J1", 1), job("J2", 2)}, []Lot{lot(2, 0)}
		}, "J1; ready; wiper free=2\nJ2; short; wiper short=2"},
		{"and a kit in reserve covers the case", func(s *Shop) {
			s.BOM, s.Jobs, s.Lots = wiper(0.5), []Job{job("J1", 1)}, []Lot{{Item: "kit", OnHand: 1}}
			s.Kits = []KitPart{{Kit: "kit", Item: "wiper", Qty: 2}}
		}, "J1; ready; wiper open=kit"},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			shop := Shop{
				AsOf: today, Settings: Settings{Readiness: 0.97}, BOM: wiper(1),
				Items:    []Item{{Code: "wiper", Measure: Each, Critical: true}},
				Models:   []Model{{Code: "fell", Family: "fork"}},
				Services: []Service{{Code: "lower", Family: "fork"}, {Code: "clean", Family: "fork"}},
			}
			test.change(&shop)
			var got []string
			for _, k := range Kits(shop) {
				got = append(got, kitText(k))
			}
			if text := strings.Join(got, "\n"); text != test.want {
				t.Errorf("found\n%s\nexpected\n%s", text, test.want)
			}
		})
	}
}

// Whatever the shelf and the jobs, no more is promised than is there or due,
// each line's sources add up to its need, and the shop is left as it was.
func TestKitsPromiseNothingTwice(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shop := benchShop()
		shop.AsOf = today
		qty := rapid.Int64Range(0, 500)
		for i, item := range []string{"oil", "wiper", "kit", "seal"} {
			for n := range rapid.IntRange(0, 3).Draw(t, "lots") {
				shop.Lots = append(shop.Lots, Lot{Item: item, Code: fmt.Sprint(i, n), OnHand: Quantity(qty.Draw(t, "on hand")), Expires: Date(rapid.SampledFrom([]int32{0, 20_002, 20_010}).Draw(t, "expires"))})
			}
			shop.Orders = append(shop.Orders, OrderLine{Item: item, Packs: rapid.IntRange(0, 4).Draw(t, "packs"), PackQty: 10, DueOn: today + Date(rapid.IntRange(-2, 9).Draw(t, "due"))})
		}
		for n := range rapid.IntRange(1, 8).Draw(t, "jobs") {
			shop.Jobs = append(shop.Jobs, Job{Code: fmt.Sprint("J", n), Model: "fell", State: Booked, BenchDate: today + Date(rapid.IntRange(-3, 12).Draw(t, "bench")),
				Services: []string{rapid.SampledFrom([]string{"lower", "full"}).Draw(t, "service")}})
		}
		before := fmt.Sprint(shop)
		free, ordered := map[string]Quantity{}, map[string]Quantity{}
		for _, k := range Kits(shop) {
			for _, l := range k.Lines {
				if l.Alternate == "" && l.FromKit == "" && l.SetAside+l.FromFree+l.FromOrder+l.Short != l.Need {
					t.Fatalf("%s %s: the sources do not add up to the need: %+v", k.Job, l.Item, l)
				}
				free[l.Item] += l.FromFree
				ordered[l.Item] += l.FromOrder
			}
		}
		for _, item := range []string{"oil", "wiper", "kit"} {
			if have := onHand(shop, item); free[item] > have {
				t.Fatalf("%s: %d promised of %d on the shelf", item, free[item], have)
			}
			if due := outstanding(shop, item); ordered[item] > due {
				t.Fatalf("%s: %d promised of %d on order", item, ordered[item], due)
			}
		}
		if fmt.Sprint(shop) != before {
			t.Fatal("the shop was changed")
		}
	})
}

func onHand(s Shop, item string) (sum Quantity) {
	for _, l := range s.Lots {
		if l.Item == item {
			sum += l.OnHand
		}
	}
	return sum
}

func outstanding(s Shop, item string) (sum Quantity) {
	for _, o := range s.Orders {
		if o.Item == item {
			sum += o.Outstanding()
		}
	}
	return sum
}
