package book

import (
	"errors"
	"fmt"
	"io"
	"iter"
	"strings"
	"testing"

	"circlip/inventory"
)

func TestHeaderRules(t *testing.T) {
	for _, c := range []struct {
		rule  string
		lines []string
		found outcome
	}{
		{"columns in any order, any case, with blanks around", []string{"Factor, WEEK ", "1.5,7"},
			outcome{Records: []Record{{2, []any{int64(7), 1.5}}}}},
		{"a header alone is an empty table", []string{"week,factor"}, outcome{}},
		{"nothing at all", nil,
			outcome{Faults: []string{"season: empty, without even a header row, expected the columns week, factor"}}},
		{"an unknown column is warned of once and left out", []string{"week,factor,fcator", "7,1,x", "8,1,y"},
			outcome{Records: []Record{{2, []any{int64(7), 1.0}}, {3, []any{int64(8), 1.0}}},
				Warnings: []string{`season: column "fcator" is not of the table and is left out; is it "factor"?`}}},
		{"a missing column is one fault, not one a row, and other cells are checked", []string{"factor", "1", "x"},
			outcome{Faults: []string{
				"season:1:week: the column is missing, expected a column of this name in the header row",
				`season:3:factor: not a number, found "x", expected a number with a decimal point from 0 to 100`,
			}}},
		{"a column twice", []string{"week,factor,week", "7,1,8"},
			outcome{Faults: []string{"season:1:week: the column stands twice, expected it once"}}},
		{"rows of blank cells are skipped", []string{"week,factor", "", ",", " , ", "7,1"},
			outcome{Records: []Record{{5, []any{int64(7), 1.0}}}}},
		{"blank cells beyond the header are fine", []string{"week,factor,,", "7,1,,,,"},
			outcome{Records: []Record{{2, []any{int64(7), 1.0}}}}},
		{"cells beyond the header are a fault", []string{"week,factor", "7,1,,note,more"},
			outcome{Faults: []string{`season:2: more cells than the header has, found "note", expected at most 2`}}},
		{"a row may end before the last column", []string{"week,factor", "7"},
			outcome{Faults: []string{"season:2:factor: blank, expected a number with a decimal point from 0 to 100"}}},
		{"every fault of every row is told", []string{"week,factor", "0,-1", "54,1", "7,1,x"},
			outcome{Faults: []string{
				`season:2:week: out of range, found "0", expected a whole number from 1 to 53`,
				`season:2:factor: negative, found "-1", expected a number with a decimal point from 0 to 100`,
				`season:3:week: out of range, found "54", expected a whole number from 1 to 53`,
				`season:4: more cells than the header has, found "x", expected at most 2`,
			}}},
		{"201 cells", []string{"week,factor" + strings.Repeat(",", MaxCells-1), "7,1" + strings.Repeat(",", MaxCells-1)},
			outcome{Faults: []string{"season:2: more than 200 cells"}}},
		{"201 columns", []string{"week,factor" + strings.Repeat(",x", MaxCells-1)},
			outcome{Faults: []string{"season:1: the header has more than 200 cells"},
				Warnings: []string{`season: column "x" is not of the table and is left out`}}},
	} {
		want(t, c.rule, readAll(t, mustTable(t, "season"), sheet(c.lines...), nil), c.found)
	}
}

func TestFormulasAreNeverValues(t *testing.T) {
	formula := Cell{Text: "SUM(A1:A2)", Numeric: true, Formula: true}
	rows := func(yield func(Row, error) bool) {
		_ = yield(Row{1, []Cell{{Text: "week"}, {Text: "factor"}}}, nil) &&
			yield(Row{2, []Cell{{Text: "7"}, formula}}, nil) &&
			yield(Row{3, []Cell{{}, {Formula: true}}}, nil) &&
			yield(Row{4, []Cell{{Text: "7"}, {Text: "1"}, formula}}, nil)
	}
	want(t, "faults", readAll(t, mustTable(t, "season"), rows, nil).Faults, []string{
		`season:2:factor: holds a formula, found "SUM(A1:A2)", expected a plain value`,
		"season:3:week: blank, expected a whole number from 1 to 53",
		"season:3:factor: holds a formula, expected a plain value",
		`season:4: more cells than the header has, found "SUM(A1:A2)", expected at most 2`,
	})
}

