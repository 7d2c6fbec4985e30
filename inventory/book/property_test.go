package book

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"circlip/inventory"

	"golang.org/x/text/unicode/norm"
	"pgregory.net/rapid"
)

// measureOf gives every code a measure, so that random books need no items.
func measureOf(item string) (inventory.Measure, bool) {
	return []inventory.Measure{inventory.Each, inventory.Millilitre, inventory.Gram}[len(item)%3], true
}

func randomContext() *Context { return &Context{Currency: euro, Measure: measureOf} }

// codeText is codes as people and machines write them.
func codeText() *rapid.Generator[string] {
	raw := rapid.OneOf(
		rapid.StringMatching(`[A-Z]{1,5}-[0-9]{1,4}`),
		rapid.StringOfN(rapid.Rune(), 1, 20, -1),
		hostileText(),
	)
	return rapid.Map(raw, norm.NFC.String).Filter(func(s string) bool { return !blank(s) && checkText(s, codeTags) == nil })
}

// valueOf draws a good value of a column, or what a blank cell means.
func valueOf(t *rapid.T, f field) any {
	if !f.Required && f.SameAs == "" && rapid.IntRange(0, 3).Draw(t, f.Name+" blank") == 0 {
		return f.fallback
	}
	least, most, above := f.Bounds()
	switch f.Kind {
	case Text:
		return rapid.OneOf(rapid.String(), hostileText()).
			Filter(func(s string) bool { return !blank(s) && checkText(s, "textual") == nil }).Draw(t, f.Name)
	case Code:
		return codeText().Draw(t, f.Name)
	case Codes:
		return rapid.SliceOfNDistinct(codeText(), 1, 4, rapid.ID[string]).Draw(t, f.Name)
	case Integer:
		return rapid.Int64Range(int64(least), int64(most)).Draw(t, f.Name)
	case Decimal:
		return rapid.Float64Range(least, most).Filter(func(x float64) bool { return !above || x > least }).Draw(t, f.Name) + 0
	case YesNo:
		return rapid.Bool().Draw(t, f.Name)
	case Date:
		return inventory.Date(rapid.Int32Range(1, int32(day("2199-12-31"))).Draw(t, f.Name))
	case CureMark:
		return rapid.OneOf(rapid.StringMatching(`[1-4]Q(19[7-9]|20[0-9]|[0-9])[0-9]|[1-4]/[0-9]{2}`), rapid.Just("2024-08-15")).Draw(t, f.Name)
	case Clock:
		return rapid.StringMatching(`([01][0-9]|2[0-3]):[0-5][0-9]`).Draw(t, f.Name)
	case Weekday, Choice:
		return rapid.SampledFrom(f.OneOf).Draw(t, f.Name)
	case Quantity:
		return inventory.Quantity(rapid.Int64Range(1, int64(inventory.MaxQuantity)).Draw(t, f.Name))
	case Money:
		return inventory.Money(rapid.Int64Range(0, 1e14).Draw(t, f.Name))
	case UnitCost:
		return inventory.UnitCost(rapid.Int64Range(0, 1e12).Draw(t, f.Name))
	case GTIN:
		body := rapid.StringMatching(`[0-9]{7}|[0-9]{11,13}`).Draw(t, f.Name)
		return body + string(inventory.CheckDigit(body))
	case Material:
		return rapid.OneOf(rapid.SampledFrom(materials), rapid.Just("Bronze")).Draw(t, f.Name)
	}
	panic(f.Name)
}

