package inventory

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	gocmp "github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

// day is a day of March 2026.
func day(n int) Date { return NewDate(2026, time.March, n) }

// told writes movements as "day lot from>to qty", one a line.
func told(movements []Posted) string {
	lines := make([]string, len(movements))
	for i, m := range movements {
		_, _, d := m.HappenedOn.Time().Date()
		lines[i] = fmt.Sprintf("%d %s %s>%s %d", d, m.Lot, m.From, m.To, m.Qty)
	}
	return strings.Join(lines, "\n")
}

func opened(code string, on, expires Date) ShelfLot {
	return ShelfLot{Lot: Lot{Code: code, Received: on, Expires: expires}, Opened: on}
}

func delivered(code string, on, expires Date) ShelfLot {
	return ShelfLot{Lot: Lot{Code: code, Received: on, Expires: expires}}
}

func TestReplay(t *testing.T) {
	put := func(lot string, on Date, q Quantity) Event {
		return Event{Act: "stock " + lot, Kind: Opening, Lot: lot, On: on, Qty: q}
	}
	got := func(lot string, on Date, q Quantity) Event {
		return Event{Act: "order " + lot, Kind: Receiving, Ref: lot, Lot: lot, On: on, Qty: q}
	}
	used := func(job, lot string, on Date, q Quantity) Event {
		return Event{Act: "use " + job, Kind: Using, Ref: job, Lot: lot, On: on, Qty: q}
	}
	found := func(on Date, q Quantity) Event {
		return Event{Act: "count " + on.String(), Kind: Counting, On: on, Qty: q}
	}
	stood := func(on Date, lot string, from, to Place, q Quantity) Movement {
		return Movement{Lot: lot, From: from, To: to, Qty: q, HappenedOn: on}
	}
	moved := func(number int64, on Date, lot string, from, to Place, q Quantity) Posted {
		return Posted{Movement: stood(on, lot, from, to, q), Act: "an act", Number: number}
	}
	for _, tc := range []struct {
		rule       string
		h          History
		want       string
		shortfalls string
	}{
		{"the opening shelf, then what came and what went", History{
			Lots:   []ShelfLot{opened("A", day(1), 0), delivered("O1", day(3), 0)},
			Events: []Event{used("J1", "", day(4), 2), got("O1", day(3), 5), put("A", day(1), 3)},
		}, "1 A opening>shelf 3\n3 O1 supplier>shelf 5\n4 A shelf>job 2", ""},
		{"a lot counted as none makes no movement", History{
			Lots:   []ShelfLot{opened("A", day(1), 0)},
			Events: []Event{put("A", day(1), 0)},
		}, "", ""},
		{"what happened up to the opening day is on the opening shelf", History{
			Lots:   []ShelfLot{opened("A", day(5), 0), delivered("O1", day(5), 0)},
			Events: []Event{put("A", day(5), 3), got("O1", day(5), 5), used("J1", "", day(5), 1), found(day(4), 9), used("J2", "A", day(5), 1)},
		}, "5 A opening>shelf 3", ""},
		{"a use of a named lot counts from that lot's own day", History{
			Lots:   []ShelfLot{opened("A", day(2), 0), opened("B", day(5), 0)},
			Events: []Event{put("A", day(2), 3), put("B", day(5), 3), used("J1", "A", day(4), 1), used("J2", "", day(4), 1), used("J3", "B", day(4), 1)},
		}, "2 A opening>shelf 3\n4 A shelf>job 1\n5 B opening>shelf 3", ""},
		{"whichever lot: first expired, first out", History{
			Lots:   []ShelfLot{opened("A", day(1), 0), opened("B", day(1), day(30)), opened("C", day(1), day(20))},
			Events: []Event{put("A", day(1), 1), put("B", day(1), 2), put("C", day(1), 2), used("J1", "", day(2), 3)},
		}, "1 A opening>shelf 1\n1 B opening>shelf 2\n1 C opening>shelf 2\n2 C shelf>job 2\n2 B shelf>job 1", ""},
		{"what has expired goes last", History{
			Lots:   []ShelfLot{opened("A", day(1), day(30)), opened("B", day(1), day(9))},
			Events: []Event{put("A", day(1), 2), put("B", day(1), 2), used("J1", "", day(9), 3)},
		}, "1 A opening>shelf 2\n1 B opening>shelf 2\n9 B shelf>job 1\n9 A shelf>job 2", ""},
		{"more used than there was: the rest is found", History{
			Lots:   []ShelfLot{opened("A", day(1), 0)},
			Events: []Event{put("A", day(1), 1), used("J1", "", day(2), 4)},
		}, "1 A opening>shelf 1\n2 A difference>shelf 3\n2 A shelf>job 4", "J1 on 2: 4 of 1"},
		{"a named lot is short though another is not", History{
			Lots:   []ShelfLot{opened("A", day(1), 0), opened("B", day(1), 0)},
			Events: []Event{put("A", day(1), 1), put("B", day(1), 9), used("J1", "A", day(2), 2)},
		}, "1 A opening>shelf 1\n1 B opening>shelf 9\n2 A difference>shelf 1\n2 A shelf>job 2", "J1 on 2: 2 of 1"},
		{"used before it came: found in no lot", History{
			Lots:   []ShelfLot{delivered("O1", day(9), 0)},
			Events: []Event{used("J1", "", day(2), 2), got("O1", day(9), 5)},
		}, "2 found difference>shelf 2\n2 found shelf>job 2\n9 O1 supplier>shelf 5", "J1 on 2: 2 of 0"},
		{"a delivery of the day can be used that day", History{
			Lots:   []ShelfLot{delivered("O1", day(2), 0)},
			Events: []Event{used("J1", "", day(2), 2), got("O1", day(2), 5)},
		}, "2 O1 supplier>shelf 5\n2 O1 shelf>job 2", ""},
		{"a count that finds more puts it to the newest lot", History{
			Lots:   []ShelfLot{opened("A", day(1), 0), delivered("O1", day(3), day(4))},
			Events: []Event{put("A", day(1), 3), got("O1", day(3), 5), found(day(6), 10)},
		}, "1 A opening>shelf 3\n3 O1 supplier>shelf 5\n6 O1 difference>shelf 2", ""},
		{"a count that finds less takes what expires first", History{
			Lots:   []ShelfLot{opened("A", day(1), 0), opened("B", day(1), day(20))},
			Events: []Event{put("A", day(1), 3), put("B", day(1), 2), found(day(6), 2)},
		}, "1 A opening>shelf 3\n1 B opening>shelf 2\n6 B shelf>difference 2\n6 A shelf>difference 1", ""},
		{"a count tells of the day's end", History{
			Lots:   []ShelfLot{opened("A", day(1), 0)},
			Events: []Event{put("A", day(1), 3), found(day(6), 2), used("J1", "", day(6), 1)},
		}, "1 A opening>shelf 3\n6 A shelf>job 1", ""},
		{"a count of an item without a lot finds one", History{
			Events: []Event{found(day(6), 2)},
		}, "6 found difference>shelf 2", ""},
		{"a use told late leaves a recorded count as it was", History{
			Lots:     []ShelfLot{opened("A", day(1), 0)},
			Standing: []Movement{stood(day(1), "A", FromStart, Shelf, 5), stood(day(8), "A", Shelf, Difference, 2)},
			Counted:  []Count{{Date: day(8), Qty: 3}},
			Events:   []Event{used("J1", "", day(4), 2)},
		}, "8 A difference>shelf 2\n4 A shelf>job 2", ""},
		{"a delivery told late leaves a recorded count as it was", History{
			Lots:     []ShelfLot{opened("A", day(1), 0), delivered("O1", day(3), 0)},
			Standing: []Movement{stood(day(1), "A", FromStart, Shelf, 5), stood(day(8), "A", Difference, Shelf, 4)},
			Counted:  []Count{{Date: day(8), Qty: 9}},
			Events:   []Event{got("O1", day(3), 4), used("J9", "", day(9), 1)},
		}, "3 O1 supplier>shelf 4\n8 O1 shelf>difference 4\n9 A shelf>job 1", ""},
		{"a use told late takes what later uses leave", History{
			Lots:     []ShelfLot{opened("A", day(1), day(20)), opened("B", day(1), day(30))},
			Standing: []Movement{stood(day(1), "A", FromStart, Shelf, 3), stood(day(1), "B", FromStart, Shelf, 3), stood(day(8), "A", Shelf, AtJob, 3)},
			Events:   []Event{used("J1", "", day(4), 2)},
		}, "4 B shelf>job 2", ""},
		{"and where they leave too little, theirs is found", History{
			Lots:     []ShelfLot{opened("A", day(1), 0)},
			Standing: []Movement{stood(day(1), "A", FromStart, Shelf, 3), stood(day(8), "A", Shelf, AtJob, 3)},
			Events:   []Event{used("J1", "", day(4), 2)},
		}, "8 A difference>shelf 2\n4 A shelf>job 2", "J1 on 8: 3 of 1"},
		{"a count told late moves what follows it", History{
			Lots:     []ShelfLot{opened("A", day(1), 0)},
			Standing: []Movement{stood(day(1), "A", FromStart, Shelf, 9), stood(day(8), "A", Shelf, AtJob, 3)},
			Events:   []Event{found(day(4), 7)},
		}, "4 A shelf>difference 2", ""},
		{"moves are recorded by their numbers, whatever their days", History{
			Lots:  []ShelfLot{opened("A", day(1), 0)},
			Moves: []Posted{moved(1, day(1), "A", FromStart, Shelf, 3), moved(2, day(9), "A", Shelf, AtJob, 3), moved(3, day(12), "A", FromOrder, Shelf, 4), moved(4, day(5), "A", Shelf, Wasted, 4)},
		}, "1 A opening>shelf 3\n9 A shelf>job 3\n12 A supplier>shelf 4\n5 A shelf>waste 4", ""},
		{"a use is told around them, and need not make up for a day below zero of theirs", History{
			Lots:   []ShelfLot{opened("A", day(1), 0)},
			Moves:  []Posted{moved(1, day(1), "A", FromStart, Shelf, 3), moved(2, day(9), "A", Shelf, AtJob, 3), moved(3, day(12), "A", FromOrder, Shelf, 6), moved(4, day(5), "A", Shelf, Wasted, 4)},
			Events: []Event{used("J1", "", day(14), 2)},
		}, "1 A opening>shelf 3\n9 A shelf>job 3\n12 A supplier>shelf 6\n5 A shelf>waste 4\n14 A shelf>job 2", ""},
		{"what rows bring is there before moves take it", History{
			Lots:   []ShelfLot{opened("A", day(1), 0)},
			Moves:  []Posted{moved(1, day(4), "A", Shelf, Wasted, 2)},
			Events: []Event{put("A", day(1), 3), used("J1", "", day(5), 1)},
		}, "1 A opening>shelf 3\n4 A shelf>waste 2\n5 A shelf>job 1", ""},
		{"what rows take beyond what moves leave is found", History{
			Lots:   []ShelfLot{opened("A", day(1), 0)},
			Moves:  []Posted{moved(1, day(1), "A", FromStart, Shelf, 3), moved(2, day(8), "A", Shelf, Wasted, 3)},
			Events: []Event{used("J1", "A", day(4), 1)},
		}, "8 A difference>shelf 1\n1 A opening>shelf 3\n8 A shelf>waste 3\n4 A shelf>job 1", "J1 on 8: 3 of 2"},
	} {
		done := Replay(tc.h)
		if got := told(done.Movements); got != tc.want {
			t.Errorf("%s:\n%s\nwant\n%s", tc.rule, got, tc.want)
		}
		var short []string
		for _, s := range done.Shortfalls {
			_, _, d := s.Day.Time().Date()
			short = append(short, fmt.Sprintf("%s on %d: %d of %d", s.Ref, d, s.Used, s.Had))
		}
		if got := strings.Join(short, "; "); got != tc.shortfalls {
			t.Errorf("%s: shortfalls %q, want %q", tc.rule, got, tc.shortfalls)
		}
	}
}