const (
	moveHeader = "item,lot,number,act,from,to,reverses,qty,date,received"
	someAct    = "6f1c2a34-0b5d-4c6e-8f70-a1b2c3d4e5f6"
)

const partHeader = "item,date,number,container,qty,gross_g,tare_g,temp_c,opened_on"

func TestRulesOfWholeRows(t *testing.T) {
	for _, c := range []struct{ rule, table, header, row, fault string }{
		{"a kit that holds itself", "kits", "kit,item,qty", "KIT,KIT,1", `kits:2:item: a kit that holds itself, found "KIT", expected another item`},
		{"its own alternate", "alternates", "item,alternate", "SEAL,SEAL", `alternates:2:alternate: an item as its own alternate, found "SEAL", expected another item`},
		{"a model called star", "models", "model,family", "*,F", `models:2:model: a model called *, found "*", expected another code, since * stands for every model in the table bom`},
		{"a service that covers itself", "services", "service,family,covers", "S,F,A;S", `services:2:covers: a service that covers itself, found "A;S", expected other services`},
		{"a line that ends as it begins", "bom", "service,model,item,qty,from,to", "S,*,SEAL,1,2026-01-01,2026-01-01",
			`bom:2:to: not after from, found "2026-01-01", expected a day after 2026-01-01, the first on which the line no longer holds`},
		{"retired before its first day", "units", "unit,model,holder,in_service,retired", "U,M,fleet,2026-01-02,2026-01-01",
			`units:2:retired: before in_service, found "2026-01-01", expected a day from 2026-01-02 on`},
		{"neither unit nor model", "jobs", "job,service,bench_date", "J,S,2026-01-01",
			"jobs:2:model: blank, and so is unit, expected a unit, or the model of one that is not known"},
		{"done without a day", "jobs", "job,unit,service,bench_date,state", "J,U,S,2026-01-01,done",
			"jobs:2:done_on: blank for a job that is done, expected the day it was done"},
		{"a day of a job not done", "jobs", "job,unit,service,bench_date,done_on", "J,U,S,2026-01-01,2026-01-01",
			`jobs:2:done_on: a day for a job that is not done, found "2026-01-01", expected a blank cell, or the state done`},
		{"a booked job called off", "jobs", "job,unit,service,bench_date,cancelled_on", "J,U,S,2026-01-02,2026-01-01",
			`jobs:2:cancelled_on: a day for a job that is booked, found "2026-01-01", expected a blank cell, or the state cancelled or no-show`},
		{"a done job called off", "jobs", "job,unit,service,bench_date,state,done_on,cancelled_on", "J,U,S,2026-01-02,done,2026-01-02,2026-01-02",
			`jobs:2:cancelled_on: a day for a job that is done, found "2026-01-02", expected a blank cell, or the state cancelled or no-show`},
		{"called off before it was booked", "jobs", "job,unit,service,booked_on,bench_date,state,cancelled_on", "J,U,S,2026-01-02,2026-01-09,no-show,2026-01-01",
			`jobs:2:cancelled_on: before booked_on, found "2026-01-01", expected a day from 2026-01-02 on`},
		{"due before it was placed", "orders", "order,item,supplier,packs,placed_on,due_on", "O,SEAL,S,1,2026-01-02,2026-01-01",
			`orders:2:due_on: before placed_on, found "2026-01-01", expected a day from 2026-01-02 on`},
		{"received before it was placed", "orders", "order,item,supplier,packs,placed_on,received_on", "O,SEAL,S,1,2026-01-02,2026-01-01",
			`orders:2:received_on: before placed_on, found "2026-01-01", expected a day from 2026-01-02 on`},
		{"packs received on no day", "orders", "order,item,supplier,packs,placed_on,received_packs", "O,SEAL,S,1,2026-01-02,1",
			"orders:2:received_on: blank where packs were received, expected the day they came"},
		{"given up before it was placed", "orders", "order,item,supplier,packs,placed_on,closed_on", "O,SEAL,S,1,2026-01-02,2026-01-01",
			`orders:2:closed_on: before placed_on, found "2026-01-01", expected a day from 2026-01-02 on`},
		{"a sheet of another length", "orders", "order,item,supplier,packs,placed_on,sheet", "O,SEAL,S,1,2026-01-02,0123456789abcdef",
			`orders:2:sheet: not the name of a sheet, found "0123456789abcdef", expected 32 digits of 0 to 9 and a to f, as book save writes them`},
		{"a sheet of other digits", "orders", "order,item,supplier,packs,placed_on,sheet", "O,SEAL,S,1,2026-01-02,0123456789abcdef0123456789abcdeg",
			`orders:2:sheet: not the name of a sheet, found "0123456789abcdef0123456789abcdeg", expected 32 digits of 0 to 9 and a to f, as book save writes them`},
		{"a sheet in capitals", "orders", "order,item,supplier,packs,placed_on,sheet", "O,SEAL,S,1,2026-01-02,0123456789ABCDEF0123456789ABCDEF",
			`orders:2:sheet: not the name of a sheet, found "0123456789ABCDEF0123456789ABCDEF", expected 32 digits of 0 to 9 and a to f, as book save writes them`},
		{"a sheet with a prefix", "orders", "order,item,supplier,packs,placed_on,sheet", "O,SEAL,S,1,2026-01-02,0x23456789abcdef0123456789abcdef",
			`orders:2:sheet: not the name of a sheet, found "0x23456789abcdef0123456789abcdef", expected 32 digits of 0 to 9 and a to f, as book save writes them`},
		{"a groove as deep as its bore is wide", "grooves", "item,root_mm,bore_mm,width_mm", "RING,12.5,12.5,2.4",
			`grooves:2:bore_mm: not wider than root_mm, found "12.5", expected more than 12.5`},
		{"a move with the shelf at both ends", "moves", moveHeader, "SEAL,L,1," + someAct + ",shelf,shelf,,1,2026-01-02,2026-01-01",
			`moves:2:to: the shelf at both ends, or at none, found "shelf", expected shelf in either from or to`},
		{"a move with the shelf at neither", "moves", moveHeader, "SEAL,L,1," + someAct + ",supplier,job,,1,2026-01-02,2026-01-01",
			`moves:2:to: the shelf at both ends, or at none, found "job", expected shelf in either from or to`},
		{"a move of nothing", "moves", moveHeader, "SEAL,L,1," + someAct + ",shelf,waste,,0,2026-01-02,2026-01-01",
			`moves:2:lot: a quantity without a lot, or a lot without a quantity, found "L", expected both, or for a count that found what was there neither`},
		{"a move of no lot", "moves", moveHeader, "SEAL,,1," + someAct + ",shelf,waste,,1,2026-01-02,2026-01-01",
			"moves:2:lot: a quantity without a lot, or a lot without a quantity, expected both, or for a count that found what was there neither"},
		{"a move of nobody", "moves", moveHeader, "SEAL,L,1,me,shelf,waste,,1,2026-01-02,2026-01-01",
			`moves:2:act: not the key of an act, found "me", expected a UUID, as book save writes it`},
		{"a move of a lot of no age", "moves", moveHeader, "SEAL,L,1," + someAct + ",shelf,waste,,1,2026-01-02,",
			"moves:2:received: blank for a lot, expected the day on which the lot came"},
		{"a move that corrects itself", "moves", moveHeader, "SEAL,L,3," + someAct + ",shelf,waste,3,1,2026-01-02,2026-01-01",
			`moves:2:reverses: not before number, found "3", expected the number of an earlier row of the lot`},
		{"counted and weighed", "counts", "item,date,qty,gross_g,tare_g", "OIL,2026-01-01,5,10,5", `counts:2:qty: a quantity beside two weights, found "5", expected one or the other`},
		{"one weight alone", "counts", "item,date,gross_g", "OIL,2026-01-01,10", "counts:2:qty: gross_g without tare_g, or the other way about, expected both weights, or neither"},
		{"a container heavier than itself and its fluid", "counts", "item,date,gross_g,tare_g", "OIL,2026-01-01,10,11", `counts:2:tare_g: more than gross_g, found "11", expected at most 10`},
		{"a part neither measured nor weighed", "count_parts", partHeader, "OIL,2026-01-01,1,B1,,,,,", "count_parts:2:qty: blank, and so is gross_g, expected a quantity, or the weight with the container"},
		{"a part measured and weighed", "count_parts", partHeader, "OIL,2026-01-01,1,B1,5,10,5,,", `count_parts:2:qty: a quantity beside a weight, found "5", expected one or the other`},
		{"a weight of nobody's container", "count_parts", partHeader, "OIL,2026-01-01,1,,,10,,,", "count_parts:2:tare_g: blank, and so is container, expected the weight of the empty container, or a container whose tare is known"},
		{"a tare of what was measured", "count_parts", partHeader, "OIL,2026-01-01,1,,5,,4,,", `count_parts:2:tare_g: a tare without gross_g, found "4", expected both weights, or neither`},
		{"a part's container heavier than itself and its fluid", "count_parts", partHeader, "OIL,2026-01-01,1,,,10,11,,", `count_parts:2:tare_g: more than gross_g, found "11", expected at most 10`},
		{"the temperature of what was measured", "count_parts", partHeader, "OIL,2026-01-01,1,,5,,,20,", `count_parts:2:temp_c: the temperature of what was not weighed, found "20", expected a blank cell, or a weight in gross_g`},
		{"opened after it was found open", "count_parts", partHeader, "OIL,2026-01-01,1,,5,,,,2026-01-02", `count_parts:2:opened_on: after the count, found "2026-01-02", expected a day until 2026-01-01`},
		{"a disposal of nothing", "disposals", "date,number,stream,moment", "2026-01-01,1,oil,gathered", "disposals:2:volume_ml: blank, and so is weight_g, expected a volume or a weight"},
		{"handed over to nobody", "disposals", "date,number,stream,moment,volume_ml", "2026-01-01,1,oil,handed-over,5", "disposals:2:carrier: blank for what was handed over, expected who took it"},
		{"a bench hand of a job that is not done", "jobs", "job,model,service,bench_date,done_by", "J,M,S,2026-01-01,Ann", `jobs:2:done_by: a name for a job that is not done, found "Ann", expected a blank cell, or the state done`},
	} {
		want(t, c.rule, readAll(t, mustTable(t, c.table), sheet(c.header, c.row), workshopContext()), outcome{Faults: []string{c.fault}})
	}
}

