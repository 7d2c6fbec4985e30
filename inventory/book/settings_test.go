package book

import (
	"testing"
	"time"

	"circlip/inventory"

	"pgregory.net/rapid"
)

func leastSettings() map[string]string {
	return map[string]string{"workshop": "Nord", "currency": "eur", "time_zone": "Europe/Vienna"}
}

func TestDefaultsOfSettings(t *testing.T) {
	s, faults := SettingsOf(leastSettings())
	want(t, "faults", faults, []Fault(nil))
	want(t, "settings", s, inventory.Settings{
		Workshop: "Nord", Currency: euro, TimeZone: "Europe/Vienna", Readiness: 0.97, HorizonWeeks: 26,
		OrderWeekday: time.Monday, HoldingRate: 0.20, ShowRate: 0.95, FleetCapture: 1, FleetLagWeeks: 1,
		CustomerCapture: 0.6, CustomerLagWeeks: 3, UsageSpreadH: 4, FoldIn: 0.25, Learn: true,
		ShelfLifeStandard: "ISO 2230:2002",
		CountClasses:      inventory.CountClasses{AShare: 0.8, BShare: 0.95, ATimes: 4, BTimes: 2, CTimes: 1},
		ScaleStepG:        1, MarkStepML: 10,
	})
}

// Class B runs on from where class A ends, also where one of them is the default.
func TestSharesOfCountClassesRise(t *testing.T) {
	for _, c := range []struct{ rule, a, b, fault string }{
		{"as the defaults do", "", "", ""},
		{"no class B", "0.9", "0.9", ""},
		{"A beyond the default of B", "0.96", "", `settings:count_b_share: less than count_a_share, found "0.95", expected 0.96 or more`},
		{"B below the default of A", "", "0.5", `settings:count_b_share: less than count_a_share, found "0.5", expected 0.8 or more`},
		{"one mistake is told once", "1.5", "0.5", `settings:count_a_share: out of range, found "1.5", expected a number with a decimal point from 0 to 1`},
	} {
		texts := leastSettings()
		texts["count_a_share"], texts["count_b_share"] = c.a, c.b
		found := ""
		_, faults := SettingsOf(texts)
		for _, f := range faults {
			found += f.Error()
		}
		want(t, c.rule, found, c.fault)
	}
}

func TestSettingsWithoutADefaultAreNeeded(t *testing.T) {
	_, faults := SettingsOf(map[string]string{"time_zone": " "})
	var found []string
	for _, f := range faults {
		found = append(found, f.Error())
	}
	want(t, "faults", found, []string{
		"settings:workshop: missing, expected a code",
		"settings:currency: missing, expected a code of ISO 4217 such as EUR",
		"settings:time_zone: missing, expected a name of the IANA database such as Europe/Vienna",
	})
}

func TestValuesOfSettings(t *testing.T) {
	for _, c := range []struct{ key, value, plain, fault string }{
		{"workshop", "Süd 2", "Süd 2", ""},
		{"currency", "JPY", "JPY", ""},
		{"currency", "EURO", "", `not a currency, found "EURO", expected a code of ISO 4217 such as EUR`},
		{"currency", "XXQ", "", `not a currency, found "XXQ", expected a code of ISO 4217 such as EUR`},
		{"time_zone", "UTC", "UTC", ""},
		{"time_zone", "America/Argentina/Ushuaia", "America/Argentina/Ushuaia", ""},
		{"time_zone", "CEST", "", `not a time zone, found "CEST", expected a name of the IANA database such as Europe/Vienna`},
		{"time_zone", "Local", "", `not a time zone, found "Local", expected a name of the IANA database such as Europe/Vienna`},
		{"time_zone", "../../etc/passwd", "", `not a time zone, found "../../etc/passwd", expected a name of the IANA database such as Europe/Vienna`},
		{"readiness", "0.5", "0.5", ""},
		{"readiness", "0.9999", "0.9999", ""},
		{"readiness", "0.49", "", `out of range, found "0.49", expected a number with a decimal point from 0.5 to 0.9999`},
		{"readiness", "1", "", `out of range, found "1", expected a number with a decimal point from 0.5 to 0.9999`},
		{"readiness", "97%", "", `not a number, found "97%", expected a number with a decimal point from 0.5 to 0.9999`},
		{"horizon_weeks", "104", "104", ""},
		{"horizon_weeks", "105", "", `out of range, found "105", expected a whole number from 1 to 104`},
		{"horizon_weeks", "0", "", `out of range, found "0", expected a whole number from 1 to 104`},
		{"order_weekday", "Thu", "thu", ""},
		{"order_weekday", "thursday", "", `not one of the choices, found "thursday", expected one of mon, tue, wed, thu, fri, sat, sun`},
		{"budget", "None", "none", ""},
		{"budget", "1500", "1500.00", ""},
		{"budget", "-1", "", `negative, found "-1", expected an amount of 0 or more with a decimal point`},
		{"holding_rate", "0", "0", ""},
		{"show_rate", "1.01", "", `out of range, found "1.01", expected a number with a decimal point from 0 to 1`},
		{"usage_spread_h", "0", "", `out of range, found "0", expected a number with a decimal point above 0 and at most 1000`},
		{"fleet_lag_weeks", "1.5", "1.5", ""},
		{"fold_in", "", "0.25", ""},
		{"learn", "No", "no", ""},
		{"learn", "maybe", "", `neither yes nor no, found "maybe", expected yes or no`},
		{"shelf_life_standard", "iso 2230:2002", "ISO 2230:2002", ""},
		{"shelf_life_standard", "ISO 2230:1973", "", `not one of the choices, found "ISO 2230:1973", expected one of ISO 2230:2002; is it "ISO 2230:2002"?`},
		{"flammable_limit_l", "60", "60", ""},
		{"flammable_limit_l", "none", "none", ""},
		{"bench_hours", "none", "none", ""},
		{"bench_hours", "13.5", "13.5", ""},
		{"bench_hours", "0", "", `out of range, found "0", expected a number with a decimal point above 0 and at most 1000`},
		{"count_a_share", "0", "0", ""},
		{"count_b_share", "1", "1", ""},
		{"count_b_share", "1.01", "", `out of range, found "1.01", expected a number with a decimal point from 0 to 1`},
		{"count_a_times", "12", "12", ""},
		{"count_b_times", "0", "", `out of range, found "0", expected a whole number from 1 to 366`},
		{"count_c_times", "0.5", "", `not a whole number in range, found "0.5", expected a whole number from 1 to 366`},
	} {
		texts := leastSettings()
		texts[c.key] = c.value
		s, faults := SettingsOf(texts)
		if c.fault != "" {
			if len(faults) != 1 || faults[0].Error() != "settings:"+c.key+": "+c.fault {
				t.Errorf("%s = %q: found %v, expected the fault %q", c.key, c.value, faults, c.fault)
			}
			continue
		}
		if len(faults) > 0 {
			t.Errorf("%s = %q: found %v, expected no fault", c.key, c.value, faults)
		}
		want(t, c.key, SettingsText(s)[c.key], c.plain)
	}
}