func TestReplayMakesFoundLotsLikeTheItem(t *testing.T) {
	done := Replay(History{
		Item:     "seal",
		Events:   []Event{{Kind: Counting, On: day(2), Qty: 3}},
		Life:     Life{ShelfMonths: 12},
		UnitCost: 70,
	})
	want := []Lot{{Item: "seal", Code: FoundLot, Received: day(2), Expires: day(2).AddMonths(12), UnitCost: 70, OnHand: 3}}
	if diff := gocmp.Diff(want, done.Lots); diff != "" {
		t.Error(diff)
	}
}

// drawHistory makes papers of one item: a few lots, and rows of every kind on
// few days, so that they meet.
func drawHistory(t *rapid.T) History {
	h := History{Item: "seal"}
	days := rapid.IntRange(1, 12)
	add := func(e Event) {
		e.Row = len(h.Events) + 1
		e.Act = fmt.Sprintf("%d/%s/%03d", e.Kind, e.Ref, e.Row)
		h.Events = append(h.Events, e)
	}
	expiry := rapid.SampledFrom([]Date{0, day(6), day(20), day(25)})
	for i := range rapid.IntRange(0, 3).Draw(t, "opening lots") {
		lot := opened(fmt.Sprint("A", i), day(days.Draw(t, "counted on")%4+1), expiry.Draw(t, "expires"))
		h.Lots = append(h.Lots, lot)
		add(Event{Kind: Opening, Lot: lot.Code, On: lot.Opened, Qty: Quantity(rapid.IntRange(0, 9).Draw(t, "qty"))})
	}
	for i := range rapid.IntRange(0, 3).Draw(t, "deliveries") {
		lot := delivered(fmt.Sprint("O", i), day(days.Draw(t, "received on")), expiry.Draw(t, "expires"))
		h.Lots = append(h.Lots, lot)
		add(Event{Kind: Receiving, Ref: lot.Code, Lot: lot.Code, On: lot.Received, Qty: Quantity(rapid.IntRange(1, 9).Draw(t, "qty"))})
	}
	named := []string{"", ""}
	for _, lot := range h.Lots {
		named = append(named, lot.Code)
	}
	for i := range rapid.IntRange(0, 8).Draw(t, "uses") {
		add(Event{Kind: Using, Ref: fmt.Sprint("J", i), Lot: rapid.SampledFrom(named).Draw(t, "lot"), On: day(days.Draw(t, "used on")), Qty: Quantity(rapid.IntRange(1, 6).Draw(t, "qty"))})
	}
	counted := rapid.SliceOfNDistinct(days, 0, 3, rapid.ID[int]).Draw(t, "counts")
	for _, on := range counted {
		add(Event{Kind: Counting, On: day(on), Qty: Quantity(rapid.IntRange(0, 12).Draw(t, "found"))})
	}
	return h
}

