package book

import (
	"cmp"
	"iter"
	"slices"
	"strings"
	"time"

	"circlip/inventory"
)

// Settings are the keys of the settings table, written as columns: their
// values are read like cells. Where Default is "none" there is no limit.
var Settings = []Column{
	{Name: "workshop", Kind: Code, Required: true, Help: "Name of the workshop."},
	{Name: "currency", Kind: Currency, Required: true, Help: "Currency of all amounts, ISO 4217: EUR."},
	{Name: "time_zone", Kind: TimeZone, Required: true, Help: "Time zone of the workshop: Europe/Vienna."},
	{Name: "readiness", Kind: Decimal, Default: "0.97", Rule: "gte=0.5,lte=0.9999", Help: "Share of jobs that should find all their parts."},
	{Name: "horizon_weeks", Kind: Integer, Default: "26", Rule: "gte=1,lte=104", Help: "Weeks to look ahead."},
	{Name: "order_weekday", Kind: Weekday, Default: "mon", OneOf: weekdays, Help: "Day of the week to order on."},
	{Name: "budget", Kind: Money, Default: noLimit, Help: "Most to spend on one reorder."},
	{Name: "holding_rate", Kind: Decimal, Default: "0.2", Rule: "gte=0,lte=10", Help: "Cost of holding stock, a share of its value a year."},
	{Name: "show_rate", Kind: Decimal, Default: "0.95", Rule: "gte=0,lte=1", Help: "Share of booked jobs that turn up."},
	{Name: "fleet_capture", Kind: Decimal, Default: "1", Rule: "gte=0,lte=1", Help: "Share of the fleet's due services that come to us."},
	{Name: "fleet_lag_weeks", Kind: Decimal, Default: "1", Rule: "gte=0,lte=104", Help: "Weeks from due to the bench, on average."},
	{Name: "customer_capture", Kind: Decimal, Default: "0.6", Rule: "gte=0,lte=1", Help: "Share of customers' due services that come to us."},
	{Name: "customer_lag_weeks", Kind: Decimal, Default: "3", Rule: "gte=0,lte=104", Help: "Weeks from due to the bench, on average."},
	{Name: "usage_spread_h", Kind: Decimal, Default: "4", Rule: "gt=0,lte=1000", Help: "Variance of hours ridden over their mean."},
	{Name: "fold_in", Kind: Decimal, Default: "0.25", Rule: "gte=0,lte=1", Help: "A service due within this share of its interval is done with a bigger one."},
	{Name: "learn", Kind: YesNo, Default: "yes", Help: "Whether rates are learnt from the past."},
	{Name: "shelf_life_standard", Kind: Choice, Default: "ISO 2230:2002", OneOf: []string{"ISO 2230:2002"}, Help: "Standard for the storage life of rubber."},
	{Name: "flammable_limit_l", Kind: Decimal, Default: noLimit, Rule: "gte=0,lte=1000000", Help: "Most litres of flammable fluids to keep."},
	{Name: "bench_hours", Kind: Decimal, Default: noLimit, Rule: "gt=0,lte=1000", Help: "Hours of a working day at all benches together."},
	{Name: "count_a_share", Kind: Decimal, Default: "0.8", Rule: "gte=0,lte=1", Help: "Share of a year's use in money of the items counted most often, the dearest first."},
	{Name: "count_b_share", Kind: Decimal, Default: "0.95", Rule: "gte=0,lte=1", Help: "Share of those and of the items counted less often together; the rest are counted least."},
	{Name: "count_a_times", Kind: Integer, Default: "4", Rule: "gte=1,lte=366", Help: "Counts a year of the first."},
	{Name: "count_b_times", Kind: Integer, Default: "2", Rule: "gte=1,lte=366", Help: "Counts a year of the second."},
	{Name: "count_c_times", Kind: Integer, Default: "1", Rule: "gte=1,lte=366", Help: "Counts a year of the rest."},
	{Name: "scale_step_g", Kind: Decimal, Default: "1", Rule: "gt=0,lte=1000", Help: "What the last digit of the scale counts, in g."},
	{Name: "mark_step_ml", Kind: Decimal, Default: "10", Rule: "gt=0,lte=10000", Help: "How finely a level is read off a container's marks, in ml."},
}

