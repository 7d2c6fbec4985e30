package db_test

import (
	"fmt"
	"iter"
	"maps"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"circlip/inventory"
	"circlip/inventory/book"
)

// bigBook makes a workshop's book of any size row by row, without holding it.
// Everything follows from the sizes: two of the same size are the same.
type bigBook struct {
	units, items, readings, jobs, uses, weeks int // readings a unit, uses a job
	workshop                                  string
}

// typical is 18 months of a large workshop.
var typical = bigBook{units: 2000, items: 1000, readings: 80, jobs: 20_000, uses: 5, weeks: 78, workshop: "big bench"}

var bigStart = inventory.NewDate(2025, time.January, 6)

func (b bigBook) Tables() []string { return slices.Sorted(maps.Keys(b.makers())) }

func (b bigBook) Close() error { return nil }

// Rows implements book.Source.
func (b bigBook) Rows(table string) iter.Seq2[book.Row, error] {
	return func(yield func(book.Row, error) bool) {
		cells, number := make([]book.Cell, 0, 16), 0
		b.makers()[table](func(line string) bool {
			cells, number = cells[:0], number+1
			for text := range strings.SplitSeq(line, ",") {
				cells = append(cells, book.Cell{Text: text})
			}
			return yield(book.Row{Number: number, Cells: cells}, nil)
		})
	}
}

func (b bigBook) makers() map[string]iter.Seq[string] {
	return map[string]iter.Seq[string]{
		"settings":  slices.Values([]string{"key,value", "workshop," + b.workshop, "currency,EUR", "time_zone,Europe/Vienna"}),
		"suppliers": slices.Values([]string{"supplier,order_weekday,lead_days", "s0,mon,4", "s1,wed,8", "s2,fri,14"}),
		"items":     b.itemRows, "offers": b.offerRows, "models": b.modelRows, "services": b.serviceRows, "bom": b.bomRows,
		"units": b.unitRows, "readings": b.readingRows, "season": b.seasonRows, "jobs": b.jobRows, "job_use": b.useRows,
		"stock": b.stockRows, "orders": b.orderRows, "counts": b.countRows, "count_parts": b.partRows, "disposals": b.disposalRows,
		"containers": slices.Values([]string{"container,name,item,tare_g,volume_ml", "can,Drip can,,180,5000", "jug,,item-0000,95.5,"}),
	}
}

const bigModels = 20

func family(model int) string { return []string{"fork", "shock", "post"}[model%3] }

func (b bigBook) measure(item int) string {
	return map[bool]string{true: "ml", false: "ea"}[item%10 == 0]
}

func (b bigBook) itemRows(yield func(string) bool) {
	if !yield("item,name,kind,unit,material,shelf_months,density_kg_m3") {
		return
	}
	for i := range b.items {
		line := fmt.Sprintf("item-%04d,Seal number %d,seal,ea,%s,,", i, i, []string{"NBR", "FKM", "AU", ""}[i%4])
		if b.measure(i) == "ml" {
			line = fmt.Sprintf("item-%04d,Oil number %d,oil,ml,,36,%d", i, i, 840+i%60)
		}
		if !yield(line) {
			return
		}
	}
}

func (b bigBook) offerRows(yield func(string) bool) {
	if !yield("item,supplier,from_packs,supplier_code,pack_qty,price") {
		return
	}
	for i := range b.items {
		if !yield(fmt.Sprintf("item-%04d,s%d,1,c%d,%d,%d.%02d", i, i%3, i, b.pack(i), 2+i%40, i%100)) ||
			i%3 == 0 && !yield(fmt.Sprintf("item-%04d,s%d,5,c%d,%d,%d.%02d", i, i%3, i, b.pack(i), 1+i%40, i%100)) {
			return
		}
	}
}

func (b bigBook) pack(item int) int {
	if b.measure(item) == "ml" {
		return 1000
	}
	return 10
}

func (b bigBook) modelRows(yield func(string) bool) {
	if !yield("model,family") {
		return
	}
	for m := range bigModels {
		if !yield(fmt.Sprintf("model-%02d,%s", m, family(m))) {
			return
		}
	}
}

func (b bigBook) serviceRows(yield func(string) bool) {
	if !yield("service,family,every_hours,every_months,covers") {
		return
	}
	for f := range 3 {
		name := family(f)
		for _, line := range []string{"%s-small,%s,50,6,", "%s-middle,%s,100,12,%s-small", "%s-full,%s,200,24,%s-middle"} {
			if !yield(fmt.Sprintf(line, slices.Repeat([]any{name}, strings.Count(line, "%s"))...)) {
				return
			}
		}
	}
}