func TestRulesOfWholeRowsLetPass(t *testing.T) {
	for _, c := range []struct{ rule, table, header, row string }{
		{"a line that holds one day", "bom", "service,model,item,qty,from,to", "S,*,SEAL,1,2026-01-01,2026-01-02"},
		{"a move that corrects an earlier one", "moves", moveHeader, "SEAL,L,3," + someAct + ",waste,shelf,2,1,2026-01-02,2026-01-01"},
		{"a count that found what was there", "moves", moveHeader, "SEAL,,1,,difference,shelf,,0,2026-01-02,"},
		{"a line without days", "bom", "service,model,item,qty", "S,*,SEAL,1"},
		{"retired on its first day", "units", "unit,model,holder,in_service,retired", "U,M,fleet,2026-01-01,2026-01-01"},
		{"a model alone", "jobs", "job,model,service,bench_date", "J,M,S,2026-01-01"},
		{"called off on no day that is known", "jobs", "job,unit,service,bench_date,state", "J,U,S,2026-01-01,cancelled"},
		{"missed, and the day", "jobs", "job,unit,service,bench_date,state,cancelled_on", "J,U,S,2026-01-01,no-show,2026-01-01"},
		{"a unit set as nobody wrote down", "setups", "job,moment,date", "J,before,2026-01-01"},
		{"a lever in words", "setups", "job,moment,date,compression", "J,AFTER,2026-01-01,half open"},
		{"done with its day", "jobs", "job,unit,service,bench_date,state,done_on", "J,U,S,2026-01-01,done,2026-01-01"},
		{"received at once", "orders", "order,item,supplier,packs,placed_on,received_on", "O,SEAL,S,1,2026-01-02,2026-01-02"},
		{"written by hand", "orders", "order,item,supplier,packs,placed_on,sheet", "O,SEAL,S,1,2026-01-02,"},
		{"placed by a sheet", "orders", "order,item,supplier,packs,placed_on,sheet", "O,SEAL,S,1,2026-01-02,0123456789abcdef0123456789abcdef"},
		{"a count that is the sum of its parts", "counts", "item,date", "OIL,2026-01-01"},
		{"a container weighed with its own tare", "count_parts", partHeader, "OIL,2026-01-01,1,B1,,10,5,20,2026-01-01"},
		{"one with the tare of its container", "count_parts", partHeader, "OIL,2026-01-01,1,B1,,10,,,"},
		{"one of no weight, measured", "count_parts", partHeader, "OIL,2026-01-01,1,,5,,,,"},
		{"gathered by weight", "disposals", "date,number,stream,moment,weight_g", "2026-01-01,1,Solvent,GATHERED,5"},
		{"handed over", "disposals", "date,number,stream,moment,volume_ml,carrier", "2026-01-01,1,oil,handed-over,5,Haulage"},
		{"done by somebody", "jobs", "job,model,service,bench_date,state,done_on,done_by", "J,M,S,2026-01-01,done,2026-01-01,Ann"},
		{"an empty container", "counts", "item,date,gross_g,tare_g", "OIL,2026-01-01,10,10"},
		{"stock already expired", "stock", "item,lot,qty,counted_on,expires_on", "OIL,L,5,2026-01-01,2025-01-01"},
	} {
		if o := readAll(t, mustTable(t, c.table), sheet(c.header, c.row), workshopContext()); len(o.Faults) > 0 || len(o.Records) != 1 {
			t.Errorf("%s: found %v, expected one record", c.rule, o)
		}
	}
}

