package workbook

import (
	"io"
	"testing"

	"circlip/testdata/golden/plans"
)

// BenchmarkReorder writes the workbook of 1,000 items in 26 weeks with 500
// booked jobs; the goal is 0.3 s and 100 MB.
func BenchmarkReorder(b *testing.B) {
	p := plans.Big(1000, 26, 500)
	b.ReportAllocs()
	for b.Loop() {
		if err := EncodeReorder(io.Discard, p); err != nil {
			b.Fatal(err)
		}
	}
}
