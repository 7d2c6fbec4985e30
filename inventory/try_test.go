package inventory

import (
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// triedText is an answer as a line of a specification; days count from today.
func triedText(t Tried) string {
	text := strings.TrimPrefix(kitText(t.Kit), "; ")
	if !t.First.IsZero() {
		text += fmt.Sprintf("; first=+%d", t.First-today)
	}
	if !t.Sooner.IsZero() {
		text += fmt.Sprintf("; sooner=+%d", t.Sooner-today)
	}
	for _, w := range t.Order {
		text += fmt.Sprintf("; order %d %s from %s on=+%d besides=%d", w.Qty, w.Offered, w.Supplier, w.ComesOn-today, w.Besides)
	}
	return text
}

// trying is a small shop on a Friday, with wipers to be had in five days.
func trying() Shop {
	return Shop{
		AsOf: today, Settings: Settings{Readiness: 0.97, HorizonWeeks: 3},
		BOM:       []BOMLine{{Service: "lower", Model: AnyModel, Item: "wiper", Qty: 2, Need: 1}},
		Items:     []Item{{Code: "wiper", Measure: Each, Critical: true}},
		Models:    []Model{{Code: "fell", Family: "fork"}, {Code: "scree", Family: "shock"}},
		Services:  []Service{{Code: "lower", Family: "fork"}},
		Suppliers: []Supplier{{Code: "brindle", OrderWeekday: today.Weekday(), LeadDays: 5}},
		Offers:    []Offer{{Item: "wiper", Supplier: "brindle", FromPacks: 1, PackQty: 2, Price: 9_00}},
	}
}

func TestTry(t *testing.T) {
	if today.Weekday() != time.Friday {
		t.Fatalf("today is a %s, the rows below count from a Friday", today.Weekday())
	}
	booked := func(in Date) Job {
		return Job{Code: "J1", Model: "fell", Services: []string{"lower"}, BenchDate: today + in, State: Booked}
	}
	tests := []struct {
		rule   string
		on     Date // days from today
		change func(*Shop)
		want   string
	}{
		{"what is on the shelf is promised", 3, func(s *Shop) {
			s.Lots = []Lot{{Item: "wiper", OnHand: 2}}
		}, "ready; wiper free=2; first=+3"},
		{"not what a later job was promised", 3, func(s *Shop) {
			s.Lots, s.Jobs = []Lot{{Item: "wiper", OnHand: 3}}, []Job{booked(9)}
		}, "short; wiper free=1 short=1; sooner=+5; order 1 wiper from brindle on=+5 besides=0"},
		{"nor what an earlier one was", 10, func(s *Shop) {
			s.Lots, s.Jobs = []Lot{{Item: "wiper", OnHand: 2}}, []Job{booked(3)}
		}, "short; wiper short=2; sooner=+10; order 2 wiper from brindle on=+5 besides=0"},
		{"what is on order by the day is coming", 7, func(s *Shop) {
			s.Orders = []OrderLine{{Item: "wiper", Packs: 1, PackQty: 2, DueOn: today + 6}}
		}, "coming; wiper order=2 on=+6; first=+7"},
		{"what comes later gives the first day, the next working one", 3, func(s *Shop) {
			s.Orders, s.Offers = []OrderLine{{Item: "wiper", Packs: 1, PackQty: 2, DueOn: today + 8}}, nil
		}, "short; wiper short=2 on=+8; first=+10"},
		{"the workshop's holidays are no days to work on", 3, func(s *Shop) {
			s.Orders, s.Offers = []OrderLine{{Item: "wiper", Packs: 1, PackQty: 2, DueOn: today + 8}}, nil
			s.Holidays = []Holiday{{Date: today + 10}}
		}, "short; wiper short=2 on=+8; first=+11"},
		{"a supplier's are", 3, func(s *Shop) {
			s.Lots, s.Holidays = []Lot{{Item: "wiper", OnHand: 2}}, []Holiday{{Date: today + 3, Supplier: "brindle"}}
		}, "ready; wiper free=2; first=+3"},
		{"a day asked for on which nobody works is answered all the same", 1, func(s *Shop) {
			s.Lots = []Lot{{Item: "wiper", OnHand: 2}}
		}, "ready; wiper free=2; first=+3"},
		{"an order placed now may be sooner than what is on order", 3, func(s *Shop) {
			s.Orders = []OrderLine{{Item: "wiper", Packs: 1, PackQty: 2, DueOn: today + 12}}
		}, "short; wiper short=2 on=+12; first=+12; sooner=+5; order 2 wiper from brindle on=+5 besides=0"},
		{"what booked jobs lack must be ordered too", 3, func(s *Shop) {
			s.Jobs = []Job{booked(4)}
		}, "short; wiper short=2; sooner=+5; order 2 wiper from brindle on=+5 besides=2"},
		{"past the cut-off an order goes on the next order day", 3, func(s *Shop) {
			s.Suppliers[0].Cutoff, s.TimeOfDay = "14:00", "14:01"
		}, "short; wiper short=2; sooner=+12; order 2 wiper from brindle on=+12 besides=0"},
		{"an order day that is a holiday is the working day before", 3, func(s *Shop) {
			s.Suppliers[0].OrderWeekday, s.Holidays = (today + 4).Weekday(), []Holiday{{Date: today + 4, Supplier: "brindle"}}
		}, "short; wiper short=2; sooner=+10; order 2 wiper from brindle on=+8 besides=0"},
		{"a supplier's holiday puts off both the order and the delivery", 3, func(s *Shop) {
			s.Holidays = []Holiday{{Date: today, Supplier: "brindle"}, {Date: today + 12, Supplier: "brindle"}}
		}, "short; wiper short=2; sooner=+13; order 2 wiper from brindle on=+13 besides=0"},
		{"the usual offer is the cheapest a piece, not the fastest", 3, func(s *Shop) {
			quick := 1
			s.Offers = append(s.Offers, Offer{Item: "wiper", Supplier: "cobbet", FromPacks: 1, PackQty: 1, Price: 5_00, LeadDays: &quick})
		}, "short; wiper short=2; sooner=+5; order 2 wiper from brindle on=+5 besides=0"},
		{"an offer's own lead goes before its supplier's", 3, func(s *Shop) {
			quick := 1
			s.Offers[0].LeadDays = &quick
		}, "short; wiper short=2; sooner=+3; order 2 wiper from brindle on=+1 besides=0"},
		{"what is only sold in a kit is ordered as the kit", 3, func(s *Shop) {
			s.Offers[0].Item, s.Kits = "set", []KitPart{{Kit: "set", Item: "wiper", Qty: 2}}
		}, "short; wiper short=2; sooner=+5; order 2 set from brindle on=+5 besides=0"},
		{"what nobody sells cannot be promised for any day", 3, func(s *Shop) { s.Offers = nil }, "short; wiper short=2"},
		{"nor what comes beyond the horizon", 3, func(s *Shop) { s.Suppliers[0].LeadDays = 40 }, "short; wiper short=2"},
		{"what no job waits for need not be ordered", 3, func(s *Shop) { s.Items[0].Critical = false }, "ready; wiper short=2; first=+3"},
		{"a part that expires before the day is no use", 10, func(s *Shop) {
			s.Offers, s.Lots = nil, []Lot{{Item: "wiper", OnHand: 2, Expires: today + 10}}
		}, "short; wiper short=2"},
		{"two services that take an item order it together", 3, func(s *Shop) {
			s.Services = append(s.Services, Service{Code: "crash", Family: "fork"})
			s.BOM = append(s.BOM, BOMLine{Service: "crash", Model: AnyModel, Item: "wiper", Qty: 1, Need: 1})
		}, "short; wiper short=2; wiper short=1; sooner=+5; order 3 wiper from brindle on=+5 besides=0"},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			shop := trying()
			test.change(&shop)
			services := []string{"lower"}
			if len(shop.Services) > 1 {
				services = append(services, shop.Services[1].Code)
			}
			before := fmt.Sprint(shop)
			got, err := Try(shop, services, "fell", today+test.on)
			if err != nil {
				t.Fatal(err)
			}
			if text := triedText(got); text != test.want {
				t.Errorf("found\n%s\nexpected\n%s", text, test.want)
			}
			if fmt.Sprint(shop) != before {
				t.Error("the shop was changed")
			}
		})
	}
}