// obvious is the replay of papers told at once as a child would do it: look
// through everything for the next thing to do, one piece at a time.
func obvious(h History) map[string]Quantity {
	shelf := map[string]Quantity{}
	lots := map[string]ShelfLot{}
	var last Date
	for _, lot := range h.Lots {
		lots[lot.Code] = lot
		last = max(last, lot.Opened)
	}
	best := func(on Date, better func(a, b ShelfLot) bool, fits func(ShelfLot) bool) string {
		code := ""
		for name, lot := range lots {
			if fits(lot) && (code == "" || better(lot, lots[code])) {
				code = name
			}
		}
		return code
	}
	newest := func(on Date) string {
		code := best(on, func(a, b ShelfLot) bool {
			return a.Received > b.Received || a.Received == b.Received && a.Code > b.Code
		}, func(lot ShelfLot) bool { return lot.Received <= on })
		if code == "" {
			lots[FoundLot] = ShelfLot{Lot: Lot{Code: FoundLot, Received: on}}
			return FoundLot
		}
		return code
	}
	sooner := func(a, b ShelfLot) bool { return FirstExpiredFirst(a.Lot, b.Lot) < 0 }
	for on := day(1); on <= day(31); on++ {
		for kind := Opening; kind <= Counting; kind++ {
			var rows []Event
			for _, e := range h.Events {
				if e.On == on && e.Kind == kind {
					rows = append(rows, e)
				}
			}
			slices.SortFunc(rows, func(a, b Event) int { return cmp.Compare(a.Act, b.Act) })
			for _, e := range rows {
				skip := last
				if e.Kind == Using && lots[e.Lot].Opened != 0 {
					skip = lots[e.Lot].Opened
				}
				if e.Kind != Opening && on <= skip {
					continue
				}
				switch e.Kind {
				case Opening, Receiving:
					shelf[e.Lot] += e.Qty
				case Using:
					for range e.Qty {
						lot := e.Lot
						if lot == "" {
							lot = best(on, sooner, func(l ShelfLot) bool { return shelf[l.Code] > 0 && l.UsableOn(on) })
						}
						if lot == "" {
							lot = best(on, sooner, func(l ShelfLot) bool { return shelf[l.Code] > 0 })
						}
						if lot != "" && shelf[lot] > 0 {
							shelf[lot]--
						}
					}
				case Counting:
					total := Quantity(0)
					for _, q := range shelf {
						total += q
					}
					for ; total < e.Qty; total++ {
						shelf[newest(on)]++
					}
					for ; total > e.Qty; total-- {
						shelf[best(on, sooner, func(l ShelfLot) bool { return shelf[l.Code] > 0 })]--
					}
				}
			}
		}
	}
	return shelf
}

