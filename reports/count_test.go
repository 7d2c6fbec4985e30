package reports

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"circlip/inventory"

	"github.com/google/go-cmp/cmp"
)

func countShop() inventory.Shop {
	return inventory.Shop{
		AsOf: 20619, Settings: inventory.Settings{Workshop: "north bench", Currency: euro},
		Items: []inventory.Item{
			{Code: "foam", Measure: inventory.Each}, {Code: "grease", Measure: inventory.Gram, Bin: "B1"},
			{Code: "OR-12", Name: "O-ring 12", Measure: inventory.Each, Bin: "A10"}, {Code: "OR-9", Measure: inventory.Each, Bin: "A2"},
			{Code: "oil-10", Name: "Oil 10", Measure: inventory.Millilitre, Bin: "B1", DensityKgM3: 860}, {Code: "rinse", Measure: inventory.Millilitre, Bin: "C"},
		},
		Lots: []inventory.Lot{
			{Item: "OR-12", Code: "a", OnHand: 40, UnitCost: 30_0000, Received: 20600, SetAside: []inventory.SetAside{{Job: "J-9", Qty: 6}}},
			{Item: "oil-10", Code: "a", OnHand: 8000, UnitCost: 2_5000, Received: 20600}, {Item: "OR-9", Code: "a", OnHand: 4, Received: 20600},
		},
	}
}

func codesOf(d CountDue) (codes []string) {
	for _, l := range d.Lines {
		codes = append(codes, l.Item.Code)
	}
	return codes
}

func TestWhatIsToBeCounted(t *testing.T) {
	rows := []struct {
		rule   string
		make   func() (CountDue, error)
		want   []string
		of     string
		weighs bool
	}{
		{"all, as people walk past it, what has no bin last", func() (CountDue, error) { return CountAll(countShop(), "") }, []string{"OR-9", "OR-12", "grease", "oil-10", "rinse", "foam"}, "", true},
		{"a bin", func() (CountDue, error) { return CountAll(countShop(), "B1") }, []string{"grease", "oil-10"}, "bin B1", true},
		{"a bin of a fluid whose density nobody knows", func() (CountDue, error) { return CountAll(countShop(), "C") }, []string{"rinse"}, "bin C", false},
		{"items by name, in the order of the shelf, each once", func() (CountDue, error) { return CountOf(countShop(), []string{"foam", "OR-9", "foam"}) }, []string{"OR-9", "foam"}, "2 items", false},
		{"none", func() (CountDue, error) { return CountOf(countShop(), nil) }, nil, "0 items", false},
		{"all of an empty shop", func() (CountDue, error) { return CountAll(inventory.Shop{}, "") }, nil, "", false},
	}
	for _, r := range rows {
		d, err := r.make()
		if err != nil || !slices.Equal(codesOf(d), r.want) || d.Of != r.of || d.Weighs() != r.weighs {
			t.Errorf("%s: found %v of %q (weighs %v), %v, expected %v of %q (%v)", r.rule, codesOf(d), d.Of, d.Weighs(), err, r.want, r.of, r.weighs)
		}
	}
	for _, l := range must(CountAll(countShop(), "")).Lines {
		if want := map[string]inventory.Quantity{"OR-12": 40, "oil-10": 8000, "OR-9": 4}[l.Item.Code]; l.OnHand != want {
			t.Errorf("%s: found %d in the ledger, expected %d", l.Item.Code, l.OnHand, want)
		}
	}
}

func must[T any](value T, err error) T {
	if err != nil {
		panic(err)
	}
	return value
}

func TestWhatCannotBeCountedIsTold(t *testing.T) {
	_, bin := CountAll(countShop(), "Z9")
	_, item := CountOf(countShop(), []string{"OR-9", "gone"})
	for text, err := range map[string]error{`no item in the bin "Z9"`: bin, `the item "gone"`: item} {
		if !errors.Is(err, inventory.ErrNotFound) || !strings.Contains(err.Error(), text) {
			t.Errorf("found %v, expected %s", err, text)
		}
	}
}

func TestACountSheetShowsNoFigure(t *testing.T) {
	for _, s := range []Sheet{must(CountAll(countShop(), "")).Sheet(), must(CountAll(countShop(), "A10")).Sheet()} {
		holdsTogether(t, s)
		for _, r := range s.Rows {
			for i, c := range r.Cells {
				if s.Columns[i].Edit != c.Blank() && i > 3 {
					t.Errorf("%s: found %q under %s", r.Cells[0], c, s.Columns[i].Name)
				}
			}
		}
	}
	all := must(CountAll(countShop(), "")).Sheet()
	tells(t, said(t, all), []string{"Count", "OR-12", "trays of open jobs", "weigh it with its container"}, []string{"40", "800", "8,000"})
	tells(t, said(t, must(CountOf(countShop(), nil)).Sheet()), []string{"There is no item to be counted."}, nil)
	if c := all.Rows[3].Cells[4]; c.Decimals != 1 || all.Rows[0].Cells[4].Decimals != 0 {
		t.Errorf("found %d decimals for millilitres, expected one, and none for pieces", c.Decimals)
	}
}