func TestARuleOfWholeRowsIsSilentWhereACellIsAtFault(t *testing.T) {
	o := readAll(t, mustTable(t, "units"), sheet("unit,model,holder,in_service,retired", "U,M,fleet,2026-13-01,2026-01-01"), nil)
	want(t, "faults", o.Faults, []string{`units:2:in_service: no such day, found "2026-13-01", expected a day that exists, as YYYY-MM-DD`})
}

func TestABlankNameIsTheCode(t *testing.T) {
	o := readAll(t, mustTable(t, "models"), sheet("model,name,family", "M1,,fork", "M2,Second,fork"), nil)
	want(t, "records", o.Records, []Record{{2, []any{"M1", "M1", "fork"}}, {3, []any{"M2", "Second", "fork"}}})
}

func TestUnknownItemsOfQuantities(t *testing.T) {
	c := workshopContext()
	readAll(t, mustTable(t, "items"), sheet("item,kind,unit", "WIPER,wiper,ea", "GREASE,grease,g"), c)
	o := readAll(t, mustTable(t, "kits"), sheet("kit,item,qty", "KIT,WIPRE,1", "KIT,GREASE,0.5", "KIT,OIL,0.5", "KIT,zzz,1"), c)
	want(t, "records", o.Records, []Record{{3, []any{"KIT", "GREASE", inventory.Quantity(5)}}, {4, []any{"KIT", "OIL", inventory.Quantity(5)}}})
	want(t, "faults", o.Faults, []string{
		`kits:2:item: unknown code, found "WIPRE", expected one of the table items; is it "WIPER"?`,
		`kits:5:item: unknown code, found "zzz", expected one of the table items`,
	})
}