func TestTryRefuses(t *testing.T) {
	tests := []struct {
		rule     string
		services []string
		model    string
		on       Date
		kind     error
		says     string
	}{
		{"a service that is not in the book", []string{"lower", "upper"}, "fell", today, ErrNotFound, `service not found: found "upper", expected one of the book's: lower`},
		{"a model that is not in the book", []string{"lower"}, "dale", today, ErrNotFound, `model not found: found "dale", expected one of the book's: fell, scree`},
		{"a service that is not for the model", []string{"lower"}, "scree", today, ErrInvalid, `found service "lower", which is for family "fork", and model "scree" of family "shock"`},
		{"a day that has passed", []string{"lower"}, "fell", today - 1, ErrInvalid, "expected 2024-10-04 or later"},
		{"no service at all", nil, "fell", today, ErrInvalid, "found no service"},
	}
	for _, test := range tests {
		t.Run(test.rule, func(t *testing.T) {
			_, err := Try(trying(), test.services, test.model, test.on)
			if !errors.Is(err, test.kind) || !strings.Contains(err.Error(), test.says) {
				t.Errorf("found %v, expected %v with %q", err, test.kind, test.says)
			}
		})
	}
}

// The new job is promised what the plain model has left after all jobs, on the
// day and on the first day that the model finds by trying them all; and what is
// to be ordered for an earlier one makes it whole there.
func TestTryPromisesWhatIsLeft(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shop := anyShelf(t)
		shop.Settings.HorizonWeeks = 2
		shop.Suppliers = []Supplier{{Code: "brindle", OrderWeekday: shop.AsOf.Weekday(), LeadDays: rapid.IntRange(0, 9).Draw(t, "lead")}}
		for _, i := range shop.Items {
			shop.Offers = append(shop.Offers, Offer{Item: i.Code, Supplier: "brindle", FromPacks: 1, PackQty: 1, Price: 1})
		}
		services := []string{rapid.SampledFrom([]string{"one", "two"}).Draw(t, "service")}
		on := today + Date(rapid.IntRange(0, 8).Draw(t, "on"))
		got, err := Try(shop, services, "fell", on)
		if err != nil {
			t.Fatal(err)
		}
		if a, b := kitText(got.Kit), kitText(modelKit(shop, services, on, nil)); a != b {
			t.Fatalf("found\n%s\nexpected\n%s", a, b)
		}
		first, sooner := Date(0), Date(0)
		for day := on; day < on+14 && first == 0; day++ {
			switch kit := modelKit(shop, services, day, nil); {
			case day.weekend():
			case kit.State != Short:
				first = day
			case sooner == 0 && day == got.Sooner:
				if kit := modelKit(shop, services, day, got.Order); kit.State == Short {
					t.Fatalf("still short on %s with %+v: %+v", day, got.Order, kit)
				}
				sooner = day
			case sooner == 0:
				lead := shop.Suppliers[0].LeadDays
				if day >= NewCalendar(shop).comes(shop.Suppliers[0], lead) {
					t.Fatalf("found %+v, expected %s to do: everything can be there by then", got, day)
				}
			}
		}
		if got.First != first || got.Sooner != sooner {
			t.Fatalf("found first %s and sooner %s, expected %s and %s", got.First, got.Sooner, first, sooner)
		}
	})
}