// holdsTogether checks one sheet as TestSheetsHoldTogether does those of a plan.
func holdsTogether(t *testing.T, s Sheet) {
	t.Helper()
	if s.Key == "" || s.Name == "" || s.Title == "" || s.Empty == "" {
		t.Errorf("sheet %q: expected a key, a name, a title and what to do when it is empty", s.Key)
	}
	for n, r := range s.Rows {
		if len(r.Cells) != len(s.Columns) {
			t.Fatalf("row %d: found %d cells, expected %d", n, len(r.Cells), len(s.Columns))
		}
		for i, c := range r.Cells {
			if !c.Blank() && c.Kind != s.Columns[i].Kind {
				t.Errorf("row %d column %s: found kind %d, expected %d", n, s.Columns[i].Name, c.Kind, s.Columns[i].Kind)
			}
			if c.Formula != nil && c.Number() != computed(t, s, *c.Formula, n) {
				t.Errorf("row %d column %s: found %v, its formula gives %v", n, s.Columns[i].Name, c.Number(), computed(t, s, *c.Formula, n))
			}
		}
	}
}

func tallied(t *testing.T, change func(*inventory.Shop, *inventory.Stocktake), counted ...inventory.Counted) Sheet {
	t.Helper()
	shop, taken := countShop(), inventory.Stocktake{WrittenOn: 20619, On: 20619, Counted: counted}
	for _, l := range must(CountAll(shop, "")).Lines {
		taken.Listed = append(taken.Listed, inventory.Listed{Item: l.Item.Code, OnHand: l.OnHand})
	}
	change(&shop, &taken)
	sheet := Tally(shop, must(inventory.Tally(shop, taken)))
	holdsTogether(t, sheet)
	return sheet
}

func TestATallyShowsDifferencesWithTheirMoney(t *testing.T) {
	s := tallied(t, func(*inventory.Shop, *inventory.Stocktake) {},
		inventory.Counted{Item: "OR-12", Qty: 34}, inventory.Counted{Item: "oil-10", Qty: 8100}, inventory.Counted{Item: "OR-9", Qty: 4})
	var lines []string
	for _, r := range s.Rows {
		var cells []string
		for _, c := range r.Cells {
			cells = append(cells, c.String())
		}
		lines = append(lines, strings.Join(cells, "|"))
	}
	want := []string{
		"OR-12|O-ring 12|A10|ea|40|34|-6|-1.80|6 ea set aside for job J-9: in its tray?",
		"oil-10|Oil 10|B1|ml|800.0|810.0|10.0|0.25|",
	}
	if diff := cmp.Diff(want, lines); diff != "" {
		t.Errorf("(-expected +shown)\n%s", diff)
	}
	text := said(t, s)
	tells(t, text, []string{"What the count of Monday 15 June 2026 comes to", "Not counted, and left as they are: grease, rinse, foam.", "-1.55", "what alone would explain"}, []string{"OR-9"})
	fitsTheTerminal(t, text)
}

func TestATallySaysWhereToLookFirst(t *testing.T) {
	none := func(*inventory.Shop, *inventory.Stocktake) {}
	rows := []struct {
		rule   string
		change func(*inventory.Shop, *inventory.Stocktake)
		item   string
		found  inventory.Quantity
		want   string
	}{
		{"nothing known explains it", none, "OR-12", 39, ""},
		{"no cost", none, "OR-9", 3, "its cost is not known"},
		{"never seen before", none, "foam", 2, "its cost is not known; or none of it is in the ledger: if none ever was, receive it"},
		{"it was right when the sheet was written", func(_ *inventory.Shop, s *inventory.Stocktake) { s.Listed[1].OnHand = 37 }, "OR-12", 37,
			"it was right when the sheet was written: 3 ea moved since, perhaps after the count"},
		{"the ledger moved by something else", func(_ *inventory.Shop, s *inventory.Stocktake) { s.Listed[1].OnHand = 37 }, "OR-12", 39, "the ledger changed by +3 ea since the sheet was written"},
		{"and the other way", func(_ *inventory.Shop, s *inventory.Stocktake) { s.Listed[1].OnHand = 44 }, "OR-12", 39, "the ledger changed by -4 ea since the sheet was written"},
		{"a delivery", func(s *inventory.Shop, _ *inventory.Stocktake) {
			s.Receipts = []inventory.Receipt{{Item: "OR-12", Date: 20619, Qty: 10}}
		}, "OR-12", 30,
			"10 ea came or went on Mon 15 Jun: counted without it?"},
		{"a use", func(s *inventory.Shop, _ *inventory.Stocktake) {
			s.Jobs = []inventory.Job{{Code: "J-1", State: inventory.Done, DoneOn: 20618}}
			s.Uses = []inventory.JobUse{{Job: "J-1", Item: "oil-10", Qty: 125}}
		}, "oil-10", 8125, "job J-1 took 12.5 ml on Sun 14 Jun: booked, and still here?"},
		{"an order", func(s *inventory.Shop, _ *inventory.Stocktake) {
			s.Orders = []inventory.OrderLine{{Order: "PO-1", Item: "OR-12", Packs: 1, PackQty: 20}}
		}, "OR-12", 60, "20 ea of order PO-1: here, and not received?"},
	}
	for _, r := range rows {
		s := tallied(t, r.change, inventory.Counted{Item: r.item, Qty: r.found})
		if got := s.Rows[0].Cells[s.column("Look first")].String(); got != r.want {
			t.Errorf("%s: found %q, expected %q", r.rule, got, r.want)
		}
		if value := s.Rows[0].Cells[s.column("Value")]; value.Blank() != strings.HasPrefix(r.want, "its cost") {
			t.Errorf("%s: found the value %q", r.rule, value)
		}
	}
	text := said(t, tallied(t, none, inventory.Counted{Item: "OR-9", Qty: 4}))
	tells(t, text, []string{"All that was counted is as expected."}, []string{"Look first names", "Money is that"})
	text = said(t, tallied(t, none, inventory.Counted{Item: "OR-12", Qty: 37}))
	tells(t, text, []string{"Money is that"}, []string{"Look first names"})
}

