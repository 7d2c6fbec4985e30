package plan

import (
	"testing"
	"time"

	"circlip/inventory"
)

func TestWhyAnOrderGoesOnAnotherDay(t *testing.T) {
	easter := inventory.NewDate(2027, time.March, 29) // a Monday
	holiday := func(on inventory.Date, supplier, name string) inventory.Holiday {
		return inventory.Holiday{Date: on, Supplier: supplier, Name: name}
	}
	good := holiday(easter-3, "", "Good Friday")
	rows := []struct {
		rule     string
		asOf     inventory.Date
		time     string
		holidays []inventory.Holiday
		placeBy  inventory.Date
		want     string
	}{
		{"the usual day", easter - 6, "", nil, easter, ""},
		{"today, before the cut-off", easter, "13:59", nil, easter, ""},
		{"a holiday", easter - 6, "", []inventory.Holiday{holiday(easter, "", "Easter Monday")}, easter - 3, "3 days early: Easter Monday on Mon 29 Mar"},
		{"a holiday without a name", easter - 6, "", []inventory.Holiday{holiday(easter, "near", "")}, easter - 3, "3 days early: holiday on Mon 29 Mar"},
		{"a holiday of another supplier", easter - 6, "", []inventory.Holiday{holiday(easter, "far", "Works day")}, easter, ""},
		{"two in a row", easter - 6, "", []inventory.Holiday{holiday(easter, "", "Easter Monday"), good}, easter - 4, "4 days early: Easter Monday on Mon 29 Mar"},
		{"the cut-off has passed", easter, "14:01", nil, easter + 7, "a week later: the cut-off today at 14:00 has passed"},
		{"the day before the holiday has passed", easter - 1, "", []inventory.Holiday{holiday(easter, "", "Easter Monday")}, easter + 7, "a week later: Easter Monday on Mon 29 Mar, and the last day before it has passed"},
		{"the cut-off has passed, and the next day is a holiday", easter - 7, "14:01", []inventory.Holiday{holiday(easter, "", "Easter Monday")}, easter - 3,
			"a week later: the cut-off today at 14:00 has passed; 3 days early: Easter Monday on Mon 29 Mar"},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			shop := parkShop()
			shop.AsOf, shop.TimeOfDay, shop.Holidays = r.asOf, r.time, r.holidays
			shop.Suppliers[0].Cutoff = "14:00"
			v, err := newView(shop)
			if err != nil {
				t.Fatal(err)
			}
			s := v.supplier["near"]
			placeBy, _ := v.days.place(s, 3)
			if got := v.whyMoved(s, placeBy); placeBy != r.placeBy || got != r.want {
				t.Errorf("found %s, %q, expected %s, %q", placeBy, got, r.placeBy, r.want)
			}
		})
	}
	tuesday := inventory.Supplier{Code: "tue", OrderWeekday: time.Tuesday}
	shop := parkShop()
	shop.AsOf, shop.Holidays = easter, []inventory.Holiday{holiday(easter+1, "", "Tuesday")}
	v, err := newView(shop)
	if err != nil {
		t.Fatal(err)
	}
	if got, want := v.whyMoved(tuesday, easter), "a day early: Tuesday on Tue 30 Mar"; got != want {
		t.Errorf("found %q, expected %q", got, want)
	}
}
