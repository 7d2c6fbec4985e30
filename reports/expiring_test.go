package reports

import (
	"testing"

	"circlip/inventory"
	"circlip/reports/plan"
	"circlip/testdata/golden/plans"
)

func TestWhatToDoWithALotThatAgesOut(t *testing.T) {
	later := plans.AsOf.AddMonths(36)
	rows := []struct {
		rule     string
		expires  inventory.Date
		jobs     []string
		extend   inventory.Date
		advice   string
		sentence string
	}{
		{"expired", plans.AsOf, nil, 0, "expired: take it off the shelf",
			"Seal, lot L, expired on 1 Mar 2027: 30 ea on the shelf."},
		{"expired, and the standard allows an inspection", plans.AsOf, nil, later, "expired: have it inspected, or take it off the shelf",
			"Seal, lot L, expired on 1 Mar 2027: 30 ea on the shelf; after an inspection it would expire on 1 Mar 2030."},
		{"good today, and jobs could use it", plans.AsOf + 1, []string{"J1", "J2"}, 0, "use it first",
			"Seal, lot L, expires on 2 Mar 2027: 10 of 30 ea left over; J1, J2 could use it."},
		{"and the standard allows an inspection", plans.AsOf + 1, []string{"J1", "J2", "J3", "J4", "J5", "J6"}, later, "use it first, and have the rest inspected in time",
			"Seal, lot L, expires on 2 Mar 2027: 10 of 30 ea left over; J1, J2, J3, J4 and 2 more could use it; after an inspection it would expire on 1 Mar 2030."},
		{"no job could, and the standard allows an inspection", plans.AsOf + 1, nil, later, "no booked job takes it: have it inspected in time",
			"Seal, lot L, expires on 2 Mar 2027: 10 of 30 ea left over; after an inspection it would expire on 1 Mar 2030."},
		{"nothing helps", plans.AsOf + 1, nil, 0, "no booked job takes it: pass it on while it is good",
			"Seal, lot L, expires on 2 Mar 2027: 10 of 30 ea left over."},
	}
	for _, r := range rows {
		t.Run(r.rule, func(t *testing.T) {
			e := plan.Expiring{
				Item: inventory.Item{Code: "S", Name: "Seal", Measure: inventory.Each}, Lot: inventory.Lot{Item: "S", Code: "L", OnHand: 30, Expires: r.expires},
				Expected: 20, Over: 10, Jobs: r.jobs, Extend: r.extend,
			}
			p := plan.Plan{AsOf: plans.AsOf, Currency: euro, Expiring: []plan.Expiring{e}}
			if got := ageingAdvice(p, e); got != r.advice {
				t.Errorf("found the advice %q, expected %q", got, r.advice)
			}
			if got := ageingSentences(p); len(got) != 1 || got[0] != r.sentence {
				t.Errorf("found %q, expected %q", got, r.sentence)
			}
			if row := Ageing(p).Rows[0]; row.Strong != (r.expires <= plans.AsOf) {
				t.Errorf("found a row whose strong is %v", row.Strong)
			}
		})
	}
}