// bottled is the shop to be counted with three containers, two of them an oil's
// when it was counted last.
func bottled() inventory.Shop {
	shop := countShop()
	shop.Containers = []inventory.Container{{Code: "CAN", TareG: 120}, {Code: "DRUM", Item: "gone", TareG: 900}, {Code: "OIL", Item: "oil-10", TareG: 95.5}}
	shop.Counts = []inventory.Count{{Item: "oil-10", Date: 20500}, {Item: "oil-10", Date: 20600}, {Item: "grease", Date: 20600}}
	shop.CountParts = []inventory.CountPart{
		{Item: "grease", Date: 20600, Weighed: &inventory.Weighing{}},
		{Item: "oil-10", Date: 20500, Number: 1, Container: "CAN"}, {Item: "oil-10", Date: 20500, Number: 2}, {Item: "oil-10", Date: 20500, Number: 3}, {Item: "oil-10", Date: 20500, Number: 4},
		{Item: "oil-10", Date: 20600, Number: 1, Container: "OIL", OpenedOn: 20590}, {Item: "oil-10", Date: 20600, Number: 2, Container: "CAN"}, {Item: "oil-10", Date: 20600, Number: 3, Container: "DRUM"},
	}
	return shop
}

func TestACountSheetNamesTheContainersOfTheLastCount(t *testing.T) {
	s := must(CountAll(bottled(), "")).Sheet()
	holdsTogether(t, s)
	var got []string
	for _, r := range s.Rows {
		got = append(got, strings.Join([]string{r.Cells[0].String(), r.Cells[s.column(ContainerColumn)].String(), r.Cells[s.column(OpenedOnColumn)].String()}, "|"))
		for _, blank := range []string{FoundColumn, GrossColumn, TareColumn, TemperatureColumn} {
			if c := r.Cells[s.column(blank)]; !c.Blank() {
				t.Errorf("%s: found %q under %s", r.Cells[0], c, blank)
			}
		}
	}
	want := []string{"OR-9||", "OR-12||", "grease||", "oil-10|OIL|2026-05-17", "oil-10|CAN|", "oil-10||", "rinse||", "foam||"} // DRUM is for something else
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("(-expected +shown)\n%s", diff)
	}
	if of := s.Columns[s.column(ContainerColumn)].OneOf; !slices.Equal(of, []string{"CAN", "OIL"}) {
		t.Errorf("found the containers %v to choose from, expected CAN and OIL", of)
	}
	if s := must(CountAll(bottled(), "A10")).Sheet(); s.column(ContainerColumn) >= 0 {
		t.Error("found a word on containers on a sheet of pieces")
	}
}

func TestATareUnlikeTheKnownOneIsToldWhateverTheDifference(t *testing.T) {
	oil := inventory.Counted{Item: "oil-10", Qty: 8000, Container: "OIL", OpenedOn: 20590, Weighed: &inventory.Weighing{GrossG: 783, TareG: 95}}
	contain := func(s *inventory.Shop, _ *inventory.Stocktake) { s.Containers = bottled().Containers }
	text := said(t, tallied(t, contain, oil))
	tells(t, text, []string{"oil-10: the container OIL was reckoned with a tare of 95 g, and the book says", "95.5 g. Weigh it empty"}, nil)
	fitsTheTerminal(t, text)
	shop := bottled()
	document := string(must(TallyJSON(shop, must(inventory.Tally(shop, inventory.Stocktake{WrittenOn: 20619, On: 20619, Listed: []inventory.Listed{{Item: "oil-10"}}, Counted: []inventory.Counted{oil}})), false)))
	compact := strings.Join(strings.Fields(document), "")
	for _, want := range []string{
		`"containers":[{"number":1,"container":"OIL","qty":800,"gross_g":783,"tare_g":95,"temp_c":null,"opened_on":"2026-05-17"}]`,
		`"tare_unlike":[{"container":"OIL","used_g":95,"known_g":95.5}]`,
	} {
		if !strings.Contains(compact, want) {
			t.Errorf("expected %s in\n%s", want, document)
		}
	}
}