// SettingsOf makes settings of the settings table's keys and values. Missing
// and blank ones take their defaults; those without one are faults. Keys that
// no setting has are not looked at. A fault's Column is the key.
func SettingsOf(values map[string]string) (inventory.Settings, []Fault) {
	s, faults := settingsOf(values, inventory.Currency{})
	for _, c := range Settings {
		if c.Required && blank(values[c.Name]) {
			faults = append(faults, settingFault(c.Name, "", flaw{"missing", c.expectation()}))
		}
	}
	if a, b := s.CountClasses.AShare, s.CountClasses.BShare; b < a && len(faults) == 0 {
		faults = append(faults, settingFault("count_b_share", formatFloat(b), flaw{"less than count_a_share", formatFloat(a) + " or more"}))
	}
	return s, faults
}

// settingFault is a fault that names its key, for want of a row.
func settingFault(key, found string, f flaw) Fault {
	return Fault{Table: "settings", Column: key, Problem: f.problem, Found: found, Expected: f.expected}
}

// settingsOf reads what is there. The currency stands in where none is.
func settingsOf(texts map[string]string, currency inventory.Currency) (inventory.Settings, []Fault) {
	var faults []Fault
	values := map[string]any{}
	row := &rowValues{reader: &reader{context: &Context{Currency: currency}}}
	for _, f := range fieldsOf(Settings) {
		text := texts[f.Name]
		if f.Required && blank(text) {
			continue
		}
		value, flaw := row.value(&f, Cell{Text: text})
		if flaw != nil {
			faults = append(faults, settingFault(f.Name, text, *flaw))
			continue
		}
		values[f.Name] = value
		if f.Kind == Currency { // stands before the budget
			row.context.Currency, _ = inventory.ParseCurrency(value.(string))
		}
	}
	return assemble(values, row.context.Currency), faults
}

// assemble puts values at their place; those at fault are left zero.
func assemble(values map[string]any, currency inventory.Currency) inventory.Settings {
	return inventory.Settings{
		Workshop:          of[string](values, "workshop"),
		Currency:          currency,
		TimeZone:          of[string](values, "time_zone"),
		Readiness:         of[float64](values, "readiness"),
		HorizonWeeks:      int(of[int64](values, "horizon_weeks")),
		OrderWeekday:      weekdayOf(of[string](values, "order_weekday")),
		Budget:            limit[inventory.Money](values, "budget"),
		HoldingRate:       of[float64](values, "holding_rate"),
		ShowRate:          of[float64](values, "show_rate"),
		FleetCapture:      of[float64](values, "fleet_capture"),
		FleetLagWeeks:     of[float64](values, "fleet_lag_weeks"),
		CustomerCapture:   of[float64](values, "customer_capture"),
		CustomerLagWeeks:  of[float64](values, "customer_lag_weeks"),
		UsageSpreadH:      of[float64](values, "usage_spread_h"),
		FoldIn:            of[float64](values, "fold_in"),
		Learn:             of[bool](values, "learn"),
		ShelfLifeStandard: of[string](values, "shelf_life_standard"),
		FlammableLimitL:   limit[float64](values, "flammable_limit_l"),
		BenchHours:        limit[float64](values, "bench_hours"),
		CountClasses: inventory.CountClasses{
			AShare: of[float64](values, "count_a_share"),
			BShare: of[float64](values, "count_b_share"),
			ATimes: int(of[int64](values, "count_a_times")),
			BTimes: int(of[int64](values, "count_b_times")),
			CTimes: int(of[int64](values, "count_c_times")),
		},
		ScaleStepG: of[float64](values, "scale_step_g"),
		MarkStepML: of[float64](values, "mark_step_ml"),
	}
}

// of is the value of a key, or zero.
func of[T any](values map[string]any, key string) T {
	v, _ := values[key].(T)
	return v
}

// limit is the value of a key that may be without one.
func limit[T any](values map[string]any, key string) *T {
	if v, ok := values[key].(T); ok {
		return &v
	}
	return nil
}

// weekdayOf: the book's week begins on Monday, Go's on Sunday. A day at fault
// becomes Sunday.
func weekdayOf(text string) time.Weekday {
	return time.Weekday((slices.Index(weekdays, text) + 1) % 7)
}

