package book

import (
	"iter"
	"strings"
	"testing"

	"circlip/inventory"

	"github.com/google/go-cmp/cmp"
)

var euro = inventory.Currency{Code: "EUR", Decimals: 2}

// sheet is a table whose cells hold no commas.
func sheet(lines ...string) iter.Seq2[Row, error] {
	return func(yield func(Row, error) bool) {
		for i, line := range lines {
			var cells []Cell
			for text := range strings.SplitSeq(line, ",") {
				cells = append(cells, Cell{Text: text})
			}
			if !yield(Row{Number: i + 1, Cells: cells}, nil) {
				return
			}
		}
	}
}

// outcome is what reading a table came to.
type outcome struct {
	Records  []Record
	Faults   []string
	Warnings []string
}

func readAll(t interface{ Fatal(...any) }, table Table, rows iter.Seq2[Row, error], c *Context) outcome {
	var o outcome
	faults, warnings, err := Read(table, rows, c, func(r Record) error {
		o.Records = append(o.Records, r)
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range faults {
		o.Faults = append(o.Faults, f.Error())
	}
	o.Warnings = warnings
	return o
}

func mustTable(t interface{ Fatal(...any) }, name string) Table {
	table, ok := TableOf(name)
	if !ok {
		t.Fatal("no table " + name)
	}
	return table
}

// workshopContext knows two items beside those of the book.
func workshopContext() *Context {
	return &Context{Currency: euro, Measure: func(item string) (inventory.Measure, bool) {
		m, ok := map[string]inventory.Measure{"SEAL": inventory.Each, "OIL": inventory.Millilitre, "KIT": inventory.Each}[item]
		return m, ok
	}}
}

func want[T any](t *testing.T, what string, got, expected T) {
	t.Helper()
	if diff := cmp.Diff(expected, got); diff != "" {
		t.Errorf("%s: -expected +found\n%s", what, diff)
	}
}

// The book as it is agreed with those who keep one: tables with their columns,
// key columns marked by a star.
func TestTablesAndColumnsOfTheBook(t *testing.T) {
	agreed := `settings: key* value
suppliers: supplier* name order_weekday cutoff lead_days min_order carriage carriage_free_from
holidays: date* supplier* name
items: item* name kind unit material shelf_months critical inside_mm section_mm hardness density_kg_m3 viscosity_40c flash_point_c bin gtin opened_months
offers: item* supplier* from_packs* supplier_code pack_qty min_packs multiple price lead_days
kits: kit* item* qty
alternates: item* alternate* rank note
grooves: item* root_mm bore_mm width_mm
containers: container* name item tare_g volume_ml
models: model* name family
services: service* name family every_hours every_months covers bench_minutes
bom: service* model* item* from* qty need waste to note
units: unit* model holder group hours_per_week in_service retired
readings: unit* date* hours reset
season: week* factor
jobs: job* unit model service booked_on bench_date state done_on cancelled_on done_by
setups: job* moment* unit date air_bar rebound_clicks compression volume_spacers note
job_use: job* item* lot* qty
stock: item* lot* qty counted_on cure_date expires_on unit_cost
orders: order* item* supplier packs placed_on due_on received_on received_packs closed_on pack_qty price sheet
counts: item* date* qty gross_g tare_g temp_c
count_parts: item* date* number* container qty gross_g tare_g temp_c opened_on
disposals: date* number* stream moment volume_ml weight_g carrier document note
moves: item* lot* number* act from to reverses ref qty date received expires_on unit_cost packs inspected_by note
`
	var found strings.Builder
	for _, table := range Tables {
		found.WriteString(table.Name + ":")
		for _, c := range table.Columns {
			found.WriteString(" " + c.Name)
			if c.Key {
				found.WriteString("*")
			}
		}
		found.WriteString("\n")
	}
	want(t, "tables", found.String(), agreed)
}

func TestColumnsAreWholeAndReferBackwards(t *testing.T) {
	seen := map[string]bool{}
	for _, table := range Tables {
		seen[table.Name] = true
		for _, c := range table.Columns {
			if c.Help == "" || c.expectation() == "" {
				t.Errorf("%s.%s has no help or no expectation", table.Name, c.Name)
			}
			if c.Refers != "" && !seen[c.Refers] {
				t.Errorf("%s.%s refers to %s, which is none or stands later", table.Name, c.Name, c.Refers)
			}
			if (c.Kind == Choice || c.Kind == Weekday) != (len(c.OneOf) > 0) {
				t.Errorf("%s.%s is a choice without choices, or the other way about", table.Name, c.Name)
			}
		}
		fieldsOf(table.Columns) // panics where a default does not fit its kind
	}
	fieldsOf(Settings)
}

func TestDefaultsOfBlankCells(t *testing.T) {
	for _, c := range []struct {
		table, column string
		value         any
	}{
		{"items", "critical", true},
		{"offers", "from_packs", int64(1)},
		{"offers", "min_packs", int64(1)},
		{"offers", "multiple", int64(1)},
		{"alternates", "rank", int64(1)},
		{"bom", "from", inventory.Date(0)},
		{"bom", "need", 1.0},
		{"bom", "waste", 0.0},
		{"bom", "to", inventory.Date(0)},
		{"readings", "reset", false},
		{"jobs", "state", "booked"},
		{"jobs", "unit", nil},
		{"jobs", "cancelled_on", inventory.Date(0)},
		{"setups", "unit", nil},
		{"setups", "air_bar", nil},
		{"setups", "rebound_clicks", nil},
		{"setups", "note", nil},
		{"job_use", "lot", ""},
		{"holidays", "supplier", ""},
		{"items", "opened_months", nil},
		{"orders", "closed_on", inventory.Date(0)},
		{"orders", "sheet", nil},
		{"moves", "lot", ""},
		{"services", "covers", []string{}},
		{"suppliers", "lead_days", nil},
	} {
		for _, f := range fieldsOf(mustTable(t, c.table).Columns) {
			if f.Name == c.column {
				want(t, c.table+"."+c.column, f.fallback, c.value)
			}
		}
	}
}

func TestMatchOrdersTablesAndSuggestsNames(t *testing.T) {
	known, warnings := Match([]string{"bom", "item", "notes on oil", "suppliers"})
	var found []string
	for _, table := range known {
		found = append(found, table.Name)
	}
	want(t, "known tables", found, []string{"suppliers", "bom"})
	want(t, "warnings", warnings, []string{
		`table "item" is not of the book and is left out; is it "items"?`,
		`table "notes on oil" is not of the book and is left out`,
	})
}

// Kitten and sitting are the textbook example of Wagner and Fischer's
// distance; the swap is Damerau's. From memory.
func TestDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		d    int
	}{
		{"kitten", "sitting", 3}, {"saturday", "sunday", 3}, {"", "abc", 3}, {"same", "same", 0},
		{"ca", "ac", 1}, {"ca", "abc", 3}, // a part is edited once
	} {
		if d := distance([]rune(c.a), []rune(c.b)); d != c.d {
			t.Errorf("distance of %s and %s: found %d, expected %d", c.a, c.b, d, c.d)
		}
	}
}

