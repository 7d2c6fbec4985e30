package inventory_test

import (
	"testing"

	"circlip/inventory"
	"circlip/testdata/big"
)

// The kits of 500 open jobs in a workshop of 1,000 items.
func BenchmarkKits(b *testing.B) {
	shop := big.New(big.Goal).Shop
	b.ResetTimer()
	for b.Loop() {
		inventory.Kits(shop)
	}
}
