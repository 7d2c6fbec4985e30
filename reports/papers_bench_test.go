package reports

import (
	"testing"

	"circlip/inventory"
	"circlip/testdata/big"
)

// The papers of a day among 500 open jobs in a workshop of 1,000 items: the
// lots of all jobs are dealt out for them.
func BenchmarkPapers(b *testing.B) {
	shop := big.New(big.Goal).Shop
	kits := inventory.Kits(shop)
	b.ResetTimer()
	for b.Loop() {
		PapersOfDay(shop, kits, shop.AsOf)
	}
}