// SettingsText is the inverse of SettingsOf: every key with its value.
func SettingsText(s inventory.Settings) map[string]string {
	values := map[string]any{
		"workshop": s.Workshop, "currency": s.Currency.Code, "time_zone": s.TimeZone,
		"readiness": s.Readiness, "horizon_weeks": int64(s.HorizonWeeks),
		"order_weekday": weekdays[(s.OrderWeekday+6)%7],
		"holding_rate":  s.HoldingRate, "show_rate": s.ShowRate,
		"fleet_capture": s.FleetCapture, "fleet_lag_weeks": s.FleetLagWeeks,
		"customer_capture": s.CustomerCapture, "customer_lag_weeks": s.CustomerLagWeeks,
		"usage_spread_h": s.UsageSpreadH, "fold_in": s.FoldIn, "learn": s.Learn,
		"shelf_life_standard": s.ShelfLifeStandard,
		"count_a_share":       s.CountClasses.AShare, "count_b_share": s.CountClasses.BShare,
		"count_a_times": int64(s.CountClasses.ATimes), "count_b_times": int64(s.CountClasses.BTimes),
		"count_c_times": int64(s.CountClasses.CTimes),
		"scale_step_g":  s.ScaleStepG, "mark_step_ml": s.MarkStepML,
	}
	if s.Budget != nil {
		values["budget"] = *s.Budget
	}
	if s.FlammableLimitL != nil {
		values["flammable_limit_l"] = *s.FlammableLimitL
	}
	if s.BenchHours != nil {
		values["bench_hours"] = *s.BenchHours
	}
	texts := map[string]string{}
	for _, c := range Settings {
		texts[c.Name] = c.settingText(values[c.Name], s.Currency)
	}
	return texts
}

// settingText is the value as text; no value is "none".
func (c Column) settingText(value any, currency inventory.Currency) string {
	if value == nil {
		return c.Default
	}
	return formatValue(value, currency, "")
}

// settingsReader reads the settings table: as every table, and then each value
// by the kind of its key.
type settingsReader struct {
	keys     []string
	rows     map[string]int
	texts    map[string]string
	order    []string
	repeated []Fault
	unknown  []string
}

// readSettings yields records that hold key and value as texts, in their plain
// form; unknown keys are warned of and left out.
func readSettings(t Table, rows iter.Seq2[Row, error], c *Context, each func(Record) error) ([]Fault, []string, error) {
	r := settingsReader{keys: settingKeys(), rows: map[string]int{}, texts: map[string]string{}}
	faults, warnings, err := read(t, rows, c, r.take)
	warnings = append(warnings, r.unknown...)
	if err != nil {
		return faults, warnings, err
	}
	s, wrong := settingsOf(r.texts, c.Currency)
	bad := map[string]bool{}
	for _, f := range wrong {
		bad[f.Column] = true
		f.Row, f.Problem, f.Column = r.rows[f.Column], f.Column+": "+f.Problem, "value"
		faults = append(faults, f)
	}
	faults = append(faults, r.repeated...)
	slices.SortStableFunc(faults, func(a, b Fault) int { return cmp.Compare(a.Row, b.Row) })
	plain := SettingsText(s)
	if s.Currency.Code == "" { // the budget could not be read
		plain["budget"] = strings.TrimSpace(r.texts["budget"])
	}
	for _, key := range r.order {
		if bad[key] {
			continue
		}
		if err := each(Record{Row: r.rows[key], Values: []any{key, plain[key]}}); err != nil {
			return faults, warnings, err
		}
	}
	return faults, warnings, nil
}

// take keeps one row for when all are known. Keys may be typed in any case.
func (r *settingsReader) take(record Record) error {
	key := strings.ToLower(record.Values[0].(string))
	text, _ := record.Values[1].(string)
	switch {
	case !slices.Contains(r.keys, key):
		if len(r.unknown) < maxWarnings {
			r.unknown = append(r.unknown, "settings: key "+quote(key)+" is not a setting and is left out"+suggestion(key, r.keys))
		}
	case r.rows[key] > 0:
		r.repeated = append(r.repeated, Fault{Table: "settings", Row: record.Row, Column: "key", Problem: "the key stands twice", Found: key, Expected: "it once"})
	default:
		r.rows[key], r.texts[key] = record.Row, text
		r.order = append(r.order, key)
	}
	return nil
}

// settingKeys is the names of all settings, for suggestions.
func settingKeys() []string {
	var keys []string
	for _, c := range Settings {
		keys = append(keys, c.Name)
	}
	return keys
}
