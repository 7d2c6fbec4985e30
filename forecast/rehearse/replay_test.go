package rehearse

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"circlip/forecast"
)

// first is a Monday: 2026-01-05.

const first = forecast.Day(20458)

// small is a world of one item whose jobs take so many steps on so many days
// from the first on; all lines are critical.
func small(it Item, sup Supplier, days int, takes ...[2]int) World {
	if it.Pack == 0 {
		it.Pack = 1
	}
	w := World{First: first, Last: first + forecast.Day(days-1), Items: []Item{it}, Suppliers: []Supplier{sup}}
	for _, t := range takes {
		w.Jobs = append(w.Jobs, Job{Day: first + forecast.Day(t[0]), Takes: []Take{{Item: 0, Qty: t[1], Critical: true}}})
	}
	return w
}

// ordering proposes so many packs week by week, then nothing.
func ordering(packs ...int) Policy {
	return func(m Monday) []int {
		if m.Week < len(packs) {
			return []int{packs[m.Week]}
		}
		return nil
	}
}

func TestRulesOfADay(t *testing.T) {
	type want struct {
		ready, orders, refused int
		carriage, expired      int64
		flow                   Flow
	}
	cases := []struct {
		rule  string
		world World
		order []int
		want  want
	}{
		{"a job that finds its line in full is ready", small(Item{Start: 2}, Supplier{}, 7, [2]int{0, 2}), nil,
			want{ready: 1, flow: Flow{Start: 2, Used: 2}}},
		{"a job takes what is there and the rest is owed", small(Item{Start: 2}, Supplier{}, 7, [2]int{0, 3}), nil,
			want{flow: Flow{Start: 2, Used: 3, Owed: 1, Short: 1}}},
		{"what is owed is served before a later job", small(Item{LeadDays: 2}, Supplier{}, 7, [2]int{0, 1}, [2]int{2, 1}), []int{1},
			want{orders: 1, flow: Flow{Received: 1, Used: 2, Owed: 1, Short: 2}}},
		{"a delivery is there for the jobs of its day", small(Item{LeadDays: 2}, Supplier{}, 7, [2]int{2, 1}), []int{1},
			want{ready: 1, orders: 1, flow: Flow{Received: 1, Used: 1}}},
		{"an order waits for the supplier's weekday", small(Item{LeadDays: 1}, Supplier{OrderWeekday: 3}, 7, [2]int{3, 1}, [2]int{4, 1}), []int{2},
			want{ready: 1, orders: 1, flow: Flow{Received: 2, Used: 2, Short: 1}}},
		{"what is under way at the end is on order", small(Item{LeadDays: 9}, Supplier{}, 7), []int{2},
			want{orders: 1, flow: Flow{OnOrder: 2}}},
		{"packs are brought up to least and multiple", small(Item{Least: 2, Multiple: 3, Pack: 10}, Supplier{}, 7), []int{1},
			want{orders: 1, flow: Flow{Received: 30, Left: 30}}},
		{"an order below the minimum is not taken", small(Item{Cost: 5}, Supplier{Min: 11}, 7), []int{2},
			want{refused: 1}},
		{"carriage is paid below the free amount", small(Item{Cost: 5}, Supplier{Carriage: 7, FreeFrom: 11}, 14), []int{2, 3},
			want{orders: 2, carriage: 7, flow: Flow{Received: 5, Left: 5}}},
		{"a lot is good on its last day and gone on the next", small(Item{Start: 3, Expires: 2, Cost: 4}, Supplier{}, 7, [2]int{1, 1}, [2]int{2, 1}), nil,
			want{ready: 1, expired: 8, flow: Flow{Start: 3, Used: 2, Expired: 2, Owed: 1, Short: 1}}},
	}
	for _, c := range cases {
		t.Run(c.rule, func(t *testing.T) {
			r, err := Replay(c.world, 0, ordering(c.order...), nil)
			if err != nil {
				t.Fatal(err)
			}
			got := want{r.Ready, r.Orders, r.Refused, r.Carriage, r.Expired, r.Flows[0]}
			if got != c.want {
				t.Errorf("got %+v, want %+v", got, c.want)
			}
		})
	}
}

func TestLinesNotCriticalDoNotSpoilReadiness(t *testing.T) {
	w := small(Item{}, Supplier{}, 7, [2]int{0, 1})
	w.Jobs[0].Takes[0].Critical = false
	r, _ := Replay(w, 0, ordering(), nil)
	if r.Readiness != 1 || r.Flows[0].Owed != 1 {
		t.Errorf("readiness %v, owed %d; want 1 and 1", r.Readiness, r.Flows[0].Owed)
	}
}