// One mistake is told once: what follows from it is not.
func TestOneMistakeIsToldOnce(t *testing.T) {
	c := &Context{Currency: euro}
	o := readAll(t, mustTable(t, "items"), sheet("item,kind,unit,hardness", "A,seal,ea,hard", "B,seal,litre,70"), c)
	if len(o.Faults) != 2 {
		t.Errorf("items: found %v, expected two faults", o.Faults)
	}
	o = readAll(t, mustTable(t, "kits"), sheet("kit,item,qty", "K,A,2", "K,B,2", "K,B,x"), c)
	want(t, "A is known by its unit, B only by its code", o, outcome{
		Records: []Record{{2, []any{"K", "A", inventory.Quantity(2)}}},
		Faults:  []string{`kits:4:qty: not a number, found "x", expected a quantity above 0 with a decimal point`},
	})
	o = readAll(t, mustTable(t, "counts"), sheet("item,date,qty", "B,2026-01-01,2"), c)
	want(t, "no record where the measure is not known", o, outcome{})
	c.Currency = inventory.Currency{}
	o = readAll(t, mustTable(t, "suppliers"), sheet("supplier,carriage", "S,5", "T,-5"), c)
	want(t, "amounts of a currency at fault", o, outcome{
		Faults: []string{`suppliers:3:carriage: negative, found "-5", expected an amount of 0 or more with a decimal point`},
	})
}

