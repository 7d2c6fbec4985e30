package book

import (
	"fmt"
	"strings"
	"testing"
	"testing/fstest"
)

// BenchmarkReadReadings is the biggest table of a book; rows/s is the figure
// to watch.
func BenchmarkReadReadings(b *testing.B) {
	const rows = 100_000
	var text strings.Builder
	text.WriteString("unit,date,hours,reset\n")
	for i := range rows {
		fmt.Fprintf(&text, "FORK-%05d,2026-%02d-%02d,%d.5,no\n", i%2000, i%12+1, i%28+1, i)
	}
	source, err := Folder(fstest.MapFS{"readings.csv": {Data: []byte(text.String())}})
	if err != nil {
		b.Fatal(err)
	}
	readings, _ := TableOf("readings")
	b.ReportAllocs()
	for b.Loop() {
		good := 0
		faults, _, err := Read(readings, source.Rows("readings"), nil, func(Record) error { good++; return nil })
		if err != nil || len(faults) > 0 || good != rows {
			b.Fatal(good, faults, err)
		}
	}
	b.ReportMetric(float64(rows)*float64(b.N)/b.Elapsed().Seconds(), "rows/s")
}