func TestMeanValueIsThatOfTheDaysAfterTheWarmUp(t *testing.T) {
	// Second week: 2 packs of 10 at the end of three days, 1 of four: 100/7.
	w := small(Item{Start: 3, Cost: 10}, Supplier{}, 14, [2]int{0, 1}, [2]int{10, 1})
	r, _ := Replay(w, 1, ordering(), nil)
	if math.Abs(r.MeanStockValue-100.0/7) > 1e-9 || r.Jobs != 1 || r.Left != 10 {
		t.Errorf("mean %v, jobs %d, left %d", r.MeanStockValue, r.Jobs, r.Left)
	}
}

func TestAReplayStopsWhenAsked(t *testing.T) {
	r, _ := Replay(small(Item{}, Supplier{}, 70), 0, ordering(), func(week int) bool { return week < 3 })
	if len(r.Weeks) != 3 {
		t.Errorf("%d weeks, want 3", len(r.Weeks))
	}
}

// worlds draws small worlds with everything in them.
func worlds(t *rapid.T) World {
	n, days := rapid.IntRange(1, 4).Draw(t, "items"), rapid.IntRange(1, 60).Draw(t, "days")
	num := func(lo, hi int, what string) int { return rapid.IntRange(lo, hi).Draw(t, what) }
	w := World{First: first, Last: first + forecast.Day(days-1)}
	for range 2 {
		w.Suppliers = append(w.Suppliers, Supplier{OrderWeekday: num(0, 6, "weekday"), Min: int64(num(0, 30, "min"))})
	}
	for range n {
		w.Items = append(w.Items, Item{Supplier: num(0, 1, "supplier"), Pack: num(1, 5, "pack"), Least: num(0, 2, "least"),
			Multiple: num(0, 3, "multiple"), Cost: int64(num(0, 9, "cost")), LeadDays: num(0, 12, "lead"),
			Start: num(0, 9, "start"), Expires: num(0, 1, "ages") * num(1, 20, "expires")})
	}
	for day := 0; day < days; day += num(1, 5, "gap") {
		job := Job{Day: first + forecast.Day(day)}
		for range num(0, 3, "lines") {
			job.Takes = append(job.Takes, Take{num(0, n-1, "item"), num(0, 4, "qty"), rapid.Bool().Draw(t, "critical")})
		}
		w.Jobs = append(w.Jobs, job)
	}
	w.Lead = func(s int, placed forecast.Day, quoted int) int { return quoted + int(placed)%3 - 1 }
	return w
}

func TestFlowsReconcileUnderEveryMethod(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := worlds(t)
		for _, m := range Methods() {
			b := newBook(w, m)
			r, err := Replay(w, 0, b.policy(1), nil)
			if err != nil {
				t.Fatal(err)
			}
			for i, f := range r.Flows {
				if f.Start+f.Received != f.Used+f.Expired+f.Left-f.Owed || f.Left > 0 && f.Owed > 0 {
					t.Fatalf("%v item %d: %+v", m, i, f)
				}
			}
			if r.Refused > 0 {
				for _, it := range w.Items {
					if it.Cost == 0 {
						return
					}
				}
				t.Fatalf("%v: %d orders refused", m, r.Refused)
			}
		}
	})
}

// Without ageing the stock on hand is the positive part of start and receipts
// less use: a ledger of dated rows, gone through anew for each line.
func TestReadinessAgreesWithALedger(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := worlds(t)
		for i := range w.Items {
			w.Items[i].Expires = 0
		}
		var orders []Order
		w.Last = first + forecast.Day(7*w.weeks()) // a last Monday, on which all orders are seen
		policy := newBook(w, Method{Kind: CoverBeyond}).policy(2)
		r, err := Replay(w, 0, func(m Monday) []int { orders = m.Orders(); return policy(m) }, nil)
		if err != nil {
			t.Fatal(err)
		}
		ready := 0
		used := make([]int, len(w.Items))
		for _, job := range w.Jobs {
			ok := true
			for _, take := range job.Takes {
				net := w.Items[take.Item].Start - used[take.Item]
				for _, o := range orders {
					it := w.Items[o.Item]
					if o.Item == take.Item && o.Placed+forecast.Day(w.lead(it.Supplier, o.Placed, it.LeadDays)) <= job.Day {
						net += o.Packs * it.Pack
					}
				}
				used[take.Item] += take.Qty
				ok = ok && (!take.Critical || take.Qty <= max(net, 0))
			}
			if ok {
				ready++
			}
		}
		if ready != r.Ready {
			t.Fatalf("ledger: %d ready, replay: %d", ready, r.Ready)
		}
	})
}
