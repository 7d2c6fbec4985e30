package db_test

import (
	"context"
	"io/fs"
	"iter"
	"maps"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/jackc/pgx/v5"

	"circlip/db"
	"circlip/db/dbtest"
	"circlip/inventory/book"
	"circlip/inventory/book/folder"
)

// papers are a small workshop's book as text, a table a key. It has a row of
// everything that a table can hold.
type papers map[string]string

func smallBook() papers {
	return papers{
		"settings": `key,value
workshop,north bench
currency,EUR
time_zone,Europe/Vienna
`,
		"suppliers": `supplier,name,order_weekday,cutoff,lead_days,min_order,carriage,carriage_free_from
ravelin,Ravelin Seals,tue,14:00,4,40,6.90,120
cobbet,,,,,,,
`,
		"items": `item,name,kind,unit,material,shelf_months,critical,inside_mm,section_mm,hardness,density_kg_m3,viscosity_40c,flash_point_c,bin,gtin
wiper-35,Dust wiper 35,wiper,ea,NBR,,yes,35,4.5,70,,,,B1,6291041500213
wiper-36,,wiper,ea,NBR,,,,,,,,,,
ring-10,O-ring 10,o-ring,ea,FKM,,,10,1.78,70,,,,B2,
kit-35,Seal kit 35,kit,ea,,,,,,,,,,B3,
oil-15,Lower leg oil,oil,ml,,36,,,,,870,15.2,176,A1,
oil-20,Thicker oil,oil,ml,,,,,,,,,,,
grease,Slick grease,grease,g,,,no,,,,,,,A2,
`,
		"offers": `item,supplier,from_packs,supplier_code,pack_qty,min_packs,multiple,price,lead_days
wiper-35,ravelin,1,R-35,10,1,1,42.50,
wiper-35,ravelin,5,R-35,10,1,1,38.00,3
kit-35,ravelin,,RK-35,1,,,19.90,
oil-15,cobbet,,C-15,1000,,,24.90,
grease,cobbet,,C-G,500,,,18.00,
`,
		"kits": `kit,item,qty
kit-35,wiper-35,2
kit-35,ring-10,4
`,
		"alternates": `item,alternate,rank,note
oil-15,oil-20,1,one step firmer
`,
		"models": `model,name,family
fell-150,Fell 150,fork
ember,Ember coil,shock
`,
		"services": `service,name,family,every_hours,every_months,covers,bench_minutes
lower,Lower legs,fork,50,6,,45
full,Full service,fork,200,24,lower,120
can,Air can,shock,100,,,30
`,
		"bom": `service,model,item,from,qty,need,waste,to
lower,*,oil-15,,20,,0.05,
lower,fell-150,wiper-35,,2,,,2026-01-01
lower,fell-150,wiper-35,2026-01-01,2,0.9,,
full,fell-150,kit-35,,1,,,
can,ember,grease,,4.5,,,
`,
		"units": `unit,model,holder,group,hours_per_week,in_service,retired
F1,fell-150,fleet,rental,6,2025-03-01,
F2,fell-150,customer,,,,2026-02-01
S1,ember,customer,,,,
`,
		"readings": `unit,date,hours,reset
F1,2026-01-05,120.5,
F1,2026-02-02,149,
F1,2026-03-02,3,yes
F2,2026-01-10,75,
`,
		"season": `week,factor
1,0.5
53,0.4
`,
		"jobs": `job,unit,model,service,booked_on,bench_date,state,done_on
J1,F1,,lower,2026-01-10,2026-01-14,done,2026-01-15
J2,,fell-150,full,2026-02-01,2026-02-10,done,2026-02-11
J3,S1,ember,can,2026-02-20,2026-03-10,booked,
J4,F2,,lower;full,2026-01-20,2026-01-28,no-show,
J5,F1,,full,,2026-03-20,cancelled,
`,
		"job_use": `job,item,lot,qty
J1,oil-15,,21.5
J1,wiper-35,W1,2
J2,kit-35,,1
`,
		"stock": `item,lot,qty,counted_on,cure_date,expires_on,unit_cost
wiper-35,W1,12,2026-01-01,3Q24,,4.10
ring-10,R1,30,2026-01-01,2024-05-06,,
kit-35,K1,2,2026-01-01,4Q23,,
oil-15,O1,900,2026-01-02,,2027-05-01,0.0249
grease,G1,250,2026-01-01,,,
`,
		"orders": `order,item,supplier,packs,placed_on,due_on,received_on,received_packs
PO1,oil-15,cobbet,2,2026-01-10,2026-01-15,2026-01-16,1
PO1,grease,cobbet,1,2026-01-10,2026-01-15,2026-01-16,
PO2,wiper-35,ravelin,6,2026-02-20,2026-02-27,,
`,
		"counts": `item,date,qty,gross_g,tare_g,temp_c
oil-15,2026-02-28,,1710,180,20
wiper-35,2026-02-28,9,,,
`,
	}
}