// balances sums movements by lot.
func balances(movements []Movement, until Date) map[string]Quantity {
	sums := map[string]Quantity{}
	for _, m := range movements {
		if m.HappenedOn <= until {
			sums[m.Lot] += m.OnShelf()
		}
	}
	return sums
}

func total(balances map[string]Quantity) (sum Quantity) {
	for _, q := range balances {
		sum += q
	}
	return sum
}

func plain(posted []Posted) []Movement {
	movements := make([]Movement, len(posted))
	for i, p := range posted {
		movements[i] = p.Movement
	}
	return movements
}

var noZeros = cmpopts.IgnoreMapEntries(func(_ string, q Quantity) bool { return q == 0 })

func TestReplayAgreesWithTheObviousModel(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := drawHistory(t)
		got := balances(plain(Replay(h).Movements), day(31))
		if diff := gocmp.Diff(obvious(h), got, noZeros); diff != "" {
			t.Fatal(diff)
		}
	})
}

func TestReplayToldInAnyOrderIsTheSame(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := drawHistory(t)
		kept := fmt.Sprintf("%+v", h)
		want := Replay(h)
		if fmt.Sprintf("%+v", h) != kept {
			t.Fatal("the history was changed")
		}
		shuffled := h
		shuffled.Events = rapid.Permutation(h.Events).Draw(t, "events")
		shuffled.Lots = rapid.Permutation(h.Lots).Draw(t, "lots")
		if diff := gocmp.Diff(want, Replay(shuffled)); diff != "" {
			t.Fatal(diff)
		}
	})
}

