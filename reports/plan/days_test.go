package plan

import (
	"slices"
	"testing"
	"time"

	"circlip/inventory"

	"pgregory.net/rapid"
)

func day(text string) inventory.Date {
	d, err := inventory.ParseDate(text)
	if err != nil {
		panic(err)
	}
	return d
}

func holidays(supplier string, days ...string) []inventory.Holiday {
	var list []inventory.Holiday
	for _, d := range days {
		list = append(list, inventory.Holiday{Date: day(d), Supplier: supplier, Name: "closed"})
	}
	return list
}

func TestWhenAnOrderGoesAndComes(t *testing.T) {
	easter := holidays("", "2027-03-26", "2027-03-29")
	for _, c := range []struct {
		rule           string
		asOf, time     string
		on             time.Weekday
		lead           inventory.Date
		holidays       []inventory.Holiday
		placeBy, comes string
		nextPlaceBy    string
		nextComes      string
	}{
		{"an order goes today if today is the order day", "2027-03-01", "", time.Monday, 3, nil,
			"2027-03-01", "2027-03-04", "2027-03-08", "2027-03-11"},
		{"after it, on the next one", "2027-03-02", "", time.Monday, 3, nil,
			"2027-03-08", "2027-03-11", "2027-03-15", "2027-03-18"},
		{"at the cut-off there is still time", "2027-03-01", "14:00", time.Monday, 3, nil,
			"2027-03-01", "2027-03-04", "2027-03-08", "2027-03-11"},
		{"a minute later there is not", "2027-03-01", "14:01", time.Monday, 3, nil,
			"2027-03-08", "2027-03-11", "2027-03-15", "2027-03-18"},
		{"the hour of today says nothing of other days", "2027-03-02", "14:01", time.Wednesday, 3, nil,
			"2027-03-03", "2027-03-06", "2027-03-10", "2027-03-13"},
		{"Easter Monday's order goes on the Thursday before Good Friday", "2027-03-23", "", time.Monday, 2, easter,
			"2027-03-25", "2027-03-27", "2027-04-05", "2027-04-07"},
		{"that Thursday has the cut-off hour too", "2027-03-25", "14:01", time.Monday, 2, easter,
			"2027-04-05", "2027-04-07", "2027-04-12", "2027-04-14"},
		{"if that Thursday is past, the order goes a week later", "2027-03-27", "", time.Monday, 2, easter,
			"2027-04-05", "2027-04-07", "2027-04-12", "2027-04-14"},
		{"an order before Easter must last until the one after it has come", "2027-03-22", "", time.Monday, 3, easter,
			"2027-03-22", "2027-03-25", "2027-03-25", "2027-03-28"},
		{"two holidays in a row are both passed over", "2025-12-22", "", time.Friday, 1, holidays("", "2025-12-25", "2025-12-26"),
			"2025-12-24", "2025-12-27", "2026-01-02", "2026-01-03"},
		{"New Year's order goes in the old year", "2025-12-29", "", time.Thursday, 5, holidays("", "2026-01-01"),
			"2025-12-31", "2026-01-05", "2026-01-08", "2026-01-13"},
		{"a supplier that is closed takes no order", "2027-03-22", "", time.Wednesday, 1, holidays("near", "2027-03-24"),
			"2027-03-23", "2027-03-25", "2027-03-31", "2027-04-01"},
		{"what another supplier does is its own affair", "2027-03-22", "", time.Wednesday, 1, holidays("far", "2027-03-24"),
			"2027-03-24", "2027-03-25", "2027-03-31", "2027-04-01"},
		{"an order day at a weekend is the supplier's own choice", "2027-03-01", "", time.Saturday, 2, nil,
			"2027-03-06", "2027-03-08", "2027-03-13", "2027-03-15"},
		{"what is due on a holiday comes on the next day that is none", "2027-03-24", "", time.Wednesday, 2, easter,
			"2027-03-24", "2027-03-27", "2027-03-31", "2027-04-02"},
		{"an order that comes on the same day as this one is not the next one", "2026-12-14", "", time.Monday, 10,
			holidays("near", "2026-12-21", "2026-12-22", "2026-12-23", "2026-12-24", "2026-12-25", "2026-12-26", "2026-12-27", "2026-12-28", "2026-12-29", "2026-12-30", "2026-12-31"),
			"2026-12-14", "2027-01-01", "2027-01-04", "2027-01-14"},
	} {
		t.Run(c.rule, func(t *testing.T) {
			d := newOrderDays(inventory.Shop{AsOf: day(c.asOf), TimeOfDay: c.time, Holidays: c.holidays})
			s := inventory.Supplier{Code: "near", OrderWeekday: c.on, Cutoff: "14:00"}
			placeBy, next := d.place(s, c.lead)
			if placeBy != day(c.placeBy) || next != day(c.nextPlaceBy) {
				t.Errorf("found orders on %s and %s, expected %s and %s", placeBy, next, c.placeBy, c.nextPlaceBy)
			}
			if first, second := d.Delivery("near", placeBy+c.lead), d.Delivery("near", next+c.lead); first != day(c.comes) || second != day(c.nextComes) {
				t.Errorf("found deliveries on %s and %s, expected %s and %s", first, second, c.comes, c.nextComes)
			}
		})
	}
}