// with is the papers with a text of one table replaced, once; the text must be
// there.
func (p papers) with(t testing.TB, table, old, replacement string) papers {
	t.Helper()
	if old != "" && strings.Count(p[table], old) != 1 {
		t.Fatalf("table %s has %q %d times, want once", table, old, strings.Count(p[table], old))
	}
	changed := maps.Clone(p)
	if old == "" {
		changed[table] += replacement
	} else {
		changed[table] = strings.Replace(p[table], old, replacement, 1)
	}
	return changed
}

func (p papers) without(table string) papers {
	changed := maps.Clone(p)
	delete(changed, table)
	return changed
}

// source is the papers as a folder of CSV files.
func (p papers) source(t testing.TB) book.Source {
	t.Helper()
	files := fstest.MapFS{}
	for table, text := range p {
		files[table+".csv"] = &fstest.MapFile{Data: []byte(text)}
	}
	return folderOf(t, files)
}

func folderOf(t testing.TB, files fs.FS) book.Source {
	t.Helper()
	source, err := book.Folder(files)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = source.Close() })
	return source
}

func (p papers) load(t testing.TB, bench *bench) db.LoadReport {
	t.Helper()
	report, err := bench.Load(context.WithoutCancel(t.Context()), p.source(t), "")
	if err != nil {
		t.Fatal(err)
	}
	return report
}

// saved is a workshop's book as text, written and read back as files.
func saved(t testing.TB, bench *bench, workshop int64) papers {
	t.Helper()
	dir := t.TempDir()
	err := bench.Save(context.WithoutCancel(t.Context()), workshop, func(tables iter.Seq2[book.Table, iter.Seq2[[]string, error]]) error {
		return folder.Write(dir, tables)
	})
	if err != nil {
		t.Fatal(err)
	}
	p := papers{}
	for _, table := range book.Tables {
		text, err := os.ReadFile(filepath.Join(dir, table.Name+".csv"))
		if err != nil {
			t.Fatal(err)
		}
		p[table.Name] = string(text)
	}
	return p
}

// bench is a store on a fresh database, with a second connection that has the
// rights of a superuser.
type bench struct {
	*db.Store
	admin *pgx.Conn
}

func openBench(t testing.TB) *bench {
	t.Helper()
	dsn := dbtest.Migrated(t)
	return &bench{dbtest.OpenDSN(t, dsn), dbtest.Connect(t, dsn)}
}

// lines reads one column of text.
func (b *bench) lines(t testing.TB, sql string, args ...any) []string {
	t.Helper()
	rows, err := b.admin.Query(context.WithoutCancel(t.Context()), sql, args...)
	if err != nil {
		t.Fatal(err)
	}
	lines, err := pgx.CollectRows(rows, pgx.RowTo[string])
	if err != nil {
		t.Fatal(err)
	}
	return lines
}

// movements lists a workshop's movements by item, lot and number.
func (b *bench) movements(t testing.TB, workshop int64) []string {
	t.Helper()
	return b.lines(t, `
SELECT format('%s %s %s %s>%s %s on %s %s', item, lot, seq, from_place, to_place, qty, happened_on, ref)
FROM circlip.movement WHERE workshop = $1 ORDER BY item, lot, seq`, workshop)
}

// lots lists a workshop's lots: item, lot, received, expires, unit cost.
func (b *bench) lots(t testing.TB, workshop int64) []string {
	t.Helper()
	return b.lines(t, `
SELECT format('%s %s %s %s %s', item, lot, received_on, expires_on, unit_cost) FROM circlip.lot WHERE workshop = $1 ORDER BY item, lot`, workshop)
}
