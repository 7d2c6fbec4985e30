package cost

import (
	"errors"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"circlip/inventory"
)

// on is a day of 2026.
func on(month time.Month, day int) inventory.Date { return inventory.NewDate(2026, month, day) }

// euro costs a hundred cents, of which a unit cost has ten thousandths.
const euro = 100 * 10_000

// bench is a small workshop in euros with a wiper by the piece and an oil by the
// millilitre, as it stood on 30 June.
func bench() inventory.Shop {
	return inventory.Shop{
		AsOf:     on(time.June, 30),
		Settings: inventory.Settings{Workshop: "North Bench", Currency: inventory.Currency{Code: "EUR", Decimals: 2}},
		Items: []inventory.Item{
			{Code: "oil", Kind: inventory.Oil, Measure: inventory.Millilitre},
			{Code: "wiper", Kind: inventory.Wiper, Measure: inventory.Each},
		},
		Suppliers: []inventory.Supplier{{Code: "ravelin", Name: "Ravelin Seals"}},
		Services:  []inventory.Service{{Code: "can", Family: "shock"}, {Code: "full", Family: "fork", Covers: []string{"lower"}}, {Code: "lower", Family: "fork"}},
		Models:    []inventory.Model{{Code: "fell", Family: "fork"}},
	}
}

// ledger gathers the moves of lots and what they leave.
type ledger struct{ Records }

// lot adds a lot and its moves, and lets it hold what they come to.
func (l *ledger) lot(item, code string, cost inventory.UnitCost, moves ...Move) {
	lot := inventory.Lot{Item: item, Code: code, UnitCost: cost}
	for _, m := range moves {
		m.Item, m.Lot = item, code
		lot.OnHand += m.Qty
		l.Moves = append(l.Moves, m)
	}
	l.Lots = append(l.Lots, lot)
}

func opened(day inventory.Date, q inventory.Quantity) Move {
	return Move{On: day, Place: inventory.FromStart, Qty: q}
}

func bought(day inventory.Date, from string, q inventory.Quantity) Move {
	return Move{On: day, Place: inventory.FromOrder, Ref: "PO", Supplier: from, Qty: q}
}

func used(day inventory.Date, job string, q inventory.Quantity) Move {
	return Move{On: day, Place: inventory.AtJob, Ref: job, Qty: -q}
}

func moved(day inventory.Date, place inventory.Place, q inventory.Quantity) Move {
	return Move{On: day, Place: place, Qty: q}
}

func undone(m Move, day inventory.Date) Move {
	m.On, m.Qty, m.Undoes = day, -m.Qty, true
	return m
}

// account makes an account that must come out.
func account(t *testing.T, shop inventory.Shop, l ledger) Account {
	t.Helper()
	a, err := Of(shop, l.Records)
	if err != nil {
		t.Fatal(err)
	}
	return a
}