func (b bigBook) bomRows(yield func(string) bool) {
	if !yield("service,model,item,qty,need,waste,note") {
		return
	}
	for m := range bigModels {
		for k := range 30 {
			service := family(m) + "-" + []string{"small", "middle", "full"}[k%3]
			note := []string{"", "as measured"}[k%2]
			if !yield(fmt.Sprintf("%s,model-%02d,item-%04d,%d,%g,0.05,%s", service, m, (m*37+k*11)%b.items, 1+k%2, 0.2+float64(k%5)/5, note)) {
				return
			}
		}
	}
}

func (b bigBook) unitRows(yield func(string) bool) {
	if !yield("unit,model,holder,group,hours_per_week,in_service") {
		return
	}
	for u := range b.units {
		if !yield(fmt.Sprintf("unit-%05d,model-%02d,%s,g%d,,2024-03-01", u, u%bigModels, []string{"fleet", "customer"}[u%2], u%7)) {
			return
		}
	}
}

func (b bigBook) readingRows(yield func(string) bool) {
	if !yield("unit,date,hours") {
		return
	}
	for u := range b.units {
		for k := range b.readings {
			on := bigStart + inventory.Date(k*7*b.weeks/b.readings+u%7)
			if !yield(fmt.Sprintf("unit-%05d,%s,%d.%d", u, on, k*(2+u%5), (u+k)%10)) {
				return
			}
		}
	}
}

func (b bigBook) seasonRows(yield func(string) bool) {
	if !yield("week,factor") {
		return
	}
	for w := 1; w <= 53; w++ {
		if !yield(fmt.Sprintf("%d,%g", w, 0.5+float64(w%27)/27)) {
			return
		}
	}
}

// The last twentieth of the jobs is still booked.
func (b bigBook) done(job int) bool { return job < b.jobs-b.jobs/20 }

func (b bigBook) jobRows(yield func(string) bool) {
	if !yield("job,unit,service,booked_on,bench_date,state,done_on,done_by") {
		return
	}
	for j := range b.jobs {
		on := bigStart + 1 + inventory.Date(j*7*b.weeks/b.jobs)
		service := family(j%b.units%bigModels) + "-" + []string{"small", "middle", "full"}[j/b.units%3]
		state := "booked,,"
		if b.done(j) {
			state = "done," + on.String() + "," + []string{"Ann", "", "Ben"}[j%3]
		}
		if !yield(fmt.Sprintf("J%06d,unit-%05d,%s,%s,%s,%s", j, j%b.units, service, on-5, on, state)) {
			return
		}
	}
}

func (b bigBook) useRows(yield func(string) bool) {
	if !yield("job,item,qty") {
		return
	}
	for j := range b.jobs {
		for k := range b.uses {
			item := (j*b.uses + k) % b.items
			if b.done(j) && !yield(fmt.Sprintf("J%06d,item-%04d,%d", j, item, 1+(j+k)%2)) {
				return
			}
		}
	}
}

func (b bigBook) stockRows(yield func(string) bool) {
	if !yield("item,lot,qty,counted_on,cure_date") {
		return
	}
	for i := range b.items {
		if !yield(fmt.Sprintf("item-%04d,opening,%d,2025-01-06,%s", i, 40+i%20, []string{"3Q24", ""}[i%2])) {
			return
		}
	}
}

func (b bigBook) orderRows(yield func(string) bool) {
	if !yield("order,item,supplier,packs,placed_on,due_on,received_on") {
		return
	}
	for week := 0; week < b.weeks; week += 6 {
		for i := range b.items {
			placed := bigStart + inventory.Date(7*week+1+i%5)
			received := (placed + 7).String()
			if week+6 >= b.weeks {
				received = ""
			}
			packs := 1 + i%7/6 + b.jobs*b.uses/(b.items*100)
			if !yield(fmt.Sprintf("PO%03d-%d,item-%04d,s%d,%d,%s,%s,%s", week, i%3, i, i%3, packs, placed, placed+6, received)) {
				return
			}
		}
	}
}

func (b bigBook) countRows(yield func(string) bool) {
	if !yield("item,date,qty,gross_g,tare_g,temp_c") {
		return
	}
	for week := 4; week < b.weeks; week += 4 {
		for i := 0; i < b.items; i += 10 {
			line := fmt.Sprintf("item-%04d,%s,,%d,180,%d", i, bigStart+inventory.Date(7*week), 1180+i+week, 15+i%12)
			if b.inParts(i) {
				line = fmt.Sprintf("item-%04d,%s,,,,", i, bigStart+inventory.Date(7*week))
			}
			if !yield(line) {
				return
			}
		}
	}
}

