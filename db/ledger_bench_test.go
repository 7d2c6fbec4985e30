package db_test

import (
	"context"
	"fmt"
	"sync/atomic"
	"testing"

	"github.com/google/uuid"

	"circlip/db"
	"circlip/inventory"
)

// benchShop has 200 items of one lot each, with more than anybody takes.
func benchShop(b *testing.B) *shop {
	s := openShop(b)
	s.exec(b, `INSERT INTO circlip.item (workshop, item, name, kind, measure)
		SELECT $1, 'item-' || n, 'x', 'seal', 'ea' FROM generate_series(0, 199) AS n`, s.workshop)
	for n := range 200 {
		s.must(b, db.Receive{Item: fmt.Sprintf("item-%d", n), Lot: "L", Qty: 1_000_000_000, On: day(1)})
	}
	s.exec(b, `VACUUM ANALYZE`)
	return s
}

// BenchmarkTake posts one line for a job: rows are posts a second. The tests'
// server does not wait for a disk; DEVELOPERS.md has the figures of one that
// does.
func BenchmarkTake(b *testing.B) {
	for _, shelf := range []struct {
		name string
		lots int64
	}{{"one hot lot", 1}, {"200 lots", 200}} {
		for _, clients := range []int{1, 16} {
			b.Run(fmt.Sprintf("%s/%d clients", shelf.name, clients), func(b *testing.B) {
				s := benchShop(b)
				var next atomic.Int64
				b.SetParallelism(max(1, clients/2)) // of two processors
				b.ResetTimer()
				work := func() {
					act := take("J", fmt.Sprintf("item-%d", next.Add(1)%shelf.lots), 1)
					if _, err := s.Do(context.Background(), s.workshop, uuid.New(), act); err != nil {
						b.Error(err)
					}
				}
				if clients == 1 {
					for b.Loop() {
						work()
					}
				} else {
					b.RunParallel(func(pb *testing.PB) {
						for pb.Next() {
							work()
						}
					})
				}
				b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "posts/s")
			})
		}
	}
}

// BenchmarkOrder places an order of forty lines and delivers it whole.
func BenchmarkOrder(b *testing.B) {
	s := benchShop(b)
	for n := 0; b.Loop(); n++ {
		order := place(fmt.Sprint("PO-", n))
		came := deliver(order.Order)
		for i := range 40 {
			item := fmt.Sprintf("item-%d", i)
			order.Lines = append(order.Lines, db.PlaceLine{Item: item, Packs: 2, PackQty: 10, Price: 500})
			came.Lines = append(came.Lines, db.DeliverLine{Item: item, Packs: 2, Qty: 20, Expires: day(30)})
		}
		s.must(b, order)
		s.must(b, came)
	}
	b.ReportMetric(80*float64(b.N)/b.Elapsed().Seconds(), "lines/s")
}

// BenchmarkSetAsideAll sets eight lines aside for each of 500 jobs, in one act.
func BenchmarkSetAsideAll(b *testing.B) {
	s := benchShop(b)
	s.exec(b, `INSERT INTO circlip.job (workshop, job, model, services, bench_date)
		SELECT $1, 'job-' || n, 'fork', '{fork service}', DATE '2026-03-01' + n / 20 FROM generate_series(0, 499) AS n`, s.workshop)
	all := db.SetAsideAll{On: day(1)}
	for n := range 500 {
		job := db.JobLines{Job: fmt.Sprint("job-", n)}
		for i := range 8 {
			job.Lines = append(job.Lines, db.Line{Item: fmt.Sprintf("item-%d", (n+25*i)%200), Qty: 2})
		}
		all.Jobs = append(all.Jobs, job)
	}
	for b.Loop() {
		if done := s.must(b, all); len(done.Kept) != 4000 {
			b.Fatalf("found %d lines set aside, expected 4000", len(done.Kept))
		}
	}
	b.ReportMetric(500*float64(b.N)/b.Elapsed().Seconds(), "jobs/s")
}

// history is n movements over a thousand lots: deliveries, then uses.
func history(s *shop, b *testing.B, n int) []staged {
	s.exec(b, `INSERT INTO circlip.item (workshop, item, name, kind, measure)
		SELECT $1, 'item-' || n, 'x', 'seal', 'ea' FROM generate_series(0, 199) AS n`, s.workshop)
	s.exec(b, `INSERT INTO circlip.lot (workshop, item, lot, received_on)
		SELECT $1, 'item-' || n, 'lot-' || l, '2026-01-01' FROM generate_series(0, 199) AS n, generate_series(0, 4) AS l`, s.workshop)
	rows := make([]staged, n)
	for i := range rows {
		rows[i] = staged{item: fmt.Sprintf("item-%d", i%200), lot: fmt.Sprintf("lot-%d", i/200%5), from: "shelf", to: "job",
			ref: fmt.Sprintf("J-%d", i), qty: 1, on: inventory.NewDate(2026, 1, 1+i*300/n), key: uuid.New()}
		if i < 1000 {
			rows[i].from, rows[i].to, rows[i].qty = "supplier", "shelf", 100_000
		}
	}
	return rows
}

// BenchmarkImport posts 100,000 movements of the past, each an act of its own.
func BenchmarkImport(b *testing.B) {
	const n = 100_000
	for b.Loop() {
		b.StopTimer()
		s := openShop(b)
		rows := history(s, b, n)
		b.StartTimer()
		if posted, faults := s.importAll(b, rows); posted != n {
			b.Fatal(posted, len(faults))
		}
	}
	b.ReportMetric(n*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
}

// BenchmarkCheck proves a ledger of 100,000 movements.
func BenchmarkCheck(b *testing.B) {
	const n = 100_000
	s := openShop(b)
	s.importAll(b, history(s, b, n))
	s.seal(b, 30)
	s.exec(b, `VACUUM ANALYZE`)
	for b.Loop() {
		if findings, err := s.Check(context.Background(), s.workshop); err != nil || len(findings) > 0 {
			b.Fatal(findings, err)
		}
	}
	b.ReportMetric(n*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
}

// BenchmarkOpen opens a database that is up to date.
func BenchmarkOpen(b *testing.B) {
	s := openShop(b)
	for b.Loop() {
		store, err := db.Open(context.Background(), s.dsn)
		if err != nil {
			b.Fatal(err)
		}
		store.Close()
	}
}
