package plan

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"circlip/inventory"
)

// whyMoved says why an order goes on another day than the supplier's next order
// day; empty: it does not.
func (v *view) whyMoved(s inventory.Supplier, placeBy inventory.Date) string {
	usual, regular := v.AsOf.OnOrAfter(s.OrderWeekday), placeBy.OnOrAfter(s.OrderWeekday)
	var reasons []string
	if weeks := int(regular-usual) / week; weeks > 0 {
		later := strings.Replace(fmt.Sprintf("%d weeks later", weeks), "1 weeks", "a week", 1)
		if v.days.Closed(s.Code, usual) {
			reasons = append(reasons, fmt.Sprintf("%s: %s, and the last day before it has passed", later, v.holidayOn(s.Code, usual)))
		} else {
			reasons = append(reasons, fmt.Sprintf("%s: the cut-off today at %s has passed", later, s.Cutoff))
		}
	}
	if early := int(regular - placeBy); early > 0 {
		reasons = append(reasons, fmt.Sprintf("%s early: %s", strings.Replace(days(early), "1 day", "a day", 1), v.holidayOn(s.Code, regular)))
	}
	return strings.Join(reasons, "; ")
}

// holidayOn names the holiday of a supplier or the workshop on a day.
func (v *view) holidayOn(supplier string, day inventory.Date) string {
	of := func(h inventory.Holiday) bool {
		return h.Date == day && (h.Supplier == "" || h.Supplier == supplier)
	}
	name := ""
	if n := slices.IndexFunc(v.Holidays, of); n >= 0 {
		name = v.Holidays[n].Name
	}
	return fmt.Sprintf("%s on %s", cmp.Or(name, "holiday"), day.Time().Format("Mon 2 Jan"))
}
