package order_test

import (
	"fmt"
	"testing"

	"circlip/forecast/order"
)

// BenchmarkCheapest reports the mean of fifty weeks, how many nodes of the
// search none of them passed, and how many of them were chosen exactly.
func BenchmarkCheapest(b *testing.B) {
	for _, kind := range []struct {
		name string
		make func(seed uint64, suppliers, items int) order.Problem
	}{{"workshop", workshop}, {"binding", binding}} {
		for _, items := range []int{20, 100, 300, 1000} {
			b.Run(fmt.Sprintf("%s/12x%d", kind.name, items), func(b *testing.B) {
				const weeks = 50
				var problems []order.Problem
				for seed := range uint64(weeks) {
					problems = append(problems, kind.make(seed, 12, items))
				}
				n, exact := 0, 0
				for b.Loop() {
					choice, err := order.Cheapest(problems[n%weeks], order.Effort{})
					if err != nil {
						b.Fatal(err)
					}
					if n++; choice.Exact {
						exact++
					}
				}
				b.ReportMetric(float64(exact)/float64(n), "exact")
			})
		}
	}
}

func BenchmarkAhead52(b *testing.B) {
	weeks := make([]order.Week, 52)
	for w := range weeks {
		weeks[w] = order.Week{Goods: int64(1000 + w*37%500), Carriage: 900}
	}
	for b.Loop() {
		order.Ahead(weeks, order.Terms{FreeFrom: 8000, Free: true, Hold: 0.005})
	}
}
