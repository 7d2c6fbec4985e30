package reports

import (
	"slices"
	"strings"
	"testing"

	"circlip/inventory"
	"circlip/testdata/golden/plans"

	"pgregory.net/rapid"
)

func benchPapers(shop inventory.Shop, day inventory.Date) Papers {
	return PapersOfDay(shop, inventory.Kits(shop), day)
}

func TestThePapersOfADayAreAsApproved(t *testing.T) {
	p := benchPapers(plans.Bench(), plans.AsOf)
	sheets := []Sheet{p.PickList}
	for _, c := range p.Cards {
		sheets = append(sheets, c.Sheets()...)
	}
	text := textOf(t, sheets...)
	golden(t, "bench.txt", text)
	fitsTheTerminal(t, text)
}

// rowsOf are the rows of a sheet as words: the cells of the named columns.
func rowsOf(s Sheet, names ...string) []string {
	var rows []string
	for _, r := range s.Rows {
		var cells []string
		for _, name := range names {
			cells = append(cells, r.Cells[s.column(name)].String())
		}
		rows = append(rows, strings.Join(cells, " "))
	}
	return rows
}

// aPick is a shop with one job of the day that takes two wipers from bin B2.
func aPick() inventory.Shop {
	return inventory.Shop{
		AsOf: plans.AsOf, Settings: inventory.Settings{Workshop: "Larchfell", Readiness: 0.97},
		Items:    []inventory.Item{{Code: "wiper", Measure: inventory.Each, Critical: true, Bin: "B2"}, {Code: "seal", Measure: inventory.Each, Bin: "B1"}},
		Models:   []inventory.Model{{Code: "fell", Family: "fork"}},
		Services: []inventory.Service{{Code: "lower", Family: "fork", BenchMinutes: 50}},
		BOM:      []inventory.BOMLine{{Service: "lower", Model: inventory.AnyModel, Item: "wiper", Qty: 2, Need: 1}},
		Jobs:     []inventory.Job{{Code: "J1", Model: "fell", Services: []string{"lower"}, BenchDate: plans.AsOf, State: inventory.Booked}},
		Lots:     []inventory.Lot{{Item: "wiper", Code: "W1", OnHand: 2}},
	}
}

func TestThePickList(t *testing.T) {
	rows := []struct {
		rule   string
		change func(*inventory.Shop)
		want   []string
	}{
		{"says bin, lot, how much and into which tray", func(*inventory.Shop) {}, []string{"B2 wiper W1 2 J1 "}},
		{"of an item's lots the one that expires first comes first, one that does not age last", func(s *inventory.Shop) {
			s.BOM[0].Qty = 3
			s.Lots = []inventory.Lot{{Item: "wiper", Code: "A", OnHand: 1}, {Item: "wiper", Code: "B", OnHand: 1, Expires: plans.AsOf + 99}, {Item: "wiper", Code: "C", OnHand: 1, Expires: plans.AsOf + 9}}
		}, []string{"B2 wiper C 1 J1 ", "B2 wiper B 1 J1 ", "B2 wiper A 1 J1 "}},
		{"what one job takes of a lot by two services is one line", func(s *inventory.Shop) {
			s.Services = append(s.Services, inventory.Service{Code: "clean", Family: "fork"})
			s.BOM = append(s.BOM, inventory.BOMLine{Service: "clean", Model: inventory.AnyModel, Item: "wiper", Qty: 1, Need: 1})
			s.Jobs[0].Services = []string{"lower", "clean"}
			s.Lots[0].OnHand = 9
		}, []string{"B2 wiper W1 3 J1 "}},
		{"what is set aside is told from what is free", func(s *inventory.Shop) {
			s.Lots[0].SetAside = []inventory.SetAside{{Job: "J1", Qty: 1}}
		}, []string{"B2 wiper W1 1 J1 set aside", "B2 wiper W1 1 J1 "}},
		{"bins go as people walk, items without one come last", func(s *inventory.Shop) {
			s.Items[0].Bin = ""
			s.BOM = append(s.BOM, inventory.BOMLine{Service: "lower", Model: inventory.AnyModel, Item: "seal", Qty: 1, Need: 1})
			s.Lots = append(s.Lots, inventory.Lot{Item: "seal", Code: "S1", OnHand: 2})
		}, []string{"B1 seal S1 1 J1 ", "no bin wiper W1 2 J1 "}},
		{"what is short is said in words, below what is there", func(s *inventory.Shop) {
			s.Lots[0].OnHand = 1
		}, []string{"B2 wiper W1 1 J1 ", "B2 wiper SHORT 1 J1 short: nothing on order"}},
		{"with the day on which it comes too late", func(s *inventory.Shop) {
			s.Lots = nil
			s.Orders = []inventory.OrderLine{{Item: "wiper", Packs: 2, PackQty: 1, DueOn: plans.AsOf + 3}}
		}, []string{"B2 wiper SHORT 2 J1 short: comes too late, Thu 4 Mar"}},
		{"and whether the job waits for it", func(s *inventory.Shop) {
			s.Lots, s.Items[0].Critical = nil, false
		}, []string{"B2 wiper SHORT 2 J1 short: nothing on order; the job does not wait for it"}},
		{"what is due on the day is not here yet", func(s *inventory.Shop) {
			s.Lots = nil
			s.Orders = []inventory.OrderLine{{Item: "wiper", Packs: 2, PackQty: 1, DueOn: plans.AsOf}}
		}, []string{"B2 wiper on order 2 J1 not here yet: due Mon 1 Mar"}},
		{"what is sometimes needed is marked", func(s *inventory.Shop) { s.BOM[0].Need = 0.29 }, []string{"B2 wiper W1 2 J1 if needed: 29 % of such jobs take it"}},
		{"with the figure that the kits show", func(s *inventory.Shop) { s.BOM[0].Need = 0.097561 }, []string{"B2 wiper W1 2 J1 if needed: 10 % of such jobs take it"}},
		{"short of all jobs", func(s *inventory.Shop) { s.BOM[0].Need = 0.996 }, []string{"B2 wiper W1 2 J1 if needed: 99 % of such jobs take it"}},
		{"also where hardly any job needs it and none is there", func(s *inventory.Shop) {
			s.BOM[0].Need, s.Lots = 0.004, nil
		}, []string{"B2 wiper none 2 J1 if needed: fewer than 1 % of such jobs take it; none on the shelf"}},
		{"an alternate comes from its own bin and says for what it stands in", func(s *inventory.Shop) {
			s.Lots = []inventory.Lot{{Item: "seal", Code: "S1", OnHand: 2}}
			s.Alternates = []inventory.Alternate{{Item: "wiper", Alternate: "seal"}}
		}, []string{"B1 seal S1 2 J1 in place of wiper"}},
		{"a kit that is opened stands in its bin with the part that is taken out of it", func(s *inventory.Shop) {
			s.Items = append(s.Items, inventory.Item{Code: "set", Measure: inventory.Each, Bin: "C1"})
			s.Lots = []inventory.Lot{{Item: "set", Code: "K1", OnHand: 1}}
			s.Kits = []inventory.KitPart{{Kit: "set", Item: "wiper", Qty: 4}}
		}, []string{"C1 set K1 1 J1 kit to be opened; what is left of it goes to its bins", "C1 wiper K1 2 J1 out of the kit set"}},
		{"a fluid is in millilitres with its tenth", func(s *inventory.Shop) {
			s.Items[0].Measure, s.BOM[0].Qty, s.Lots[0].OnHand = inventory.Millilitre, 155, 5000
		}, []string{"B2 wiper W1 15.5 J1 "}},
		{"a job that is overdue is of today", func(s *inventory.Shop) { s.Jobs[0].BenchDate -= 4 }, []string{"B2 wiper W1 2 J1 "}},
		{"a job of another day is not on it, but what it takes before is gone", func(s *inventory.Shop) {
			early := s.Jobs[0]
			early.Code, early.BenchDate = "J0", plans.AsOf-1
			s.Jobs = append(s.Jobs, early)
			s.Jobs[0].BenchDate++
			s.AsOf -= 3
		}, nil},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			shop := aPick()
			r.change(&shop)
			s := benchPapers(shop, plans.AsOf).PickList
			if got := rowsOf(s, "Bin", "Item", "Lot", "Qty", "Tray", "Remark"); !slices.Equal(got, r.want) {
				t.Errorf("found\n%q\nexpected\n%q", got, r.want)
			}
			if len(s.Rows) == 0 && s.Empty == "" {
				t.Error("expected it to say why it is empty")
			}
		})
	}
}