// Papers told in several parts: what was recorded stands, no lot is ever below
// zero on the shelf or in the ledger, every count holds at its day's end, and
// every delivery and use is there in full.
func TestReplayInPartsKeepsTheRules(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := drawHistory(t)
		var ledger []Movement
		told := History{Item: h.Item, Lots: h.Lots}
		for _, part := range split(t, h.Events) {
			told.Events, told.Standing = part, ledger
			done := Replay(told)
			inOrder := balances(ledger, day(31))
			for _, m := range done.Movements {
				if err := m.Check(); err != nil {
					t.Fatal(err)
				}
				if inOrder[m.Lot] += m.OnShelf(); inOrder[m.Lot] < 0 {
					t.Fatalf("lot %s falls to %d on the way", m.Lot, inOrder[m.Lot])
				}
			}
			ledger = append(ledger, plain(done.Movements)...)
			for _, e := range part {
				if e.Kind == Counting {
					told.Counted = append(told.Counted, Count{Date: e.On, Qty: e.Qty})
				}
			}
		}
		checkTimeline(t, h, ledger)
	})
}

// split deals the events into parts told one after the other, the opening shelf
// with the first.
func split(t *rapid.T, events []Event) [][]Event {
	parts := make([][]Event, rapid.IntRange(1, 4).Draw(t, "parts"))
	for _, e := range events {
		i := 0
		if e.Kind != Opening {
			i = rapid.IntRange(0, len(parts)-1).Draw(t, "part")
		}
		parts[i] = append(parts[i], e)
	}
	return parts
}