func TestNearest(t *testing.T) {
	known := []string{"OIL-5W", "OIL-10W", "SEAL-35", "SEAL-36", "NR", "NBR"}
	for _, c := range []struct{ rule, code, near string }{
		{"a letter lost", "OIL-0W", "OIL-5W"},
		{"case does not count", "oil-10w", "OIL-10W"},
		{"neighbours swapped", "SAEL-36", "SEAL-36"},
		{"the first of equally near ones", "SEAL-37", "SEAL-35"},
		{"of equally near ones that of the same length", "NRB", "NBR"},
		{"nothing alike", "BUSHING", ""},
		{"a short code differs in one sign at most", "OI", ""},
		{"nothing", "", ""},
		{"longer than a code can be", strings.Repeat("SEAL-35", 20), ""},
	} {
		near, ok := Nearest(c.code, known)
		if near != c.near || ok != (c.near != "") {
			t.Errorf("%s: nearest to %q: found %q, expected %q", c.rule, c.code, near, c.near)
		}
	}
}

func TestFaultText(t *testing.T) {
	for _, c := range []struct {
		rule     string
		fault    Fault
		expected string
	}{
		{"a cell", Fault{"bom", 7, "qty", "negative", "-3", "a quantity above 0"}, `bom:7:qty: negative, found "-3", expected a quantity above 0`},
		{"a whole row", Fault{"bom", 7, "", "more cells than the header has", "x", "at most 8"}, `bom:7: more cells than the header has, found "x", expected at most 8`},
		{"a whole table", Fault{"bom", 0, "", "empty", "", ""}, `bom: empty`},
		{"escapes are shown, not sent", Fault{"bom", 1, "item", "bad", "\x1b[2Jé\u202e", ""}, `bom:1:item: bad, found "\x1b[2Jé\u202e"`},
		{"long text is cut", Fault{"bom", 1, "item", "bad", strings.Repeat("ö", 61), ""}, `bom:1:item: bad, found "` + strings.Repeat("ö", 60) + `"…`},
		{"an unknown code", UnknownCode(Fault{Table: "bom", Row: 2, Column: "item", Found: "OIL-5V"}, "items", []string{"OIL-5W"}),
			`bom:2:item: unknown code, found "OIL-5V", expected one of the table items; is it "OIL-5W"?`},
	} {
		want(t, c.rule, c.fault.Error(), c.expected)
	}
}
