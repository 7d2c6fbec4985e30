package audit

import "testing"

// BenchmarkPeriods is the part of an audit before its charts and estimates: all
// accounts, periods with their spread and findings, and what estimates are made
// from.
func BenchmarkPeriods(b *testing.B) {
	shop := bigShop(260, 30, 20_000)
	for b.Loop() {
		ledger := gather(shop, Fluids)
		for _, item := range shop.Items {
			if len(ledger.periods(item)) == 0 || len(ledger.attribution(item).takings) == 0 {
				b.Fatalf("%s: found no periods or no takings, expected both", item.Code)
			}
		}
	}
}