func TestSettingsTable(t *testing.T) {
	o := readAll(t, mustTable(t, "settings"), sheet("value,key",
		"Nord,workshop", "eur,currency", "0.99,readyness", "1.2,readiness", "4x,horizon_weeks", "no,LEARN", "yes,learn", ",fold_in", "99.999,budget"), nil)
	want(t, "outcome", o, outcome{
		Records: []Record{{2, []any{"workshop", "Nord"}}, {3, []any{"currency", "EUR"}}, {7, []any{"learn", "no"}}, {9, []any{"fold_in", "0.25"}}},
		Faults: []string{
			`settings:5:value: readiness: out of range, found "1.2", expected a number with a decimal point from 0.5 to 0.9999`,
			`settings:6:value: horizon_weeks: not a number, found "4x", expected a whole number from 1 to 104`,
			`settings:8:key: the key stands twice, found "learn", expected it once`,
			`settings:10:value: budget: not an amount in EUR, found "99.999", expected an amount with 2 decimals at most`,
		},
		Warnings: []string{`settings: key "readyness" is not a setting and is left out; is it "readiness"?`},
	})
}

// The currency may stand in the database while the book holds a budget only.
func TestABudgetWithoutItsCurrencyStaysAsWritten(t *testing.T) {
	o := readAll(t, mustTable(t, "settings"), sheet("key,value", "budget,99.50"), nil)
	want(t, "without", o, outcome{Records: []Record{{2, []any{"budget", "99.50"}}}})
	o = readAll(t, mustTable(t, "settings"), sheet("key,value", "budget,99.5"), &Context{Currency: euro})
	want(t, "with", o, outcome{Records: []Record{{2, []any{"budget", "99.50"}}}})
}

func TestSettingsWrittenAndReadAreTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		share := rapid.Float64Range(0, 1)
		s := inventory.Settings{
			Workshop: codeText().Draw(t, "workshop"), Currency: euro, TimeZone: rapid.SampledFrom([]string{"UTC", "Asia/Kathmandu"}).Draw(t, "zone"),
			Readiness: rapid.Float64Range(0.5, 0.9999).Draw(t, "readiness"), HorizonWeeks: rapid.IntRange(1, 104).Draw(t, "weeks"),
			OrderWeekday: time.Weekday(rapid.IntRange(0, 6).Draw(t, "day")),
			HoldingRate:  share.Draw(t, "holding"), ShowRate: share.Draw(t, "show"), FleetCapture: share.Draw(t, "fleet"),
			FleetLagWeeks: rapid.Float64Range(0, 104).Draw(t, "lag"), CustomerCapture: share.Draw(t, "customer"),
			CustomerLagWeeks: rapid.Float64Range(0, 104).Draw(t, "lag"), UsageSpreadH: rapid.Float64Range(0.001, 1000).Draw(t, "spread"),
			FoldIn: share.Draw(t, "fold"), Learn: rapid.Bool().Draw(t, "learn"), ShelfLifeStandard: "ISO 2230:2002",
		}
		if rapid.Bool().Draw(t, "limits") {
			budget, litres := inventory.Money(rapid.Int64Range(0, 1e12).Draw(t, "budget")), rapid.Float64Range(0, 1e6).Draw(t, "litres")
			hours := rapid.Float64Range(0.25, 1000).Draw(t, "hours")
			s.Budget, s.FlammableLimitL, s.BenchHours = &budget, &litres, &hours
		}
		times := rapid.IntRange(1, 366)
		s.CountClasses = inventory.CountClasses{AShare: share.Draw(t, "a"),
			ATimes: times.Draw(t, "a"), BTimes: times.Draw(t, "b"), CTimes: times.Draw(t, "c")}
		s.ScaleStepG, s.MarkStepML = rapid.Float64Range(0.001, 1000).Draw(t, "scale"), rapid.Float64Range(0.001, 10000).Draw(t, "mark")
		s.CountClasses.BShare = rapid.Float64Range(s.CountClasses.AShare, 1).Draw(t, "b")
		back, faults := SettingsOf(SettingsText(s))
		if len(faults) > 0 {
			t.Fatal(faults)
		}
		wantIn(t, back, s)
	})
}