// modelKit is what the plain model promises a new job after all booked ones,
// with so much ordered for it.
func modelKit(shop Shop, services []string, on Date, ordered []Wanted) JobKit {
	model, bill := heap(shop), NewBill(shop)
	for _, j := range openJobs(shop) {
		day := max(j.BenchDate, shop.AsOf)
		for _, l := range bill.Lines(j.Services, j.Model, day) {
			model.promise(l.Item, j.Code, l.Qty, day)
		}
	}
	for _, w := range ordered {
		for range w.Qty {
			model.all = append(model.all, &piece{item: w.Item, comes: w.ComesOn})
		}
	}
	kit := JobKit{State: Ready}
	for _, l := range bill.Lines(services, "fell", on) {
		line := model.promise(l.Item, "new", l.Qty, on)
		line.Critical = true
		kit.Lines = append(kit.Lines, line)
		kit.State = worse(kit.State, line)
	}
	return kit
}

// What Try promises can be booked: the job then has it, and whoever had all its
// parts has them still. (Where alternates stand in and kits are opened, jobs may
// be served by other ways than before.)
func TestWhatTryPromisesCanBeBooked(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shop := anyShelf(t)
		shop.Kits, shop.Alternates = nil, nil
		on := today + Date(rapid.IntRange(0, 8).Draw(t, "on"))
		services := []string{rapid.SampledFrom([]string{"one", "two"}).Draw(t, "service")}
		tried, err := Try(shop, services, "fell", on)
		if err != nil {
			t.Fatal(err)
		}
		if tried.Kit.State == Short {
			return
		}
		whole := map[string]bool{"new": true}
		for _, k := range Kits(shop) {
			whole[k.Job] = k.State != Short
		}
		shop.Jobs = append(shop.Jobs, Job{Code: "new", Model: "fell", Services: services, BenchDate: on, State: Booked})
		for _, k := range Kits(shop) {
			if whole[k.Job] && k.State == Short {
				t.Fatalf("%s lost its parts to the job booked for %s: %+v", k.Job, on, k)
			}
		}
	})
}
