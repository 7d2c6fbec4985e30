package plan

import (
	"testing"

	"circlip/testdata/big"
)

// BenchmarkMake plans the large workshop: 2,000 units, 1,000 items, 26 weeks.
func BenchmarkMake(b *testing.B) {
	shop := big.New(big.Goal).Shop
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Make(shop, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