func TestFlawsOfTheSourceEndTheTable(t *testing.T) {
	damaged := Fault{Table: "season", Row: 3, Problem: "damaged"}
	rows := func(yield func(Row, error) bool) {
		_ = yield(Row{1, []Cell{{Text: "week"}, {Text: "factor"}}}, nil) && yield(Row{2, []Cell{{Text: "7"}, {Text: "x"}}}, nil) &&
			yield(Row{}, fmt.Errorf("sheet 1: %w", damaged))
	}
	want(t, "faults", readAll(t, mustTable(t, "season"), rows, nil).Faults, []string{
		`season:2:factor: not a number, found "x", expected a number with a decimal point from 0 to 100`,
		"season:3: damaged",
	})
}

func TestFailuresAreErrorsNotFaults(t *testing.T) {
	rows := func(yield func(Row, error) bool) { yield(Row{}, io.ErrUnexpectedEOF) }
	if _, _, err := Read(mustTable(t, "season"), rows, nil, nil); !errors.Is(err, io.ErrUnexpectedEOF) || errors.Is(err, inventory.ErrInvalid) {
		t.Errorf("found %v, expected the failure to read", err)
	}
	full := errors.New("full")
	for _, table := range []Table{mustTable(t, "season"), mustTable(t, "settings")} {
		rows := sheet("week,factor", "7,1", "8,1")
		if table.Name == "settings" {
			rows = sheet("key,value", "learn,no", "workshop,W")
		}
		calls := 0
		_, _, err := Read(table, rows, nil, func(Record) error { calls++; return full })
		if !errors.Is(err, full) || calls != 1 {
			t.Errorf("%s: found %v after %d records, expected the error of the first", table.Name, err, calls)
		}
	}
	if !errors.Is(Fault{}, inventory.ErrInvalid) {
		t.Error("a fault is not invalid input")
	}
}

// endless is a season of one row without end.
func endless(factor string) iter.Seq2[Row, error] {
	return func(yield func(Row, error) bool) {
		if !yield(Row{1, []Cell{{Text: "week"}, {Text: "factor"}}}, nil) {
			return
		}
		row := []Cell{{Text: "7"}, {Text: factor}}
		for n := 2; yield(Row{n, row}, nil); n++ {
		}
	}
}

func TestReadingEndsAfterTooManyRowsOrFaults(t *testing.T) {
	faults, _, err := Read(mustTable(t, "season"), endless("x"), nil, func(Record) error { return nil })
	if err != nil || len(faults) != maxFaults+2 || !strings.HasPrefix(faults[maxFaults+1].Error(), "season:100002: more than 100000 faults") {
		t.Errorf("found %d faults, %v, expected reading to end", len(faults), err)
	}
	if testing.Short() {
		t.Skip("five million rows")
	}
	good := 0
	faults, _, err = Read(mustTable(t, "season"), endless("1"), nil, func(Record) error { good++; return nil })
	if err != nil || good != maxRows || len(faults) != 1 || faults[0].Error() != "season:5000002: more than 5000000 rows, expected a table split by date or workshop" {
		t.Errorf("found %d records, %v, %v, expected reading to end", good, faults, err)
	}
}

func TestWarningsEnd(t *testing.T) {
	var lines []string
	for i := range 1000 {
		lines = append(lines, fmt.Sprintf("I%d,seal,ea,stuff %d", i, i))
	}
	o := readAll(t, mustTable(t, "items"), sheet(append([]string{"item,kind,unit,material"}, lines...)...), nil)
	if len(o.Warnings) != maxWarnings+1 || o.Warnings[maxWarnings] != "items: more warnings are not shown" {
		t.Errorf("found %d warnings ending with %q", len(o.Warnings), o.Warnings[len(o.Warnings)-1])
	}
}