func checkTimeline(t *rapid.T, h History, ledger []Movement) {
	var openingDay Date
	lots := map[string]ShelfLot{}
	for _, lot := range h.Lots {
		openingDay = max(openingDay, lot.Opened)
		lots[lot.Code] = lot
	}
	for on := day(1); on <= day(13); on++ {
		for lot, q := range balances(ledger, on) {
			if q < 0 {
				t.Fatalf("lot %s holds %d on %s", lot, q, on)
			}
		}
	}
	moved := map[string]Quantity{}
	for _, m := range ledger {
		if m.From == FromOrder || m.To == AtJob {
			moved[m.Ref] += m.Qty
		}
	}
	for _, e := range h.Events {
		since := openingDay
		if e.Kind == Using && lots[e.Lot].Opened != 0 {
			since = lots[e.Lot].Opened
		}
		want := e.Qty
		if e.On <= since {
			want = 0
		}
		switch {
		case (e.Kind == Receiving || e.Kind == Using) && moved[e.Ref] != want:
			t.Fatalf("%s moved %d, want %d", e.Ref, moved[e.Ref], want)
		case e.Kind == Counting && want > 0 && total(balances(ledger, e.On)) != want:
			t.Fatalf("the shelf of %s is %d, %d were counted", e.On, total(balances(ledger, e.On)), want)
		}
	}
}

// The rules above can be broken: a ledger that forgets to keep recorded counts
// is found out.
func TestReplayRulesBite(t *testing.T) {
	h := History{Lots: []ShelfLot{opened("A", day(1), 0)},
		Standing: []Movement{{Item: "seal", Lot: "A", From: FromStart, To: Shelf, Qty: 5, HappenedOn: day(1)}},
		Events:   []Event{{Act: "u", Kind: Using, Ref: "J1", On: day(2), Qty: 2}}}
	forgetful := balances(append(h.Standing, plain(Replay(h).Movements)...), day(4))
	h.Counted = []Count{{Date: day(4), Qty: 5}}
	keeping := balances(append(h.Standing, plain(Replay(h).Movements)...), day(4))
	if total(forgetful) != 3 || total(keeping) != 5 {
		t.Errorf("without the count %d, with it %d, want 3 and 5", total(forgetful), total(keeping))
	}
}

func BenchmarkReplay(b *testing.B) {
	h := History{Item: "oil"}
	for i := range 60 {
		code := fmt.Sprintf("O%02d", i)
		h.Lots = append(h.Lots, delivered(code, day(1)+Date(9*i), 0))
		h.Events = append(h.Events, Event{Act: code, Kind: Receiving, Ref: code, Lot: code, On: day(1) + Date(9*i), Qty: 3000})
	}
	for i := range 10_000 {
		job := fmt.Sprintf("J%05d", i)
		h.Events = append(h.Events, Event{Act: job, Kind: Using, Ref: job, On: day(1) + Date(i/18), Qty: 17})
	}
	b.ReportAllocs()
	for b.Loop() {
		Replay(h)
	}
	b.ReportMetric(float64(len(h.Events)*b.N)/b.Elapsed().Seconds(), "rows/s")
}
