package rehearse

import "testing"

func TestForesightIsReadyForLessThanAnyForecast(t *testing.T) {
	w := shop()
	// Past the longest lead and the first review everything can be there.
	r, err := Replay(w, 4, Foresight(w), nil)
	if err != nil {
		t.Fatal(err)
	}
	if r.Readiness != 1 {
		t.Errorf("readiness %v, want 1", r.Readiness)
	}
	curve, err := Tune(w, 4, Method{TSB, .1}, .97, nil)
	if err != nil {
		t.Fatal(err)
	}
	if value, _ := ValueAt(curve, .97); r.MeanStockValue >= value {
		t.Errorf("foresight ties up %.0f, a forecast %.0f", r.MeanStockValue, value)
	}
	t.Logf("foresight %.0f", r.MeanStockValue)
}

func TestForesightOrdersAsLateAsItCan(t *testing.T) {
	// Needed on the third Monday, a week under way: ordered on the second.
	w := small(Item{LeadDays: 7, Cost: 5}, Supplier{}, 21, [2]int{14, 1})
	r, err := Replay(w, 0, Foresight(w), nil)
	if err != nil {
		t.Fatal(err)
	}
	for week, want := range []float64{0, 0, 0} {
		if r.Weeks[week].StockValue != want {
			t.Errorf("week %d: value %v", week, r.Weeks[week].StockValue)
		}
	}
	if r.Ready != 1 || r.Orders != 1 || r.Flows[0].Left != 0 {
		t.Errorf("got %+v", r)
	}
}