func TestPapersOfOneJobLeaveEarlierJobsWhatIsTheirs(t *testing.T) {
	shop := aPick()
	late := shop.Jobs[0]
	late.Code, late.BenchDate = "J2", plans.AsOf+2
	shop.Jobs = append(shop.Jobs, late)
	shop.Lots = append(shop.Lots, inventory.Lot{Item: "wiper", Code: "W2", OnHand: 2})
	p, known := PapersOfJob(shop, inventory.Kits(shop), "J2")
	if got := rowsOf(p.PickList, "Lot", "Tray"); !known || len(p.Cards) != 1 || p.On != plans.AsOf+2 || !slices.Equal(got, []string{"W2 J2"}) {
		t.Errorf("found %v, %d cards, %s, %q", known, len(p.Cards), p.On, got)
	}
	for _, none := range []string{"J9", ""} {
		if _, known := PapersOfJob(shop, inventory.Kits(shop), none); known {
			t.Errorf("found papers of the job %q, which is not booked", none)
		}
	}
}

// For any bins: the order is one, whichever two are compared.
func TestBinsHaveOneOrder(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		bin := rapid.StringMatching(`[AB]?[0-9]{0,3}[-a]?[0-9]{0,2}`)
		a, b, c := bin.Draw(t, "a"), bin.Draw(t, "b"), bin.Draw(t, "c")
		if compareBins(a, b) != -compareBins(b, a) || (compareBins(a, b) == 0) != (a == b) {
			t.Fatalf("%q and %q: %d, and back %d", a, b, compareBins(a, b), compareBins(b, a))
		}
		if compareBins(a, b) <= 0 && compareBins(b, c) <= 0 && compareBins(a, c) > 0 {
			t.Fatalf("%q before %q before %q before the first", a, b, c)
		}
	})
}

func TestBinsGoAsPeopleWalkPastThem(t *testing.T) {
	want := []string{"2", "10", "A1", "A2", "A2-9", "A2-10", "A10", "B007", "B8", "b1", "Ø3", ""}
	got := slices.Clone(want)
	slices.Reverse(got)
	slices.SortFunc(got, compareBins)
	if !slices.Equal(got, want) {
		t.Errorf("found %q, expected %q", got, want)
	}
}
