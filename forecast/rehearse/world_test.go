package rehearse

import (
	"strings"
	"testing"
)

func TestWorldsThatCannotBeReplayedAreRefused(t *testing.T) {
	cases := []struct {
		rule  string
		spoil func(*World)
		says  string
	}{
		{"the first day is a Monday", func(w *World) { w.First++ }, "expected a Monday"},
		{"the last day is not before the first", func(w *World) { w.Last = w.First - 1 }, "last day"},
		{"an order weekday is one of seven", func(w *World) { w.Suppliers[0].OrderWeekday = 7 }, "order weekday 7"},
		{"an item has a supplier of the world", func(w *World) { w.Items[0].Supplier = 1 }, "supplier 1 of 1"},
		{"a pack holds something", func(w *World) { w.Items[0].Pack = 0 }, "pack of 0"},
		{"no number is below zero", func(w *World) { w.Items[0].Start = -1 }, "below zero"},
		{"history is by item", func(w *World) { w.History = make([][]int, 2) }, "found 2 items"},
		{"jobs are inside the days", func(w *World) { w.Jobs[0].Day = w.Last + 1 }, "job 0"},
		{"jobs are sorted", func(w *World) { w.Jobs[0].Day += 3 }, "job 1"},
		{"a job takes known items", func(w *World) { w.Jobs[0].Takes[0].Item = 1 }, "item 1"},
	}
	for _, c := range cases {
		t.Run(c.rule, func(t *testing.T) {
			w := small(Item{}, Supplier{}, 7, [2]int{0, 1}, [2]int{1, 1})
			c.spoil(&w)
			_, err := Replay(w, 0, ordering(), nil)
			if err == nil || !strings.Contains(err.Error(), c.says) {
				t.Errorf("got %v, want words of %q", err, c.says)
			}
		})
	}
}

func TestOrdersAreBroughtUpToTheMinimumByWhatRunsOutFirst(t *testing.T) {
	w := small(Item{Cost: 10}, Supplier{Min: 50}, 7)
	w.Items = append(w.Items, w.Items[0])
	w.Items[1].Start = 6
	w.History = [][]int{{1, 1, 1, 1}, {3, 3, 3, 3}} // 6 on hand last two weeks
	var packs []int
	policy := newBook(w, Method{Kind: CoverBeyond}).policy(0)
	r, err := Replay(w, 0, func(m Monday) []int { packs = policy(m); return packs }, nil)
	if err != nil {
		t.Fatal(err)
	}
	// One of the first is missing. Then, weeks held: 1 against 2, 2 against 2,
	// 3 against 2, 3 against 7/3: twice the first, twice the second.
	if r.Refused != 0 || packs[0] != 3 || packs[1] != 2 {
		t.Errorf("ordered %v, refused %d; want 3 and 2, none", packs, r.Refused)
	}
}

func TestAnEmptyWorldIsReady(t *testing.T) {
	w := World{First: first, Last: first}
	for _, m := range Methods() {
		curve, err := Tune(w, 0, m, .97, nil)
		if err != nil || curve[0].Readiness != 1 || curve[0].Value != 0 {
			t.Errorf("%v: %v %+v", m, err, curve)
		}
	}
}