// inParts: some counts are of a can on the scale and an open jug.
func (b bigBook) inParts(item int) bool { return item%3 == 0 }

func (b bigBook) partRows(yield func(string) bool) {
	if !yield("item,date,number,container,qty,gross_g,temp_c,opened_on") {
		return
	}
	for week := 4; week < b.weeks; week += 4 {
		for i := 0; i < b.items; i += 10 {
			on := bigStart + inventory.Date(7*week)
			if b.inParts(i) && !(yield(fmt.Sprintf("item-%04d,%s,1,can,,%d,%d,", i, on, 1180+i+week, 15+i%12)) &&
				yield(fmt.Sprintf("item-%04d,%s,2,,%d.5,,,%s", i, on, 100+week, on-7))) {
				return
			}
		}
	}
}

func (b bigBook) disposalRows(yield func(string) bool) {
	if !yield("date,number,stream,moment,volume_ml,weight_g,carrier,document,note") {
		return
	}
	for week := 2; week < b.weeks; week += 2 {
		on := bigStart + inventory.Date(7*week)
		if !yield(fmt.Sprintf("%s,1,oil,gathered,%d,,,,", on, 500+week)) ||
			!yield(fmt.Sprintf("%s,2,solvent,handed-over,,%d.5,Dray and Daughter,W-%d,", on, 900+week, week)) {
			return
		}
	}
}

// rows counts the rows of all tables.
func (b bigBook) rows() (n int) {
	for _, maker := range b.makers() {
		for range maker {
			n++
		}
		n--
	}
	return n
}

func TestABigBookAddsUp(t *testing.T) {
	bench := openBench(t)
	small := bigBook{units: 60, items: 40, readings: 20, jobs: 900, uses: 4, weeks: 52, workshop: "a small big bench"}
	report, err := bench.Load(t.Context(), small, "")
	if err != nil {
		t.Fatal(err)
	}
	total := 0
	for _, table := range report.Tables {
		total += table.New
	}
	if total != small.rows() {
		t.Errorf("%d rows are new, the book has %d", total, small.rows())
	}
	findings, err := bench.Check(t.Context(), report.Workshop.ID)
	if err != nil || len(findings) > 0 {
		t.Errorf("the ledger is not sound: %v, %v", findings, err)
	}
}

// Memory does not grow with the file: a book of ten times the rows takes no
// more than one batch of the ledger on top.
func TestMemoryDoesNotGrowWithTheBook(t *testing.T) {
	if testing.Short() {
		t.Skip("loads 70 000 rows")
	}
	bench := openBench(t)
	peak := func(b bigBook) uint64 {
		defer debug.SetGCPercent(debug.SetGCPercent(20))
		runtime.GC()
		stop, done := make(chan struct{}), make(chan uint64)
		var once sync.Once
		defer once.Do(func() { close(stop) })
		go func() {
			var most uint64
			for {
				select {
				case <-stop:
					done <- most
					return
				case <-time.After(20 * time.Millisecond):
					var m runtime.MemStats
					runtime.ReadMemStats(&m)
					most = max(most, m.HeapAlloc)
				}
			}
		}()
		if _, err := bench.Load(t.Context(), b, ""); err != nil {
			t.Fatal(err)
		}
		once.Do(func() { close(stop) })
		return <-done
	}
	few := bigBook{units: 150, items: 100, readings: 20, jobs: 600, uses: 2, weeks: 78, workshop: "few"}
	many := few
	many.readings, many.jobs, many.workshop = 400, 2000, "many"
	little, much := peak(few), peak(many)
	t.Logf("heap at most %d kB for %d rows, %d kB for %d", little>>10, few.rows(), much>>10, many.rows())
	if much > little+6<<20 { // the rows themselves would take some 15 MB
		t.Errorf("the heap grew from %d to %d kB", little>>10, much>>10)
	}
}

func BenchmarkLoad(b *testing.B) {
	bench := openBench(b)
	n := 0
	for b.Loop() {
		n++
		again := typical
		again.workshop = fmt.Sprint("big bench ", n)
		if _, err := bench.Load(b.Context(), again, ""); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(typical.rows()*n)/b.Elapsed().Seconds(), "rows/s")
}