// anyHolidays draws a calendar with stretches of closed days around a Monday.
func anyHolidays(t *rapid.T) []inventory.Holiday {
	var list []inventory.Holiday
	for range rapid.IntRange(0, 4).Draw(t, "stretches") {
		from := monday + inventory.Date(rapid.IntRange(-10, 50).Draw(t, "from"))
		supplier := rapid.SampledFrom([]string{"", "near", "far"}).Draw(t, "whose")
		for n := range rapid.IntRange(1, 12).Draw(t, "days") {
			list = append(list, inventory.Holiday{Date: from + inventory.Date(n), Supplier: supplier})
		}
	}
	return list
}

// Whatever is closed when: nothing is ordered or delivered then, nothing is
// ordered in the past, and the order after this one comes after it.
func TestNothingGoesOrComesOnAHoliday(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		shop := parkShop()
		shop.Holidays = anyHolidays(t)
		shop.AsOf += inventory.Date(rapid.IntRange(0, 6).Draw(t, "day"))
		shop.TimeOfDay = rapid.SampledFrom([]string{"", "08:00", "17:30"}).Draw(t, "hour")
		for i := range shop.Suppliers {
			shop.Suppliers[i].Cutoff = rapid.SampledFrom([]string{"", "12:00"}).Draw(t, "cut-off")
		}
		v, err := newView(shop)
		if err != nil {
			t.Fatal(err)
		}
		for _, o := range shop.Offers {
			r := v.rhythm(o)
			for _, d := range append([]inventory.Date{r.placeBy, r.nextPlaceBy}, append(r.comes, r.next...)...) {
				if d < shop.AsOf || v.days.Closed(o.Supplier, d) {
					t.Fatalf("%s: an order or delivery on %s, a holiday or past", o.Supplier, d)
				}
			}
			if r.placeBy == shop.AsOf && r.supplier.Cutoff != "" && shop.TimeOfDay > r.supplier.Cutoff {
				t.Fatalf("%s: ordered at %s, after %s", o.Supplier, shop.TimeOfDay, r.supplier.Cutoff)
			}
			if r.nextPlaceBy <= r.placeBy || r.protectUntil < r.expectedOn {
				t.Fatalf("%s: orders on %s and %s, comes on %s and must last until %s", o.Supplier, r.placeBy, r.nextPlaceBy, r.expectedOn, r.protectUntil)
			}
			if first := r.sees(0); first != 1 {
				t.Fatalf("%s: a share of %v of the jobs see the use of the first day, expected all", o.Supplier, first)
			}
		}
	})
}

// Closed days make the time longer that an order must last for.
func TestTheOrderBeforeAHolidayLastsLonger(t *testing.T) {
	open, closed := parkShop(), parkShop()
	closed.Holidays = holidays("near", "2026-06-22", "2026-06-19", "2026-06-18", "2026-06-17", "2026-06-16", "2026-06-15")
	closed.AsOf, open.AsOf = day("2026-06-12"), day("2026-06-12")
	for i := range closed.Units { // both plans know the same readings
		closed.Units[i].Readings = closed.Units[i].Readings[:1]
		open.Units[i].Readings = open.Units[i].Readings[:1]
	}
	with, without := planOf(t, closed), planOf(t, open)
	if a, b := with.item("wiper").ProtectUntil, without.item("wiper").ProtectUntil; a != day("2026-07-01") || b != day("2026-06-24") {
		t.Errorf("wipers must last until %s with the holidays and until %s without, expected 2026-07-01 and 2026-06-24", a, b)
	}
	if a, b := with.item("wiper").OrderUpTo, without.item("wiper").OrderUpTo; a <= b {
		t.Errorf("the level of wipers is %d with the holidays and %d without, expected it higher", a, b)
	}
}

// leadOf is the days in which an offer comes.
func leadOf(shop inventory.Shop, o inventory.Offer) int {
	if o.LeadDays != nil {
		return *o.LeadDays
	}
	return shop.Suppliers[slices.IndexFunc(shop.Suppliers, func(s inventory.Supplier) bool { return s.Code == o.Supplier })].LeadDays
}
