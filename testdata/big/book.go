package big

import (
	"iter"
	"strconv"
	"strings"
	"time"

	"circlip/inventory"
	"circlip/inventory/book"
	"circlip/inventory/book/folder"
)

// Write writes the workshop into a folder as its book.
func (w Workshop) Write(dir string) error {
	tables := w.tables()
	return folder.Write(dir, func(yield func(book.Table, iter.Seq2[[]string, error]) bool) {
		for _, t := range book.Tables {
			rows := func(yield func([]string, error) bool) {
				for _, cells := range tables[t.Name] {
					if !yield(append(cells, make([]string, len(t.Columns)-len(cells))...), nil) {
						return
					}
				}
			}
			if !yield(t, rows) {
				return
			}
		}
	})
}

// tables are the rows of every table, with the columns in the book's order;
// blank ones at the end are left out.
func (w Workshop) tables() map[string][][]string {
	t := map[string][][]string{}
	add := func(table string, cells ...string) { t[table] = append(t[table], cells) }
	w.addSettings(add)
	w.addCatalogue(add)
	w.addPast(add)
	return t
}

type adder func(table string, cells ...string)

func (w Workshop) addSettings(add adder) {
	s := w.Shop.Settings
	for _, pair := range [][2]string{
		{"workshop", s.Workshop}, {"currency", s.Currency.Code}, {"time_zone", s.TimeZone}, {"readiness", decimal(s.Readiness)},
		{"horizon_weeks", strconv.Itoa(s.HorizonWeeks)}, {"order_weekday", weekday(s.OrderWeekday)}, {"holding_rate", decimal(s.HoldingRate)},
		{"show_rate", decimal(s.ShowRate)}, {"fleet_capture", decimal(s.FleetCapture)}, {"fleet_lag_weeks", decimal(s.FleetLagWeeks)},
		{"customer_capture", decimal(s.CustomerCapture)}, {"customer_lag_weeks", decimal(s.CustomerLagWeeks)},
		{"usage_spread_h", decimal(s.UsageSpreadH)}, {"fold_in", decimal(s.FoldIn)}, {"learn", "no"}, {"shelf_life_standard", s.ShelfLifeStandard},
	} {
		add("settings", pair[0], pair[1])
	}
	for week, factor := range w.Shop.Season {
		add("season", strconv.Itoa(week), decimal(factor))
	}
}

func (w Workshop) addCatalogue(add adder) {
	shop, money := w.Shop, w.Shop.Settings.Currency
	for _, s := range shop.Suppliers {
		add("suppliers", s.Code, s.Name, weekday(s.OrderWeekday), "", strconv.Itoa(s.LeadDays), money.Format(s.MinOrder), money.Format(s.Carriage), money.Format(s.CarriageFreeFrom))
	}
	for _, i := range shop.Items {
		add("items", i.Code, i.Name, string(i.Kind), string(i.Measure), "", number(i.ShelfMonths), yesNo(i.Critical), "", "", "", number(int(i.DensityKgM3)))
	}
	for _, o := range shop.Offers {
		lead := ""
		if o.LeadDays != nil {
			lead = strconv.Itoa(*o.LeadDays)
		}
		add("offers", o.Item, o.Supplier, strconv.Itoa(o.FromPacks), o.SupplierCode, w.quantity(o.Item, o.PackQty), strconv.Itoa(o.MinPacks), strconv.Itoa(o.Multiple), money.Format(o.Price), lead)
	}
	for _, k := range shop.Kits {
		add("kits", k.Kit, k.Item, w.quantity(k.Item, k.Qty))
	}
	for _, m := range shop.Models {
		add("models", m.Code, m.Name, m.Family)
	}
	for _, s := range shop.Services {
		add("services", s.Code, s.Name, s.Family, decimal(s.EveryHours), number(s.EveryMonths), strings.Join(s.Covers, ";"), number(s.BenchMinutes))
	}
	for _, b := range shop.BOM {
		add("bom", b.Service, b.Model, b.Item, b.From.String(), w.quantity(b.Item, b.Qty), decimal(b.Need), decimal(b.Waste), b.To.String())
	}
}

func (w Workshop) addPast(add adder) {
	shop := w.Shop
	for _, u := range shop.Units {
		hours := ""
		if u.HoursPerWeek != nil {
			hours = decimal(*u.HoursPerWeek)
		}
		add("units", u.Code, u.Model, string(u.Holder), u.Group, hours, u.InService.String())
		for _, r := range u.Readings {
			add("readings", u.Code, r.Date.String(), decimal(r.Hours), yesNo(r.Reset))
		}
	}
	for _, j := range shop.Jobs {
		add("jobs", j.Code, j.Unit, j.Model, strings.Join(j.Services, ";"), j.BookedOn.String(), j.BenchDate.String(), string(j.State), j.DoneOn.String())
	}
	for _, u := range shop.Uses {
		add("job_use", u.Job, u.Item, u.Lot, w.quantity(u.Item, u.Qty))
	}
	for _, l := range w.Opening {
		add("stock", l.Item, l.Code, w.quantity(l.Item, l.OnHand), l.Received.String(), "", l.Expires.String(), shop.Settings.Currency.FormatUnitCost(l.UnitCost))
	}
	for _, o := range shop.Orders {
		came := ""
		if !o.ReceivedOn.IsZero() {
			came = strconv.Itoa(o.ReceivedPacks)
		}
		add("orders", o.Order, o.Item, o.Supplier, strconv.Itoa(o.Packs), o.PlacedOn.String(), o.DueOn.String(), o.ReceivedOn.String(), came)
	}
	for _, c := range shop.Counts {
		add("counts", c.Item, c.Date.String(), w.quantity(c.Item, c.Qty))
	}
}

func (w Workshop) quantity(item string, q inventory.Quantity) string {
	return w.measures[item].Format(q)
}

func decimal(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }

// number leaves a cell blank that is not stated.
func number(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

func yesNo(yes bool) string {
	if yes {
		return "yes"
	}
	return "no"
}

func weekday(d time.Weekday) string { return strings.ToLower(d.String()[:3]) }