// settle makes a random row keep the rules of whole rows.
func settle(t *rapid.T, table Table, values []any) {
	at := func(column string) *any {
		for i, c := range table.Columns {
			if c.Name == column {
				return &values[i]
			}
		}
		panic(column)
	}
	set := func(column string, value any) { *at(column) = value }
	notBefore := func(column, other string, gap inventory.Date) {
		if d, _ := (*at(column)).(inventory.Date); !d.IsZero() {
			set(column, max(d, (*at(other)).(inventory.Date)+gap))
		}
	}
	switch table.Name {
	case "items":
		m, _ := measureOf((*at("item")).(string))
		set("unit", string(m))
	case "kits":
		set("kit", "a kit of "+string([]rune((*at("item")).(string))[:1]))
	case "alternates":
		set("alternate", "another")
	case "grooves":
		root, _ := (*at("root_mm")).(float64)
		root = min(root, 9999)
		set("root_mm", root)
		set("bore_mm", max(root+1, (*at("bore_mm")).(float64)))
	case "models":
		set("model", strings.ReplaceAll((*at("model")).(string), "*", "x"))
	case "services":
		set("service", "a service")
	case "bom":
		if *at("from") == inventory.Date(day("2199-12-31")) {
			set("from", inventory.Date(1))
		}
		notBefore("to", "from", 1)
	case "units":
		notBefore("retired", "in_service", 0)
	case "jobs":
		if *at("unit") == nil && *at("model") == nil {
			set("unit", "U")
		}
		set("done_on", inventory.Date(0))
		if *at("state") == "done" {
			set("done_on", day("2026-05-05"))
		}
		notBefore("cancelled_on", "booked_on", 0)
		if *at("state") != "done" {
			set("done_by", nil)
		}
		if state := *at("state"); state != "cancelled" && state != "no-show" {
			set("cancelled_on", inventory.Date(0))
		}
	case "orders":
		notBefore("due_on", "placed_on", 0)
		notBefore("received_on", "placed_on", 0)
		if *at("received_on") == inventory.Date(0) {
			set("received_packs", nil)
		}
		notBefore("closed_on", "placed_on", 0)
		if *at("sheet") != nil {
			set("sheet", rapid.StringMatching(`[0-9a-f]{32}`).Draw(t, "sheet"))
		}
	case "counts":
		set("gross_g", nil)
		set("tare_g", nil)
		if *at("qty") == nil {
			set("gross_g", 1234.5)
			set("tare_g", rapid.Float64Range(0, 1234.5).Draw(t, "tare"))
		}
	case "count_parts":
		settlePart(t, at)
	case "disposals":
		if *at("volume_ml") == nil && *at("weight_g") == nil {
			set("weight_g", 12.5)
		}
		if *at("carrier") == nil {
			set("moment", "gathered")
		}
	case "moves":
		settleMove(t, at)
	}
}

// settlePart makes a row a container that was measured, or weighed with a tare
// of its own or that of a container.
func settlePart(t *rapid.T, at func(column string) *any) {
	*at("opened_on") = min((*at("opened_on")).(inventory.Date), (*at("date")).(inventory.Date))
	if *at("qty") != nil {
		*at("gross_g"), *at("tare_g"), *at("temp_c") = nil, nil, nil
		return
	}
	*at("gross_g") = 1234.5
	if *at("container") == nil || *at("tare_g") != nil {
		*at("tare_g") = rapid.Float64Range(0, 1234.5).Draw(t, "tare")
	}
}

// settleMove makes a row a move of a lot, or at times a count that found what
// was there.
func settleMove(t *rapid.T, at func(column string) *any) {
	*at("from"), *at("to") = "waste", "shelf"
	if rapid.Bool().Draw(t, "leaves") {
		*at("from"), *at("to") = "shelf", "job"
	}
	if wrong, _ := (*at("reverses")).(int64); wrong >= (*at("number")).(int64) {
		*at("reverses") = nil
	}
	if *at("lot") == "" {
		*at("qty"), *at("act") = inventory.Quantity(0), nil
		return
	}
	*at("act") = "6f1c2a34-0b5d-4c6e-8f70-a1b2c3d4e5f6"
	*at("received") = max((*at("received")).(inventory.Date), 1)
}

func randomRow(t *rapid.T, table Table) []any {
	var values []any
	for _, f := range fieldsOf(table.Columns) {
		values = append(values, valueOf(t, f))
	}
	settle(t, table, values)
	return values
}

// cellsFor is the cells of a row; those that mean what blank means are left
// blank at times.
func cellsFor(t *rapid.T, table Table, values []any) []string {
	cells := table.Format(values, randomContext())
	for i, f := range fieldsOf(table.Columns) {
		if !f.Required && f.SameAs == "" && fmt.Sprint(values[i]) == fmt.Sprint(f.fallback) && rapid.Bool().Draw(t, "leave blank") {
			cells[i] = ""
		}
	}
	return cells
}

// dataTables is every table but settings, which has properties of its own.
var dataTables = Tables[1:]

