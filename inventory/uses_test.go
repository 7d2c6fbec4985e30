package inventory

import (
	"strings"
	"testing"
)

func TestJobsThatUse(t *testing.T) {
	shop := Shop{
		AsOf:     today,
		Models:   []Model{{Code: "fell", Family: "fork"}},
		Services: []Service{{Code: "lower", Family: "fork"}, {Code: "spring", Family: "fork"}},
		BOM: []BOMLine{
			{Service: "lower", Model: AnyModel, Item: "wiper", Qty: 2, Need: 1},
			{Service: "lower", Model: AnyModel, Item: "bushing", Qty: 1, Need: .08},
			{Service: "lower", Model: AnyModel, Item: "stud", Qty: 1, Need: 0},
			{Service: "lower", Model: AnyModel, Item: "seal", Qty: 1, Need: 1},
			{Service: "spring", Model: AnyModel, Item: "kit", Qty: 1, Need: 1},
			{Service: "spring", Model: AnyModel, Item: "wiper", Qty: 2, Need: 1},
			{Service: "spring", Model: AnyModel, Item: "old", Qty: 1, Need: 1, To: today + 2},
		},
		Kits: []KitPart{{Kit: "kit", Item: "seal", Qty: 1}},
		Jobs: []Job{
			{Code: "J1", Model: "fell", Services: []string{"lower"}, BenchDate: today + 5, State: Booked},
			{Code: "J2", Model: "fell", Services: []string{"lower", "spring"}, BenchDate: today + 3, State: Booked},
			{Code: "J3", Model: "fell", Services: []string{"spring"}, BenchDate: today - 4, State: Booked},
			{Code: "J4", Model: "fell", Services: []string{"lower"}, BenchDate: today + 1, State: Done},
		},
	}
	users := JobsThatUse(shop)
	for _, test := range []struct{ rule, item, want string }{
		{"open jobs alone, the next bench date first, each once", "wiper", "J3 J2 J1"},
		{"what is only sometimes taken may be taken", "bushing", "J2 J1"},
		{"what is never taken is not", "stud", ""},
		{"a part that comes in the job's kit is not taken from its own lot", "seal", "J1"},
		{"a line counts that is in force on the bench date; overdue jobs are for today", "old", "J3"},
		{"an item of no bill has no jobs", "nothing", ""},
	} {
		var codes []string
		for _, j := range users[test.item] {
			codes = append(codes, j.Code)
		}
		if got := strings.Join(codes, " "); got != test.want {
			t.Errorf("%s: found %q, expected %q", test.rule, got, test.want)
		}
	}
}