// Ten wipers at 4.10 and ten at 4.25 came; four of the first and one of the
// second were used, one of each was lost in its own way.
func TestAYearInSmall(t *testing.T) {
	var l ledger
	l.lot("wiper", "W1", 4.10*euro, opened(on(1, 5), 10), used(on(2, 3), "J1", 4), moved(on(3, 31), inventory.Wasted, -1))
	l.lot("wiper", "W2", 4.25*euro, bought(on(2, 20), "ravelin", 10), used(on(3, 2), "J2", 1),
		moved(on(3, 31), inventory.Difference, -1), moved(on(5, 31), inventory.Difference, 1))
	got := account(t, bench(), l)

	want := Account{
		Workshop: "North Bench", Currency: inventory.Currency{Code: "EUR", Decimals: 2}, AsOf: on(6, 30),
		Stock: 5*410 + 9*425,
		Flow:  Flow{Opening: 4100, Bought: 4250, Found: 425, Used: 4*410 + 425, Wasted: 410, Missing: 425},
		Items: []Item{{
			Item: inventory.Item{Code: "wiper", Kind: inventory.Wiper, Measure: inventory.Each}, LastOn: on(2, 20), LastCost: 4.25 * euro,
			MeanCost: 4_196_429, // (5·4.10 + 9·4.25)/14 = 4.1964285… euros
			YearCost: 4.25 * euro, OnHand: 14, Value: 5875,
		}},
		Months: []MonthFlow{
			{Month{2026, 1}, 0, 4100, Flow{Opening: 4100}},
			{Month{2026, 2}, 4100, 6710, Flow{Bought: 4250, Used: 1640}},
			{Month{2026, 3}, 6710, 5450, Flow{Used: 425, Wasted: 410, Missing: 425}},
			{Month{2026, 4}, 5450, 5450, Flow{}},
			{Month{2026, 5}, 5450, 5875, Flow{Found: 425}},
			{Month{2026, 6}, 5875, 5875, Flow{}},
		},
		Suppliers: []SupplierSpend{{Month{2026, 2}, inventory.Supplier{Code: "ravelin", Name: "Ravelin Seals"}, 4250}},
		Services:  []ServiceSpend{{Month{2026, 2}, inventory.Service{}, 1640}, {Month{2026, 3}, inventory.Service{}, 425}},
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestWhereAMovesValueGoes(t *testing.T) {
	start := opened(on(1, 5), 10)
	missing, found := moved(on(2, 1), inventory.Difference, -2), moved(on(2, 1), inventory.Difference, 2)
	rows := []struct {
		rule  string
		moves []Move
		want  Flow
	}{
		{"the opening shelf", nil, Flow{Opening: 1000}},
		{"what came", []Move{bought(on(2, 1), "", 3)}, Flow{Opening: 1000, Bought: 300}},
		{"what went back to the supplier is not bought", []Move{bought(on(2, 1), "", 3), bought(on(2, 2), "", -3)}, Flow{Opening: 1000}},
		{"what jobs took", []Move{used(on(2, 1), "J1", 4)}, Flow{Opening: 1000, Used: 400}},
		{"what came back from a job is not used", []Move{used(on(2, 1), "J1", 4), undone(used(on(2, 1), "J1", 4), on(2, 2))}, Flow{Opening: 1000}},
		{"what was thrown away", []Move{moved(on(2, 1), inventory.Wasted, -5)}, Flow{Opening: 1000, Wasted: 500}},
		{"what a count missed", []Move{missing}, Flow{Opening: 1000, Missing: 200}},
		{"what a count found", []Move{found}, Flow{Opening: 1000, Found: 200}},
		{"a wrong count undone was nothing missing", []Move{missing, undone(missing, on(2, 2))}, Flow{Opening: 1000}},
		{"a wrong count undone was nothing found", []Move{found, undone(found, on(2, 2))}, Flow{Opening: 1000}},
		{"a kit that was opened", []Move{moved(on(2, 1), inventory.OpenedKit, -1)}, Flow{Opening: 1000, Kits: -100}},
	}
	for _, r := range rows {
		var l ledger
		l.lot("wiper", "W1", 1*euro, append([]Move{start}, r.moves...)...)
		a := account(t, bench(), l)
		if a.Flow != r.want || a.Stock != r.want.Change() {
			t.Errorf("%s: found %+v worth %d, expected %+v", r.rule, a.Flow, a.Stock, r.want)
		}
	}
}

// Oil at 24.90 the litre: 0.5 ml is 1.245 cents. Taken half a millilitre at a
// time, no cent is lost or made.
func TestRoundingNeitherLosesNorMakesMoney(t *testing.T) {
	var l ledger
	moves := []Move{opened(on(1, 5), 10_000)}
	for range 2000 {
		moves = append(moves, used(on(2, 1), "J1", 5))
	}
	l.lot("oil", "O1", 249*euro/10_000, moves...)
	if a := account(t, bench(), l); a.Flow.Used != 2490 || a.Stock != 0 || a.Flow.Opening != 2490 {
		t.Errorf("found %d used of %d, %d left, expected all 2490 and nothing", a.Flow.Used, a.Flow.Opening, a.Stock)
	}
}

func TestWhatAnItemCost(t *testing.T) {
	lots := func(add func(*ledger)) ledger {
		var l ledger
		add(&l)
		return l
	}
	rows := []struct {
		rule             string
		ledger           ledger
		last, mean, year inventory.UnitCost
	}{
		{"an opening shelf was never delivered", lots(func(l *ledger) { l.lot("wiper", "A", 3*euro, opened(on(1, 5), 4)) }), 0, 3 * euro, 0},
		{"the latest delivery is the last cost", lots(func(l *ledger) {
			l.lot("wiper", "A", 3*euro, bought(on(4, 1), "", 1))
			l.lot("wiper", "B", 2*euro, bought(on(3, 1), "", 1))
		}), 3 * euro, 2.5 * euro, 2.5 * euro},
		{"of two on a day it is the later lot's", lots(func(l *ledger) {
			l.lot("wiper", "A", 3*euro, bought(on(4, 1), "", 1))
			l.lot("wiper", "B", 2*euro, bought(on(4, 1), "", 1))
		}), 2 * euro, 2.5 * euro, 2.5 * euro},
		{"what went back whole was no delivery", lots(func(l *ledger) {
			l.lot("wiper", "A", 3*euro, bought(on(3, 1), "", 2))
			l.lot("wiper", "B", 9*euro, bought(on(4, 1), "", 2), bought(on(4, 2), "", -2))
		}), 3 * euro, 3 * euro, 3 * euro},
		{"the mean goes by quantity on the shelf", lots(func(l *ledger) {
			l.lot("wiper", "A", 3*euro, bought(on(3, 1), "", 5), used(on(4, 1), "J", 4))
			l.lot("wiper", "B", 7*euro, bought(on(3, 2), "", 3))
		}), 7 * euro, 6 * euro, 4.5 * euro},
		{"an empty shelf has no mean", lots(func(l *ledger) { l.lot("wiper", "A", 3*euro, bought(on(3, 1), "", 2), used(on(4, 1), "J", 2)) }), 3 * euro, 0, 3 * euro},
		{"twelve months ago is a year ago", lots(func(l *ledger) {
			l.lot("wiper", "A", 9*euro, bought(inventory.NewDate(2025, time.June, 30), "", 1))
			l.lot("wiper", "B", 2*euro, bought(inventory.NewDate(2025, time.July, 1), "", 1))
		}), 2 * euro, 5.5 * euro, 2 * euro},
		{"a third is rounded once", lots(func(l *ledger) {
			l.lot("wiper", "A", 1, bought(on(3, 1), "", 1))
			l.lot("wiper", "B", 2, bought(on(3, 1), "", 2))
		}), 2, 2, 2}, // 5/3
		{"without a cost it is the usual offer's", lots(func(l *ledger) { l.lot("oil", "A", 0, bought(on(3, 1), "", 10_000)) }), 0.0249 * euro, 0.0249 * euro, 0.0249 * euro},
	}
	shop := bench()
	shop.Offers = []inventory.Offer{{Item: "oil", Supplier: "ravelin", FromPacks: 1, PackQty: 10_000, Price: 2490}}
	for _, r := range rows {
		a := account(t, shop, r.ledger)
		if len(a.Items) != 1 {
			t.Fatalf("%s: found %d items, expected one", r.rule, len(a.Items))
		}
		if i := a.Items[0]; i.LastCost != r.last || i.MeanCost != r.mean || i.YearCost != r.year {
			t.Errorf("%s: found last %d, mean %d, year %d, expected %d, %d, %d", r.rule, i.LastCost, i.MeanCost, i.YearCost, r.last, r.mean, r.year)
		}
	}
}

func TestLotsWithoutACostOfTheirOwn(t *testing.T) {
	kit := func(shop *inventory.Shop, price inventory.Money) {
		shop.Items = append(shop.Items, inventory.Item{Code: "kit", Kind: inventory.Kit, Measure: inventory.Each}, inventory.Item{Code: "ring", Measure: inventory.Each})
		shop.Kits = []inventory.KitPart{{Kit: "kit", Item: "ring", Qty: 3}, {Kit: "kit", Item: "wiper", Qty: 2}}
		shop.Offers = append(shop.Offers, inventory.Offer{Item: "kit", Supplier: "b", FromPacks: 1, PackQty: 1, Price: price})
	}
	rows := []struct {
		rule                string
		change              func(*inventory.Shop)
		worth               inventory.Money // of three wipers
		estimated, unpriced int
	}{
		{"nobody offers it: worth nothing", func(*inventory.Shop) {}, 0, 0, 1},
		{"at the cheapest offer for few packs", func(s *inventory.Shop) {
			s.Offers = []inventory.Offer{
				{Item: "wiper", Supplier: "b", FromPacks: 1, PackQty: 10, Price: 4250},
				{Item: "wiper", Supplier: "c", FromPacks: 1, PackQty: 1, Price: 420},
				{Item: "wiper", Supplier: "c", FromPacks: 10, PackQty: 1, Price: 100},
			}
		}, 3 * 420, 1, 0},
		{"as a share of a kit: two pieces in five", func(s *inventory.Shop) { kit(s, 2500) }, 3 * 500, 1, 0},
		{"a kit without a price tells nothing", func(s *inventory.Shop) { kit(s, 0) }, 0, 0, 1},
		{"and is passed over for one that has", func(s *inventory.Shop) {
			kit(s, 2500)
			s.Items = append(s.Items, inventory.Item{Code: "box", Kind: inventory.Kit, Measure: inventory.Each})
			s.Kits = append([]inventory.KitPart{{Kit: "box", Item: "wiper", Qty: 1}}, s.Kits...)
		}, 3 * 500, 1, 0},
		{"its own offer before a kit's", func(s *inventory.Shop) {
			kit(s, 2500)
			s.Offers = append(s.Offers, inventory.Offer{Item: "wiper", Supplier: "b", FromPacks: 1, PackQty: 1, Price: 300})
		}, 3 * 300, 1, 0},
	}
	for _, r := range rows {
		shop := bench()
		r.change(&shop)
		var l ledger
		l.lot("wiper", "W1", 0, opened(on(1, 5), 4), used(on(1, 6), "J1", 1))
		l.lot("wiper", "W2", 4*euro, opened(on(1, 5), 1))
		l.lot("wiper", "W3", 0, opened(on(1, 5), 1), used(on(1, 6), "J1", 1)) // gone: counted, but not among those on hand
		a := account(t, shop, l)
		if a.Stock != r.worth+400 || a.Estimated != 2*r.estimated || a.Unpriced != 2*r.unpriced || a.Items[0].Guessed != 1 {
			t.Errorf("%s: found a stock of %d, %d lots estimated, %d unpriced, %d on hand, expected %d, %d, %d, 1", r.rule,
				a.Stock, a.Estimated, a.Unpriced, a.Items[0].Guessed, r.worth+400, 2*r.estimated, 2*r.unpriced)
		}
	}
}

func TestWhatIsPastItsDateIsStillWorthItsCost(t *testing.T) {
	var l ledger
	for n, expires := range []inventory.Date{0, on(6, 29), on(6, 30), on(7, 1)} { // the shop stands on 30 June
		l.lot("wiper", string(rune('A'+n)), inventory.UnitCost(1+n)*euro, opened(on(1, 5), 1))
		l.Lots[n].Expires = expires
	}
	if a := account(t, bench(), l); a.Expired != 200+300 || a.Stock != 1000 {
		t.Errorf("found %d expired of %d, expected 500 of 1000: on the day of its expiry a lot is no longer good", a.Expired, a.Stock)
	}
}

func TestSpendGoesToItsSupplierAndMonth(t *testing.T) {
	var l ledger
	l.lot("wiper", "A", 1*euro, bought(on(1, 31), "ravelin", 3), bought(on(2, 1), "ravelin", 4))
	l.lot("wiper", "B", 1*euro, bought(on(1, 2), "", 5), bought(on(1, 3), "gone", 1))
	l.lot("wiper", "C", 1*euro, bought(on(2, 2), "ravelin", 2), bought(on(3, 2), "ravelin", -2))
	got := account(t, bench(), l).Suppliers
	ravelin := inventory.Supplier{Code: "ravelin", Name: "Ravelin Seals"}
	want := []SupplierSpend{
		{Month{2026, 1}, inventory.Supplier{}, 500},
		{Month{2026, 1}, inventory.Supplier{Code: "gone"}, 100},
		{Month{2026, 1}, ravelin, 300},
		{Month{2026, 2}, ravelin, 600},
		{Month{2026, 3}, ravelin, -200}, // what goes back is taken off when it does
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

func TestLedgersThatDoNotHoldTogetherAreRefused(t *testing.T) {
	rows := []struct {
		rule    string
		records Records
		want    string
	}{
		{"a lot of no item", Records{Lots: []inventory.Lot{{Item: "seal", Code: "S1"}}},
			"cost of item seal lot S1: invalid: found no such item in the book, expected book and ledger of one moment; read both again"},
		{"a movement of no lot", Records{Moves: []Move{{On: on(1, 5), Item: "wiper", Lot: "W1", Qty: 1}}},
			"cost of item wiper lot W1: invalid: found a movement on 2026-01-05 of a lot that is not there, expected lots and movements of one moment; read both again"},
		{"movements that do not come to the shelf", Records{
			Lots:  []inventory.Lot{{Item: "oil", Code: "O1", OnHand: 5}},
			Moves: []Move{{On: on(1, 5), Item: "oil", Lot: "O1", Place: inventory.FromStart, Qty: 15}},
		}, "cost of item oil lot O1: invalid: found movements that come to 1.5 ml, expected the 0.5 on hand; prove the ledger with circlip check"},
	}
	for _, r := range rows {
		_, err := Of(bench(), r.records)
		if !errors.Is(err, inventory.ErrInvalid) || !strings.EqualFold(err.Error(), r.want) {
			t.Errorf("%s: found %v, expected %s", r.rule, err, r.want)
		}
	}
}

func TestNothingMovedIsWorthNothing(t *testing.T) {
	a := account(t, bench(), ledger{})
	if a.Stock != 0 || a.Months != nil || a.Items != nil || a.Suppliers != nil || a.Services != nil || a.Jobs != nil {
		t.Errorf("found %+v, expected nothing", a)
	}
}

func TestMonths(t *testing.T) {
	rows := []struct {
		rule   string
		month  Month
		add    int
		expect string
	}{
		{"the next", Month{2026, time.January}, 1, "2026-02"},
		{"over the year's end", Month{2026, time.December}, 1, "2027-01"},
		{"back over it", Month{2026, time.January}, -1, "2025-12"},
		{"a year", Month{2026, time.March}, 12, "2027-03"},
	}
	for _, r := range rows {
		if got := r.month.Add(r.add).String(); got != r.expect {
			t.Errorf("%s: found %s, expected %s", r.rule, got, r.expect)
		}
	}
}
