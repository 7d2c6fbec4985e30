package stock_test

import (
	"testing"

	"circlip/forecast/stock"
)

// big is 1,000 items, 100 job types of 12 lines, 2,000 units, some 500 jobs in
// three protection times.
func big() stock.Problem { return workshop(1, 1000, 100, 2000, 3) }

// BenchmarkLevels1000 is the whole way from events to the levels of a target.
func BenchmarkLevels1000(b *testing.B) {
	p := big()
	b.ReportAllocs()
	for b.Loop() {
		j, err := stock.New(p, stock.Effort{})
		if err != nil {
			b.Fatal(err)
		}
		if l := j.Walk(nil).Reach(0.97); l.Readiness < 0.97-1e-9 {
			b.Fatal(l.Readiness)
		}
	}
}

func BenchmarkNew1000(b *testing.B) {
	p := big()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := stock.New(p, stock.Effort{}); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkNewStreams1000 has a stream of every job type besides.
func BenchmarkNewStreams1000(b *testing.B) {
	p := big()
	for typ := range p.Types {
		p.Streams = append(p.Streams, stock.Stream{Type: typ, Means: []float64{0.8, 0.6, 0.6}, Shape: float64(typ % 4)})
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := stock.New(p, stock.Effort{}); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkReadiness1000(b *testing.B) {
	j, err := stock.New(big(), stock.Effort{})
	if err != nil {
		b.Fatal(err)
	}
	levels := j.Walk(nil).Reach(0.97).Level
	b.ReportAllocs()
	for b.Loop() {
		j.Readiness(levels)
	}
}

// BenchmarkLevels60 is a small workshop: 60 items, 25 job types, 150 units.
func BenchmarkLevels60(b *testing.B) {
	p := workshop(1, 60, 25, 150, 3)
	b.ReportAllocs()
	for b.Loop() {
		j, err := stock.New(p, stock.Effort{})
		if err != nil {
			b.Fatal(err)
		}
		j.Walk(nil).Reach(0.97)
	}
}
