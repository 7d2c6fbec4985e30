package plan

import (
	"fmt"
	"slices"

	"circlip/forecast"
	"circlip/inventory"
	"circlip/reports/lessons"
)

// view is the shop with its codes numbered, as forecast and stock want them.
type view struct {
	book           inventory.Shop // as it was handed in
	inventory.Shop                // with what was learnt in place of the book's figures
	lessons        *lessons.Lessons
	bill           *inventory.Bill
	cal            *forecast.Calendar
	days           orderDays
	last           *rhythm // the slowest one, once asked for
	itemAt         map[string]int
	serviceAt      map[string]int
	modelAt        map[string]int
	offers         map[string][]inventory.Offer
	supplier       map[string]inventory.Supplier
	kitsWith       map[string][]inventory.KitPart // by part
	ladders        map[string]*forecast.Ladder    // by family
	lotsOf         map[string][]inventory.Lot
	needed         []bool   // by item: some job takes it
	kitted         []string // parts planned as the kits that hold them
	warnings       []string
}

func newView(shop inventory.Shop) (*view, error) {
	learnt := lessons.Of(shop)
	book := shop
	shop = learnt.Teach(shop)
	v := &view{
		book:     book,
		Shop:     shop,
		lessons:  learnt,
		bill:     inventory.NewBill(shop),
		days:     newOrderDays(shop),
		offers:   map[string][]inventory.Offer{},
		supplier: map[string]inventory.Supplier{},
		kitsWith: map[string][]inventory.KitPart{},
		ladders:  map[string]*forecast.Ladder{},
		lotsOf:   map[string][]inventory.Lot{},
		needed:   make([]bool, len(shop.Items)),
	}
	for _, l := range shop.Lots {
		v.lotsOf[l.Item] = append(v.lotsOf[l.Item], l)
	}
	v.itemAt = number(shop.Items, func(i inventory.Item) string { return i.Code })
	v.serviceAt = number(shop.Services, func(s inventory.Service) string { return s.Code })
	v.modelAt = number(shop.Models, func(m inventory.Model) string { return m.Code })
	for _, o := range shop.Offers {
		v.offers[o.Item] = append(v.offers[o.Item], o)
	}
	for _, s := range shop.Suppliers {
		v.supplier[s.Code] = s
	}
	for _, k := range shop.Kits {
		v.kitsWith[k.Item] = append(v.kitsWith[k.Item], k)
	}
	cal, err := forecast.NewCalendar(forecast.Day(shop.AsOf), shop.Settings.HorizonWeeks, shop.Season)
	if err != nil {
		return nil, fmt.Errorf("horizon: %w", err)
	}
	v.cal = cal
	v.climb()
	return v, nil
}

// number gives each code its place in the list.
func number[T any](list []T, code func(T) string) map[string]int {
	at := make(map[string]int, len(list))
	for i, t := range list {
		at[code(t)] = i
	}
	return at
}

// climb builds the ladder of each family from its services.
func (v *view) climb() {
	for at, s := range v.Services {
		if v.ladders[s.Family] == nil {
			v.ladders[s.Family] = &forecast.Ladder{FoldIn: v.Settings.FoldIn}
		}
		l := v.ladders[s.Family]
		l.Services = append(l.Services, forecast.Service{
			ID: at, Every: forecast.Hours(s.EveryHours), Months: s.EveryMonths, Covers: v.numbers(s.Covers),
		})
	}
}

// numbers turns service codes into their places; unknown codes are left out.
func (v *view) numbers(codes []string) []int {
	var ids []int
	for _, c := range codes {
		if at, known := v.serviceAt[c]; known {
			ids = append(ids, at)
		}
	}
	return ids
}

// codes is the inverse of numbers.
func (v *view) codes(ids []int) []string {
	codes := make([]string, len(ids))
	for i, id := range ids {
		codes[i] = v.Services[id].Code
	}
	return codes
}

// warn adds a warning, once, and returns it.
func (v *view) warn(format string, args ...any) string {
	text := fmt.Sprintf(format, args...)
	if !slices.Contains(v.warnings, text) {
		v.warnings = append(v.warnings, text)
	}
	return text
}

// weeks is the horizon in the book's days.
func (v *view) weeks() []Span {
	spans := make([]Span, len(v.cal.Weeks))
	for i, w := range v.cal.Weeks {
		spans[i] = Span{Week: inventory.Week{Year: w.Year, Number: w.Number}, From: inventory.Date(w.First), To: inventory.Date(w.Last)}
	}
	return spans
}