func TestARandomBookWrittenAndReadIsTheSame(t *testing.T) {
	reached := map[string]int{}
	rapid.Check(t, func(t *rapid.T) {
		rows, files := map[string][][]any{}, fstest.MapFS{}
		for _, table := range dataTables {
			var cells [][]string
			for range rapid.IntRange(0, 3).Draw(t, table.Name+" rows") {
				values := randomRow(t, table)
				rows[table.Name] = append(rows[table.Name], values)
				cells = append(cells, cellsFor(t, table, values))
			}
			var out bytes.Buffer
			if err := WriteTable(&out, table, cellsOf(cells, nil)); err != nil {
				t.Fatal(err)
			}
			files[table.Name+".csv"] = &fstest.MapFile{Data: out.Bytes()}
		}
		source, err := Folder(files)
		if err != nil {
			t.Fatal(err)
		}
		known, _ := Match(source.Tables())
		wantIn(t, len(known), len(dataTables))
		for _, table := range known {
			o := readAll(t, table, source.Rows(table.Name), randomContext())
			if len(o.Faults) > 0 {
				t.Fatal(o.Faults)
			}
			var found [][]any
			for _, r := range o.Records {
				found = append(found, r.Values)
			}
			reached[table.Name] += len(found)
			wantIn(t, found, rows[table.Name])
		}
	})
	for _, table := range dataTables {
		if reached[table.Name] < 5 {
			t.Errorf("table %s: the property reached %d rows only", table.Name, reached[table.Name])
		}
	}
}

// badCells of a kind, each refused whatever else is in the row.
var badCells = map[Kind][]string{
	Text:     {"a\x01", strings.Repeat("a", MaxCell+1)},
	Code:     {" A", "A;B", "A\u200b", strings.Repeat("A", 65)},
	Codes:    {";", "A;;B", "A;A"},
	Integer:  {"1.5", "-1", "one", "1e3", "1,000", "99999999999"},
	Decimal:  {"1,5", "1e3", "NaN", "+1", "-101", "x"},
	YesNo:    {"maybe", "1"},
	Date:     {"2026-02-30", "01.02.2026", "2026-1-1", "soon"},
	CureMark: {"5Q24", "Q3", "2026-02-30"},
	Clock:    {"25:00", "12.30", "noon"},
	Weekday:  {"someday"},
	Choice:   {"something"},
	Quantity: {"-1", "1.23", "two", "1,5", "1e2"},
	Money:    {"-1", "1.234", "1 EUR", "1,5"},
	UnitCost: {"-1", "0.1234567", "x"},
	GTIN:     {"123", "6291041500214"},
	Material: {"N;R", strings.Repeat("N", 65)},
}

// place is one column of one table.
type place struct {
	table  Table
	column int
}

func placesByKind() map[Kind][]place {
	places := map[Kind][]place{}
	for _, table := range dataTables {
		for i, c := range table.Columns {
			places[c.Kind] = append(places[c.Kind], place{table, i})
		}
	}
	return places
}

func TestOneRandomFaultIsNamedAtItsPlace(t *testing.T) {
	for kind, places := range placesByKind() {
		t.Run(fmt.Sprint("kind ", kind), rapid.MakeCheck(func(t *rapid.T) {
			oneFault(t, rapid.SampledFrom(places).Draw(t, "place"))
		}))
	}
}

// oneFault spoils one cell of good rows and reads them.
func oneFault(t *rapid.T, at place) {
	var rows [][]string
	for range rapid.IntRange(1, 4).Draw(t, "rows") {
		rows = append(rows, cellsFor(t, at.table, randomRow(t, at.table)))
	}
	row := rapid.IntRange(0, len(rows)-1).Draw(t, "row")
	c := at.table.Columns[at.column]
	bad := badCells[c.Kind]
	others := strings.Join(slices.Delete(slices.Clone(rows[row]), at.column, at.column+1), "")
	if c.Required && !blank(others) { // a row without anything is no row
		bad = append([]string{"", " "}, bad...)
	}
	rows[row][at.column] = rapid.SampledFrom(bad).Draw(t, "bad cell")

	var out bytes.Buffer
	if err := WriteTable(&out, at.table, cellsOf(rows, nil)); err != nil {
		t.Fatal(err)
	}
	line := parse(bytes.NewReader(out.Bytes())).Lines[row+1]
	r := newRecords(&out, at.table.Name)
	good := 0
	faults, _, err := Read(at.table, rowsOf(r), randomContext(), func(Record) error { good++; return nil })
	if err != nil || len(faults) != 1 || good != len(rows)-1 {
		t.Fatalf("found %d good rows of %d, %v, %v, expected one fault", good, len(rows), faults, err)
	}
	if f := faults[0]; f.Table != at.table.Name || f.Row != line || f.Column != c.Name || f.Problem == "" || f.Expected == "" {
		t.Fatalf("found %v, expected the fault at %s:%d:%s", f, at.table.Name, line, c.Name)
	}
	wantIn(t, faults[0].Found, rows[row][at.column])
}
